"""The result of a study as a self-describing xarray Dataset."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.planning.axis import Axis
from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.portion import Found, empty_by_case
from loopdrift.model.columns import BY_CASE, YEARLY, Column

if TYPE_CHECKING:
    import xarray as xr

NOT_RUN = "not run: the study was stopped"


class Columns:
    """The results of a study, collected in columns of all cases.

    Parameters
    ----------
    plan : Plan
        The study.
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self.finished = 0
        self._yearly = {name: self._empty() for name, column in YEARLY.items() if not column.only}
        self._by_case = empty_by_case(plan.count)
        self._by_case["failure"][:] = NOT_RUN

    def _empty(self) -> NDArray[np.float64]:
        return np.full((self._plan.count, self._plan.years), np.nan)

    def add(self, found: Found) -> None:
        """Add the results of some cases.

        Parameters
        ----------
        found : Found
            The results.
        """
        self.finished += len(found.cases)
        for name, column in found.yearly.items():
            if name not in self._yearly:
                self._yearly[name] = self._empty()
            self._yearly[name][found.cases] = column
        for name, values in self._by_case.items():
            values[found.cases] = found.by_case[name]

    def dataset(self, dimensions: list[str]) -> xr.Dataset:
        """Return the results; cases that were not added were not run.

        Parameters
        ----------
        dimensions : list of str
            Names of the dimensions of the cases: all axes, or one that numbers the cases.
        """
        import xarray as xr

        plan = self._plan
        is_grid = dimensions == [axis.name for axis in plan.axes]
        shape = [len(axis.labels) for axis in plan.axes] if is_grid else [plan.count]
        if is_grid:
            coordinates = {axis.name: _coordinate(axis, axis.labels, [axis.name]) for axis in plan.axes}
        else:
            coordinates = {"case": ("case", np.arange(plan.count), {"long_name": "case"})}
            for place, axis in enumerate(plan.axes):
                coordinates[axis.name] = _coordinate(axis, axis.labels[plan.which[:, place]], ["case"])
        coordinates["year"] = ("year", np.arange(1, plan.years + 1), {"long_name": "year of operation"})
        variables = {
            name: (
                [*dimensions, "year"],
                self._yearly[name].reshape(*shape, plan.years),
                _attributes(column),
            )
            for name, column in YEARLY.items()
            if name in self._yearly
        } | {
            name: (dimensions, values.reshape(shape), _attributes(BY_CASE[name]))
            for name, values in self._by_case.items()
        }
        about = {} if plan.project is None else dict(plan.project.lines)
        return xr.Dataset(variables, coordinates, {"loopdrift": _core.VERSION, **about})


def _coordinate(axis: Axis, labels: NDArray[Any], dimensions: list[str]) -> Any:
    return dimensions, labels, _attributes(Column(axis.variable.unit, axis.variable.label))


def _attributes(column: Column) -> dict[str, str]:
    return {"units": column.unit, "long_name": column.meaning}


def ran(dataset: xr.Dataset) -> xr.DataArray:
    """Return which cases of a study were run: those without a failure.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of the study.
    """
    return dataset["failure"] == ""

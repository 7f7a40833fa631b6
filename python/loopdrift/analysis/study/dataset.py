"""The result of a study as a self-describing xarray Dataset."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.plan import Axis, Found, Plan
from loopdrift.model.columns import BY_CASE, YEARLY, Column

if TYPE_CHECKING:
    import xarray as xr

NOT_RUN = "not run: the study was stopped"


def dataset(plan: Plan, dimensions: list[str], found: Iterable[Found]) -> xr.Dataset:
    """Return the results of the cases of a plan.

    Parameters
    ----------
    plan : Plan
        The study.
    dimensions : list of str
        Names of the dimensions of the cases: all axes, or one that numbers the cases.
    found : iterable of Found
        The results; other cases were not run.
    """
    import xarray as xr

    shape = [len(axis.labels) for axis in plan.axes] if len(dimensions) > 1 else [plan.count]
    if dimensions == [axis.name for axis in plan.axes]:
        coordinates = {axis.name: _coordinate(axis, axis.labels, [axis.name]) for axis in plan.axes}
    else:
        coordinates = {"case": ("case", np.arange(plan.count), {"long_name": "case"})}
        for place, axis in enumerate(plan.axes):
            coordinates[axis.name] = _coordinate(axis, axis.labels[plan.which[:, place]], ["case"])
    coordinates["year"] = ("year", np.arange(1, plan.years + 1), {"long_name": "year of operation"})

    found = list(found)
    known = {
        name: column
        for name, column in YEARLY.items()
        if not column.only or any(name in part.yearly for part in found)
    }
    yearly = {name: np.full((plan.count, plan.years), np.nan) for name in known}
    by_case: dict[str, NDArray[Any]] = {
        name: np.full(plan.count, np.nan) if column.unit else np.full(plan.count, "", dtype=object)
        for name, column in BY_CASE.items()
    }
    by_case["failure"][:] = NOT_RUN
    for part in found:
        for name, column in part.yearly.items():
            yearly[name][part.cases] = column
        for name in BY_CASE:
            by_case[name][part.cases] = part.by_case[name]

    variables = {
        name: ([*dimensions, "year"], values.reshape(*shape, plan.years), _attributes(known[name]))
        for name, values in yearly.items()
    } | {
        name: (dimensions, values.reshape(shape), _attributes(BY_CASE[name]))
        for name, values in by_case.items()
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

"""The result of a study as a self-describing xarray Dataset."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.portion import Found, empty_by_case
from loopdrift.model.columns import BY_CASE, YEARLY

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
        self._yearly = {name: np.full((plan.count, plan.years), np.nan) for name in plan.yearly}
        self._by_case = empty_by_case(plan.count)
        self._by_case["failure"][:] = NOT_RUN

    def add(self, found: Found) -> None:
        """Add the results of some cases.

        Parameters
        ----------
        found : Found
            The results.
        """
        for name, column in found.yearly.items():
            self._yearly[name][found.cases] = column
        for name, values in self._by_case.items():
            values[found.cases] = found.by_case[name]

    def dataset(self) -> xr.Dataset:
        """Return the results; cases that were not added were not run."""
        plan = self._plan
        labels = [axis.labels for axis in plan.axes]
        if not plan.is_grid:
            labels = [each[plan.which[:, place]] for place, each in enumerate(labels)]
        return described({**self._yearly, **self._by_case}, labels, about(plan))


def about(plan: Plan) -> dict[str, Any]:
    """Return what describes the results of a study: dimensions, axes, and its project.

    Parameters
    ----------
    plan : Plan
        The study.
    """
    return {
        "cases": plan.count,
        "years": plan.years,
        "yearly": plan.yearly,
        "dimensions": plan.dimensions,
        "axes": [
            {"name": axis.name, "units": axis.variable.unit, "long_name": axis.variable.label}
            for axis in plan.axes
        ],
        "project": {} if plan.project is None else dict(plan.project.lines),
    }


def described(columns: dict[str, Any], labels: list[NDArray[Any]], study: dict[str, Any]) -> xr.Dataset:
    """Return columns as a dataset with units, labels and coordinates.

    Parameters
    ----------
    columns : dict of str to array
        By name, of shape (cases, years) or (cases,); arrays of xarray with the dimensions of the study.
    labels : list of numpy.ndarray
        The labels of each axis, or of each case on each axis.
    study : dict
        As `about` returns it.
    """
    import xarray as xr

    dimensions = study["dimensions"]
    coordinates: dict[str, Any] = {}
    if dimensions == ["case"]:
        coordinates["case"] = ("case", np.arange(study["cases"]), {"long_name": "case"})
    for axis, values in zip(study["axes"], labels, strict=True):
        attributes = {name: axis[name] for name in ("units", "long_name")}
        coordinates[axis["name"]] = (
            axis["name"] if axis["name"] in dimensions else "case",
            values,
            attributes,
        )
    coordinates["year"] = ("year", np.arange(1, study["years"] + 1), {"long_name": "year of operation"})
    shape = [len(coordinates[name][1]) for name in dimensions]
    variables = {}
    for name, column in (YEARLY | BY_CASE).items():
        if name in columns:
            values = columns[name]
            if isinstance(values, np.ndarray):
                values = values.reshape(*shape, *values.shape[1:])
            over = [*dimensions, "year"] if name in YEARLY else dimensions
            variables[name] = (over, values, {"units": column.unit, "long_name": column.meaning})
    return xr.Dataset(variables, coordinates, {"loopdrift": _core.VERSION, **study["project"]})


def ran(dataset: xr.Dataset) -> xr.DataArray:
    """Return which cases of a study were run: those without a failure.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of the study.
    """
    return dataset["failure"] == ""

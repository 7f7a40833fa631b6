"""Cases of a study that are run together, and their results."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.planning.demands import Scales
from loopdrift.analysis.study.planning.variants import Indices
from loopdrift.basics.errors import FluidFreezes
from loopdrift.basics.series import Series
from loopdrift.model.columns import BY_CASE, YEARLY


@dataclass(frozen=True)
class Found:
    """Results of some cases.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    yearly : dict of str to numpy.ndarray
        Columns of shape (cases, years); NaN for failed cases.
    by_case : dict of str to numpy.ndarray
        Columns of shape (cases,).
    """

    cases: Indices
    yearly: dict[str, NDArray[np.float64]]
    by_case: dict[str, NDArray[Any]]


@dataclass(frozen=True)
class Portion:
    """Cases that are run together, with everything that the run needs; sent to other processes.

    Parameters
    ----------
    cases : numpy.ndarray
        Numbers of the cases in the study.
    base : dict
        The base design, as the engine reads it.
    parts : dict of str to list
        The varied fields of the design, with the variants of each.
    which : dict of str to numpy.ndarray
        The variant of each case.
    series : list of dict of str to numpy.ndarray
        Hourly series of demands on the heat pump, by name.
    demands : list of tuple of int and Scales
        Demands on the heat pump: index in `series`, and factors.
    demand_of_case : numpy.ndarray
        The demand of each case.
    years : int
        Horizon.
    refused : dict of int to str
        Indices in `cases` that can't be run, and why.
    cache : str or None
        Folder in which step responses are cached.
    too_near : numpy.ndarray
        Number of distances of the site that each case doesn't keep.
    """

    cases: Indices
    base: dict[str, Any]
    parts: dict[str, list[Any]]
    which: dict[str, Indices]
    series: list[dict[str, Series]]
    demands: list[tuple[int, Scales]]
    demand_of_case: Indices
    years: int
    refused: dict[int, str]
    cache: str | None
    too_near: Indices

    def run(self, progress: Callable[[int], object] | None = None) -> Found:
        """Run the cases on all cores, without the interpreter lock."""
        count = len(self.cases)
        yearly = {
            name: np.full((count, self.years), np.nan) for name, column in YEARLY.items() if not column.only
        }
        by_case = empty_by_case(count)
        by_case["failure"][list(self.refused)] = list(self.refused.values())
        can_run = np.ones(count, dtype=bool)
        can_run[list(self.refused)] = False
        places = np.flatnonzero(can_run)
        if not len(places):
            return Found(self.cases, yearly, by_case)
        by_year, of_cases, failures = self._run(places, progress)
        for name, column in by_year.items():
            yearly.setdefault(name, np.full((count, self.years), np.nan))[places] = column
        for name, column in of_cases.items():
            by_case[name][places] = column
        for place, failure in zip(places.tolist(), failures, strict=True):
            if failure is None:
                continue
            by_case["failure"][place] = str(failure)
            if isinstance(failure, FluidFreezes):
                by_case["failure_year"][place] = failure.year
                by_case["failure_hour"][place] = failure.hour
        yearly["limits_broken"] += self.too_near[:, np.newaxis]
        return Found(self.cases, yearly, by_case)

    def _run(self, places: Indices, progress: Callable[[int], object] | None) -> Any:
        """Run some of the cases: their columns by year and by case, and the error of each."""
        parts, which = {}, {}
        for field, variants in self.parts.items():
            used, indices = np.unique(self.which[field][places], return_inverse=True)
            parts[field] = [variants[variant] for variant in used.tolist()]
            which[field] = indices.tolist()
        used, demand_of_case = np.unique(self.demand_of_case[places], return_inverse=True)
        demands = [
            (series, dict(scales)) for series, scales in (self.demands[each] for each in used.tolist())
        ]
        return _core.run_cases(
            self.base,
            parts,
            which,
            self.series,
            demands,
            demand_of_case.tolist(),
            self.years,
            self.cache,
            progress,
        )


def empty_by_case(count: int) -> dict[str, NDArray[Any]]:
    """Return the columns by case of a study without results: NaN or empty text.

    Parameters
    ----------
    count : int
        Number of cases.
    """
    return {
        name: np.full(count, np.nan) if column.unit else np.full(count, "", dtype=object)
        for name, column in BY_CASE.items()
    }


def run_portion(portion: Portion) -> Found:
    """Run a portion; called in other processes."""
    return portion.run()

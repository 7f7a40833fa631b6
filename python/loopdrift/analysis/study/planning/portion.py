"""Cases of a study that are run together, and their results."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from loopdrift import _core
from loopdrift.analysis.study.planning.demands import Scales, scaled
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

    def run(self, progress: Callable[[int], object] | None = None) -> Found:
        """Run the cases on all cores, without the interpreter lock."""
        count = len(self.cases)
        yearly = {
            name: np.full((count, self.years), np.nan) for name, column in YEARLY.items() if not column.only
        }
        by_case = empty_by_case(count)
        by_case["failure"][list(self.refused)] = list(self.refused.values())
        done = 0
        for places, demand in self._by_demand():
            found = self._run(places, demand, _further(progress, done))
            done += len(places)
            for name, column in found[0].items():
                yearly.setdefault(name, np.full((count, self.years), np.nan))[places] = column
            for name, column in found[1].items():
                by_case[name][places] = column
            for place, failure in zip(places.tolist(), found[2], strict=True):
                if failure is None:
                    continue
                by_case["failure"][place] = str(failure)
                if isinstance(failure, FluidFreezes):
                    by_case["failure_year"][place] = failure.year
                    by_case["failure_hour"][place] = failure.hour
                    for column in yearly.values():
                        column[place, failure.year - 1 :] = np.nan
        return Found(self.cases, yearly, by_case)

    def _by_demand(self) -> Iterator[tuple[Indices, dict[str, Series]]]:
        """Yield the cases that can be run and share a demand."""
        can_run = np.ones(len(self.cases), dtype=bool)
        can_run[list(self.refused)] = False
        for number in np.unique(self.demand_of_case[can_run]).tolist():
            series, scales = self.demands[number]
            yield (
                np.flatnonzero(can_run & (self.demand_of_case == number)),
                scaled(self.series[series], scales),
            )

    def _run(
        self, places: Indices, demand: dict[str, Series], progress: Callable[[int], object] | None
    ) -> Any:
        """Run cases that share a demand: their columns by year and by case, and the error of each."""
        parts, which = {}, {}
        for field, variants in self.parts.items():
            used, indices = np.unique(self.which[field][places], return_inverse=True)
            parts[field] = [variants[variant] for variant in used.tolist()]
            which[field] = indices.tolist()
        return _core.run_cases(self.base, parts, which, len(places), demand, self.years, self.cache, progress)


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


def _further(progress: Callable[[int], object] | None, done: int) -> Callable[[int], object] | None:
    return None if progress is None else lambda more: progress(done + more)

"""Studies: many runs of varied designs."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.study.plan import Axis, Found, Indices, Plan, Portion, run_portion
from loopdrift.analysis.study.samples import Samples
from loopdrift.analysis.study.store import Store
from loopdrift.analysis.study.variation import value, variable
from loopdrift.basics import notebook
from loopdrift.basics.bounds import MOST_CASES, require_count
from loopdrift.basics.errors import InvalidInput, StudyStopped
from loopdrift.basics.part import require
from loopdrift.model.design import Design, check_years

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

Progress = bool | Callable[[int], object]


class Study:
    """Many runs of one design with varied parameters.

    Parameters have the dotted names of design files, such as ``ground.conductivity``,
    ``ground_side.bore.depth``, ``ground_side.spacing`` (the layout keeps its shape), ``ground_side.columns``
    and ``ground_side.rows`` of a grid of equal bores, or ``fluid``; ``loads.heating_scale`` and the like
    multiply a series of the loads. An unambiguous suffix of the name is enough, such as ``depth``.
    Exactly one of `vary`, `cases` and `samples` gives the values.

    Parameters
    ----------
    design : Design
        The base design.
    vary : mapping, optional
        Values by name; the study covers all combinations. A value is whatever the design takes: a number in
        SI, text with a unit, or a part such as a `Fluid`. Parts are labelled by their index, or by the keys
        of a mapping.
    cases : pandas.DataFrame or sequence of mapping, optional
        One row per case, with columns by name.
    samples : Samples, optional
        Distributions by name.

    Raises
    ------
    InvalidInput
        If a name isn't a parameter of the design, or a value isn't a number in a suitable unit.

    Examples
    --------
    >>> import loopdrift as ld
    >>> from importlib.resources import files
    >>> design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
    >>> found = ld.Study(design, vary={"spacing": [5, 7], "depth": [80, "300 ft"]}).run(years=1)
    >>> found["entering_fluid_min_degC"].sizes
    Frozen({'spacing': 2, 'depth': 2, 'year': 1})
    """

    def __init__(
        self,
        design: Design,
        *,
        vary: Mapping[str, Any] | None = None,
        cases: pd.DataFrame | Sequence[Mapping[str, Any]] | None = None,
        samples: Samples | None = None,
    ) -> None:
        require(design, Design, owner="Study", field="design")
        given = [way for way in (vary, cases, samples) if way is not None]
        if len(given) != 1:
            allowed = "must be exactly one of vary, cases and samples"
            raise InvalidInput("Study", "vary", f"{len(given)} of the three", "", allowed)
        self.design = design
        self._axes: list[Axis]
        self._which: Indices
        if vary is not None:
            self._axes = [_axis(design, name, values) for name, values in vary.items()]
            shape = [len(axis.values) for axis in self._axes]
            require_count(math.prod(shape), MOST_CASES, owner="Study", field="vary")
            self._which = np.indices(shape).reshape(len(shape), math.prod(shape)).T
            self._dimensions = [axis.name for axis in self._axes]
        else:
            columns = _columns(samples.table() if samples is not None else cases)
            require_count(
                max(map(len, columns.values()), default=0), MOST_CASES, owner="Study", field="cases"
            )
            self._axes = [_axis(design, name, values) for name, values in columns.items()]
            count = len(next(iter(columns.values()), []))
            self._which = np.tile(np.arange(count)[:, None], len(columns))
            self._dimensions = ["case"]
        if not self._axes or not len(self._which):
            raise InvalidInput("Study", "vary", "nothing", "", "must vary at least one thing, in one case")
        paths = [axis.variable.path for axis in self._axes]
        for path in paths:
            if paths.count(path) > 1:
                raise InvalidInput("Study", "vary", path, "", "must be named once only")

    def __len__(self) -> int:
        return len(self._which)

    def __repr__(self) -> str:
        axes = ", ".join(f"{axis.name} ({len(axis.values)})" for axis in self._axes)
        return f"<Study: {len(self._which):,} cases over {axes}>"

    def _repr_html_(self) -> str:
        rows = [(axis.name, ", ".join(map(str, axis.labels[:8]))) for axis in self._axes]
        return notebook.heading(f"Study of {len(self._which):,} cases") + notebook.facts(rows)

    def run(
        self,
        years: int = 20,
        *,
        progress: Progress = False,
        store: str | os.PathLike[str] | None = None,
        cache: str | os.PathLike[str] | None = None,
        client: Any = None,
    ) -> xr.Dataset:
        """Run all cases on all cores.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of cases done.
        store : str or path-like, optional
            A folder for finished cases, as Parquet files with one row for each year of each case. The same
            study resumes from there after any interruption. Cases of a damaged file are run again, with a
            warning `DamagedStoreFile`. Threads, processes and machines may share the folder.
        cache : str or path-like, optional
            A folder for step responses, one file each, for later studies and other processes; results are
            the same with and without it. It is worthwhile for unequal bores, whose response takes up to
            about a second; that of equal bores takes a few milliseconds.
        client : dask.distributed.Client or concurrent.futures.Executor, optional
            Where to run; by default in this process.

        Returns
        -------
        xarray.Dataset
            Yearly tables by case and year, with the variables of trenches, ponds and wells if any case has
            them, and the hour of each case that is closest to a limit; each variable has `units` and
            `long_name`. The dimensions are the names in `vary`, or ``case``. A case that can't be run has NaN
            and a reason in ``failure``; if its fluid freezes, the critical hour is reported as if the fluid
            stayed liquid.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, or `store` holds another study.
        StudyStopped
            On Ctrl-C; its `dataset` has the finished cases. It is a `KeyboardInterrupt`.
        OSError
            If finished cases can't be stored (earlier files are kept), or `cache` can't be used.
        """
        from loopdrift.analysis.study.dataset import dataset

        plan = Plan(self.design, self._axes, self._which, check_years(years, owner="Study"))
        files = None if store is None else Store(store, plan)
        portions = list(plan.portions(None if cache is None else os.path.abspath(cache)))
        found: list[Found] = []
        with _Progress(progress, plan.count) as tell:
            try:
                for part in _run(portions, files, client, tell):
                    found.append(part)
            except KeyboardInterrupt:
                finished = sum(len(part.cases) for part in found)
                raise StudyStopped(dataset(plan, self._dimensions, found), finished) from None
        return dataset(plan, self._dimensions, found)


def _run(portions: list[Portion], files: Store | None, client: Any, tell: _Progress) -> Iterator[Found]:
    """Yield the results of each portion: stored portions first, then the others as they finish."""
    waiting: dict[int, Portion] = {}
    for number, portion in enumerate(portions):
        stored = None if files is None else files.read(number, portion.cases)
        if stored is None:
            waiting[number] = portion
        else:
            tell.add(len(stored.cases))
            yield stored
    ran = _here(waiting, tell) if client is None else _elsewhere(waiting, client, tell)
    for number, found in ran:
        if files is not None:
            files.write(number, found)
        yield found


def _here(portions: dict[int, Portion], tell: _Progress) -> Iterator[tuple[int, Found]]:
    for number, portion in portions.items():
        found = portion.run(tell.within)
        tell.add(len(portion.cases))
        yield number, found


def _elsewhere(portions: dict[int, Portion], client: Any, tell: _Progress) -> Iterator[tuple[int, Found]]:
    """Run on the workers of an executor, or of a client that provides one."""
    from concurrent.futures import as_completed

    executor = client.get_executor() if hasattr(client, "get_executor") else client
    numbers = {executor.submit(run_portion, portion): number for number, portion in portions.items()}
    try:
        for future in as_completed(numbers):
            found = future.result()
            tell.add(len(found.cases))
            yield numbers[future], found
    finally:
        for future in numbers:
            future.cancel()


class _Progress:
    """Reports the number of cases done, on a progress bar or to a callback."""

    def __init__(self, progress: Progress, count: int) -> None:
        if not isinstance(progress, bool) and not callable(progress):
            allowed = "must be true, false or callable with a number of cases"
            raise InvalidInput("Study", "progress", repr(progress), "", allowed)
        self._done = 0
        self._bar: Any = None
        if callable(progress):
            self._tell: Callable[[int], object] = progress
        elif progress:
            from tqdm.auto import tqdm

            self._bar = tqdm(total=count, unit="case")
            self._tell = lambda done: self._bar.update(done - self._bar.n)
        else:
            self._tell = lambda done: None

    def __enter__(self) -> _Progress:
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.close()

    def within(self, more: int) -> None:
        """Report cases done within an unfinished portion."""
        self._tell(self._done + more)

    def add(self, more: int) -> None:
        """Report a finished portion."""
        self._done += more
        self._tell(self._done)


def _axis(design: Design, name: str, given: Any) -> Axis:
    which = variable(design, name)
    named = given if isinstance(given, Mapping) else dict(enumerate(_listed(name, given)))
    values = [value(design, which, each) for each in named.values()]
    if which.is_number or (
        not isinstance(given, Mapping) and all(isinstance(each, str | int) for each in values)
    ):
        labels = np.array(values)
    else:
        labels = np.array(list(named))
    return Axis(name, which, values, labels)


def _listed(name: str, given: Any) -> list[Any]:
    if isinstance(given, str) or not hasattr(given, "__iter__"):
        raise InvalidInput("Study", "vary", f"{name}: {given!r}", "", "must be a list of values")
    return list(given.tolist() if isinstance(given, np.ndarray) else given)


def _columns(cases: Any) -> dict[str, list[Any]]:
    """Return the columns of a table, or of rows with equal names."""
    if hasattr(cases, "columns"):
        return {str(name): cases[name].tolist() for name in cases.columns}
    rows = list(cases)
    for row in rows:
        if not isinstance(row, Mapping) or set(row) != set(rows[0]):
            allowed = "must be a table, or mappings that all have the same names"
            raise InvalidInput("Study", "cases", repr(row), "", allowed)
    return {name: [row[name] for row in rows] for name in (rows[0] if rows else ())}

"""Studies: many runs of varied designs."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.study.dataset import Columns
from loopdrift.analysis.study.planning.axis import Axis, axis, columns
from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.variants import Indices
from loopdrift.analysis.study.progress import Counter
from loopdrift.analysis.study.runner import run_all
from loopdrift.analysis.study.samples import Samples
from loopdrift.analysis.study.store import Store
from loopdrift.analysis.study.stored import open_study
from loopdrift.basics import notebook
from loopdrift.basics.bounds import MOST_CASES, require_count
from loopdrift.basics.errors import InvalidInput, StudyStopped
from loopdrift.basics.part import require
from loopdrift.model.design import Design, check_years
from loopdrift.model.progress import Progress, Reporting

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr


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
        self._is_grid = vary is not None
        if vary is not None:
            self._axes = [axis(design, name, values) for name, values in vary.items()]
            shape = [len(axis.values) for axis in self._axes]
            require_count(math.prod(shape), MOST_CASES, owner="Study", field="vary")
            self._which = np.indices(shape).reshape(len(shape), math.prod(shape)).T
        else:
            given_columns = columns(samples.table() if samples is not None else cases)
            require_count(
                max(map(len, given_columns.values()), default=0), MOST_CASES, owner="Study", field="cases"
            )
            self._axes = [axis(design, name, values) for name, values in given_columns.items()]
            count = len(next(iter(given_columns.values()), []))
            self._which = np.tile(np.arange(count)[:, None], len(given_columns))
        if not self._axes or not len(self._which):
            raise InvalidInput("Study", "vary", "nothing", "", "must vary at least one thing, in one case")
        paths = [each.variable.path for each in self._axes]
        for path in paths:
            if paths.count(path) > 1:
                raise InvalidInput("Study", "vary", path, "", "must be named once only")

    def __len__(self) -> int:
        return len(self._which)

    def __repr__(self) -> str:
        axes = ", ".join(f"{each.name} ({len(each.values)})" for each in self._axes)
        return f"<Study: {len(self._which):,} cases over {axes}>"

    def _repr_html_(self) -> str:
        rows = [(each.name, ", ".join(map(str, each.labels[:8]))) for each in self._axes]
        return notebook.heading(f"Study of {len(self._which):,} cases") + notebook.facts(rows)

    def run(
        self,
        years: int = 20,
        *,
        progress: Progress = False,
        store: str | os.PathLike[str] | None = None,
        load: bool = True,
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
        load : bool, default True
            Whether to return all results in memory. Otherwise they remain in `store`, and the dataset reads
            what is used, as `open_study` does; memory then doesn't grow with the number of cases, except by a
            few numbers for each.
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
            If the horizon is out of range, `store` holds another study, or `load` is false without `store`.
        StudyStopped
            On Ctrl-C; its `dataset` has the finished cases. It is a `KeyboardInterrupt`.
        OSError
            If finished cases can't be stored (earlier files are kept), or `cache` can't be used.
        """
        require(load, bool, owner="Study", field="load")
        if store is None and not load:
            raise InvalidInput("Study", "load", False, "", "must be true, unless store is given")
        horizon = check_years(years, owner="Study")
        plan = Plan(self.design, self._axes, self._which, horizon, is_grid=self._is_grid)
        files = None if store is None else Store(store, plan)
        folder = None if cache is None else os.path.abspath(cache)
        columns = Columns(plan) if load else None
        finished = 0

        def result() -> xr.Dataset:
            return open_study(os.fspath(store or "")) if columns is None else columns.dataset()

        with Reporting(progress, owner="Study", unit="case", total=plan.count) as tell:
            try:
                for found in run_all(plan, files, folder, client, Counter(tell)):
                    finished += len(found.cases)
                    if columns is not None:
                        columns.add(found)
            except KeyboardInterrupt:
                raise StudyStopped(result(), finished) from None
        return result()

"""Plants that change during their life, with all analyses of their runs."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any, Literal, Self, cast

from loopdrift.analysis.cost import of as cost_of
from loopdrift.analysis.cost import own as own_cost
from loopdrift.analysis.findings import findings
from loopdrift.basics.errors import InvalidInput
from loopdrift.files import design_file
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model import phases as model
from loopdrift.reporting import figures, report

if TYPE_CHECKING:
    from pathlib import Path

    from matplotlib.axes import Axes

    from loopdrift.analysis.cost import Cost
    from loopdrift.ground_sides.finding import Finding
    from loopdrift.model.progress import Progress
    from loopdrift.parts.prices import Prices
    from loopdrift.reporting.figures import Kind


class PhasedRun(model.PhasedRun):
    __doc__ = model.PhasedRun.__doc__

    @property
    def findings(self) -> list[Finding]:
        """Findings about limits, freezing, and the heat pump's table and capacity, with their phase."""
        return self.once(findings)

    def cost(self, prices: Prices | None = None) -> Cost:
        """Return the cost of the run by year, and of the alternatives in the prices.

        Investments of later years are discounted from the beginning of their year, and are part of present
        and levelised cost. Alternatives meet the same loads and are never changed.

        Parameters
        ----------
        prices : Prices, optional
            The prices; by default those of the first design.

        Raises
        ------
        InvalidInput
            If there are no prices; or there is cooling, and an alternative has no COP for it.
        """
        return self.once(own_cost) if prices is None else cost_of(self, prices)

    def write_report(
        self,
        path: str | os.PathLike[str],
        *,
        title: str | None = None,
        units: Literal["SI", "IP"] = "SI",
        full: bool = False,
        force: bool = False,
    ) -> Path:
        """Write the run as one HTML page that needs no other file; see `Run.write_report`.

        Parameters
        ----------
        path : str or path-like
            The file.
        title : str, optional
            Heading of the page; by default the name of the project.
        units : {"SI", "IP"}, default "SI"
            Units of tables and charts, which also come first in sentences.
        full : bool, default False
            Whether the page also has the engineer's part, of the plant of the last phase.
        force : bool, default False
            Whether to replace a file that loopdrift didn't write or that has been modified.

        Raises
        ------
        InvalidInput
            If the title is empty, or the file exists and isn't an unmodified page written by loopdrift.
        OSError
            If the file can't be written; an existing file is left unchanged.
        """
        return report.write(self, path, title=title, units=units, full=full, force=force)

    def plot(
        self, kind: Kind = "horizon", *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None
    ) -> Axes:
        """Draw one chart of the run; that of all years has a line at each change.

        Parameters
        ----------
        kind : str, default "horizon"
            The chart, as for `Run.plot`; that of the loads is of the last phase.
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.

        Returns
        -------
        matplotlib.axes.Axes
            The chart.

        Raises
        ------
        InvalidInput
            If `kind` or `units` is unknown.
        """
        return figures.draw(self, kind, units, ax)


class Phases(model.Phases):
    __doc__ = model.Phases.__doc__

    run_type = PhasedRun

    def then(self, year: int, *, investment: float | str = 0.0, **changes: Any) -> Self:
        side = self.phases[0].design.ground_side
        if not kind_of(side).conducts:  # before a run, so that a check of the file says so
            allowed = "must be a field of bores or trenches, if the plant changes during the run"
            raise InvalidInput("Design.then", "ground_side", side, "", allowed)
        return super().then(year, investment=investment, **changes)

    then.__doc__ = model.Phases.then.__doc__

    def run(self, years: int = 20, *, progress: Progress = False) -> PhasedRun:
        return cast(PhasedRun, super().run(years, progress=progress))

    run.__doc__ = model.Phases.run.__doc__

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write the plant to a TOML file, and its hourly series to CSV files in the same folder.

        Parameters
        ----------
        path : str or path-like
            The TOML file, which `Design.read_phases` reads. Loads go to ``<stem>-loads.csv`` and, of the
            first change, to ``<stem>-then-1-loads.csv``.

        Raises
        ------
        OSError
            If a file can't be written; then no file has changed.
        """
        design_file.write_phases(self, path)

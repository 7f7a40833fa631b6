"""A run with all its analyses."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Literal

from loopdrift.analysis import heat_build_up
from loopdrift.analysis.cost import of as cost_of
from loopdrift.analysis.cost import own as own_cost
from loopdrift.analysis.findings import drift, findings, verdict
from loopdrift.analysis.hydraulics import antifreeze
from loopdrift.basics import notebook
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.ground_sides.bore_field.around import temperature as ground_temperature
from loopdrift.model import run as model
from loopdrift.model.progress import Progress
from loopdrift.reporting import figures, report
from loopdrift.reporting.summary import summary

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike

    from loopdrift.analysis.cost import Cost
    from loopdrift.analysis.heat_build_up import HeatBuildUp, Recovery
    from loopdrift.analysis.hydraulics import Antifreeze
    from loopdrift.ground_sides.finding import Finding
    from loopdrift.parts.prices import Prices
    from loopdrift.reporting.figures import Kind


class Run(model.Run):
    __doc__ = model.Run.__doc__

    def antifreeze(
        self,
        name: str = "propylene glycol",
        *,
        margin: float | str = 3.0,
        doses: Sequence[float] = (0.1, 0.2, 0.3),
    ) -> Antifreeze:
        """Return the smallest dose of an antifreeze that keeps a margin below the coldest leaving fluid.

        The temperatures of this run are used. Another dose changes the bore resistance and so, slightly, the
        lowest fluid temperature: to be sure, run the design again with the resulting fluid.

        Parameters
        ----------
        name : str, default "propylene glycol"
            The antifreeze, by its name in `Fluid`.
        margin : float or str, default 3
            Margin of the lowest leaving fluid temperature above the freezing point [K].
        doses : sequence of float, default (0.1, 0.2, 0.3)
            Mass fractions of other doses for comparison [-].

        Returns
        -------
        Antifreeze
            The mixture, and the table of doses.

        Raises
        ------
        InvalidInput
            If no dose in the source's range keeps the margin, or an argument is out of range.
        """
        return antifreeze(self, name, margin, doses)

    @property
    def findings(self) -> list[Finding]:
        """Findings about limits, freezing, and the heat pump's table and capacity."""
        return self.once(findings)

    def cost(self, prices: Prices | None = None) -> Cost:
        """Return the cost of the run by year, and of the alternatives in the prices.

        Parameters
        ----------
        prices : Prices, optional
            The prices; by default those of the design.

        Raises
        ------
        InvalidInput
            If there are no prices; or there is cooling, and an alternative has no COP for it.
        """
        return self.once(own_cost) if prices is None else cost_of(self, prices)

    def heat_build_up(self, *, progress: Progress = False) -> HeatBuildUp:
        """Compute the long-term effect of the loads on the ground, with a run of 100 years.

        The steady state is that of the last year's heat continued indefinitely: the value of the g-function
        after 10,000 years gives the mean wall temperature. The drift that remains after 100 years is small,
        so the response of the heat pump to it is neglected.

        Parameters
        ----------
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of hours done.

        Returns
        -------
        HeatBuildUp
            Imbalance and drift by year, the steady state, and the year in which 90 % of the drift is
            complete.

        Raises
        ------
        InvalidInput
            If the fluid freezes within 100 years, or the loads don't repeat within them.
        """
        return heat_build_up.heat_build_up(self, progress)

    def recovery(self, rest: int = 10, *, progress: Progress = False) -> Recovery:
        """Compute the recovery of the ground after the plant stops at the end of the run.

        Parameters
        ----------
        rest : int, default 10
            Years that follow without load or recharge, at most 100 including those of the run.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of hours done.

        Returns
        -------
        Recovery
            The bore wall's temperature at the end of each of those years.

        Raises
        ------
        InvalidInput
            If `rest` is out of range.
        """
        return heat_build_up.recovery(self, rest, progress)

    def ground_temperature(
        self, points: ArrayLike, *, years: int | Sequence[int] | None = None, hour: int = HOURS_PER_YEAR - 1
    ) -> xr.DataArray:
        """Return the temperature of the ground at given points, below a surface of constant temperature.

        It is the undisturbed temperature less the superposed effect of the heat of every hour, distributed
        over the segments of all bores so that the wall temperature is uniform. Inside a bore, it is the wall
        temperature.

        Parameters
        ----------
        points : array_like
            x, y and depth of each point, shape (n, 3) [m].
        years : int or sequence of int, optional
            Years of operation, from 1; by default the last.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions year and point [degC].

        Raises
        ------
        InvalidInput
            If a point lies above the surface, or a year or the hour is outside the run.
        """
        return ground_temperature.at_points(self, points, years, hour)

    def ground_map(
        self,
        *,
        year: int | None = None,
        depth: float | str | None = None,
        x: ArrayLike | None = None,
        y: ArrayLike | None = None,
        hour: int = HOURS_PER_YEAR - 1,
    ) -> xr.DataArray:
        """Return the temperature of the ground in a horizontal plane.

        Parameters
        ----------
        year : int, optional
            Year of operation, from 1; by default the last.
        depth : float or str, optional
            Depth below the surface [m]; by default halfway down the bores.
        x, y : array_like, optional
            Coordinates along each axis [m]; by default 200 points over the field and its surroundings.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions y and x [degC]; `plots.ground_map` draws them.

        Raises
        ------
        InvalidInput
            If the depth is above the surface, or the year or the hour is outside the run.
        """
        return ground_temperature.plan(self, year, depth, x, y, hour)

    def ground_section(
        self,
        *,
        year: int | None = None,
        y: float | str | None = None,
        x: ArrayLike | None = None,
        depths: ArrayLike | None = None,
        hour: int = HOURS_PER_YEAR - 1,
    ) -> xr.DataArray:
        """Return the temperature of the ground in a vertical plane along x.

        Parameters
        ----------
        year : int, optional
            Year of operation, from 1; by default the last.
        y : float or str, optional
            Position of the plane [m]; by default through the bores nearest to the field's centre.
        x, depths : array_like, optional
            Coordinates along x, and depths below the surface [m]; by default 200 points each over the field
            and its surroundings.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions depth and x [degC]; `plots.ground_section` draws them.

        Raises
        ------
        InvalidInput
            If a depth is above the surface, or the year or the hour is outside the run.
        """
        return ground_temperature.section(self, year, y, x, depths, hour)

    def ground_heat(self) -> pd.DataFrame:
        """Return the origin of the heat extracted since the start, at the end of each year.

        ``heat_extracted_kWh``: extracted less rejected; ``from_ground_kWh``: from the cooling of the ground,
        an integral over its volume; ``from_surface_kWh``: through the surface, an integral over area and
        time; ``from_bores_kWh``: from fluid, pipes and grout. Values are negative for heat in the opposite
        direction. The last three are computed independently and add up to the first.
        """
        return ground_temperature.heat(self)

    def far_field_radius(
        self,
        threshold: float | str,
        *,
        year: int | None = None,
        depth: float | str | None = None,
        hour: int = HOURS_PER_YEAR - 1,
    ) -> float:
        """Return the distance from the field within which the ground temperature has changed by a threshold.

        In 48 directions around the field, the farthest point is found at which the temperature differs by
        the threshold or more from the undisturbed temperature. The result is the distance from that point to
        the nearest bore axis.

        Parameters
        ----------
        threshold : float or str
            Absolute change of temperature [K].
        year : int, optional
            Year of operation, from 1; by default the last.
        depth : float or str, optional
            Depth below the surface [m]; by default halfway down the bores.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        float
            The distance [m]; 0 if there is no such change.

        Raises
        ------
        InvalidInput
            If the threshold is below 1e-6 K, the depth is above the surface, or the year or the hour is
            outside the run.
        """
        return ground_temperature.far_field_radius(self, threshold, year, depth, hour)

    def write_report(
        self,
        path: str | os.PathLike[str],
        *,
        title: str | None = None,
        units: Literal["SI", "IP"] = "SI",
        full: bool = False,
        force: bool = False,
    ) -> Path:
        """Write the run as one HTML page that needs no other file.

        Parameters
        ----------
        path : str or path-like
            The file.
        title : str, optional
            Heading of the page; by default the name of the project.
        units : {"SI", "IP"}, default "SI"
            Units of tables and charts, which also come first in sentences.
        full : bool, default False
            Whether the page also has the engineer's part: hydraulics, heat pump and fit, monthly and yearly
            tables, error figures, checks and sources.
        force : bool, default False
            Whether to replace a file that loopdrift didn't write or that has been modified.

        Returns
        -------
        pathlib.Path
            The file.

        Raises
        ------
        InvalidInput
            If the title is empty, or the file exists and isn't an unmodified page written by loopdrift.
        OSError
            If the file can't be written; an existing file is left unchanged.
        """
        return report.write(self, path, title=title, units=units, full=full, force=force)

    def plot(
        self,
        kind: Kind = "horizon",
        *,
        units: Literal["SI", "IP"] = "SI",
        ax: Axes | None = None,
    ) -> Axes:
        """Draw one chart of the run.

        Parameters
        ----------
        kind : str, default "horizon"
            Entering fluid temperature by year ("horizon"); hours of the worst week ("coldest-week",
            "hottest-week"); heat and electricity by year ("energy"); loads by month ("loads"); plan of the
            field, profile of a pond or streamlines between wells ("layout"); cross-section of trenches
            ("section"); plan of house, property lines and loop ("site").
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

    @property
    def kinds(self) -> list[Kind]:
        """The charts that `plot` can draw for this run."""
        return figures.kinds(self.design)

    def __str__(self) -> str:
        return summary(self)

    def _repr_html_(self) -> str:
        columns = ["entering_fluid_min_degC", "entering_fluid_max_degC", "electricity_kWh", "seasonal_cop"]
        ends = self.yearly.loc[sorted({1, self.years}), columns]
        return (
            notebook.heading(f"{self.years} years of {self.design.ground_side}")
            + notebook.sentences([verdict(self), drift(self)])
            + notebook.table(ends)
            + figures.horizon_svg(self)
        )

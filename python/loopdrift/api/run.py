"""A run, with everything that follows from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from loopdrift.analysis import heat_build_up
from loopdrift.analysis.cost import of as cost_of
from loopdrift.analysis.cost import own as own_cost
from loopdrift.analysis.findings import drift, findings, verdict
from loopdrift.analysis.hydraulics import antifreeze
from loopdrift.basics import notebook
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.ground_sides.bore_field import ground_temperature
from loopdrift.model import run as model
from loopdrift.reporting import figures
from loopdrift.reporting.summary import summary

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        """Return the least dose of an antifreeze that keeps a margin below the coldest leaving fluid.

        The run's temperatures are kept. Another dose changes the bores' resistance and so, a little, the
        coldest fluid: to be sure, run the design again with the fluid that was found.

        Parameters
        ----------
        name : str, default "propylene glycol"
            The antifreeze, as `Fluid` knows it.
        margin : float or str, default 3
            Distance of the coldest leaving fluid from the freezing point [K].
        doses : sequence of float, default (0.1, 0.2, 0.3)
            Mass fractions of other doses to compare it with [-].

        Returns
        -------
        Antifreeze
            The mixture, and the table of doses.

        Raises
        ------
        InvalidInput
            If no dose that the source knows keeps the margin, or an argument is out of range.
        """
        return antifreeze(self, name, margin, doses)

    @property
    def findings(self) -> list[Finding]:
        """What the run says about limits, freezing, the heat pump's table and its capacity."""
        return self.once(findings)

    def cost(self, prices: Prices | None = None) -> Cost:
        """Return what the run costs year by year, beside the alternatives in the prices.

        Parameters
        ----------
        prices : Prices, optional
            The prices; the design's own where left out.

        Raises
        ------
        InvalidInput
            If there are no prices; or there is cooling, and an alternative lacks a COP for it.
        """
        return self.once(own_cost) if prices is None else cost_of(self, prices)

    def heat_build_up(self) -> HeatBuildUp:
        """Find what heat does to the ground in the long run, by a run of 100 years.

        The steady state is where that run's last year leads if its heat goes on for ever: the g-function's
        value after 10,000 years gives the wall's mean temperature. What is left after 100 years is little, so
        that the heat pump's answer to it matters less still.

        Returns
        -------
        HeatBuildUp
            Imbalance and drift by year, the steady state, and the year in which 90 % of the drift is done.

        Raises
        ------
        InvalidInput
            If the fluid freezes within 100 years, or the loads don't repeat within them.
        """
        return heat_build_up.heat_build_up(self)

    def recovery(self, rest: int = 10) -> Recovery:
        """Find how the ground recovers after the plant stops for good at the end of the run.

        Parameters
        ----------
        rest : int, default 10
            Years without any load or recharge that follow, at most 100 with those of the run.

        Returns
        -------
        Recovery
            The bore wall's temperature at the end of each of those years.

        Raises
        ------
        InvalidInput
            If `rest` is out of range.
        """
        return heat_build_up.recovery(self, rest)

    def ground_temperature(
        self, points: ArrayLike, *, years: int | Sequence[int] | None = None, hour: int = HOURS_PER_YEAR - 1
    ) -> xr.DataArray:
        """Return the temperature of the ground at some points, below a surface of constant temperature.

        It is the undisturbed temperature less what the heat of every hour has drawn, superposed with the
        share of each segment of each bore that one wall temperature demands. Inside a bore it is that of the
        wall.

        Parameters
        ----------
        points : array_like
            x, y and depth of each point, shape (n, 3) [m].
        years : int or sequence of int, optional
            Years of operation, from 1; the last one unless given.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions year and point [degC].

        Raises
        ------
        InvalidInput
            If a point lies above the surface, or a year or the hour is none of the run's.
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
        """Return the temperature of the ground at one depth, in plan.

        Parameters
        ----------
        year : int, optional
            Year of operation, from 1; the last one unless given.
        depth : float or str, optional
            Depth below the surface [m]; half way down the bores unless given.
        x, y : array_like, optional
            Where, along each axis [m]; 200 points over the field and its surroundings unless given.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions y and x [degC]; `plots.ground_map` draws them.

        Raises
        ------
        InvalidInput
            If the depth is above the surface, or the year or the hour is none of the run's.
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
            Year of operation, from 1; the last one unless given.
        y : float or str, optional
            Where the plane lies [m]; through the bores nearest to the field's middle unless given.
        x, depths : array_like, optional
            Where, along x and down from the surface [m]; 200 points each over the field and its surroundings
            unless given.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        xarray.DataArray
            Temperatures, dimensions depth and x [degC]; `plots.ground_section` draws them.

        Raises
        ------
        InvalidInput
            If a depth is above the surface, or the year or the hour is none of the run's.
        """
        return ground_temperature.section(self, year, y, x, depths, hour)

    def ground_heat(self) -> pd.DataFrame:
        """Return where the heat extracted since the start came from, at the end of each year.

        ``heat_extracted_kWh``: extracted less rejected; ``from_ground_kWh``: from the ground, which is colder
        for it, an integral over all of the ground; ``from_surface_kWh``: through the surface, an integral
        over it and over time; ``from_bores_kWh``: from fluid, pipes and grout. All are negative where heat
        went the other way. The last three are found apart, and add up to the first.
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
        """Return how far from the field the ground has changed by a threshold, in plan.

        It is the distance to the nearest bore's axis from the farthest point, of 48 directions around the
        field, at which the temperature differs by the threshold or more from that before the first hour.

        Parameters
        ----------
        threshold : float or str
            Change of the temperature, either way [K].
        year : int, optional
            Year of operation, from 1; the last one unless given.
        depth : float or str, optional
            Depth below the surface [m]; half way down the bores unless given.
        hour : int, default 8759
            Hour of the year, from 0; temperatures are those at its end.

        Returns
        -------
        float
            The distance [m]; 0 where no such change is found.

        Raises
        ------
        InvalidInput
            If the threshold is below 1e-6 K, the depth above the surface, or the year or the hour none of the
            run's.
        """
        return ground_temperature.far_field_radius(self, threshold, year, depth, hour)

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
            "hottest-week"); heat and electricity by year ("energy"); loads by month ("loads"); the field from
            above, a pond's depths or the water's ways between wells ("layout"); a cross-section of trenches
            ("section").
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; a new figure unless given.

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
        """The charts that `plot` can draw of this run."""
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

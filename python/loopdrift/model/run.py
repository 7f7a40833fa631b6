"""What one simulation returns."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import hour_of_calendar_year
from loopdrift.basics.series import HOURS_PER_YEAR

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes
    from numpy.typing import ArrayLike, NDArray

    from loopdrift import _core
    from loopdrift.analysis.cost import Cost
    from loopdrift.analysis.heat_build_up import HeatBuildUp, Recovery
    from loopdrift.ground_sides.finding import Finding
    from loopdrift.model.design import Design
    from loopdrift.model.judgement import Judgement
    from loopdrift.model.run_error import RunError
    from loopdrift.parts.prices import Prices
    from loopdrift.reporting.figures import Kind


class Run:
    """Hourly fluid temperatures of a design over a horizon, and what follows from them.

    Made by `Design.run`.

    Parameters
    ----------
    design : Design
        What was run.
    hourly, yearly : dict of str to numpy.ndarray
        The engine's columns.
    error : RunError
        The largest errors of the temperatures.
    judgement : Judgement
        What the run was judged by.
    """

    def __init__(
        self,
        design: Design,
        hourly: dict[str, NDArray[np.float64]],
        yearly: dict[str, NDArray[Any]],
        error: RunError,
        judgement: Judgement,
    ) -> None:
        self._hourly = hourly
        self._yearly = yearly
        self.design = design
        self.error = error
        self.judgement = judgement

    @property
    def holds(self) -> bool:
        """Whether every limit holds in every hour; `Limits` has the table of what is judged."""
        return self.judgement.holds

    @property
    def years(self) -> int:
        """Number of years of the run."""
        return len(self._yearly["seasonal_cop"])

    @functools.cached_property
    def hourly(self) -> pd.DataFrame:
        """One row an hour, by year (from 1) and hour of the year (from 0); temperatures at the hour's end.

        ``entering_fluid_degC``, ``leaving_fluid_degC``, ``wall_degC`` (bore wall, mean of the outsides of
        pipes in trenches, water at a pond's coils, or a well's water), ``heat_extracted_W`` (negative when
        heat is rejected), ``electricity_W`` (all of the plant: heat pump, circulation pump, the pump
        of a well, back-up heat, the element for hot water, and the fans or pumps of the distribution),
        ``backup_W`` (heating beyond the heat pump's capacity), ``unmet_cooling_W`` (cooling beyond it); with
        distribution ``distribution_W``, with a tank ``hot_water_element_W`` and ``tank_degC``. ``backup_W``,
        ``distribution_W`` and ``hot_water_element_W`` are parts of ``electricity_W``. The engine's columns
        are its own arrays, not copies.

        A pond adds ``ice_m``, ``water_surface_degC`` (of the ice where there is any), ``coil_surface_degC``,
        ``heat_from_above_W``, ``heat_from_ground_W``, ``heat_from_inflow_W`` (means of the hour into water
        and ice) and ``stored_kWh`` (heat in both, over water of 0 degC). A well adds ``discharge_degC``,
        ``drawdown_m`` (while it pumps, if it does), ``electricity_well_W`` (its pump, part of
        ``electricity_W``) and ``well_flow_kg_per_s`` (mean of the hour).
        """
        import pandas as pd

        index = pd.MultiIndex.from_product(
            [np.arange(1, self.years + 1), np.arange(HOURS_PER_YEAR)], names=["year", "hour"]
        )
        return pd.DataFrame(self._hourly | self._beside, index=index, copy=False)

    @functools.cached_property
    def _beside(self) -> dict[str, NDArray[np.float64]]:
        """What the plant does beside the heat pump, as the loads repeat over the run."""
        design, columns = self.design, {}
        if design.distribution is not None:
            columns["distribution_W"] = design.distribution_power
        if design.tank is not None:
            columns["hot_water_element_W"] = design.tank["element_W"]
            columns["tank_degC"] = design.tank["temperature_degC"]
        hours = hour_of_calendar_year(design.start_month) + np.arange(self.years * HOURS_PER_YEAR)
        return {name: values.take(hours, mode="wrap") for name, values in columns.items()}

    @functools.cached_property
    def yearly(self) -> pd.DataFrame:
        """One row a year.

        ``entering_fluid_min_degC``, ``_mean_degC``, ``_max_degC`` and ``leaving_fluid_min_degC`` over all
        hours; ``drift_min_K``, ``drift_mean_K``, ``drift_max_K``: their change from the year before;
        ``heat_extracted_kWh`` and ``heat_rejected_kWh`` of the ground; ``heating_kWh`` and ``cooling_kWh``
        delivered by the heat pump, with what hot water takes from the compressor in cooling;
        ``electricity_kWh`` of the whole plant: heat pump, circulation pump, the pump of a well, back-up heat,
        the element for hot water, and the fans or pumps of the distribution; ``backup_kWh``,
        ``unmet_cooling_kWh``; ``seasonal_cop``: heat and cold delivered by heat pump, back-up heat and
        element over that electricity, NaN in a year without any, such as one without loads; with
        distribution or a tank ``distribution_kWh`` and ``hot_water_element_kWh``, both part of
        ``electricity_kWh``; and hours: ``hours_running``, ``hours_outside_limits``,
        ``hours_outside_table``, ``hours_near_freezing``, ``hours_fluid_too_warm`` (fluid beyond its table of
        properties, or boiling) and ``hours_short_of_capacity``. ``limits_broken`` counts the criteria that
        decide and are broken in the year, as `Limits` lists them.

        Trenches add ``soil_at_pipes_min_degC`` and ``hours_soil_frozen``. A pond adds
        ``water_at_coils_min_degC``, ``water_at_coils_max_degC``, ``coil_surface_min_degC``, ``ice_max_m``,
        ``hours_with_ice`` and ``hours_coil_frozen`` (its outside below 0 degC). A well adds
        ``electricity_well_kWh`` of its pump, part of ``electricity_kWh``, ``water_pumped_m3``,
        ``drawdown_max_m``, and of
        the hours in which it pumps ``well_water_min_degC``, ``well_water_max_degC``, ``discharge_min_degC``,
        ``discharge_max_degC``, ``hours_discharge_too_cold`` and ``hours_after_breakthrough`` (with returned
        water in what it gives).
        """
        import pandas as pd

        index = pd.Index(np.arange(1, self.years + 1), name="year")
        table = pd.DataFrame(self._yearly, index=index)
        place = list(table).index("seasonal_cop")
        for name, watts in self._beside.items():
            if name.endswith("_W"):
                sums = watts.reshape(self.years, HOURS_PER_YEAR).sum(axis=1) / 1000.0
                table.insert(place, f"{name.removesuffix('_W')}_kWh", sums)
        for place, which in enumerate(("min", "mean", "max"), start=4):
            table.insert(place, f"drift_{which}_K", table[f"entering_fluid_{which}_degC"].diff())
        return table

    @functools.cached_property
    def findings(self) -> list[Finding]:
        """What the run says about limits, freezing, the heat pump's table and its capacity."""
        from loopdrift.reporting.findings import findings

        return findings(self)

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
        from loopdrift.analysis.cost import of

        return self._own_cost if prices is None else of(self, prices)

    @functools.cached_property
    def _own_cost(self) -> Cost:
        """What the run costs by the design's prices."""
        from loopdrift.analysis.cost import of

        if self.design.prices is None:
            raise InvalidInput("Run", "prices", None, "", "must be given where the design has none")
        return of(self, self.design.prices)

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
        from loopdrift.analysis import heat_build_up

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
        from loopdrift.analysis import heat_build_up

        return heat_build_up.recovery(self, rest)

    @functools.cached_property
    def _ground_history(self) -> _core.GroundHistory:
        """The heat drawn hour by hour, spread over bores and their segments, as the engine keeps it."""
        from loopdrift.ground_sides.bore_field import ground_temperature

        return ground_temperature.history(self)

    def __getstate__(self) -> dict[str, Any]:
        # The engine makes it anew where it is asked for.
        return {name: value for name, value in self.__dict__.items() if name != "_ground_history"}

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
        from loopdrift.ground_sides.bore_field import ground_temperature

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
        from loopdrift.ground_sides.bore_field import ground_temperature

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
        from loopdrift.ground_sides.bore_field import ground_temperature

        return ground_temperature.section(self, year, y, x, depths, hour)

    def ground_heat(self) -> pd.DataFrame:
        """Return where the heat extracted since the start came from, at the end of each year.

        ``heat_extracted_kWh``: extracted less rejected; ``from_ground_kWh``: from the ground, which is colder
        for it, an integral over all of the ground; ``from_surface_kWh``: through the surface, an integral
        over it and over time; ``from_bores_kWh``: from fluid, pipes and grout. All are negative where heat
        went the other way. The last three are found apart, and add up to the first.
        """
        from loopdrift.ground_sides.bore_field import ground_temperature

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
        from loopdrift.ground_sides.bore_field import ground_temperature

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
        from loopdrift.reporting import figures

        return figures.draw(self, kind, units, ax)

    @property
    def wall(self) -> str:
        """What ``wall_degC`` is the temperature of."""
        return self.design.ground_side.wall

    @property
    def kinds(self) -> list[Kind]:
        """The charts that `plot` can draw of this run."""
        from loopdrift.reporting import figures

        return figures.kinds(self.design)

    def __str__(self) -> str:
        from loopdrift.reporting.summary import summary

        return summary(self)

    def hour_of(self, which: Literal["coldest", "hottest"]) -> tuple[int, int]:
        """Return year and hour of the year of the coldest or the hottest entering fluid.

        Parameters
        ----------
        which : {"coldest", "hottest"}
            Which of the two.

        Raises
        ------
        InvalidInput
            If `which` is neither.
        """
        if which not in ("coldest", "hottest"):
            raise InvalidInput("Run", "which", repr(which), "", "must be coldest or hottest")
        entering = self._hourly["entering_fluid_degC"]
        place = int(entering.argmin() if which == "coldest" else entering.argmax())
        return place // HOURS_PER_YEAR + 1, place % HOURS_PER_YEAR

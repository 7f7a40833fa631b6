"""The result of one simulation."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, Self, TypeVar

import numpy as np

from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, hour_of_calendar_year, stamps_of_run
from loopdrift.basics.numbers import whole_number
from loopdrift.model.columns import attributes, with_units

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from numpy.typing import NDArray

    from loopdrift.model.design import Design
    from loopdrift.model.judgement import Judgement
    from loopdrift.model.run_error import RunError

Made = TypeVar("Made")


class Span(NamedTuple):
    """Years of a run in which the plant stays the same.

    Parameters
    ----------
    first, last : int
        First and last year.
    design : Design
        The plant.
    loads_since : int
        Year in which its loads began.
    """

    first: int
    last: int
    design: Design
    loads_since: int = 1

    def hours_of_loads(self) -> NDArray[np.int64]:
        """Return the hour of the loads in each hour of these years; it wraps around at their end."""
        hours = np.arange((self.first - 1) * HOURS_PER_YEAR, self.last * HOURS_PER_YEAR)
        begun = (self.loads_since - 1) * HOURS_PER_YEAR
        return hours - begun + hour_of_calendar_year(self.design.start_month)


_KEPT = "_kept"


class Run:
    """Hourly fluid temperatures of a design over a horizon, and results derived from them.

    Made by `Design.run`.

    Parameters
    ----------
    design : Design
        The design.
    hourly, yearly : dict of str to numpy.ndarray
        The engine's columns.
    error : RunError
        The largest errors of the temperatures.
    judgement : Judgement
        The judgement of the run by its limits.
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

    def __repr__(self) -> str:
        lowest = self._yearly["entering_fluid_min_degC"].min()
        verdict = "holds" if self.holds else "does not hold"
        years = f"{self.years} year{'s' if self.years > 1 else ''}"
        return (
            f"<Run: {years} of {self.design.ground_side}; {verdict}, entering fluid from {lowest:.1f} degC>"
        )

    @property
    def holds(self) -> bool:
        """Whether every limit holds in every hour; `Limits` has the table of criteria."""
        return self.judgement.holds

    @property
    def years(self) -> int:
        """Number of years of the run."""
        return len(self._yearly["seasonal_cop"])

    @property
    def spans(self) -> tuple[Span, ...]:
        """The years of each plant: all of them, for a plant that doesn't change."""
        return (Span(1, self.years, self.design),)

    def span_of(self, year: int) -> Span:
        """Return the span in which a year lies.

        Parameters
        ----------
        year : int
            The year, from 1.
        """
        return next(span for span in self.spans if span.first <= year <= span.last)

    def once(self, make: Callable[[Self], Made]) -> Made:
        """Return the result of a function of this run, computed once and cached.

        Parameters
        ----------
        make : callable
            The function.
        """
        kept = self.__dict__.setdefault(_KEPT, {})
        if make not in kept:
            kept[make] = make(self)
        made: Made = kept[make]
        return made

    def __getstate__(self) -> dict[str, Any]:
        # Cached results are recomputed after unpickling.
        return {name: value for name, value in self.__dict__.items() if name != _KEPT}

    @functools.cached_property
    def hourly(self) -> pd.DataFrame:
        """One row per hour, by year (from 1) and hour of the year (from 0); temperatures at the hour's end.

        ``entering_fluid_degC``, ``leaving_fluid_degC``, ``wall_degC`` (bore wall, mean outer surface of
        pipes in trenches, water at a pond's coils, or a well's water), ``heat_extracted_W`` (negative when
        heat is rejected), ``electricity_W`` (of the whole plant: heat pump, circulation pump, well pump,
        back-up heat, electric element for hot water, and fans or pumps of the distribution), ``backup_W``
        (heating beyond the heat pump's capacity), ``unmet_cooling_W`` (cooling beyond it); with distribution
        ``distribution_W``, with a tank ``hot_water_element_W`` and ``tank_degC``. ``backup_W``,
        ``distribution_W`` and ``hot_water_element_W`` are included in ``electricity_W``. The engine's
        columns share memory with its arrays.

        A pond adds ``ice_m``, ``water_surface_degC`` (of the ice, if there is any), ``coil_surface_degC``,
        ``heat_from_above_W``, ``heat_from_ground_W``, ``heat_from_inflow_W`` (hourly means into water and
        ice) and ``stored_kWh`` (heat stored in both, relative to water at 0 degC). A well adds
        ``discharge_degC``, ``drawdown_m`` (while it pumps, if it does), ``electricity_well_W`` (its pump,
        included in ``electricity_W``) and ``well_flow_kg_per_s`` (hourly mean).

        ``attrs["units"]`` has the unit of each column.
        """
        import pandas as pd

        index = pd.MultiIndex.from_product(
            [np.arange(1, self.years + 1), np.arange(HOURS_PER_YEAR)], names=["year", "hour"]
        )
        return with_units(pd.DataFrame(self._hourly | self._beside, index=index, copy=False))

    def hourly_from(self, year: int) -> pd.DataFrame:
        """Return the hourly table on a dated calendar, for other series with dates and for resampling.

        Parameters
        ----------
        year : int
            Calendar year in which the run begins, 1900 to 2200, on the first day of the design's
            `start_month`.

        Returns
        -------
        pandas.DataFrame
            The columns of `hourly`; the index has the beginning of each hour in local standard time. Every
            year of a run has 365 days, so 29 February is missing from leap years. Weekdays are those of the
            loads and needn't be those of the dates.

        Raises
        ------
        InvalidInput
            If the year is out of range.
        """
        import pandas as pd

        first = whole_number(year, 1900, 2200, owner="Run", field="year")
        stamps = stamps_of_run(first, self.design.start_month, self.years)
        return self.hourly.set_axis(pd.DatetimeIndex(stamps, name="hour_beginning"))

    def to_xarray(self) -> xr.Dataset:
        """Return both tables as one dataset, hourly columns by year and hour, yearly columns by year.

        Each variable has its unit and meaning in ``attrs["units"]`` and ``attrs["long_name"]``. The engine's
        columns share memory with its arrays.
        """
        import xarray as xr

        shape = (self.years, HOURS_PER_YEAR)
        hourly = {
            name: (("year", "hour"), column.to_numpy().reshape(shape), attributes(name))
            for name, column in self.hourly.items()
        }
        yearly = {
            name: (("year",), column.to_numpy(), attributes(name)) for name, column in self.yearly.items()
        }
        coordinates = {
            "year": ("year", np.arange(1, self.years + 1), {"long_name": "year of operation"}),
            "hour": ("hour", np.arange(HOURS_PER_YEAR), {"long_name": "hour of the year", "units": "h"}),
        }
        title = f"{self.years} years of {self.design.ground_side}"
        about = {"title": title, "start_month": self.design.start_month}
        return xr.Dataset({**hourly, **yearly}, coords=coordinates, attrs=about)

    @functools.cached_property
    def _beside(self) -> dict[str, NDArray[np.float64]]:
        """Columns of the plant apart from the heat pump, repeated like the loads.

        Zero, or NaN for a temperature, in years without the part.
        """
        columns: dict[str, NDArray[np.float64]] = {}
        for span in self.spans:
            design, own = span.design, {}
            if design.distribution is not None:
                own["distribution_W"] = design.distribution_power
            if design.tank is not None:
                own["hot_water_element_W"] = design.tank["element_W"]
                own["tank_degC"] = design.tank["temperature_degC"]
            years = slice((span.first - 1) * HOURS_PER_YEAR, span.last * HOURS_PER_YEAR)
            for name, values in own.items():
                missing = 0.0 if name.endswith("_W") else np.nan
                column = columns.setdefault(name, np.full(self.years * HOURS_PER_YEAR, missing))
                column[years] = values.take(span.hours_of_loads(), mode="wrap")
        return columns

    @functools.cached_property
    def yearly(self) -> pd.DataFrame:
        """One row per year.

        ``entering_fluid_min_degC``, ``entering_fluid_mean_degC``, ``entering_fluid_max_degC`` and
        ``leaving_fluid_min_degC`` over all hours; ``drift_min_K``, ``drift_mean_K``, ``drift_max_K``: their
        change from the year before;
        ``heat_extracted_kWh`` from and ``heat_rejected_kWh`` to the ground; ``heating_kWh`` and
        ``cooling_kWh`` delivered by the heat pump, with the heat recovered for hot water in cooling;
        ``electricity_kWh`` of the whole plant: heat pump, circulation pump, well pump, back-up heat, electric
        element for hot water, and fans or pumps of the distribution; ``backup_kWh``, ``unmet_cooling_kWh``;
        ``seasonal_cop``: heating and cooling delivered by heat pump, back-up heat and element over that
        electricity, NaN in a year without electricity, such as one without loads; with distribution or a
        tank ``distribution_kWh`` and ``hot_water_element_kWh``, both included in ``electricity_kWh``; and
        hours: ``hours_running``, ``hours_outside_limits``, ``hours_outside_table``, ``hours_near_freezing``,
        ``hours_fluid_too_warm`` (fluid beyond its property data, or boiling) and
        ``hours_short_of_capacity``. ``limits_broken`` counts the deciding criteria that are broken in the
        year, as listed in `Limits`.

        Trenches add ``soil_at_pipes_min_degC`` and ``hours_soil_frozen``. A pond adds
        ``water_at_coils_min_degC``, ``water_at_coils_max_degC``, ``coil_surface_min_degC``, ``ice_max_m``,
        ``hours_with_ice`` and ``hours_coil_frozen`` (coil surface below 0 degC). A well adds
        ``electricity_well_kWh`` of its pump, included in ``electricity_kWh``, ``water_pumped_m3``,
        ``drawdown_max_m``, and for the hours in which it pumps ``well_water_min_degC``,
        ``well_water_max_degC``, ``discharge_min_degC``, ``discharge_max_degC``,
        ``hours_discharge_too_cold`` and ``hours_after_breakthrough`` (with returned water in its flow).

        ``attrs["units"]`` has the unit of each column; "1" for pure numbers.
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
        return with_units(table)

    @property
    def wall(self) -> str:
        """The surface or water whose temperature is ``wall_degC``."""
        return self.design.ground_side.wall

    def hour_of(self, which: Literal["coldest", "hottest"]) -> tuple[int, int]:
        """Return year and hour of the year of the lowest or the highest entering fluid temperature.

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

"""Loads of which less is known than their hours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any, Self

import numpy as np

from loopdrift.basics.both_units import both, both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import require
from loopdrift.basics.series import Series
from loopdrift.parts.loads import bills as billed
from loopdrift.parts.loads import months as of_months
from loopdrift.parts.loads.bills import EFFICIENCY, TOTAL, Bill
from loopdrift.parts.loads.hourly import HourlyLoads
from loopdrift.parts.loads.months import MONTH_PEAK, MONTH_SUM, to_peak
from loopdrift.parts.loads.origin import Shaped
from loopdrift.parts.loads.shapes import line_from_base, raised_to_peak
from loopdrift.parts.weather.weather import Weather

_ENDS = {"heating": -13.0, "cooling": 24.0}
"""Need at which there is a load at the latest, as in `to_peak`: heating at 13 degC, cooling at 24 degC."""

_PEAK = Range("W", least=0.0, most=1e9)
_FULL_LOAD_HOURS = Range("h", least=1.0, most=HOURS_PER_YEAR)
_BASE = Range("degC", least=-20.0, most=40.0)

Twelve = Sequence[float | str]


class ShapedLoads(HourlyLoads):
    """Loads that can be shaped into hours by weather; see `Loads`."""

    @classmethod
    def from_months(
        cls,
        weather: Weather,
        *,
        heating_months: Annotated[Twelve | None, MONTH_SUM] = None,
        cooling_months: Annotated[Twelve | None, MONTH_SUM] = None,
        hot_water_months: Annotated[Twelve | None, MONTH_SUM] = None,
        heating_peaks: Annotated[Twelve | None, MONTH_PEAK] = None,
        cooling_peaks: Annotated[Twelve | None, MONTH_PEAK] = None,
        hot_water_peaks: Annotated[Twelve | None, MONTH_PEAK] = None,
        heating_peak: Annotated[float | str | None, _PEAK] = None,
    ) -> Self:
        """Return loads of which the sums, and where they are known the peaks, of twelve months are given.

        Heating and cooling are proportional to degree hours, from the balance point at which these fit the
        twelve sums best (variable-base degree hours, ASHRAE Handbook of Fundamentals, from memory). A peak
        above that line falls in the mornings, as after a set-back, that of cooling in the afternoons; a
        smaller one makes the line flatter. If only the largest hour of the year is known, the same share of
        each day's heating is moved to the mornings until one hour reaches it. Hot water with peaks follows
        morning and evening, and is the same in all hours of a month without (hours of the day: common
        practice, no source). Sums and peaks are met exactly.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        heating_months, cooling_months, hot_water_months : sequence of float or str, optional
            Heat of each month from January [kWh].
        heating_peaks, cooling_peaks, hot_water_peaks : sequence of float or str, optional
            Largest hourly mean of each month [W].
        heating_peak : float or str, optional
            Largest hourly mean of the year, where those of the months aren't known [W].

        Raises
        ------
        InvalidInput
            If a load has other than twelve values, a peak can't make its month's sum, or there is no load.

        Examples
        --------
        >>> sums = [2100, 1800, 1500, 900, 300, 0, 0, 0, 200, 900, 1500, 2000]
        >>> peaks = [6500, 6300, 5600, 4100, 2200, 0, 0, 0, 1900, 3900, 5300, 6200]
        >>> loads = ShapedLoads.from_months(
        ...     Weather.sample("mild maritime"), heating_months=sums, heating_peaks=peaks
        ... )
        >>> print(f"{loads.heating.sum() / 1000:.6f} kWh, {loads.heating.max():.6f} W")
        11200.000000 kWh, 6500.000000 W
        """
        require(weather, Weather, owner="Loads", field="weather")
        given = [
            of_months.checked("heating", heating_months, heating_peaks),
            of_months.checked("cooling", cooling_months, cooling_peaks),
            of_months.checked("hot_water", hot_water_months, hot_water_peaks),
        ]
        known = [months for months in given if months is not None]
        if not known:
            allowed = "must be given, or cooling_months or hot_water_months"
            raise InvalidInput("Loads", "heating_months", "nothing", "", allowed)
        highest = None
        if heating_peak is not None:
            highest = _PEAK.of(heating_peak, owner="Loads", field="heating_peak")
            of_months.require_carried(given[0], highest, "heating_peak")
        series: dict[str, Any] = {
            months.name: of_months.shaped(
                months, weather.dry_bulb, highest if months.name == "heating" else None
            )
            for months in known
        }
        if highest is not None:
            series["heating"] = _with_peak(series["heating"], highest)
        words = [
            f"{months.name.replace('_', ' ')} {'without' if months.peaks is None else 'with'} peaks"
            for months in known
        ]
        if highest is not None:
            words.append(f"largest hour of heating {both(highest / 1e3, 'kW', '.3g')}")
        origin = [
            ("months", f"sums of twelve months, {', '.join(words)}"),
            ("shaped", "in each month by degree hours, and hours of the day for peaks above these"),
            ("outdoors", weather.in_words()),
        ]
        with_peaks = all(months.peaks is not None for months in known if months.name != "hot_water")
        shaped_from: Shaped = "months and peaks" if with_peaks else "months"
        return cls(**series, origin=origin, shaped_from="months and peak" if highest else shaped_from)

    @classmethod
    def from_bills(
        cls,
        weather: Weather,
        *,
        bills: Sequence[Bill] | None = None,
        monthly_bills: Twelve | None = None,
        fuel: str = "natural gas",
        efficiency: Annotated[float | str, EFFICIENCY] = 0.9,
        heating_value: str | None = None,
        heating_peak: Annotated[float | str | None, _PEAK] = None,
        hot_water_total: Annotated[float | str | None, TOTAL] = None,
        bills_weather: Weather | None = None,
    ) -> Self:
        """Return the heating and hot water that fuel bills of one year tell.

        Heat is fuel times efficiency. A straight line over degree days, with the base that fits the bills
        best, parts it into heating and what is independent of the weather, which is hot water (Fels 1986,
        PRISM: an introduction, Energy and Buildings 9, 5-18; from memory). In each period, heating is
        proportional to the degree hours below that base, and the sum of the bill is met exactly.

        With `bills_weather`, the weather of the year of the bills, the line is taken from there to `weather`:
        loads of that weather, whose sums are no longer those of the bills.

        Parameters
        ----------
        weather : Weather
            The year that the loads are for; also that of the bills unless `bills_weather` is given.
        bills : sequence of Bill, optional
            Bills by reading periods that follow each other through one year, from any day. Up to a month more
            or less than a year is accepted: a day of two bills has the mean of both, a day without one the
            load of the line.
        monthly_bills : sequence of float or str, optional
            Instead, fuel used in each calendar month [kWh], or text such as ``"120 therm"`` or ``"95 gal"``.
        fuel : str, default "natural gas"
            What was burnt; see `Fuel` for the fuels whose heating value is known. Electricity is in kWh.
        efficiency : float or str, default 0.9
            Heat delivered for each kWh of fuel by its higher heating value [-]; above 1 for a heat pump.
        heating_value : str, optional
            Higher heating value [kWh/m3] or [kWh/kg], as text with its unit.
        heating_peak : float or str, optional
            Largest hourly mean of the heating [W], where it is known. Above the line it falls in the
            mornings, as after a set-back (common practice, no source).
        hot_water_total : float or str, optional
            Heat for hot water in a year [kWh], where it is known.
        bills_weather : Weather, optional
            Weather of the year of the bills.

        Raises
        ------
        InvalidInput
            If bills don't follow each other through about a year, or an amount has a unit that needs a
            heating value.
        """
        require(weather, Weather, owner="Loads", field="weather")
        if bills_weather is not None:
            require(bills_weather, Weather, owner="Loads", field="bills_weather")
        share = billed.efficiency_of(efficiency)
        given = billed.periods(bills, monthly_bills, fuel=fuel, efficiency=share, heating_value=heating_value)
        known = billed.power_of(hot_water_total, "hot_water_total")
        of_bills = weather if bills_weather is None else bills_weather
        told = billed.signature(given, of_bills.dry_bulb, known)
        if bills_weather is None:
            heating, hot_water = billed.as_billed(given, weather.dry_bulb, told)
            how = "each period by degree hours, its sum as billed; not normalised to other weather"
            how += f"; {given.in_words()}" if given.in_words() else ""
        else:
            heating, hot_water = billed.normalised(told, weather.dry_bulb)
            year = float(heating.sum() + hot_water.sum()) / 1e3
            how = f"by degree hours of other weather, in which the heat is {both(year, 'kWh')} a year"
        shaped_from: Shaped = "bills"
        if heating_peak is not None:
            power = _PEAK.of(heating_peak, owner="Loads", field="heating_peak")
            heating, shaped_from = _with_peak(heating, power), "bills and peak"
        heat = both(given.heat.sum() / 1e3, "kWh")
        origin = [
            ("bills", f"{given.heat.size} bills of {fuel}, {heat} of heat at an efficiency of {share:g}"),
            ("signature", _signature_text(told)),
            ("shaped", how),
            ("outdoors", weather.in_words()),
        ]
        delivered = float(hot_water.sum()) / 1e3
        if known is not None and abs(delivered - known * HOURS_PER_YEAR / 1e3) > 0.005 * delivered:
            origin.append(
                ("hot water", f"{both(delivered, 'kWh')}: some bills are less than hot_water_total needs")
            )
        return cls(heating=heating, hot_water=hot_water, origin=origin, shaped_from=shaped_from)

    @classmethod
    def from_peak(
        cls,
        weather: Weather,
        *,
        heating_peak: Annotated[float | str | None, _PEAK] = None,
        heating_full_load_hours: Annotated[float | str | None, _FULL_LOAD_HOURS] = None,
        cooling_peak: Annotated[float | str | None, _PEAK] = None,
        cooling_full_load_hours: Annotated[float | str | None, _FULL_LOAD_HOURS] = None,
        hot_water_total: Annotated[float | str, TOTAL] = 0.0,
    ) -> Self:
        """Return loads of which the largest hour and the full-load hours of a year are known.

        Heating and cooling are straight lines over the outdoor temperature: the peak in the coldest or
        warmest hour, zero at the balance point that makes peak times full-load hours (variable-base degree
        hours, ASHRAE Handbook of Fundamentals, from memory). Where that point would be colder than 13 degC
        for heating, or warmer than 24 degC for cooling, the line ends there instead, and the peak above it
        falls in the mornings, as after a set-back, or in the afternoons (common practice, no source). Peak
        and yearly sum are met exactly. Hot water is the same in all hours.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        heating_peak : float or str, optional
            Largest hourly mean of the heating [W].
        heating_full_load_hours : float or str, optional
            Its yearly sum by that peak [h].
        cooling_peak : float or str, optional
            Largest hourly mean of the cooling [W].
        cooling_full_load_hours : float or str, optional
            Its yearly sum by that peak [h].
        hot_water_total : float or str, default 0
            Heat for hot water in a year [kWh].

        Raises
        ------
        InvalidInput
            If a peak comes without its hours, they aren't from 1 to 8760, or there is neither.

        Examples
        --------
        >>> loads = ShapedLoads.from_peak(
        ...     Weather.sample("cold continental"), heating_peak="9 kW", heating_full_load_hours=2100
        ... )
        >>> print(f"{loads.heating.sum() / 1000:.3f} kWh")
        18900.000 kWh
        """
        require(weather, Weather, owner="Loads", field="weather")
        given = {
            "heating": (heating_peak, heating_full_load_hours),
            "cooling": (cooling_peak, cooling_full_load_hours),
        }
        series: dict[str, Any] = {}
        origin = []
        for name, (peak, hours) in given.items():
            if peak is None and hours is None:
                continue
            if peak is None or hours is None:
                field = f"{name}_peak" if peak is None else f"{name}_full_load_hours"
                raise InvalidInput("Loads", field, "nothing", "", "must be given: peak and full-load hours")
            power = _PEAK.of(peak, owner="Loads", field=f"{name}_peak")
            field = f"{name}_full_load_hours"
            full = _FULL_LOAD_HOURS.of(hours, owner="Loads", field=field)
            need = -weather.dry_bulb if name == "heating" else weather.dry_bulb
            line = line_from_base(need - _ENDS[name], power * full)
            series[name] = to_peak(line, need, power, name)
            origin.append((name, f"{both(power / 1e3, 'kW', '.3g')} for {full:g} full-load hours"))
        if not series:
            raise InvalidInput("Loads", "heating_peak", "nothing", "W", "must be given, or cooling_peak")
        series["hot_water"] = billed.power_of(hot_water_total, "hot_water_total")
        origin += [
            ("shaped", "by degree hours, and hours of the day for a peak above these"),
            ("outdoors", weather.in_words()),
        ]
        return cls(**series, origin=origin, shaped_from="peak")

    @classmethod
    def from_total(
        cls,
        weather: Weather,
        *,
        heating_total: Annotated[float | str, TOTAL] = 0.0,
        cooling_total: Annotated[float | str, TOTAL] = 0.0,
        hot_water_total: Annotated[float | str, TOTAL] = 0.0,
        heating_base: Annotated[float | str, _BASE] = 15.0,
        cooling_base: Annotated[float | str, _BASE] = 20.0,
    ) -> Self:
        """Return loads of which no more than yearly totals are known.

        Heating and cooling are proportional to the degree hours below and above base temperatures (degree-day
        method, ASHRAE Handbook of Fundamentals, from memory), so that nothing but the bases sets the peaks.
        Totals are met exactly. Hot water is the same in all hours.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        heating_total, cooling_total, hot_water_total : float or str, default 0
            Heat in a year, delivered to the rooms, taken out of them, or for hot water [kWh].
        heating_base : float or str, default 15
            Outdoor temperature above which nothing is heated [degC]; common practice, no source.
        cooling_base : float or str, default 20
            Outdoor temperature below which nothing is cooled [degC]; common practice, no source.

        Raises
        ------
        InvalidInput
            If a total is negative, or no hour is beyond its base.

        Examples
        --------
        >>> loads = ShapedLoads.from_total(Weather.sample("mild maritime"), heating_total="12 MWh")
        >>> print(f"{loads.heating.sum() / 1000:.3f} kWh, peak {loads.heating.max() / 1000:.1f} kW")
        12000.000 kWh, peak 5.0 kW
        """
        require(weather, Weather, owner="Loads", field="weather")
        heating = _of_base(weather, "heating", heating_total, heating_base)
        cooling = _of_base(weather, "cooling", cooling_total, cooling_base)
        hot_water = billed.power_of(hot_water_total, "hot_water_total")
        bases = [
            f"{name} {'below' if name == 'heating' else 'above'} {both_degrees(base)}"
            for name, load, base in (
                ("heating", heating, _BASE.of(heating_base, owner="Loads", field="heating_base")),
                ("cooling", cooling, _BASE.of(cooling_base, owner="Loads", field="cooling_base")),
            )
            if load.any()
        ]
        origin = [
            ("shaped", f"from yearly totals by degree hours{': ' if bases else ''}{', '.join(bases)}"),
            ("outdoors", weather.in_words()),
        ]
        return cls(heating=heating, cooling=cooling, hot_water=hot_water, origin=origin, shaped_from="total")


def _with_peak(heating: Series, peak: float) -> Series:
    """Return heating whose largest hour is a peak.

    Raises
    ------
    InvalidInput
        If sums and peak don't fit each other.
    """
    raised = raised_to_peak(heating, peak, "heating")
    if raised is None:
        largest = float(heating.reshape(-1, 24).sum(axis=1).max())
        allowed = f"must be from {heating.max():.0f} to {largest:.0f} W with these sums and this weather"
        raise InvalidInput("Loads", "heating_peak", peak, "W", allowed)
    return raised


def _of_base(weather: Weather, name: str, total: float | str, base: float | str) -> Series:
    heat = TOTAL.of(total, owner="Loads", field=f"{name}_total")
    at = _BASE.of(base, owner="Loads", field=f"{name}_base")
    difference = at - weather.dry_bulb if name == "heating" else weather.dry_bulb - at
    if heat == 0.0:
        return np.zeros(HOURS_PER_YEAR)
    if not (difference > 0.0).any():
        side = "colder" if name == "heating" else "warmer"
        allowed = f"must be 0: no hour is {side} than {at:g} degC"
        raise InvalidInput("Loads", f"{name}_total", heat, "kWh", allowed)
    return line_from_base(difference, 1e3 * heat)


def _signature_text(told: billed.Signature) -> str:
    return (
        f"{both(told.slope, 'W/K')} below {both_degrees(told.base)}, and {both(told.constant, 'W')} "
        "independent of the weather, taken as hot water"
    )

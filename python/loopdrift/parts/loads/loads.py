"""Hourly loads, and the ways to know them."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Self

from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import require
from loopdrift.parts.constructors import Constructor, register
from loopdrift.parts.loads.heat_loss import of_heat_loss
from loopdrift.parts.loads.hourly import HourlyLoads
from loopdrift.parts.loads.reading import read_file, read_frame
from loopdrift.parts.loads.scaling import scale
from loopdrift.parts.loads.shaped import ShapedLoads
from loopdrift.parts.series.hours import Reading
from loopdrift.parts.series.steps import Named
from loopdrift.parts.weather.weather import Weather

if TYPE_CHECKING:
    import pandas as pd


class Loads(ShapedLoads):
    __doc__ = HourlyLoads.__doc__

    @classmethod
    def read(
        cls,
        path: str | os.PathLike[str],
        *,
        unit: str | None = None,
        columns: Mapping[str, str] | None = None,
        cadence: float | str | None = None,
        stamps: Named | None = None,
        date_format: str | None = None,
        time_zone: str | None = None,
        longest_gap: float | str | None = None,
        sheet: str | None = None,
    ) -> Self:
        """Return the loads of a file of hours or shorter steps.

        The file is separated text (comma, semicolon or tab; decimal point or comma; UTF-8 or Latin-1), an
        Excel workbook or Parquet. Columns are called heating, cooling, hot water and recharge, with a unit:
        ``heating_kW`` or ``Hot water [kBtu/h]``; one that is missing is 0. Units are W, kW, MW, Btu/h, kBtu/h
        MMBtu/h and tons, or in each step Wh, kWh, MWh, Btu, kBtu, MMBtu, therm, kJ, MJ and GJ. Columns of
        something else, such as a temperature, are left out.

        Rows are steps of 1 min to 1 h of whole years from any day, which are turned to begin on 1 January.
        Their times are in one column, in date and time, in date and hour, or in month, day and hour; or the
        column ``hour`` counts 0 to 8759 or 1 to 8760. Without times, rows are the hours of one year from 1
        January. Shorter steps are averaged, leap days left out, and summer time is turned into standard time.
        What was done is kept in `origin`; so are lines before the header like ``# meter: heat, 2023``.

        Where a file leaves a doubt it is refused, with what settles it:

        Parameters
        ----------
        path : str or path-like
            The file.
        unit : str, optional
            Unit of columns that name none.
        columns : mapping of str to str, optional
            Headings by what they are, such as ``{"heating": "Meter 3 [kWh]", "time": "Read at"}``, where they
            don't say it; other columns are left out.
        cadence : float or str, optional
            Length of a step [h], or text such as ``"15 min"``; for rows without times that may be several
            years or shorter steps.
        stamps : {"beginning", "middle", "end"}, optional
            What each time marks of its step. By default the first decides: 00:00 is a beginning.
        date_format : str, optional
            How dates are written, such as ``"%d/%m/%Y %H:%M"``; for 03/04/2023, which can be two dates.
        time_zone : str, optional
            Zone of the place, such as ``"Europe/Berlin"`` or ``"UTC+1"``; for clocks that change, where the
            rows don't show it, and for times in UTC.
        longest_gap : float or str, optional
            Longest gap that is filled [h], none by default. Up to 3 h, a straight line joins the neighbours;
            longer gaps take the same hours of the days around (both common practice, no source).
        sheet : str, optional
            Sheet of a workbook, where several hold loads.

        Raises
        ------
        InvalidFile
            If a cell is no load, a time is missing, repeated or may be two, or the rows are no whole number
            of years; with the line number.
        InvalidInput
            If an argument can't be used, or openpyxl is missing for a workbook.
        OSError
            If the file can't be read.
        """
        reading = Reading(
            unit=unit,
            columns=columns,
            cadence=cadence,
            stamps=stamps,
            date_format=date_format,
            time_zone=time_zone,
            longest_gap=longest_gap,
        )
        series, origin, shaped_from = read_file(path, reading, sheet)
        return cls(**series, origin=origin, shaped_from=shaped_from)

    @classmethod
    def from_frame(
        cls,
        frame: pd.DataFrame,
        *,
        unit: str | None = None,
        columns: Mapping[str, str] | None = None,
        stamps: Named | None = None,
        time_zone: str | None = None,
        longest_gap: float | str | None = None,
    ) -> Self:
        """Return the loads of a DataFrame by its index, as `read` does those of a file.

        Parameters
        ----------
        frame : pandas.DataFrame
            Columns as in a file, with a DatetimeIndex or PeriodIndex. Units may also stand in
            ``frame.attrs["units"]`` by column or in ``frame[column].attrs["units"]``, or cells be quantities
            of pint.
        unit, columns, stamps, time_zone, longest_gap : optional
            As for `read` [h].

        Raises
        ------
        InvalidInput
            If the frame can't be used; row 0 is the first.

        Examples
        --------
        >>> import numpy as np, pandas as pd
        >>> quarters = pd.date_range("2024-07-01", "2025-06-30 23:45", freq="15min")
        >>> loads = Loads.from_frame(pd.DataFrame({"heating_kWh": np.ones(len(quarters))}, quarters))
        >>> loads.peak["heating"]
        4000.0
        """
        reading = Reading(
            unit=unit, columns=columns, stamps=stamps, time_zone=time_zone, longest_gap=longest_gap
        )
        series, origin = read_frame(frame, reading)
        return cls(**series, origin=origin)

    @classmethod
    def from_heat_loss(
        cls,
        weather: Weather,
        *,
        heating_kWh: float | str,
        cooling_kWh: float | str = 0.0,
        hot_water_kWh: float | str = 0.0,
        heat_loss: float | str | None = None,
        design_outdoor: float | str | None = None,
        loss_coefficient: float | str | None = None,
        indoor: float | str = 20.0,
        cooling_indoor: float | str = 25.0,
    ) -> Self:
        """Return the loads of a building of which the heat loss and the yearly totals are known.

        Heating is a straight line over the outdoor temperature: the whole heat loss at `design_outdoor`, zero
        at a balance point that the yearly total sets. Gains of sun and people are the distance from that line
        to the heat loss: none at `design_outdoor` and below it, more the milder it is (common practice, no
        source). Colder hours have the larger loss that goes with them. With `loss_coefficient` the coldest
        hour of the weather is the one without gains. Cooling begins higher, by the distance of the two room
        temperatures, and rises as steeply as its total requires. That is the variable-base degree-day method
        of the ASHRAE Handbook of Fundamentals (from memory), hour by hour: yearly totals are met, single
        hours don't follow sun, people and stored heat. Hot water is the same in all hours. `origin` names
        the largest hour and the gains.

        Parameters
        ----------
        weather : Weather
            Its dry-bulb temperature is used.
        heating_kWh, cooling_kWh, hot_water_kWh : float or str
            Heat in a year, to be delivered to rooms or taken out of them, or for hot water [kWh].
        heat_loss : float or str, optional
            Heat loss of the building [W] at `design_outdoor` and `indoor`.
        design_outdoor : float or str, optional
            Outdoor temperature of that heat loss [degC].
        loss_coefficient : float or str, optional
            Heat loss per kelvin [W/K], instead of these two.
        indoor : float or str, default 20
            Room temperature while heated [degC].
        cooling_indoor : float or str, default 25
            Room temperature while cooled [degC].

        Raises
        ------
        InvalidInput
            If a value is out of range, the heat loss is given twice or not at all, or a total can't come from
            this weather: more heating than the heat loss makes without any gains, less than it
            makes in hours no warmer than `design_outdoor`, or cooling without a warm hour.

        Examples
        --------
        >>> loads = Loads.from_heat_loss(
        ...     Weather.sample("mild maritime"), heat_loss="7 kW", design_outdoor=-4.0, heating_kWh=14000.0
        ... )
        >>> round(loads.peak["heating"])
        6648
        """
        require(weather, Weather, owner="Loads", field="weather")
        given = {
            "heat_loss": heat_loss,
            "design_outdoor": design_outdoor,
            "loss_coefficient": loss_coefficient,
            "indoor": indoor,
            "cooling_indoor": cooling_indoor,
            "heating_kWh": heating_kWh,
            "cooling_kWh": cooling_kWh,
            "hot_water_kWh": hot_water_kWh,
        }
        series, origin = of_heat_loss(weather, given)
        return cls(**series, origin=origin)

    def scaled(
        self,
        *,
        heating_kWh: float | str | None = None,
        cooling_kWh: float | str | None = None,
        hot_water_kWh: float | str | None = None,
        heating_peak: float | str | None = None,
        cooling_peak: float | str | None = None,
        hot_water_peak: float | str | None = None,
    ) -> Self:
        """Return loads of the same shape that meet known yearly totals, largest hours, or both.

        A total or a peak alone multiplies all hours alike. Both together bend the shape as well: each hour
        becomes ``peak x (load / largest load) ^ a``, with the exponent that meets the total. So hours without
        load stay without, and of two hours the larger stays the larger.

        Parameters
        ----------
        heating_kWh, cooling_kWh, hot_water_kWh : float or str, optional
            Heat in a mean year [kWh].
        heating_peak, cooling_peak, hot_water_peak : float or str, optional
            Largest hourly mean [W].

        Raises
        ------
        InvalidInput
            If a value is negative, there is nothing to scale, or total and peak can't both be met with an
            exponent from 1/20 to 20; with the totals that can.

        Examples
        --------
        >>> import numpy as np
        >>> loads = Loads(heating=1000.0 * (1.0 + np.sin(np.arange(8760.0) / 100.0)))
        >>> metered = loads.scaled(heating_kWh=12000.0, heating_peak="6 kW")
        >>> print(f"{metered.heating.sum() / 1000:.6f} kWh, {metered.heating.max():.6f} W")
        12000.000000 kWh, 6000.000000 W
        """
        known = {
            "heating": (heating_kWh, heating_peak),
            "cooling": (cooling_kWh, cooling_peak),
            "hot_water": (hot_water_kWh, hot_water_peak),
        }
        scaled = {
            name: scale(
                self._series[name],
                name,
                total=_positive(total, "kWh", f"{name}_kWh"),
                peak=_positive(peak, "W", f"{name}_peak"),
            )
            for name, (total, peak) in known.items()
        }
        changed = [name for name, figures in known.items() if any(figure is not None for figure in figures)]
        metered = [("scaled from there", ", ".join(changed).replace("_", " "))] if changed else []
        series: dict[str, Any] = self._series | scaled
        return type(self)(**series, origin=[*self.origin, *metered], shaped_from=self.shaped_from)


def _positive(value: float | str | None, unit: str, field: str) -> float | None:
    return None if value is None else number_within(value, unit, owner="Loads", field=field, least=0.0)


register(
    Loads,
    {
        "file": Loads.read,
        "heat loss": Loads.from_heat_loss,
        "months": Loads.from_months,
        "bills": Constructor(
            Loads.from_bills, stand_ins={"heating_peak": None, "hot_water_total": None, "heating_value": None}
        ),
        "peak": Loads.from_peak,
        "total": Loads.from_total,
        "values": Loads,
    },
)

"""Thermal response tests: what a logger recorded, and the ground that follows from it."""

from __future__ import annotations

import functools
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Self

import numpy as np
from numpy.typing import ArrayLike

from loopdrift.analysis.response_test import reading
from loopdrift.analysis.response_test.bore_fit import TestedBore, fit_bore
from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.response_test.gaps import LEAST_HOURS, InGaps, without_gaps
from loopdrift.analysis.response_test.record import Record
from loopdrift.analysis.response_test.straight_line import rough_conductivity, straight_line, usual_window
from loopdrift.analysis.response_test.uncertainty import samples, with_temperature_error
from loopdrift.analysis.response_test.windows import growth, moved
from loopdrift.analysis.study import Samples
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput, shown
from loopdrift.basics.numbers import number_within
from loopdrift.basics.part import require
from loopdrift.basics.series import ReadOnlyArrays, read_only
from loopdrift.parts.bore import Bore
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.ground.ground import Ground
from loopdrift.parts.series.origin import Pairs

if TYPE_CHECKING:
    import pandas as pd

_HOUR = 3600.0


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class ResponseTest(ReadOnlyArrays):
    """A thermal response test of one bore: fluid is heated, or cooled, at a known rate for some days.

    Parameters
    ----------
    times : array_like
        Times of the rows since the first, ascending [s].
    supply, returned : array_like
        Temperatures of the fluid that enters and leaves the bore, NaN where unknown [degC].
    heat : array_like, optional
        Heat given to the bore, negative where it is extracted [W]; unless given, from `flow`.
    flow : array_like or float, optional
        Mass flow [kg/s]; with `heat` only for the flow in the pipes.
    bore : Bore
        The bore. With pipes and grout, heat stored in it counts, and the grout's conductivity is only where
        the search begins; a bore of measured resistance needs no true resistance.
    volumetric_heat_capacity : float or str
        Volumetric heat capacity of the ground [J/(m3 K)], assumed, as no test finds it.
    fluid : Fluid, optional
        The fluid; water by default.
    gradient : float or str, default 0
        Geothermal gradient [K/m], for `ground`.
    undisturbed_temperature : float or str, optional
        Undisturbed temperature, mean over the bore's depth [degC], if it was measured otherwise.
    in_gaps : {"on", "off"}, optional
        What the heater did where rows are missing.
    heat_is_mean : bool, default False
        Whether the heat of a row is the mean since the row before.
    origin : sequence of tuple of str, optional
        Where the record comes from, as labels and texts.

    Raises
    ------
    InvalidInput
        If values are of the wrong kind or size, there is a gap and `in_gaps` isn't given, there is no heat,
        or the test is shorter than 6 h.
    """

    times: ArrayLike
    supply: ArrayLike
    returned: ArrayLike
    heat: ArrayLike | None = None
    flow: ArrayLike | float | None = None
    bore: Bore
    volumetric_heat_capacity: float | str
    fluid: Fluid = field(default_factory=lambda: Fluid("water"))
    gradient: float | str = 0.0
    undisturbed_temperature: float | str | None = None
    in_gaps: InGaps | None = None
    heat_is_mean: bool = False
    origin: Pairs = ()

    def __post_init__(self) -> None:
        require(self.bore, Bore, owner="ResponseTest", field="bore")
        require(self.fluid, Fluid, owner="ResponseTest", field="fluid")
        if self.in_gaps not in (None, "on", "off"):
            raise InvalidInput("ResponseTest", "in_gaps", shown(self.in_gaps), "", "must be on or off")
        for name, unit in (("volumetric_heat_capacity", "J/(m3 K)"), ("gradient", "K/m")):
            number = units.to_si(getattr(self, name), unit, owner="ResponseTest", field=name)
            object.__setattr__(self, name, number)
        if self.undisturbed_temperature is not None:
            ends = {"least": -30.0, "most": 90.0}
            name = "undisturbed_temperature"
            known = number_within(getattr(self, name), "degC", owner="ResponseTest", field=name, **ends)
            object.__setattr__(self, name, known)
        # The engine's ranges of ground properties hold here too.
        Ground(
            conductivity=2.0,
            volumetric_heat_capacity=self.volumetric_heat_capacity,
            temperature=10.0,
            gradient=self.gradient,
        )
        for name in ("times", "supply", "returned", "heat", "flow"):
            if getattr(self, name) is not None:
                object.__setattr__(self, name, read_only(self._column(name)))
        if self.heat is None and self.flow is None:
            raise InvalidInput("ResponseTest", "heat", None, "W", "must be given, or flow")
        _ = self.record

    def _column(self, name: str) -> np.ndarray[Any, np.dtype[np.float64]]:
        unit = {"times": "s", "heat": "W", "flow": "kg/s"}.get(name, "degC")
        given = np.asarray(getattr(self, name), dtype=np.float64)
        count = np.size(self.times)
        if name == "flow" and given.ndim == 0:
            given = np.full(count, float(given))
        if given.shape != (count,):
            allowed = f"must be {count} numbers, one for each of the times"
            raise InvalidInput("ResponseTest", name, f"shape {given.shape}", unit, allowed)
        if name == "times" and (count < 2 or not (np.diff(given) > 0.0).all()):
            raise InvalidInput("ResponseTest", name, f"{count} numbers", unit, "must ascend")
        if name == "flow" and not (given[~np.isnan(given)] >= 0.0).all():
            raise InvalidInput("ResponseTest", name, float(np.nanmin(given)), unit, "must be 0 or more")
        return given

    @classmethod
    def read(
        cls,
        path: str | os.PathLike[str],
        *,
        bore: Bore | None = None,
        fluid: Fluid | None = None,
        volumetric_heat_capacity: float | str | None = None,
        flow: float | str | None = None,
        gradient: float | str = 0.0,
        undisturbed_temperature: float | str | None = None,
        in_gaps: InGaps | None = None,
        columns: Mapping[str, str] | None = None,
        date_format: str | None = None,
        sheet: str | None = None,
    ) -> Self:
        """Read what a logger recorded: CSV, an Excel workbook or Parquet, of any cadence.

        Columns are found by their headings, with their units: time (dates) or elapsed, such as
        ``elapsed_min``; supply and return, such as ``supply_degC``; and heat, such as ``heat_kW``, or flow,
        such as ``flow_l/min``. Lines before the header such as ``# depth: 150 m``, ``# diameter: 140 mm``
        and ``# volumetric heat capacity: 2.2 MJ/(m3 K)`` describe the bore and its ground.

        Parameters
        ----------
        path : str or path-like
            The file.
        bore : Bore, optional
            The bore; by default one of the depth and diameter in the file, of measured resistance.
        fluid : Fluid, optional
            The fluid; water by default.
        volumetric_heat_capacity : float or str, optional
            Volumetric heat capacity of the ground [J/(m3 K)]; by default as the file says.
        flow : float or str, optional
            Mean flow [kg/s], if no column has it.
        gradient : float or str, default 0
            Geothermal gradient [K/m].
        undisturbed_temperature : float or str, optional
            Undisturbed temperature, mean over the bore's depth [degC], if it was measured otherwise.
        in_gaps : {"on", "off"}, optional
            What the heater did where rows are missing.
        columns : mapping of str to str, optional
            Headings by ``time``, ``elapsed``, ``supply``, ``return``, ``heat``, ``flow`` or ``mass_flow``,
            where headings don't name it.
        date_format : str, optional
            How dates are written, such as ``"%d/%m/%Y %H:%M"``.
        sheet : str, optional
            Sheet of a workbook.

        Raises
        ------
        InvalidFile
            If a column is missing, or a cell or time can't be used.
        InvalidInput
            If what the file doesn't say isn't given either, or a value is out of range.
        OSError
            If the file can't be read.
        """
        return cls(
            **reading.arguments(
                path,
                bore=bore,
                fluid=fluid,
                volumetric_heat_capacity=volumetric_heat_capacity,
                flow=flow,
                columns=columns,
                date_format=date_format,
                sheet=sheet,
            ),
            gradient=gradient,
            undisturbed_temperature=undisturbed_temperature,
            in_gaps=in_gaps,
        )

    @functools.cached_property
    def record(self) -> Record:
        """The rows with their heat, without gaps."""
        middle = float(np.nanmean(0.5 * (np.asarray(self.supply) + np.asarray(self.returned))))
        return without_gaps(
            *(np.asarray(each) for each in (self.times, self.supply, self.returned)),
            heat=None if self.heat is None else np.asarray(self.heat),
            flow=None if self.flow is None else np.asarray(self.flow),
            fluid_heat_capacity=self.fluid.heat_capacity_at(middle),
            means=self.heat_is_mean,
            in_gaps=self.in_gaps,
        )

    @property
    def table(self) -> pd.DataFrame:
        """The record by hours since its first row: supply, return and mean temperature, and heat."""
        import pandas as pd

        record = self.record
        names = {"supply_degC": record.supply, "return_degC": record.returned, "mean_degC": record.mean}
        index = pd.Index(record.times / _HOUR, name="hours")
        table = pd.DataFrame({**names, "heat_W": record.heat}, index=index)
        table.attrs["units"] = {name: name.rpartition("_")[2] for name in (*names, "heat_W")}
        return table

    @functools.cached_property
    def _before(self) -> tuple[float, float] | None:
        """Undisturbed temperature without a fit, and its standard error [degC]; None if it isn't known.

        Unless it is given, it is the mean before the heater starts. Its error is the whole scatter of those
        rows, as noise that lasts doesn't average out.
        """
        if self.undisturbed_temperature is not None:
            return float(self.undisturbed_temperature), 0.0
        before = self.record.before
        before = before[~np.isnan(before)]
        return (float(before.mean()), float(before.std(ddof=1))) if before.size >= 3 else None

    @functools.cached_property
    def fit(self) -> FoundGround:
        """Result of fitting the engine's bore, with its stored heat, to the record until the heat ends.

        A bore of measured resistance stores no heat. It is fitted from the start of the straight line's
        window, with as long a pause after each change of the heat; its undisturbed temperature is that before
        the heat.
        """
        return self.fit_until(None)

    def fit_until(self, end: float | str | None) -> FoundGround:
        """Fit the engine's bore to the record up to a time.

        Parameters
        ----------
        end : float or str, optional
            End since the first row [h]; by default that of the heat.

        Raises
        ------
        InvalidInput
            If too little is left, or a bore of measured resistance has no undisturbed temperature.
        """
        last = self.record.end / _HOUR
        until = last
        if end is not None:
            until = number_within(end, "h", owner="ResponseTest", field="end", least=LEAST_HOURS, most=last)
        return self.fit_between(None, _HOUR * until)

    def fit_between(
        self, begin: float | None, end: float, known_temperature: float | None = None
    ) -> FoundGround:
        """Fit the engine's bore to temperatures between two times; the heat before counts too.

        Parameters
        ----------
        begin : float or None
            Start since the first row [s]; by default the first row, or the straight line's for a bore without
            stored heat.
        end : float
            End since the first row [s].
        known_temperature : float, optional
            Undisturbed temperature, where it isn't to be fitted [degC].
        """
        record, tested, guess, before = self.record, self._tested, self._guess, self._before
        first = settling = 0.0
        if tested.is_measured:
            if before is None:
                allowed = "must be given: no rows come before the heat, and the bore has no pipes and grout"
                raise InvalidInput("ResponseTest", "undisturbed_temperature", None, "degC", allowed)
            first = usual_window(record, self.bore, tested.heat_capacity, guess)[0]
            settling = first - record.start
        is_known = tested.is_measured or self.undisturbed_temperature is not None
        start = before[0] if before is not None else float(record.mean[~np.isnan(record.mean)][0])
        known = start if is_known else None
        found = fit_bore(
            record,
            tested,
            begin=first if begin is None else begin,
            end=end,
            settling=settling,
            start=(guess, start),
            known_temperature=known if known_temperature is None else known_temperature,
        )
        return found if before is None or not is_known else with_temperature_error(found, before[1])

    @functools.cached_property
    def line(self) -> FoundGround:
        """Result of the straight line in ln t, in its usual window."""
        return self.line_in(None, None)

    def line_in(self, begin: float | str | None, end: float | str | None) -> FoundGround:
        """Find conductivity and resistance by the straight line in a window.

        Parameters
        ----------
        begin, end : float or str, optional
            The window since the first row [h]; by default from 5 r^2 / a after the heater's start to the end
            of steady heat.

        Raises
        ------
        InvalidInput
            If the window isn't within the heat, or has fewer than ten rows.
        """
        record = self.record
        usual = usual_window(record, self.bore, self._heat_capacity, self._guess)
        window = [
            of_usual
            if given is None
            else _HOUR
            * number_within(
                given,
                "h",
                owner="ResponseTest",
                field=name,
                least=record.start / _HOUR,
                most=record.end / _HOUR,
            )
            for name, given, of_usual in zip(("begin", "end"), (begin, end), usual, strict=True)
        ]
        known = ~np.isnan(record.mean)
        within = int(((record.times >= window[0]) & (record.times <= window[1]) & known).sum())
        if within < 10:
            raise InvalidInput("ResponseTest", "window", f"{within} rows", "", "must have at least 10 rows")
        undisturbed = self._before
        if undisturbed is None:
            undisturbed = self.fit.temperature, float(self.fit.errors[2])
        return straight_line(record, self.bore, self._heat_capacity, undisturbed, (window[0], window[1]))

    @functools.cached_property
    def windows(self) -> pd.DataFrame:
        """The straight line's results as the end of its window moves, then as its start does.

        ``begin_h``, ``end_h``, ``conductivity``, ``conductivity_error`` [W/(m K)], ``resistance`` and
        ``resistance_error`` [m K/W]; the index is what moves.
        """
        return moved(self.line, self.line_in)

    @functools.cached_property
    def growth(self) -> tuple[FoundGround, FoundGround] | None:
        """Fits to either half of the heat, if conductivity grows by more than the noise allows."""
        return growth(self.record, self.fit_between, self.fit.temperature)

    def ground(self) -> Ground:
        """Return the ground that the fitted bore found, for a design.

        Its temperature is that at the surface, extrapolated along the gradient.
        """
        return Ground(
            conductivity=self.fit.conductivity,
            volumetric_heat_capacity=self._heat_capacity,
            temperature=self.fit.temperature - self._offset,
            gradient=self.gradient,
        )

    def measured_bore(self, depth: float | str | None = None) -> Bore:
        """Return the bore with the resistance that was found, in place of pipes and grout.

        Parameters
        ----------
        depth : float or str, optional
            Another active depth [m]; by default that of the tested bore.
        """
        return Bore(
            depth=self.bore.depth if depth is None else depth,
            buried_depth=self.bore.buried_depth,
            diameter=self.bore.diameter,
            resistance=self.fit.resistance,
        )

    def samples(
        self, count: int, *, heat_error: float | str = 0.0, resistance: bool = True, seed: int = 0
    ) -> Samples:
        """Return the found numbers as samples for a study, with their errors and correlations.

        Parameters
        ----------
        count : int
            Number of samples.
        heat_error : float or str, default 0
            Standard error of the measured heat as a share of it [-]; conductivity has the same, and what the
            logger's noise adds.
        resistance : bool, default True
            Whether the bore's resistance varies too: for designs with `measured_bore`.
        seed : int, default 0
            Seed.

        Raises
        ------
        InvalidInput
            If the count is invalid, or the share isn't from 0 to 0.5.
        """
        share = number_within(heat_error, "", owner="ResponseTest", field="heat_error", least=0.0, most=0.5)
        return samples(self.fit, count, share, self._offset, resistance, seed)

    def __repr__(self) -> str:
        record = self.record
        return (
            f"<ResponseTest: {record.duration / _HOUR:.1f} h, {record.times.size:,} rows, "
            f"{record.level / self.bore.depth:.1f} W/m over {self.bore.depth:g} m>"
        )

    @property
    def _offset(self) -> float:
        """Undisturbed temperature in the middle of the bore less that at the surface [K]."""
        return float(self.gradient) * (self.bore.buried_depth + 0.5 * self.bore.depth)

    @property
    def _heat_capacity(self) -> float:
        return float(self.volumetric_heat_capacity)

    @functools.cached_property
    def _tested(self) -> TestedBore:
        flow = np.nan
        if self.flow is not None:
            every = np.asarray(self.flow)
            flow = float(every[every > 0.0].mean()) if (every > 0.0).any() else np.nan
        if self.bore.pipes is not None and not np.isfinite(flow):
            raise InvalidInput(
                "ResponseTest", "flow", None, "kg/s", "must be given for a bore of pipes and grout"
            )
        return TestedBore(self.bore, self.fluid, flow, self._heat_capacity)

    @functools.cached_property
    def _guess(self) -> float:
        """Conductivity at which searches begin [W/(m K)]."""
        return rough_conductivity(self.record, self.bore.depth)

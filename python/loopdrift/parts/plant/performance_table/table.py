"""A heat pump's performance table: read from files, reduced to the conditions of a design, and fitted."""

from __future__ import annotations

import csv
import dataclasses
import os
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, Self

from loopdrift import _core
from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.basics.words import InALine
from loopdrift.parts.plant.fit_quality import FitQuality, ModeQuality
from loopdrift.parts.plant.performance_table.columns import QUANTITIES, Mode
from loopdrift.parts.plant.performance_table.pages import pages
from loopdrift.parts.plant.performance_table.points import RatingPoint, points
from loopdrift.parts.plant.performance_table.reduction import Correction, amount, as_rated, at, is_one_value

if TYPE_CHECKING:
    import pandas as pd

_Name = Literal["heating", "cooling", "heating_low", "cooling_low"]
MODES: tuple[_Name, ...] = ("heating", "cooling", "heating_low", "cooling_low")
"""Names of the curves of a heat pump."""


@dataclass(frozen=True)
class PerformanceTable(InALine):
    """Rating points of a heat pump, and how its files were read.

    Parameters
    ----------
    points : tuple of RatingPoint
        The points in SI, each with file and line.
    columns : tuple of tuple of str
        File or sheet, header and meaning of each column.
    notes : tuple of str
        What was filled in, left out or reduced.
    """

    points: tuple[RatingPoint, ...]
    columns: tuple[tuple[str, str, str], ...]
    notes: tuple[str, ...] = ()

    @classmethod
    def read(cls, paths: str | os.PathLike[str] | Sequence[str | os.PathLike[str]]) -> Self:
        """Return the table that stands in one or several files.

        Parameters
        ----------
        paths : path-like or sequence of path-like
            CSV files or Excel workbooks, whose visible sheets are all pages of the table.

        Raises
        ------
        InvalidFile
            If a header is not understood, or a cell is not physical.
        OSError
            If a file can't be read.
        """
        given = (paths,) if isinstance(paths, str | os.PathLike) else tuple(paths)
        notes: list[str] = []
        found = pages(given)
        read = tuple(point for page in found for point in points(page, notes))
        if not read:
            page = found[-1]
            line = page.rows[-1].line if page.rows else page.header_line
            allowed = "must have lines for heating, cooling or both"
            raise page.sheet.fault(line, "", "no rating point", allowed)
        columns = [
            (page.sheet.name or Path(page.sheet.path).name, each.header, str(each))
            for page in found
            for each in page.columns
        ]
        return cls(read, tuple(dict.fromkeys(columns)), tuple(notes))

    def reduced(
        self,
        *,
        flow: float | None = None,
        heating_entering_load_temperature: float | None = None,
        cooling_entering_load_temperature: float | None = None,
        air_flow: float | None = None,
        load_flow: float | None = None,
        cooling_wet_bulb: float | None = None,
        corrections: Sequence[Correction] = (),
    ) -> Self:
        """Return the table at conditions that the curves don't depend on, and with a manufacturer's factors.

        Flow and entering load temperatures stay in the table where it has several of them, or the design
        gives one: the curves depend on them.

        Parameters
        ----------
        flow : float, optional
            Mass flow on the loop side [kg/s].
        heating_entering_load_temperature, cooling_entering_load_temperature : float, optional
            Temperatures of what enters from the building [degC].
        air_flow : float, optional
            Volume flow of air [m3/s].
        load_flow : float, optional
            Mass flow on the load side [kg/s].
        cooling_wet_bulb : float, optional
            Wet-bulb temperature of the air that enters in cooling [degC].
        corrections : sequence of Correction, optional
            Factors for antifreeze or air flow.

        Raises
        ------
        InvalidInput
            If a value is missing, outside the table, or given for an axis that the table lacks.
        InvalidFile
            If a point can't be read at such a value, with its line.
        """
        left, notes = list(self.points), list(self.notes)
        heating = [point for point in left if point.mode == "heating"]
        # Dry air is heated: the wet bulb changes nothing there.
        left = [dataclasses.replace(point, wet_bulb=None) for point in heating] + [
            point for point in left if point.mode == "cooling"
        ]
        axes: tuple[tuple[str, float | None, Mode | None, str], ...] = (
            ("air_flow", air_flow, None, "air_flow"),
            ("load_flow", load_flow, None, "load_flow"),
            ("wet_bulb", cooling_wet_bulb, "cooling", "cooling_wet_bulb"),
        )
        for axis, value, mode, field in axes:
            left, note = at(left, axis, value, mode=mode, field=field)
            notes += [note] if note else []
        kept: tuple[tuple[str, float | None, Mode], ...] = (
            ("flow", flow, "heating"),
            ("flow", flow, "cooling"),
            ("entering_load", heating_entering_load_temperature, "heating"),
            ("entering_load", cooling_entering_load_temperature, "cooling"),
        )
        for axis, value, which in kept:
            if value is None and is_one_value(left, axis, mode=which):
                left, note = at(left, axis, None, mode=which, field=axis)
                notes += [note] if note and note not in notes else []
        for correction in corrections:
            left = list(map(correction, left))
        return dataclasses.replace(self, points=tuple(left), notes=tuple(notes))

    def frame(self) -> pd.DataFrame:
        """Return the points, one a row, in SI; `is_low` is the lowest stage."""
        import pandas as pd

        return pd.DataFrame([dataclasses.asdict(point) for point in self.points])

    @property
    def sensible_share(self) -> tuple[float, float] | None:
        """Least and greatest share of the cooling capacity that cools without drying; None where unknown."""
        shares = [point.sensible / point.capacity for point in self.points if point.sensible is not None]
        return (min(shares), max(shares)) if shares else None

    def fit(
        self,
        *,
        flow: float | None,
        heating_entering_load_temperature: float | None,
        cooling_entering_load_temperature: float | None,
    ) -> tuple[dict[str, Any], FitQuality]:
        """Return the curves at the design's flow and entering load temperatures, and how well they fit.

        Parameters
        ----------
        flow : float or None
            Mass flow on the loop side [kg/s].
        heating_entering_load_temperature, cooling_entering_load_temperature : float or None
            Temperatures of what enters from the building [degC].

        Raises
        ------
        InvalidInput
            If a value is missing, outside the table, or given for an axis that the table lacks.
        """
        curves: dict[str, Any] = dict.fromkeys(MODES)
        quality: dict[str, ModeQuality | None] = dict.fromkeys(MODES)
        has_flow = any(point.flow is not None for point in self.points)
        sides = {"heating": heating_entering_load_temperature, "cooling": cooling_entering_load_temperature}
        for mode, side in sides.items():
            points = [point for point in self.points if point.mode == mode]
            if not points:
                if side is not None:
                    allowed = f"must be left out: the table has no {mode}"
                    raise InvalidInput("HeatPump", f"{mode}_entering_load_temperature", side, "degC", allowed)
                continue
            carries = any(point.flow is not None for point in points) or not has_flow
            rated_flow, rated_side = as_rated(points, "flow", flow), as_rated(points, "entering_load", side)
            _require_within(points, "flow", rated_flow, "flow")
            _require_within(points, "entering_load", rated_side, f"{mode}_entering_load_temperature")
            found, fits = _fitted(points, rated_flow if carries else None, {mode: rated_side})
            for name in (mode, f"{mode}_low"):
                curves[name], quality[name] = found[name], fits[name]
        return curves, FitQuality(**quality)


def _require_within(points: Sequence[RatingPoint], axis: str, given: float | None, field: str) -> None:
    """Refuse a condition of the design that is missing or outside those of the table's rating points."""
    values = [value for value in (getattr(point, axis) for point in points) if value is not None]
    if not values or (given is not None and min(values) <= given <= max(values)):
        return
    allowed = (
        f"must be from {amount(min(values), axis)} to {amount(max(values), axis)}: the table has several"
    )
    value = "nothing" if given is None else given
    raise InvalidInput("HeatPump", field, value, QUANTITIES[axis].unit, allowed)


def _fitted(
    points: Sequence[RatingPoint], flow: float | None, sides: dict[str, float | None]
) -> tuple[dict[str, Any], dict[str, ModeQuality | None]]:
    """Return the engine's curves through the points of one mode."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "points.csv"
        _write(points, path)
        try:
            design = {
                "flow": flow,
                **{f"{mode}_entering_load_temperature": sides.get(mode) for mode in ("heating", "cooling")},
            }
            curves, quality = _core.fit_performance_table(os.fspath(path), design)
        except InvalidFile as error:
            point = points[max(0, min(error.line - 2, len(points) - 1))]
            raise InvalidFile(point.path, point.line, error.column, error.value, error.allowed) from None
    places = [(point.path, point.line) for point in points]
    return curves, {name: ModeQuality.from_engine(quality[name], places) for name in MODES}


def _write(points: Sequence[RatingPoint], path: Path) -> None:
    """Write the points of one mode as the engine reads them: a line each, in SI."""
    optional = {"flow": "flow_kg_per_s", "entering_load": "entering_load_degC"}
    carried = [name for name in optional if any(getattr(point, name) is not None for point in points)]
    for point in points:
        for name in carried:
            if getattr(point, name) is None:
                allowed = f"must state its {QUANTITIES[name].label}, as other pages of the table do"
                raise InvalidFile(point.path, point.line, "", "rating point", allowed)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        head = ["mode", "stage", "entering_fluid_degC", "capacity_W", "power_W"]
        writer.writerow([*head, *(optional[name] for name in carried)])
        for point in points:
            numbers = [point.entering_fluid, point.capacity, point.power]
            numbers += [getattr(point, name) for name in carried]
            writer.writerow([point.mode, "low" if point.is_low else "full", *map(repr, numbers)])

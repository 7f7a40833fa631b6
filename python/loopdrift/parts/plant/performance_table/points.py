"""The rating points of a heat pump's table, in SI, each with the line that it stands in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from loopdrift.basics.errors import InvalidFile, printable, shortened
from loopdrift.basics.table_file import Row, number
from loopdrift.basics.words import InALine
from loopdrift.parts.plant.performance_table.columns import QUANTITIES, Column, Mode
from loopdrift.parts.plant.performance_table.pages import Page, cell_of, lacking, text_of

RANGES: dict[str, tuple[float, float]] = {
    "entering_fluid": (-50.0, 100.0),
    "capacity": (1.0, 1e8),
    "sensible": (0.0, 1e8),
    "power": (1.0, 1e8),
    "cop": (1e-3, 100.0),
    "eer": (1e-3, 400.0),
    "flow": (1e-4, 1e4),
    "entering_load": (-30.0, 90.0),
    "wet_bulb": (-30.0, 60.0),
    "air_flow": (1e-3, 1e3),
    "load_flow": (1e-4, 1e4),
}
COPS: dict[Mode, tuple[float, float]] = {"heating": (1.0, 20.0), "cooling": (0.5, 40.0)}
"""COPs that a steady unit may have. Common practice, no source: a heating COP counts the electricity in."""
AXES = ("entering_fluid", "flow", "entering_load", "wet_bulb", "air_flow", "load_flow")
BTU_PER_WH = 3600.0 / 1055.05585262
"""An EER is in Btu/(W h)."""
_LONGEST_NOTE = 60
_NOTHING = {"", "-", "--", "\u2013", "\u2014", "n/a", "na", "*", "x"}
_MODES: dict[str, Mode] = {
    **dict.fromkeys(("heating", "heat", "htg", "h"), "heating"),
    **dict.fromkeys(("cooling", "cool", "clg", "c"), "cooling"),
}
_STAGES = {"full": False, "high": False, "low": True}


@dataclass(frozen=True, kw_only=True)
class RatingPoint(InALine):
    """Steady full-load performance at one set of conditions.

    Parameters
    ----------
    path, line : str, int
        Where it stands.
    mode : {"heating", "cooling"}
        What the unit does.
    is_low : bool
        Whether it is of the lowest stage or speed.
    entering_fluid : float
        Entering fluid temperature [degC].
    capacity : float
        Heat given to the building, or all heat taken from it [W].
    power : float
        Electricity [W].
    sensible : float or None
        Heat taken from the air without drying it [W].
    flow : float or None
        Mass flow on the loop side [kg/s].
    entering_load, wet_bulb : float or None
        Temperature, and wet-bulb temperature, of what enters from the building [degC].
    air_flow : float or None
        Volume flow of air [m3/s].
    load_flow : float or None
        Mass flow on the load side [kg/s].
    """

    path: str
    line: int
    mode: Mode
    is_low: bool
    entering_fluid: float
    capacity: float
    power: float
    sensible: float | None = None
    flow: float | None = None
    entering_load: float | None = None
    wet_bulb: float | None = None
    air_flow: float | None = None
    load_flow: float | None = None


def points(page: Page, notes: list[str]) -> Iterator[RatingPoint]:
    """Yield the rating points of a page, one or two of each row.

    Parameters
    ----------
    page : Page
        The page.
    notes : list of str
        Takes what a reader of the table should know of how it was read.

    Raises
    ------
    InvalidFile
        If a column is missing, or a cell is not physical, with line and column.
    """
    reader = _Reader(page)
    for row in page.rows:
        if _is_note(page, row):
            notes.append(f"line {row.line} is taken as a note: {shortened(_in_words(row), _LONGEST_NOTE)!r}")
        else:
            yield from reader.points(row)
    notes += reader.notes()


def _is_note(page: Page, row: Row) -> bool:
    """Return whether a row is a sentence cut into cells by its commas: words first, and no number alone."""
    first = str(row.cells[0])
    is_sentence = len(first.split()) > 1 and number(row.cells[0], page.sheet.decimal) is None
    return is_sentence and not any(number(cell, page.sheet.decimal) is not None for cell in row.cells)


def _in_words(row: Row) -> str:
    return printable(", ".join(str(cell) for cell in row.cells if cell != ""))


class _Reader:
    """Reads the rows of one page; axes that stand in merged cells are those of the row above."""

    def __init__(self, page: Page) -> None:
        self._page = page
        self._above: dict[str, float | str] = {}
        self._filled_down: dict[str, int] = {}
        self._without_point = 0
        self._by_ratio = False
        self._width = len(page.columns)
        by_mode = [each.mode for each in page.columns if each.quantity in ("capacity", "power", "cop", "eer")]
        self._modes: tuple[Mode, ...] = tuple(mode for mode in COPS if mode in by_mode)
        if self._at("entering_fluid") is None and "entering_fluid" not in page.stated:
            raise self._lacking("entering_fluid")
        for mode in self._modes or (None,):
            if self._at("capacity", mode) is None:
                raise self._lacking("capacity")
            if all(self._at(name, mode) is None for name in ("power", "cop", "eer")):
                raise self._lacking("power")
        if not self._modes and self._at("mode") is None and page.mode is None:
            raise self._lacking("mode")

    def _lacking(self, name: str) -> InvalidFile:
        return lacking(self._page, f"must have {QUANTITIES[name].column}")

    def _at(self, name: str, mode: Mode | None = None) -> int | None:
        """Return the place of a column: that of the mode, or one for both."""
        for wanted in (mode, None):
            for place, each in enumerate(self._page.columns):
                if each.quantity == name and each.mode == wanted:
                    return place
        if name in AXES:  # an axis may be called after the mode of the page
            return next((n for n, each in enumerate(self._page.columns) if each.quantity == name), None)
        return None

    def points(self, row: Row) -> Iterator[RatingPoint]:
        """Yield the points of a row."""
        found = 1 + max((place for place, cell in enumerate(row.cells) if cell != ""), default=-1)
        is_short = len(row.cells) < self._width and not self._page.sheet.name
        if found > self._width or is_short:
            counted = len(row.cells) if len(row.cells) != self._width else found
            cells = "1 cell" if counted == 1 else f"{counted} cells"
            allowed = f"must have {self._width} cells as the header has"
            raise self._page.sheet.fault(row.line, "", cells, allowed)
        axes = {name: self._axis(row, name) for name in AXES}
        is_low = self._is_low(row)
        for mode in self._modes or (self._mode(row),):
            point = self._point(row, mode, is_low, axes)
            if point is not None:
                yield point

    def _point(self, row: Row, mode: Mode, is_low: bool, axes: dict[str, float | None]) -> RatingPoint | None:
        places = {name: self._at(name, mode) for name in ("capacity", "power", "cop", "eer", "sensible")}
        given = {
            name: place
            for name, place in places.items()
            if place is not None and str(cell_of(row, place)).lower() not in _NOTHING
        }
        if not given and self._width > 1 and axes["entering_fluid"] is not None:
            self._without_point += 1
            return None
        capacity = self._number(row, self._required(places["capacity"]))
        if places["power"] is not None:
            power = self._number(row, places["power"])
            where = places["power"]
        else:
            where = self._required(places["cop"] if places["cop"] is not None else places["eer"])
            ratio = self._number(row, where)
            ratio = ratio if places["cop"] is not None else ratio / BTU_PER_WH
            power, self._by_ratio = capacity / ratio, True
        sensible = None
        if places["sensible"] is not None and mode == "cooling":
            sensible = self._number(row, places["sensible"])
            if sensible > capacity * (1.0 + 1e-9):
                raise self._fault(row, places["sensible"], "must be at most the total capacity of its row")
        least, most = COPS[mode]
        cop = capacity / power
        if not least < cop <= most:
            allowed = f"a COP of {cop:.2f}: must be above {least:g} and up to {most:g}"
            raise self._fault(row, where, allowed)
        return RatingPoint(
            path=self._page.sheet.path,
            line=row.line,
            mode=mode,
            is_low=is_low,
            capacity=capacity,
            power=power,
            sensible=sensible,
            **axes,  # type: ignore[arg-type]  # the page has an entering fluid temperature
        )

    def _required(self, place: int | None) -> int:
        if place is None:
            raise self._lacking("capacity")
        return place

    def _axis(self, row: Row, name: str) -> float | None:
        place = self._at(name)
        if place is None:
            return self._page.stated.get(name)
        if str(cell_of(row, place)) == "" and name in self._above:
            self._filled_down[name] = self._filled_down.get(name, 0) + 1
            return float(self._above[name])
        self._above[name] = self._number(row, place)
        return float(self._above[name])

    def _mode(self, row: Row) -> Mode:
        place = self._at("mode")
        if place is None:
            assert self._page.mode is not None  # else the page would have been refused
            return self._page.mode
        text = self._text(row, place, "mode")
        if text not in _MODES:
            raise self._fault(row, place, "must be heating or cooling")
        return _MODES[text]

    def _is_low(self, row: Row) -> bool:
        place = self._at("stage")
        if place is None:
            return False
        text = self._text(row, place, "stage")
        if text not in _STAGES:
            raise self._fault(row, place, "must be full or low")
        return _STAGES[text]

    def _text(self, row: Row, place: int, name: str) -> str:
        text = str(cell_of(row, place)).lower() or str(self._above.get(name, ""))
        self._above[name] = text
        return text

    def _number(self, row: Row, place: int) -> float:
        column = self._page.columns[place]
        found = number(cell_of(row, place), self._page.sheet.decimal)
        least, most = RANGES.get(column.quantity, (-1e9, 1e9))
        if found is not None and least <= column.in_si(found) <= most:
            return column.in_si(found)
        scale, offset = column.in_si(1.0) - column.in_si(0.0), column.in_si(0.0)
        low, high = (least - offset) / scale, (most - offset) / scale
        raise self._fault(row, place, f"must be a number from {low:.6g} to {high:.6g}")

    def _fault(self, row: Row, place: int, allowed: str) -> InvalidFile:
        column: Column = self._page.columns[place]
        return self._page.sheet.fault(row.line, column.header, text_of(cell_of(row, place)), allowed)

    def notes(self) -> Iterator[str]:
        """Yield how the page was read where its reader might think otherwise."""
        for name, count in self._filled_down.items():
            yield f"{count} empty cells of {QUANTITIES[name].label} are those of the row above"
        if self._without_point:
            yield f"{self._without_point} rows state no performance and are left out"
        if self._by_ratio:
            yield "power is the capacity over the stated COP or EER"

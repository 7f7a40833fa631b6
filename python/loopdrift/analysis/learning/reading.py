"""Files of a plant's log."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from loopdrift.analysis.measured import logger
from loopdrift.parts.series.headings import HEAT_UNITS, TEMPERATURE_UNITS, Quantity

if TYPE_CHECKING:
    from loopdrift.analysis.measured.logger import Used
    from loopdrift.parts.series.sheet import Sheet

QUANTITIES = (
    Quantity(
        "entering_fluid",
        (
            *(
                "entering fluid",
                "entering fluid temperature",
                "eft",
                "entering water",
                "entering temperature",
            ),
            *("ewt", "from loop", "from ground", "source inlet", "brine inlet", "brine in"),
        ),
        "degC",
        TEMPERATURE_UNITS,
        -30.0,
        95.0,
    ),
    Quantity(
        "heat",
        ("heat", "heat extracted", "ground heat", "loop heat", "heat rate", "heat from ground"),
        "W",
        HEAT_UNITS,
        -1e8,
        1e8,
    ),
    Quantity(
        "electricity",
        ("electricity", "electric power", "power", "power input", "electric energy", "consumption"),
        "W",
        HEAT_UNITS,
        0.0,
        1e8,
    ),
    logger.ELAPSED,
)
LEAST_ROWS = 12


def _require(sheet: Sheet, used: Used) -> None:
    if "entering_fluid" not in used:
        allowed = "must have a column entering_fluid_degC, the fluid that comes from the loop"
        raise sheet.rows.fault(-1, "", "header", allowed)


def arguments(
    path: str | os.PathLike[str],
    *,
    started: Any,
    columns: Mapping[str, str] | None,
    date_format: str | None,
    sheet: str | None,
) -> dict[str, Any]:
    """Return the arguments of `PlantLog` that a file gives; see `PlantLog.read`."""
    logged = logger.read(
        path,
        QUANTITIES,
        require=_require,
        least_rows=LEAST_ROWS,
        given=columns,
        date_format=date_format,
        sheet=sheet,
        owner="PlantLog",
    )
    said = {label.lower(): text for label, text in logged.origin}
    return {
        "times": logged.times,
        "first": logged.first,
        "entering_fluid": logged.columns["entering_fluid"],
        "heat": logged.columns.get("heat"),
        "electricity": logged.columns.get("electricity"),
        "started": said.get("started") if started is None else started,
        "origin": logged.origin,
    }

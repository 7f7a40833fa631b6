"""Files of response tests, and the bore and ground that they describe."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.measured import logger
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.parts.bore import Bore
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.parts.series.headings import HEAT_UNITS, TEMPERATURE_UNITS, Quantity, Unit

if TYPE_CHECKING:
    from loopdrift.analysis.measured.logger import Used
    from loopdrift.parts.series.sheet import Sheet

_GALLON = 3.785411784  # l, of the United States: exact by definition
_FLOWS = {
    "l/s": Unit(1.0),
    "l/min": Unit(1.0 / 60.0),
    "l/h": Unit(1.0 / 3600.0),
    "m3/h": Unit(1.0 / 3.6),
    "gpm": Unit(_GALLON / 60.0),
    "gal/min": Unit(_GALLON / 60.0),
}
_DEGREES: dict[str, Any] = {"unit": "degC", "units": TEMPERATURE_UNITS, "least": -30.0, "most": 95.0}
QUANTITIES = (
    Quantity(
        "supply",
        ("supply", "supply temperature", "inlet", "inlet temperature", "to bore", "down", "t in", "t supply"),
        **_DEGREES,
    ),
    Quantity(
        "return",
        (
            "return",
            "return temperature",
            "outlet",
            "outlet temperature",
            "from bore",
            "up",
            "t out",
            "t return",
        ),
        **_DEGREES,
    ),
    Quantity(
        "heat", ("heat", "heat rate", "power", "heating power", "heater", "load"), "W", HEAT_UNITS, -5e5, 5e5
    ),
    Quantity("flow", ("flow", "flow rate", "volume flow"), "l/s", _FLOWS, 0.0, 50.0),
    Quantity("mass_flow", ("mass flow", "mass flow rate"), "kg/s", {"kg/s": Unit(1.0)}, 0.0, 50.0),
    logger.ELAPSED,
)
_LEAST_ROWS = 30


def _require(sheet: Sheet, used: Used) -> None:
    """Refuse a file without both temperatures, or without heat and flow."""
    for name in ("supply", "return"):
        if name not in used:
            does = "enters" if name == "supply" else "leaves"
            allowed = f"must have a column {name}_degC, the fluid that {does} the bore"
            raise sheet.rows.fault(-1, "", "header", allowed)
    if not {"heat", "flow", "mass_flow"} & set(used):
        raise sheet.rows.fault(
            -1, "", "header", "must have heat (such as heat_kW) or flow (such as flow_l/min)"
        )


def arguments(
    path: str | os.PathLike[str],
    *,
    bore: Bore | None,
    fluid: Fluid | None,
    volumetric_heat_capacity: float | str | None,
    flow: float | str | None,
    columns: Mapping[str, str] | None,
    date_format: str | None,
    sheet: str | None,
) -> dict[str, Any]:
    """Return the arguments of `ResponseTest` from a file and from what is given; see `ResponseTest.read`."""
    logged = logger.read(
        path,
        QUANTITIES,
        require=_require,
        least_rows=_LEAST_ROWS,
        given=columns,
        date_format=date_format,
        sheet=sheet,
        owner="ResponseTest",
    )
    facts = {label.replace(" ", "_"): text for label, text in logged.origin}

    def fact(name: str) -> str:
        if name not in facts:
            allowed = f"must be given, or stated in the file, as in '# {name.replace('_', ' ')}: ...'"
            raise InvalidInput("ResponseTest", name, None, "", allowed)
        return facts[name]

    if bore is None:
        top = facts.get("buried_depth", 0.0)
        # The resistance is what the test finds; this one only starts the search.
        bore = Bore(depth=fact("depth"), buried_depth=top, diameter=fact("diameter"), resistance=0.1)
    if volumetric_heat_capacity is None:
        volumetric_heat_capacity = fact("volumetric_heat_capacity")
    liquid = Fluid("water") if fluid is None else fluid
    found = logged.columns
    middle = float(np.nanmean(0.5 * (found["supply"] + found["return"])))
    density = liquid.density_at
    by_row: Any = found.get("mass_flow")
    if by_row is None and "flow" in found:
        by_row = 1e-3 * density(middle) * found["flow"]
    if flow is not None:
        by_row = units.mass_flow(flow, lambda: density(middle), owner="ResponseTest", field="flow")
    return {
        "times": logged.times,
        "supply": found["supply"],
        "returned": found["return"],
        "heat": found.get("heat"),
        "flow": by_row,
        "bore": bore,
        "fluid": liquid,
        "volumetric_heat_capacity": volumetric_heat_capacity,
        "heat_is_mean": "heat" in logged.amounts,
        "origin": logged.origin,
    }

"""Sources of the properties of fluids: one file per fluid, in ``fluids/``."""

from __future__ import annotations

import difflib
import functools
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from loopdrift.basics.errors import InvalidInput

FOLDER = Path(__file__).parent / "fluids"
"""Where the files are; ``ethylene-glycol.toml`` describes ethylene glycol."""


class FreezingTable(NamedTuple):
    """A table of freezing points by volume of antifreeze per volume of mixture, at 20 degC."""

    coolprop: str
    """Name in CoolProp."""
    least: float
    most: float
    """Range of the volume fraction."""
    joined: float
    """Width in volume fraction, at either end, of the blend with the other source."""


class Source(NamedTuple):
    """The source of a fluid's properties, its range, and the properties as Chebyshev series."""

    text: str
    """Where the properties come from."""
    coolprop: str
    """Backend and name in CoolProp."""
    warmest: float
    """Highest temperature [degC]."""
    curves: Mapping[str, Any]
    """Coefficients by mass fraction and temperature, and the ranges of both, by ``fluids/make_curves.py``."""
    most: float = 0.0
    """Greatest mass fraction of the antifreeze [-]; 0 without one."""
    pure_density: float | None = None
    """Density of the pure antifreeze at 20 degC [kg/m3]."""
    freezing: FreezingTable | None = None
    """A second source of freezing points."""


def names() -> list[str]:
    """Return the names of all fluids."""
    return sorted(file.stem.replace("-", " ") for file in FOLDER.glob("*.toml"))


def by_name(name: str) -> Source:
    """Return the source of a fluid's properties.

    Raises
    ------
    InvalidInput
        If the fluid is unknown.
    """
    known = names()
    if not isinstance(name, str) or name not in known:
        near = difflib.get_close_matches(str(name).lower(), known, n=1)
        hint = f"; did you mean {near[0]!r}?" if near else ""
        raise InvalidInput("Fluid", "name", repr(name), "", f"must be one of {', '.join(known)}{hint}")
    return read(FOLDER / f"{name.replace(' ', '-')}.toml")


@functools.cache
def read(file: Path) -> Source:
    """Return the source in a file; without curves if they are still to be made."""
    found = tomllib.loads(file.read_text(encoding="utf-8"))
    table = found.pop("freezing", None)
    return Source(**{"curves": {}} | found, freezing=None if table is None else FreezingTable(**table))

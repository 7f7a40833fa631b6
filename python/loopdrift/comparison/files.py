"""A comparison as files in a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from loopdrift.results import write_table

if TYPE_CHECKING:
    from loopdrift.comparison.comparison import Comparison


def write(comparison: Comparison, folder: Path, units: Literal["SI", "IP"]) -> list[Path]:
    """Write a comparison; see `Comparison.write`."""
    from matplotlib.figure import Figure

    from loopdrift.units import to_inch_pound

    folder.mkdir(parents=True, exist_ok=True)
    table = to_inch_pound(comparison.table) if units == "IP" else comparison.table
    files = write_table(table, folder / "comparison")
    files += write_table(comparison.rules_of_thumb, folder / "rules-of-thumb")
    figure = Figure(figsize=(8.0, 4.5), layout="constrained")
    comparison.plot(units=units, ax=figure.subplots())
    files.append(folder / "comparison.png")
    figure.savefig(files[-1], dpi=150)
    files.append(folder / "comparison.txt")
    files[-1].write_text(comparison.text(units=units), encoding="utf-8")
    for each in comparison.fitting:
        if each.run is not None:
            files.append(folder / f"{each.kind.replace(' ', '-')}.toml")
            each.run.design.write(files[-1])
    return files

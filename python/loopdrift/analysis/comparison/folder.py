"""A comparison as files in a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from loopdrift.files import design_file
from loopdrift.files.tables import write_table

if TYPE_CHECKING:
    from loopdrift.analysis.comparison.comparison import Comparison


def write_into(comparison: Comparison, folder: Path, units: Literal["SI", "IP"]) -> None:
    """Write the files of `Comparison.write` into a folder that is there and empty."""
    from matplotlib.figure import Figure

    from loopdrift.basics.units import to_inch_pound

    table = to_inch_pound(comparison.table) if units == "IP" else comparison.table
    write_table(table, folder / "comparison")
    write_table(comparison.rules_of_thumb, folder / "rules-of-thumb")
    figure = Figure(figsize=(8.0, 4.5), layout="constrained")
    comparison.plot(units=units, ax=figure.subplots())
    figure.savefig(folder / "comparison.png", dpi=150)
    (folder / "comparison.txt").write_text(comparison.text(units=units), encoding="utf-8")
    for each in comparison.fitting:
        if each.run is not None:
            design_file.write(each.run.design, folder / f"{each.kind.replace(' ', '-')}.toml")

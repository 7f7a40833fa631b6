"""A run as files in a folder: tables, charts and a summary."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from loopdrift.analysis.cost import own
from loopdrift.basics.output import ResultFolder
from loopdrift.files import design_file
from loopdrift.files.tables import write_table
from loopdrift.reporting import report
from loopdrift.reporting.figures import figures, write_png
from loopdrift.reporting.summary import summary

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.model.run import Run


def write(
    run: Run,
    folder: str | os.PathLike[str],
    *,
    long_run: str = "",
    units: Literal["SI", "IP"] = "SI",
    force: bool = False,
) -> list[Path]:
    """Write tables as CSV and Parquet, charts as PNG, the summary as text, the design as TOML and a report.

    All files are written, or none; they replace those of an earlier run in the same folder.

    Parameters
    ----------
    run : Run
        The run.
    folder : str or path-like
        Folder for the files; created if it doesn't exist.
    long_run : str, optional
        Long-term behaviour, in sentences, for the summary.
    units : {"SI", "IP"}, default "SI"
        Units of tables and charts.
    force : bool, default False
        Whether the folder may contain other files, and files that loopdrift didn't write may be replaced.

    Returns
    -------
    list of pathlib.Path
        The files.

    Raises
    ------
    InvalidInput
        If the folder contains anything but the unmodified results of an earlier run.
    OSError
        If a file can't be written; then no file has changed.
    """
    results = ResultFolder(folder, "run", force=force)
    with results.writing() as unfinished:
        write_into(run, unfinished, long_run=long_run, units=units)
    return results.written


def write_into(run: Run, folder: Path, *, long_run: str, units: Literal["SI", "IP"]) -> None:
    """Write the files of `write` into an existing empty folder."""
    from loopdrift.basics.units import to_inch_pound

    for name, table in _tables(run).items():
        write_table(to_inch_pound(table) if units == "IP" else table, folder / name)
    drawn = figures(run, units)
    for name, figure in drawn.items():
        write_png(figure, folder / f"{name}.png", run.design.project)
    text = summary(run, long_run=long_run, units=units)
    (folder / "summary.txt").write_text(text, encoding="utf-8")
    design_file.write_input(run, folder / "design.toml")
    report.write(run, folder / "report.html", units=units, charts=drawn)


def _tables(run: Run) -> dict[str, pd.DataFrame]:
    tables = {
        "yearly": run.yearly,
        "hourly": run.hourly,
        "monthly-loads": run.spans[0].design.loads.monthly(),
    }
    for span in run.spans[1:]:
        if span.loads_since == span.first:
            tables[f"monthly-loads-from-year-{span.first}"] = span.design.loads.monthly()
    if run.design.piping is not None:
        tables["pressure-drop"] = run.design.pressure_drop()
    if run.design.prices is not None:
        tables["cost"] = run.once(own).yearly
    return tables

"""A run as files in a folder: tables, charts and a summary."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from loopdrift import report
from loopdrift.figures import figures, write_png
from loopdrift.summary import summary

if TYPE_CHECKING:
    import pandas as pd

    from loopdrift.run import Run


def write(
    run: Run, folder: str | Path, *, long_run: str = "", units: Literal["SI", "IP"] = "SI"
) -> list[Path]:
    """Write tables as CSV and Parquet, charts as PNG, the summary as text, the design as TOML and a report.

    Parameters
    ----------
    run : Run
        The run.
    folder : str or pathlib.Path
        Where the files go; made where it doesn't exist.
    long_run : str, optional
        What becomes of it in the long run, in sentences, for the summary.
    units : {"SI", "IP"}, default "SI"
        Units of tables and charts.

    Returns
    -------
    list of pathlib.Path
        The files.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    from loopdrift.units import to_inch_pound

    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    files = []
    for name, table in _tables(run).items():
        files += write_table(to_inch_pound(table) if units == "IP" else table, folder / name)
    drawn = figures(run, units)
    for name, figure in drawn.items():
        files.append(folder / f"{name}.png")
        write_png(figure, files[-1])
    text = folder / "summary.txt"
    text.write_text(summary(run, long_run=long_run, units=units), encoding="utf-8")
    design = folder / "design.toml"
    run.design.write(design)
    page = report.write(run, folder / "report.html", units=units, charts=drawn)
    return [*files, text, design, page]


def _tables(run: Run) -> dict[str, pd.DataFrame]:
    tables = {
        "yearly": run.yearly,
        "hourly": run.hourly,
        "monthly-loads": run.design.loads.monthly(),
    }
    if run.design.piping is not None:
        tables["pressure-drop"] = run.design.pressure_drop()
    if run.design.prices is not None:
        tables["cost"] = run.cost().yearly
    return tables


def write_table(table: pd.DataFrame, stem: Path) -> list[Path]:
    """Write a table as CSV and as Parquet.

    Parameters
    ----------
    table : pandas.DataFrame
        The table; its index becomes the first column.
    stem : pathlib.Path
        Where the files go, without the end of their names.

    Returns
    -------
    list of pathlib.Path
        The files.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    import pyarrow
    import pyarrow.csv
    import pyarrow.parquet

    columns = pyarrow.Table.from_pandas(table.reset_index(), preserve_index=False)
    csv, parquet = stem.with_suffix(".csv"), stem.with_suffix(".parquet")
    pyarrow.csv.write_csv(columns, csv)
    pyarrow.parquet.write_table(columns, parquet)
    return [csv, parquet]

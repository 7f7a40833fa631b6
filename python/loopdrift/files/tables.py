"""Tables as files."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

_NUMBER = re.compile(r"[-+]\d[\d,]*(\.\d+)?")
_BEGINNINGS_OF_FORMULAS = ("=", "+", "-", "@", "\t", "\r")


def write_table(table: pd.DataFrame, stem: Path) -> None:
    """Write a table as CSV and as Parquet.

    Parameters
    ----------
    table : pandas.DataFrame
        The table; its index becomes the first column.
    stem : pathlib.Path
        Where the files go, without the end of their names.

    Raises
    ------
    OSError
        If a file can't be written.
    """
    import pyarrow
    import pyarrow.csv
    import pyarrow.parquet

    columns = pyarrow.Table.from_pandas(table.reset_index(), preserve_index=False)
    plain = pyarrow.Table.from_pandas(without_formulas(table.reset_index()), preserve_index=False)
    pyarrow.csv.write_csv(plain, stem.with_suffix(".csv"))
    pyarrow.parquet.write_table(columns, stem.with_suffix(".parquet"))


def csv_text(table: pd.DataFrame) -> str:
    """Return a table as the text of a CSV file, without its index.

    Parameters
    ----------
    table : pandas.DataFrame
        The table; text that a spreadsheet would take for a formula begins with an apostrophe.
    """
    return without_formulas(table).to_csv(index=False, lineterminator="\n")


def without_formulas(table: pd.DataFrame) -> pd.DataFrame:
    """Return a table in which a text that a spreadsheet would take for a formula begins with an apostrophe.

    Parameters
    ----------
    table : pandas.DataFrame
        The table; its index is left as it is.
    """
    texts = table.select_dtypes(exclude="number").columns
    return table.assign(**{name: table[name].map(_without_formula) for name in texts})


def _without_formula(cell: object) -> object:
    if not isinstance(cell, str) or not cell.startswith(_BEGINNINGS_OF_FORMULAS) or _NUMBER.fullmatch(cell):
        return cell
    return f"'{cell}"

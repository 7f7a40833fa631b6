"""A study on disk: a folder of Parquet files that a table reader takes as one table.

Each portion is a file of its own that appears whole or not at all, so that a study goes on after any end.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.errors import InvalidInput
from loopdrift.study.plan import Axis, Found, Plan

if TYPE_CHECKING:
    import pyarrow

# Readers of folders leave files alone whose names begin with an underscore or a dot.
_IDENTITY = "_study.json"


class Store:
    """The folder of one study.

    Parameters
    ----------
    folder : str or path-like
        Where the files are, or go; made where it doesn't exist.
    plan : Plan
        The study.

    Raises
    ------
    InvalidInput
        If the folder holds another study, or something else.
    OSError
        If a file can't be read or written.
    """

    def __init__(self, folder: str | os.PathLike[str], plan: Plan) -> None:
        self._folder = Path(folder)
        self._plan = plan
        self._folder.mkdir(parents=True, exist_ok=True)
        identity, mine = self._folder / _IDENTITY, plan.identity()
        if identity.exists():
            text = identity.read_text(encoding="utf-8")
            if json.loads(text)["identity"] != mine:
                self._refuse("holds another study: choose another folder, or remove it")
        elif any(path for path in self._folder.iterdir() if not path.name.startswith(".")):
            self._refuse("must be empty, or hold this study")
        else:
            text = json.dumps({"identity": mine, "cases": plan.count, "years": plan.years}, indent=1)
            _write_whole(identity, text.encode())

    def _refuse(self, allowed: str) -> None:
        raise InvalidInput("Study", "store", self._folder, "", allowed)

    def read(self, number: int) -> Found | None:
        """Return what was found for a portion, or None if it isn't finished."""
        import pyarrow.parquet

        try:
            table = pyarrow.parquet.read_table(self._path(number))
        except FileNotFoundError:
            return None
        return _found(table, self._plan.years)

    def write(self, number: int, found: Found) -> None:
        """Write what was found for a portion; when this returns it outlives the machine's power."""
        import pyarrow.parquet

        buffer = io.BytesIO()
        pyarrow.parquet.write_table(_table(found, self._plan), buffer)
        _write_whole(self._path(number), buffer.getvalue())

    def _path(self, number: int) -> Path:
        return self._folder / f"cases-{number:05d}.parquet"


def _write_whole(path: Path, content: bytes) -> None:
    """Write a file so that, whatever happens, it has its whole content or isn't there."""
    unfinished = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with unfinished.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            unfinished.unlink()
        raise
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)


def _table(found: Found, plan: Plan) -> pyarrow.Table:
    """Return one row for each year of each case, with the case's values of what varies."""
    import pyarrow

    def each_year(column: Any) -> Any:
        return np.repeat(column, plan.years)

    columns: dict[str, Any] = {"case": each_year(found.cases)}
    for place, axis in enumerate(plan.axes):
        columns[axis.name] = each_year(_labels(axis)[plan.which[found.cases, place]])
    columns["year"] = np.tile(np.arange(1, plan.years + 1), len(found.cases))
    columns |= {name: column.ravel() for name, column in found.yearly.items()}
    columns |= {name: each_year(column) for name, column in found.by_case.items()}
    return pyarrow.table(columns)


def _labels(axis: Axis) -> Any:
    return axis.labels if axis.labels.dtype.kind in "fiub" else axis.labels.astype(str).astype(object)


def _found(table: pyarrow.Table, years: int) -> Found:
    from loopdrift.study.dataset import BY_CASE, OF_KINDS, YEARLY

    def column(name: str) -> Any:
        return table[name].to_numpy(zero_copy_only=False)

    cases = column("case")[::years]
    known = [*YEARLY, *(name for name in OF_KINDS if name in table.column_names)]
    yearly = {name: column(name).reshape(len(cases), years) for name in known}
    return Found(cases, yearly, {name: column(name)[::years] for name in BY_CASE})

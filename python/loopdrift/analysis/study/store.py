"""A study on disk: a folder of Parquet files that can be read as one table.

Each portion is a separate file that is written atomically, so that a study can resume after any interruption.
Each file names its study and its portion and carries a checksum; files without these are ignored.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.study.dataset import about
from loopdrift.analysis.study.planning.axis import Axis
from loopdrift.analysis.study.planning.plan import Plan
from loopdrift.analysis.study.planning.portion import Found
from loopdrift.analysis.study.planning.variants import Indices
from loopdrift.basics.errors import DamagedStoreFile, InvalidInput
from loopdrift.basics.output import write_whole
from loopdrift.model.columns import BY_CASE

if TYPE_CHECKING:
    import pyarrow

# Readers of folders ignore files whose names start with an underscore or a dot.
IDENTITY = "_study.json"
"""Name of the file that describes the study."""

_LABEL = b"loopdrift-portion"
_NO_SUM = b"0" * 64
_LABELLED = re.compile(rb"study ([0-9a-f]{64}) portion (\d+) sha-256 ([0-9a-f]{64})")


class Store:
    """The folder of one study.

    Parameters
    ----------
    folder : str or path-like
        Folder of the files; created if it doesn't exist.
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
        self._study = plan.identity()
        self._folder.mkdir(parents=True, exist_ok=True)
        named, held = self._held()
        if held not in (None, self._study):
            self._refuse("holds another study: choose another folder, or remove it")
        if named:
            return
        content = {"identity": self._study, **about(plan)}
        if plan.is_grid:
            content["labels"] = [_labels(axis).tolist() for axis in plan.axes]
        write_whole({self._folder / IDENTITY: json.dumps(content, indent=1, default=str).encode()})

    def _held(self) -> tuple[bool, str | None]:
        """Return whether the folder names its study, and the study that it holds; None if it is empty."""
        others = [path for path in self._folder.iterdir() if not path.name.startswith(".")]
        # Read after the listing: another process may write it in between, followed by files of the study.
        identity = self._folder / IDENTITY
        try:
            return True, str(json.loads(identity.read_bytes())["identity"])
        except FileNotFoundError:
            if not others:
                return False, None
        except (ValueError, TypeError, KeyError, RecursionError):
            pass
        studies = {label[0] for label in map(label_of, map(_content, others)) if label is not None}
        if not studies:
            self._refuse("must be empty, or hold this study")
        return False, studies.pop() if len(studies) == 1 else "several"

    def _refuse(self, allowed: str) -> None:
        raise InvalidInput("Study", "store", self._folder, "", allowed)

    def read(self, number: int, cases: Indices) -> Found | None:
        """Return the results of a portion with these cases, or None if it isn't finished.

        A damaged file counts as not finished, with a warning `DamagedStoreFile`.
        """
        import pyarrow.parquet

        path = self._path(number)
        content = _content(path)
        if content is None:
            return None
        if label_of(content) == (self._study, number):
            found = _found(pyarrow.parquet.read_table(io.BytesIO(content)), self._plan)
            if np.array_equal(found.cases, cases):
                return found
        warnings.warn(
            f"{path} is damaged or has been modified: its cases are run again", DamagedStoreFile, stacklevel=4
        )
        return None

    def write(self, number: int, found: Found) -> None:
        """Write the results of a portion; on return, they are safely on disk."""
        import pyarrow.parquet

        label = b"study %s portion %d sha-256 %s" % (self._study.encode(), number, _NO_SUM)
        table = _table(found, self._plan).replace_schema_metadata({_LABEL: label})
        buffer = io.BytesIO()
        pyarrow.parquet.write_table(table, buffer)
        content = buffer.getvalue()
        total = hashlib.sha256(content).hexdigest().encode()
        write_whole({self._path(number): content.replace(label, label.replace(_NO_SUM, total))})

    def _path(self, number: int) -> Path:
        return self._folder / f"cases-{number:05d}.parquet"


def _content(path: Path) -> bytes | None:
    """Return the content of a file; None if there is no such file."""
    try:
        return path.read_bytes()
    except (FileNotFoundError, IsADirectoryError):
        return None


def label_of(content: bytes | None) -> tuple[str, int] | None:
    """Return the study and the number of a portion; None for anything else or a damaged portion."""
    label = None if content is None else _LABELLED.search(content)
    if content is None or label is None:
        return None
    unsummed = content[: label.start(3)] + _NO_SUM + content[label.end(3) :]
    if hashlib.sha256(unsummed).hexdigest().encode() != label[3]:
        return None
    return label[1].decode(), int(label[2])


def _table(found: Found, plan: Plan) -> pyarrow.Table:
    """Return one row for each year of each case, with the case's parameters; all portions have one schema."""
    import pyarrow

    def each_year(column: Any) -> Any:
        return np.repeat(column, plan.years)

    columns: dict[str, Any] = {"case": each_year(found.cases)}
    for place, axis in enumerate(plan.axes):
        columns[axis.name] = each_year(_labels(axis)[plan.which[found.cases, place]])
    columns["year"] = np.tile(np.arange(1, plan.years + 1), len(found.cases))
    missing = np.full((len(found.cases), plan.years), np.nan)
    columns |= {name: found.yearly.get(name, missing).ravel() for name in plan.yearly}
    columns |= {name: each_year(found.by_case[name]) for name in BY_CASE}
    return pyarrow.table(
        {
            name: pyarrow.array(column, pyarrow.string() if column.dtype == object else None)
            for name, column in columns.items()
        }
    )


def _labels(axis: Axis) -> Any:
    return axis.labels if axis.labels.dtype.kind in "fiub" else axis.labels.astype(str).astype(object)


def _found(table: pyarrow.Table, plan: Plan) -> Found:
    def column(name: str) -> Any:
        return table[name].to_numpy(zero_copy_only=False)

    cases = column("case")[:: plan.years]
    yearly = {name: column(name).reshape(len(cases), plan.years) for name in plan.yearly}
    return Found(cases, yearly, {name: column(name)[:: plan.years] for name in BY_CASE})

"""A stored study as a dataset that reads what is used."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.study.dataset import NOT_RUN, described
from loopdrift.analysis.study.planning.variants import Indices
from loopdrift.analysis.study.store import IDENTITY
from loopdrift.basics.errors import InvalidInput
from loopdrift.model.columns import BY_CASE, YEARLY

if TYPE_CHECKING:
    import pyarrow
    import xarray as xr


def open_study(folder: str | os.PathLike[str]) -> xr.Dataset:
    """Return a stored study as a dataset that reads its values when they are used.

    Parameters
    ----------
    folder : str or path-like
        The folder given to `Study.run` as `store`; the study may be unfinished.

    Returns
    -------
    xarray.Dataset
        As `Study.run` returns it. What is selected is read one file at a time, so that memory is needed only
        for the selection; ``chunk`` divides it for dask.

    Raises
    ------
    InvalidInput
        If the folder doesn't hold a study, or one of its files is damaged.

    Examples
    --------
    >>> import loopdrift as ld
    >>> from importlib.resources import files
    >>> from tempfile import mkdtemp
    >>> design, folder = ld.Design.read(files("loopdrift") / "demo" / "design.toml"), mkdtemp()
    >>> done = ld.Study(design, vary={"spacing": [5, 7]}).run(years=1, store=folder, load=False)
    >>> ld.open_study(folder)["margin_K"].sel(spacing=7).dims
    ()
    """
    from loopdrift.analysis.study.lazy_column import lazy_column

    files = StoredFiles(Path(folder))
    columns = {name: lazy_column(files, name) for name in files.names}
    return described(columns, files.labels, files.study)


class StoredFiles:
    """The files of a stored study, and the place of each case in them.

    Parameters
    ----------
    folder : pathlib.Path
        The folder.

    Raises
    ------
    InvalidInput
        If it doesn't hold a study, or one of its files is damaged.
    """

    def __init__(self, folder: Path) -> None:
        try:
            self.study = json.loads((folder / IDENTITY).read_bytes())
            identity, self.years, count = (self.study[name] for name in ("identity", "years", "cases"))
            axes = [axis["name"] for axis in self.study["axes"]]
            self.names = [*self.study["yearly"], *BY_CASE]
        except (OSError, ValueError, TypeError, KeyError):
            raise InvalidInput("open_study", "folder", folder, "", "must hold a stored study") from None
        self.paths = sorted(folder.glob("cases-*.parquet"))
        self.file_of_case = np.full(count, -1, dtype=np.int32)
        self.row_of_case = np.zeros(count, dtype=np.int32)
        is_grid = "labels" in self.study
        found: dict[str, Any] = {}
        for number, path in enumerate(self.paths):
            table = _read(path, ["case"] if is_grid else ["case", *axes], identity)
            cases = table["case"].to_numpy()[:: self.years]
            self.file_of_case[cases] = number
            self.row_of_case[cases] = np.arange(len(cases))
            for name in () if is_grid else axes:
                values = table[name].to_numpy(zero_copy_only=False)[:: self.years]
                values = values.astype(str) if values.dtype == object else values
                missing = np.nan if values.dtype.kind == "f" else values.dtype.type()
                if name not in found or found[name].dtype.itemsize < values.dtype.itemsize:
                    found[name] = found.get(name, np.full(count, missing)).astype(values.dtype)
                found[name][cases] = values
        labels = (
            self.study["labels"] if is_grid else [found.get(name, np.full(count, np.nan)) for name in axes]
        )
        self.labels = [np.array(each) for each in labels]
        self.shape = [len(each) for each in self.labels] if is_grid else [count]
        self._identity = identity

    def column(self, name: str, cases: Indices) -> NDArray[Any]:
        """Return a column of some cases, shape (cases, years) or (cases,)."""
        files = self.file_of_case[cases]
        of_years = (self.years,) if name in YEARLY else ()
        is_text = name in BY_CASE and not BY_CASE[name].unit
        values = np.full(
            (len(cases), *of_years),
            (NOT_RUN if name == "failure" else "") if is_text else np.nan,
            object if is_text else np.float64,
        )
        for number in np.unique(files[files >= 0]).tolist():
            read = _read(self.paths[number], [name], self._identity)[name].to_numpy(zero_copy_only=False)
            by_case = read.reshape(-1, self.years)
            chosen = files == number
            rows = by_case[self.row_of_case[cases[chosen]]]
            values[chosen] = rows if of_years else rows[:, 0]
        return values


def _read(path: Path, columns: list[str], identity: str) -> pyarrow.Table:
    """Read columns of a file, which must belong to the study."""
    import pyarrow.parquet

    try:
        file = pyarrow.parquet.ParquetFile(path)
        labels = b" ".join((file.schema_arrow.metadata or {}).values())
        if identity.encode() in labels:
            return file.read(columns)
    except (pyarrow.lib.ArrowException, OSError, ValueError, KeyError):
        pass
    allowed = "is damaged or of another study: run the study again with this store"
    raise InvalidInput("open_study", "folder", path, "", allowed)

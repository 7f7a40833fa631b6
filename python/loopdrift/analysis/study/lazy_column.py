"""A column of a stored study that xarray reads when it is used."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from xarray.backends import BackendArray
from xarray.core import indexing

from loopdrift.analysis.study.stored import StoredFiles
from loopdrift.model.columns import BY_CASE, YEARLY


def lazy_column(files: StoredFiles, name: str) -> indexing.LazilyIndexedArray:
    """Return a column of a stored study as an array that is read when it is used.

    Parameters
    ----------
    files : StoredFiles
        The study.
    name : str
        The column.
    """
    return indexing.LazilyIndexedArray(_Column(files, name))


class _Column(BackendArray):
    """A column of a stored study, with the dimensions of the study."""

    def __init__(self, files: StoredFiles, name: str) -> None:
        self._files = files
        self._name = name
        is_text = name in BY_CASE and not BY_CASE[name].unit
        self.shape = (*files.shape, *((files.years,) if name in YEARLY else ()))
        self.dtype = np.dtype(object if is_text else np.float64)

    def __getitem__(self, key: indexing.ExplicitIndexer) -> NDArray[Any]:
        support = indexing.IndexingSupport.OUTER
        chosen: NDArray[Any] = indexing.explicit_indexing_adapter(key, self.shape, support, self._chosen)
        return chosen

    def _chosen(self, key: tuple[Any, ...]) -> NDArray[Any]:
        """Return the values at a slice, a number or an array of places along each dimension."""
        across = len(self._files.shape)
        places = [np.arange(size)[each] for size, each in zip(self.shape, key, strict=True)]
        shape = [size for each in places for size in each.shape]
        of_cases = np.ix_(*(np.atleast_1d(each) for each in places[:across]))
        cases = np.ravel_multi_index(of_cases, tuple(self._files.shape)).ravel()
        values = self._files.column(self._name, cases)
        if len(places) > across:
            values = values[:, np.atleast_1d(places[across])]
        chosen: NDArray[Any] = values.reshape(shape)
        return chosen

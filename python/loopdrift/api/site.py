"""A site that can be read from its file."""

from __future__ import annotations

from pathlib import Path
from typing import Self

from loopdrift.files import design_file
from loopdrift.ground_sides import site as model


class Site(model.Site):
    __doc__ = model.Site.__doc__

    @classmethod
    def read(cls, path: str | Path) -> Self:
        """Return the site that stands in a file.

        Parameters
        ----------
        path : str or pathlib.Path
            A TOML file, whose keys are the parameters of `Site` and its parts; paths inside it are relative
            to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown, missing or holds what no site may hold; the message names file and key.
        InvalidFile
            If the file is no TOML, or a CSV file that it names can't be used.
        OSError
            If a file can't be read.
        """
        return design_file.read_site(path, cls)

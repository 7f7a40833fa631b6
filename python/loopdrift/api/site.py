"""A site that can be read from a file."""

from __future__ import annotations

import os
from typing import Self

from loopdrift.files import design_file
from loopdrift.ground_sides import site as model


class Site(model.Site):
    __doc__ = model.Site.__doc__

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Self:
        """Read a site from a file.

        Parameters
        ----------
        path : str or path-like
            A TOML file, whose keys are the parameters of `Site` and its parts; paths inside it are relative
            to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown or missing, or its value is invalid; the message names file and key.
        InvalidFile
            If the file isn't valid TOML, or a CSV file that it names is invalid.
        OSError
            If a file can't be read.
        """
        return design_file.read_site(path, cls)

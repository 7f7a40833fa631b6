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

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write the site to a TOML file, and its weather to a CSV file in the same folder.

        Parameters
        ----------
        path : str or path-like
            The TOML file; the weather goes to ``<stem>-weather.csv``, that of a candidate's pond to
            ``<stem>-candidate-<number>-weather.csv``.

        Raises
        ------
        OSError
            If a file can't be written; then no file has changed.
        """
        design_file.write_site(self, path)

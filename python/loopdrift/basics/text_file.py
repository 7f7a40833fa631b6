"""Text files of limited size."""

from __future__ import annotations

import os

from loopdrift.basics.bounds import MOST_TABLE_BYTES
from loopdrift.basics.errors import InvalidFile


def read(path: str | os.PathLike[str], most: int = MOST_TABLE_BYTES) -> str:
    """Return the text of a UTF-8 file, without a byte-order mark.

    Parameters
    ----------
    path : str or path-like
        The file; an endless device is read only as far as the limit.
    most : int, optional
        Greatest length [bytes].

    Raises
    ------
    InvalidFile
        If the file isn't UTF-8 text, with the line number, or is too long.
    OSError
        If the file can't be read.
    """
    try:
        return content(path, most).decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise InvalidFile(path, line, "", "bytes", "must be UTF-8 text") from None


def content(path: str | os.PathLike[str], most: int = MOST_TABLE_BYTES) -> bytes:
    """Return the bytes of a file.

    Parameters
    ----------
    path : str or path-like
        The file.
    most : int, optional
        Greatest length [bytes].

    Raises
    ------
    InvalidFile
        If the file is too long, or `path` is not one that a file can have.
    OSError
        If the file can't be read.
    """
    try:
        with open(path, "rb") as file:
            found = file.read(most + 1)
    except ValueError as error:  # characters that no path may hold, such as a null character
        raise InvalidFile(path, 1, "", "path", f"must be the path of a file: {error}") from None
    if len(found) > most:
        raise InvalidFile(path, 1, "", "file", f"must be at most {most // 2**20} MiB long")
    return found

"""Text files as they come."""

from __future__ import annotations

import os
from pathlib import Path

from loopdrift.errors import InvalidFile


def read(path: str | os.PathLike[str]) -> str:
    """Return the text of a UTF-8 file, without a byte-order mark.

    Raises
    ------
    InvalidFile
        If the file is no UTF-8 text, with the line number.
    OSError
        If the file can't be read.
    """
    content = Path(path).read_bytes()
    try:
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise InvalidFile(path, line, "", "bytes", "must be UTF-8 text") from None

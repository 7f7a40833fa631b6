"""A digest of values: equal for equal ones, in any process."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from loopdrift.basics.part import Part
from loopdrift.parts.loads import Loads


def add_to(digest: Any, value: Any) -> None:
    """Add a value to a digest: parts as the engine reads them, arrays by their bytes, anything else as text.

    Parameters
    ----------
    digest : hashlib object
        The digest.
    value : object
        The value; mappings and sequences are added with all that they hold.
    """
    if isinstance(value, Part | Loads):
        digest.update(type(value).__name__.encode())
        value = value.for_engine()
    if isinstance(value, Mapping):
        digest.update(b"{%d" % len(value))
        for name, each in sorted(value.items()):
            digest.update(f"{name}=".encode())
            add_to(digest, each)
    elif isinstance(value, np.ndarray) and value.dtype != object:
        digest.update(f"{value.dtype.str}{value.shape}".encode())
        digest.update(np.ascontiguousarray(value).tobytes())
    elif isinstance(value, list | tuple | np.ndarray):
        digest.update(b"[%d" % len(value))
        for each in value:
            add_to(digest, each)
    else:
        digest.update(f"{type(value).__name__}:{value!r};".encode())

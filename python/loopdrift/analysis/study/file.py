"""Studies in design files."""

from __future__ import annotations

import os
from typing import Any

import numpy as np

from loopdrift.analysis.study.samples import Samples
from loopdrift.analysis.study.study import Study
from loopdrift.basics.errors import InvalidDesignFile, InvalidInput
from loopdrift.files.design_file import STUDY, read_with_study
from loopdrift.files.toml_file import TomlFile
from loopdrift.model.design import Design


def read_study(path: str | os.PathLike[str], make: type[Design]) -> Study:
    """Return the study in the table ``study`` of a design file.

    The table ``study.vary`` has values by dotted names. For samples, ``study.samples`` has ``method``,
    ``count`` and ``seed``, and ``study.samples.distributions`` has scipy.stats distributions with their
    parameters, such as ``{ name = "norm", loc = 2.1, scale = 0.2 }``.

    Parameters
    ----------
    path : str or path-like
        The design file.
    make : type
        Class of the design.

    Raises
    ------
    InvalidDesignFile
        If a key is unknown or missing, or its value is invalid.
    InvalidFile
        If the file isn't valid TOML, or a CSV file that it names is invalid.
    OSError
        If a file can't be read.
    """
    design, table, toml = read_with_study(path, make)

    def invalid(key: str, value: object, allowed: str) -> InvalidDesignFile:
        place = f"{STUDY}{key}"
        return InvalidDesignFile(path, place, value, "", allowed, toml.line(place))

    if not isinstance(table, dict) or len(table) != 1 or not set(table) <= {"vary", "samples"}:
        raise invalid("", repr(table) if table else "nothing", "must be a table with either vary or samples")
    (way, given) = next(iter(table.items()))
    if not isinstance(given, dict):
        raise invalid(f".{way}", repr(given), "must be a table")
    try:
        if way == "vary":
            return Study(design, vary=_flat(given))
        known = dict(given)
        spread = known.pop("distributions", {})
        if not isinstance(spread, dict):
            raise invalid(".samples.distributions", repr(spread), "must be a table")
        drawn = _flat(spread, leaf="name")
        distributions = {name: _distribution(toml, name, spec) for name, spec in drawn.items()}
        if not set(known) <= {"method", "count", "seed"} or "count" not in known:
            allowed = "must have count and distributions, and may have method and seed"
            raise invalid(".samples", ", ".join(known) or "nothing", allowed)
        return Study(design, samples=Samples(distributions, **known))
    except InvalidDesignFile:
        raise
    except InvalidInput as error:
        raise InvalidDesignFile(
            path,
            f"{STUDY}.{way} ({error.owner}.{error.field})",
            error.value,
            error.unit,
            error.allowed,
            toml.line(f"{STUDY}.{way}"),
        ) from error


def _flat(table: dict[str, Any], leaf: str = "", prefix: str = "") -> dict[str, Any]:
    """Return the values in nested tables by their dotted names; a table with the key `leaf` is a value."""
    flat: dict[str, Any] = {}
    for name, value in table.items():
        if isinstance(value, dict) and leaf not in value:
            flat |= _flat(value, leaf, f"{prefix}{name}.")
        else:
            flat[f"{prefix}{name}"] = value
    return flat


def _distribution(toml: TomlFile, name: str, spec: Any) -> Any:
    from scipy import stats

    def invalid(allowed: str) -> InvalidDesignFile:
        key = f"{STUDY}.samples.distributions.{name}"
        return InvalidDesignFile(toml.path, key, repr(spec), "", allowed, toml.line(key))

    parameters = dict(spec) if isinstance(spec, dict) else {}
    kind = getattr(stats, str(parameters.pop("name", "")), None)
    if not isinstance(kind, stats.rv_continuous):
        raise invalid("must name a continuous distribution of scipy.stats, with its parameters")
    try:
        frozen = kind(**parameters)
        median = frozen.ppf(0.5)
    except (TypeError, ValueError) as error:
        raise invalid(f"must have the parameters of {kind.name}: {error}") from None
    if np.ndim(median) or not np.isfinite(median):
        raise invalid(f"must have parameters that {kind.name} allows")
    return frozen

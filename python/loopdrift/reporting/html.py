"""Pages of HTML: templates in which all text is escaped, and how units and quantities are written."""

from __future__ import annotations

import base64
import functools
import math
import re
from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import inch_pound_first

if TYPE_CHECKING:
    from jinja2 import Template

Units = Literal["SI", "IP"]

_RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


@functools.cache
def template(package: str, name: str, units: Units) -> Template:
    """Return a template of a package, which may extend one of this package.

    The filter ``signs`` writes degree signs, superscripts and powers of ten; ``words`` also puts the units of
    the page first in sentences.

    Parameters
    ----------
    package : str
        The package that holds the template.
    name : str
        Name of its file.
    units : {"SI", "IP"}
        Units of the page.
    """
    from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

    loader = ChoiceLoader([PackageLoader(package, "."), PackageLoader(__package__, ".")])
    environment = Environment(loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    environment.filters["signs"] = signs
    environment.filters["words"] = lambda text: signs(inch_pound_first(text) if units == "IP" else text)
    return environment.get_template(name)


def rounded(value: float, digits: int = 3) -> str:
    """Return a number with no more digits than are meant, such as ``25,100`` for 25,105.3.

    Parameters
    ----------
    value : float
        The number.
    digits : int, default 3
        Its significant digits.
    """
    return f"{rounding(value, digits):,.0f}"


def rounding(value: float, digits: int = 3) -> float:
    """Return a number rounded to significant digits, and to a whole number."""
    if not math.isfinite(value) or value == 0.0:
        return value
    return round(value, min(0, digits - 1 - math.floor(math.log10(abs(value)))))


def signs(text: str) -> str:
    """Return a text with ``°``, ``°C``, ``m²``, ``5·10⁻⁷`` for ``deg``, ``degC``, ``m2``, ``5e-07``."""
    text = re.sub(r"(?<=[\[(])deg([CF])", r"°\1", text)
    text = re.sub(r"(?<=\d) deg\b", "°", text)
    text = re.sub(" ?deg([CF])", "\N{NO-BREAK SPACE}°\\1", text)
    text = re.sub(r"\b(m|mm|ft|in)([23])\b", lambda unit: unit[1] + unit[2].translate(_RAISED), text)
    text = re.sub(r"(?<=\d) ?%", "\N{NO-BREAK SPACE}%", text)
    text = re.sub(r"(?<=\d) (?=(m|ft|K)\))", "\N{NO-BREAK SPACE}", text)
    return re.sub(r"(?<=\d)e([-+]\d+)\b", lambda power: f"·10{str(int(power[1])).translate(_RAISED)}", text)


def link(content: str | bytes, kind: str) -> str:
    """Return content as a link that needs no other file.

    Parameters
    ----------
    content : str or bytes
        The content of a file.
    kind : str
        Its media type, such as ``text/csv``.
    """
    data = content.encode() if isinstance(content, str) else content
    return f"data:{kind};base64,{base64.b64encode(data).decode('ascii')}"

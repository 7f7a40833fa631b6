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


@functools.cache
def template(package: str, name: str, units: Units) -> Template:
    """Return a template of a package.

    The filter ``degrees`` writes degree signs; ``words`` also puts the units of the page first in sentences.

    Parameters
    ----------
    package : str
        The package that holds the template.
    name : str
        Name of its file.
    units : {"SI", "IP"}
        Units of the page.
    """
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader(package, "."), autoescape=True, undefined=StrictUndefined, trim_blocks=True
    )
    environment.filters["degrees"] = degrees
    environment.filters["words"] = lambda text: degrees(inch_pound_first(text) if units == "IP" else text)
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


def degrees(text: str) -> str:
    """Return a text with degree signs instead of ``degC`` and ``degF``."""
    return re.sub(" ?deg([CF])", "\N{NO-BREAK SPACE}°\\1", text)


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

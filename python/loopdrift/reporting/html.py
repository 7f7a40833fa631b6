"""Pages of HTML: templates in which all text is escaped, and how units and quantities are written."""

from __future__ import annotations

import base64
import re
from typing import TYPE_CHECKING, Literal

from loopdrift.basics.both_units import inch_pound_first

if TYPE_CHECKING:
    from jinja2 import Template

Units = Literal["SI", "IP"]


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

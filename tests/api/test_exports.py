"""Every type that a public method returns, or that a public field holds, has a name in the package."""

import inspect
import re
import sys

import loopdrift as ld
from loopdrift.basics.part import Checked, Number, Several
from loopdrift.parts.building.week import Weekly

DESCRIPTORS = (Number, Several, Checked, Weekly)


def annotations(cls):
    """Yield a place, an annotation and the module that it is written in, for what a class gives."""
    for base in cls.__mro__:
        for name, annotation in vars(base).get("__annotations__", {}).items():
            if not name.startswith("_"):
                yield f"{cls.__name__}.{name}", annotation, base.__module__
    for name, member in inspect.getmembers(cls):
        function = member.fget if isinstance(member, property) else getattr(member, "__func__", member)
        if not name.startswith("_") and inspect.isfunction(function):
            annotation = function.__annotations__.get("return", "")
            yield f"{cls.__name__}.{name}", annotation, function.__module__


def test_what_is_returned_is_exported():
    missing = {}
    for cls in filter(inspect.isclass, (getattr(ld, name) for name in ld.__all__)):
        for place, annotation, module in annotations(cls):
            for word in re.findall(r"[A-Za-z_]\w*", str(annotation)):
                found = getattr(sys.modules[module], word, None)
                own = inspect.isclass(found) and found.__module__.startswith("loopdrift.")
                if (
                    own
                    and not issubclass(found, DESCRIPTORS)
                    and not any(
                        issubclass(getattr(ld, name), found)
                        for name in ld.__all__
                        if inspect.isclass(getattr(ld, name))
                    )
                ):
                    missing.setdefault(found.__name__, place)
    assert missing == {}

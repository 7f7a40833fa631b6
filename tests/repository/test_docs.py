"""Docstrings: they name what the signatures have, in order, with units; their examples give what they say."""

import doctest
import importlib
import inspect
import pkgutil
import re

import pytest
from numpydoc.docscrape import FunctionDoc

import loopdrift as ld
from loopdrift import plots
from loopdrift.basics import part

OPTIONS = doctest.NORMALIZE_WHITESPACE | doctest.ELLIPSIS
MODULES = [
    importlib.import_module(found.name)
    for found in pkgutil.walk_packages(ld.__path__, "loopdrift.")
    if not found.name.startswith(
        ("loopdrift._core", "loopdrift.parts.weather.samples", "loopdrift.parts.fluid.fluids")
    )
]


def is_own(thing, module):
    return getattr(thing, "__module__", "") == module.__name__


def public():
    """Yield name and thing for each public class, function, method and property of the package."""
    for module in MODULES:
        for name, thing in vars(module).items():
            if name.startswith("_") or not is_own(thing, module):
                continue
            if inspect.isclass(thing):
                yield f"{module.__name__}.{name}", thing
                for member, attribute in vars(thing).items():
                    if member.startswith("_"):
                        continue
                    if isinstance(attribute, classmethod | staticmethod):
                        attribute = attribute.__func__
                    if inspect.isfunction(attribute) or isinstance(attribute, property):
                        yield f"{module.__name__}.{name}.{member}", attribute
            elif inspect.isfunction(thing):
                yield f"{module.__name__}.{name}", thing


PUBLIC = dict(public())
EXPORTED = [getattr(ld, name) for name in ld.__all__ if name != "plots"]
FACE = {f"{thing.__module__}.{thing.__name__}" for thing in EXPORTED} | {
    f"{thing.__module__}.{thing.__name__}" for thing in vars(plots).values() if inspect.isfunction(thing)
}


def is_exported(name):
    return name in FACE or name.rpartition(".")[0] in FACE


def documented(thing):
    """Return the parameters of a docstring, one entry a name: its lines."""
    sections = FunctionDoc(thing, doc=inspect.getdoc(thing))
    return {
        name.strip().lstrip("*"): " ".join(entry.desc)
        for entry in sections["Parameters"]
        for name in entry.name.split(",")
    }


def parameters(thing):
    if inspect.isclass(thing) and issubclass(thing, Exception) and "__init__" not in vars(thing):
        return []
    names = list(inspect.signature(thing).parameters)
    return names[1:] if names[:1] in (["self"], ["cls"]) else names


def overrides(name):
    """Whether a method replaces one of a base class, which documents the parameters."""
    owner, _, method = name.rpartition(".")
    kind = PUBLIC.get(owner)
    return inspect.isclass(kind) and any(
        method in vars(base) and documented(vars(base)[method]) for base in kind.__mro__[1:]
    )


def test_the_package_is_found():
    assert set(PUBLIC) >= FACE
    assert len(PUBLIC) > 100


@pytest.mark.parametrize("name", PUBLIC)
def test_summary(name):
    text = inspect.getdoc(PUBLIC[name]) or ""
    first = text.partition("\n\n")[0]
    assert first.rstrip().endswith((".", "?")), f"{name}: {first!r}"
    assert "\n" not in first, f"{name}: the summary is longer than a line"


@pytest.mark.parametrize("name", [name for name, thing in PUBLIC.items() if not isinstance(thing, property)])
def test_parameters_are_those_of_the_signature(name):
    thing = PUBLIC[name]
    if documented(thing) or (is_exported(name) and not overrides(name)):
        assert list(documented(thing)) == parameters(thing)


NUMBERS = [
    (thing, name)
    for thing in EXPORTED
    if inspect.isclass(thing)
    for name, attribute in vars(thing).items()
    if isinstance(attribute, part.Number)
]


def test_numbers_tell_their_units():
    assert len(NUMBERS) > 15
    for owner, name in NUMBERS:
        unit = part.quantities(owner.__name__)[name][0]
        text = documented(owner)[name]
        if unit:
            assert f"[{unit}]" in text, f"{owner.__name__}.{name}: {text}"


@pytest.mark.parametrize("name", [name for name, thing in PUBLIC.items() if inspect.isfunction(thing)])
def test_numbers_of_functions_tell_their_units(name):
    """A parameter that takes a number or text with a unit says in which unit the number is."""
    function = PUBLIC[name]
    given = documented(function)
    for parameter in inspect.signature(function).parameters.values():
        if "float | str" in str(parameter.annotation) and parameter.name in given:
            text = given[parameter.name]
            assert re.search(r"\[[^]]+\]|share|a number, taken to be in", text.lower()), f"{name}: {text}"


@pytest.mark.parametrize("module", [ld, *MODULES], ids=lambda module: module.__name__)
def test_examples(module):
    if module.__name__.startswith("loopdrift.api."):
        return  # its classes show the docstrings of those that they build on
    failed, _ = doctest.testmod(module, optionflags=OPTIONS)
    assert failed == 0


def test_there_are_examples():
    finder = doctest.DocTestFinder()
    found = [test for module in MODULES for test in finder.find(module) if test.examples]
    assert len(found) > 10

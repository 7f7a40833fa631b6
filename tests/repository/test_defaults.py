"""Defaults that docstrings state are those of the code."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Iterator
from typing import Any

import pytest
from numpydoc.docscrape import NumpyDocString

import loopdrift as ld


def public() -> Iterator[tuple[str, Any]]:
    """Yield the public classes with their methods, and the public functions."""
    for name in ld.__all__:
        thing = getattr(ld, name)
        if callable(thing):
            yield name, thing
        if inspect.isclass(thing):
            for method, _ in inspect.getmembers(thing, inspect.isroutine):
                if not method.startswith("_"):
                    yield f"{name}.{method}", getattr(thing, method)


def stated() -> Iterator[tuple[str, str, Any]]:
    """Yield each parameter with the default that its docstring states, and that of the signature."""
    for owner, thing in public():
        for parameter in NumpyDocString(inspect.getdoc(thing) or "")["Parameters"]:
            if found := re.search(r"default (.+)$", parameter.type):
                names = parameter.name.split(", ")
                texts = found[1].split(" and ") if len(names) > 1 else [found[1]]
                for name, text in zip(names, texts * (len(names) if len(texts) == 1 else 1), strict=True):
                    yield f"{owner}.{name}", text, inspect.signature(thing).parameters[name].default


DEFAULTS = {name: (text, default) for name, text, default in stated()}


def test_most_classes_state_some() -> None:
    assert len(DEFAULTS) > 80


@pytest.mark.parametrize("name", DEFAULTS)
def test_a_default_is_what_its_docstring_says(name: str) -> None:
    text, default = DEFAULTS[name]
    assert default == (() if text == "nothing" else ast.literal_eval(text))

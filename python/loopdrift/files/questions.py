"""The questions that a new design starts from, asked on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple, TypeVar

import click

from loopdrift.basics.both_units import factor
from loopdrift.basics.errors import InvalidInput, LoopdriftError
from loopdrift.basics.numbers import number_within
from loopdrift.files.new_design import Start, heat_loss_of, weather_of
from loopdrift.parts.weather.weather import Weather

A = TypeVar("A")


class _Number(NamedTuple):
    """A number that is asked for."""

    question: str
    unit: str
    least: float
    most: float
    usual: dict[str, str]
    """Answer where none is given, by the units of the file."""


_NUMBERS = {
    "heat_loss": _Number("Heat loss of the house on a cold day", "W", 200.0, 1e6, {"SI": "", "IP": ""}),
    "floor_area": _Number("Floor area", "m2", 50.0, 1e6, {"SI": "2000 m2", "IP": "20000 ft2"}),
    "conductivity": _Number(
        "Conductivity of the ground",
        "W/(m K)",
        0.1,
        20.0,
        {"SI": "2 W/(m K)", "IP": "1.2 Btu/(h ft degF)"},
    ),
    "temperature": _Number("Undisturbed ground temperature", "degC", -15.0, 60.0, {"SI": "", "IP": ""}),
}


def answered(given: Mapping[str, Any], *, ask: bool) -> Start:
    """Return what is known of a new design: as given, as answered, or else usual.

    Parameters
    ----------
    given : mapping
        Answers that were given, as text by the names of `Start`; None for the others.
    ask : bool
        Whether to ask for the others.

    Raises
    ------
    InvalidInput
        If a number that was given is out of range.
    """

    def choice(name: str, question: str, choices: list[str], usual: str) -> str:
        if given[name] is not None or not ask:
            return str(given[name] or usual)
        return str(click.prompt(question, default=usual, type=click.Choice(choices), err=True))

    building = choice("building", "A house or a larger building?", ["house", "larger"], "house")
    units = choice("units", "Units of the file", ["SI", "IP"], "SI")
    weather = given["weather"] or "cold continental"
    if ask and given["weather"] is None:
        samples = ", ".join(Weather.samples())
        question = f"Weather: path of a file, or a sample climate ({samples})"
        weather = click.prompt(question, default=weather, value_proc=_again(_known_weather), err=True)
    answers: dict[str, Any] = {"building": building, "units": units, "weather": weather}
    of_building = "heat_loss" if building == "house" else "floor_area"
    for name in (of_building, "conductivity", "temperature"):
        asked, read = _NUMBERS[name], _reader(name, units)
        usual = asked.usual[units]
        if ask and name == "heat_loss" and given[name] is None:
            loss = heat_loss_of(weather_of(weather))
            usual = (
                f"{loss / 1e3:.2g} kW" if units == "SI" else f"{factor('W', 'Btu/h') * loss / 1e3:.2g} kBtu/h"
            )
        if given[name] is not None:
            answers[name] = read(given[name])
        elif usual and ask:
            answers[name] = click.prompt(asked.question, default=usual, value_proc=_again(read), err=True)
        elif usual:
            answers[name] = read(usual)
    if building == "larger":
        few = Start().storeys
        storeys = click.IntRange(1, 100)
        if given["storeys"] is None and ask:
            answers["storeys"] = click.prompt("Storeys", default=few, type=storeys, err=True)
        else:
            answers["storeys"] = given["storeys"] or few
    return Start(**answers)


def _known_weather(name: str) -> str:
    weather_of(name)
    return name


def _reader(name: str, units: str) -> Callable[[str], float]:
    """Return what turns an answer into a number in SI; only in SI an answer needs no unit."""
    asked = _NUMBERS[name]

    def read(text: str) -> float:
        try:
            value: float | str = float(text)
        except ValueError:
            value = text
        else:
            if units == "IP":
                raise InvalidInput(
                    "new", name, text, "", f"must have its unit, such as one like {asked.unit}"
                )
        return number_within(value, asked.unit, owner="new", field=name, least=asked.least, most=asked.most)

    return read


def _again(read: Callable[[str], A]) -> Callable[[str], A]:
    """Return a reader after whose refusal the question is asked again."""

    def again(text: str) -> A:
        try:
            return read(text)
        except LoopdriftError as error:
            raise click.UsageError(getattr(error, "allowed", str(error))) from None

    return again

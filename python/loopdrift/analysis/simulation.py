"""A design stepped hour by hour, with demands that become known as it goes."""

from __future__ import annotations

import hashlib
import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, Self

from loopdrift import _core
from loopdrift.basics import notebook
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import hour_of_calendar_year
from loopdrift.basics.output import write_whole
from loopdrift.model.design import Design, check_years
from loopdrift.parts.digest import add_to

if TYPE_CHECKING:
    import os

_OWNER = "Simulation"
_SCHEMA = 1
"""Version of the files of states; rises when a state of before would be read differently."""
_DEMAND = (
    "heating",
    "cooling",
    "hot_water",
    "recharge",
    "recovered",
    "other_electricity",
    "heating_entering_load_temperature",
    "cooling_entering_load_temperature",
)
"""Parameters of a step, in the engine's order."""


class SimulatedHour(NamedTuple):
    """What an hour gives; temperatures are those at its end, and powers its means.

    Parameters
    ----------
    entering_fluid, leaving_fluid : float
        Fluid that enters the heat pump from the loop, and that leaves it [degC].
    heat_extracted : float
        Heat extracted from the ground [W]; negative when heat is rejected.
    electricity : float
        Electricity of the whole plant [W]: heat pump, circulation pump, well pump, back-up heat and what the
        demand adds.
    heating, cooling : float
        Heat that the heat pump delivers, for rooms and hot water, and that it removes [W].
    backup : float
        Heating beyond the heat pump's capacity, supplied by back-up heat [W]; part of `electricity`.
    unmet_cooling : float
        Cooling beyond the heat pump's capacity, which isn't supplied [W].
    """

    entering_fluid: float
    leaving_fluid: float
    heat_extracted: float
    electricity: float
    heating: float
    cooling: float
    backup: float
    unmet_cooling: float


class Simulation:
    """A design that is stepped hour by hour, for controls of your own; made by `Design.simulation`.

    An hour is that of a run, with the demand that `step` is given instead of the design's loads, and is
    solved until its temperature no longer changes.

    Parameters
    ----------
    design : Design
        The design.
    years : int, default 20
        Horizon, 1 to 100 years of 8760 hours.

    Raises
    ------
    InvalidInput
        If the horizon is out of range.
    """

    def __init__(self, design: Design, years: int = 20) -> None:
        self.design = design
        self.years = check_years(years, owner=_OWNER)
        self._engine = _core.Simulation(design.for_engine(), design.demand, self.years)

    def __repr__(self) -> str:
        loop = str(self.design.ground_side)
        return f"<Simulation: {loop}; {self.hour} of {self._engine.hours} hours>"

    def _repr_html_(self) -> str:
        passed = f"{self.hour:,} of {self._engine.hours:,} hours have passed"
        return notebook.heading("Simulation") + notebook.facts(
            [("loop", str(self.design.ground_side)), ("time", passed)]
        )

    @property
    def hour(self) -> int:
        """Number of hours that have passed; the next hour has this number, from 0."""
        return self._engine.hour

    @property
    def hours_left(self) -> int:
        """Number of hours until the end of the horizon."""
        return self._engine.hours - self._engine.hour

    @property
    def demand(self) -> dict[str, float]:
        """The design's own demand in the next hour, as `step` takes it; its loads repeat as in a run.

        Raises
        ------
        InvalidInput
            If all hours have passed.
        """
        if self.hours_left == 0:
            allowed = f"must be at most {self.hour - 1}: all years have passed"
            raise InvalidInput(_OWNER, "hour", self.hour, "h", allowed)
        series = self.design.demand
        hour = (hour_of_calendar_year(self.design.start_month) + self.hour) % len(series["heating"])
        names = ("heating", "cooling", "hot_water", "recharge", "recovered")
        demand = {name: float(series[name][hour]) for name in names}
        demand["other_electricity"] = float(series["element"][hour] + series["distribution_power"][hour])
        return demand

    def step(
        self,
        *,
        heating: float = 0.0,
        cooling: float = 0.0,
        hot_water: float = 0.0,
        recharge: float = 0.0,
        recovered: float = 0.0,
        other_electricity: float = 0.0,
        heating_entering_load_temperature: float | None = None,
        cooling_entering_load_temperature: float | None = None,
    ) -> SimulatedHour:
        """Take the next hour. On an error nothing changes.

        Parameters
        ----------
        heating, cooling, hot_water : float, default 0
            What the heat pump is to supply: heat for rooms, cooling, and heat for hot water [W].
        recharge : float, default 0
            Heat that another source adds to the loop [W]; negative where it is removed.
        recovered : float, default 0
            Heat recovered for hot water from the compressor in cooling [W], at most the cooling; the loop
            need not absorb it.
        other_electricity : float, default 0
            Electricity of distribution and of an element for hot water [W], for the sum.
        heating_entering_load_temperature, cooling_entering_load_temperature : float, optional
            Temperature of water or air that enters the heat pump from the building [degC]; by default that of
            the design's distribution in this hour, or the reference of the heat pump's curves.

        Returns
        -------
        SimulatedHour
            The hour's temperatures, electricity, heat, and what was delivered and what was not.

        Raises
        ------
        InvalidInput
            If a number is out of range, the heat pump lacks the mode, or all hours have passed.
        FluidFreezes
            If the leaving fluid would be below the fluid's freezing point.
        """
        demand = (
            heating,
            cooling,
            hot_water,
            recharge,
            recovered,
            other_electricity,
            heating_entering_load_temperature,
            cooling_entering_load_temperature,
        )
        try:
            return SimulatedHour(*self._engine.step(demand))
        except (TypeError, OverflowError):
            _refuse(demand)

    def outlook(
        self,
        *,
        heating: float = 0.0,
        cooling: float = 0.0,
        hot_water: float = 0.0,
        recharge: float = 0.0,
        recovered: float = 0.0,
        other_electricity: float = 0.0,
        heating_entering_load_temperature: float | None = None,
        cooling_entering_load_temperature: float | None = None,
    ) -> SimulatedHour:
        """Return what the next hour would give, without taking it; for several hours, step a `copy`.

        Parameters
        ----------
        heating, cooling, hot_water, recharge, recovered, other_electricity : float, default 0
            The demand, as in `step` [W].
        heating_entering_load_temperature, cooling_entering_load_temperature : float, optional
            As in `step` [degC].

        Returns
        -------
        SimulatedHour
            What `step` would return for the same demand.

        Raises
        ------
        InvalidInput
            As for `step`.
        FluidFreezes
            As for `step`.
        """
        demand = (
            heating,
            cooling,
            hot_water,
            recharge,
            recovered,
            other_electricity,
            heating_entering_load_temperature,
            cooling_entering_load_temperature,
        )
        try:
            return SimulatedHour(*self._engine.outlook(demand))
        except (TypeError, OverflowError):
            _refuse(demand)

    def copy(self) -> Self:
        """Return a copy with the same past, which is stepped on its own."""
        copy = object.__new__(type(self))
        copy.__dict__.update(self.__dict__)
        copy._engine = self._engine.branch()
        return copy

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the state to a file, from which `load` continues to the bit.

        Parameters
        ----------
        path : str or path-like
            A JSON file; replaced as a whole if it exists.

        Raises
        ------
        OSError
            If the file can't be written.
        """
        content = {
            "written by": f"loopdrift {_core.VERSION}",
            "schema": _SCHEMA,
            "design": _digest(self.design),
            "years": self.years,
            "hour": self.hour,
            "state": self._engine.state(),
        }
        signed = {"checksum": _checksum(content)} | content
        write_whole({Path(path): json.dumps(signed, indent=1).encode()})

    @classmethod
    def load(cls, path: str | os.PathLike[str], design: Design) -> Self:
        """Return the simulation of a design in the state of a file.

        Parameters
        ----------
        path : str or path-like
            A file that `save` wrote.
        design : Design
            The design that it was written for.

        Raises
        ------
        InvalidInput
            If the file isn't a whole file of a simulation's state, is of a later version, or belongs to
            another design.
        OSError
            If the file can't be read.
        """
        content = _content(path)
        if content["design"] != _digest(design):
            allowed = "must be the state of this design: it was written for another"
            raise InvalidInput(_OWNER, "file", path, "", allowed)
        simulation = cls(design, content["years"])
        simulation._engine.restore(content["hour"], content["state"])
        return simulation


def _content(path: str | os.PathLike[str]) -> dict[str, Any]:
    """Return the content of a file of a state, whole and of this version."""
    try:
        content = json.loads(Path(path).read_bytes())
    except (ValueError, RecursionError):
        content = None
    if not isinstance(content, dict):
        content = {}
    if content.get("schema", _SCHEMA) != _SCHEMA:
        allowed = f"must have schema {_SCHEMA}; it has {content['schema']}, from {content.get('written by')}"
        raise InvalidInput(_OWNER, "file", path, "", allowed)
    if content.pop("checksum", None) != _checksum(content):
        allowed = "must be a whole file of a simulation's state, as Simulation.save writes it"
        raise InvalidInput(_OWNER, "file", path, "", allowed)
    return content


def _checksum(content: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def _digest(design: Design) -> str:
    """Return a digest of everything in a design that an hour depends on."""
    digest = hashlib.sha256()
    add_to(digest, [design.for_engine(), design.demand])
    return digest.hexdigest()


def _refuse(demand: tuple[Any, ...]) -> NoReturn:
    """Raise the error for a demand with something other than numbers."""
    for name, value in zip(_DEMAND, demand, strict=True):
        unit = "degC" if name.endswith("temperature") else "W"
        try:
            math.isfinite(value)
        except (TypeError, OverflowError):
            if value is None and unit == "degC":
                continue
            raise InvalidInput(_OWNER, name, repr(value), unit, f"must be a number [{unit}]") from None
    raise InvalidInput(_OWNER, "demand", demand, "", "must be numbers")

"""All that one run needs."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_type_hints

from loopdrift import units
from loopdrift.bore_field import BoreField
from loopdrift.errors import InvalidInput
from loopdrift.fluid import Fluid
from loopdrift.ground import Ground
from loopdrift.heat_pump import HeatPump
from loopdrift.limits import Limits
from loopdrift.loads import Loads
from loopdrift.part import Part


@dataclass(frozen=True, kw_only=True)
class Design(Part):
    """A building, a heat pump and a buried loop; immutable, varied by `replace`.

    Parameters
    ----------
    ground : Ground
        The ground.
    ground_side : BoreField
        What the heat pump draws from.
    fluid : Fluid
        The fluid in the loop.
    flow : float or str
        Total flow while the circulation pump runs [kg/s]; a volume flow such as ``"9 gal/min"`` is turned
        into mass flow with the fluid's density at the temperature of the undisturbed ground.
    heat_pump : HeatPump
        The heat pump.
    loads : Loads
        What the building asks for.
    limits : Limits, optional
        What the fluid temperatures are judged by.
    pump_power : float or str, default 0
        Electric power of the circulation pump while it runs [W].
    start_month : int, default 1
        Month in which the run begins, 1 to 12.

    Raises
    ------
    InvalidInput
        If a field is of the wrong type or a number isn't one.
    """

    ground: Ground
    ground_side: BoreField
    fluid: Fluid
    flow: float
    heat_pump: HeatPump
    loads: Loads
    limits: Limits = Limits()
    pump_power: float = 0.0
    start_month: int = 1

    def __post_init__(self) -> None:
        for name, kind in get_type_hints(type(self)).items():
            if kind is not float:
                self._require(name, kind)
        density = lambda: self.fluid.density_at(self.ground.temperature)  # noqa: E731
        self.__dict__["flow"] = units.mass_flow(self.flow, density, owner="Design", field="flow")
        self.__dict__["pump_power"] = units.to_si(self.pump_power, "W", owner="Design", field="pump_power")
        if not 1 <= self.start_month <= 12:
            raise InvalidInput("Design", "start_month", self.start_month, "", "must be from 1 to 12")

    def _require(self, name: str, kind: type) -> None:
        value = getattr(self, name)
        if not isinstance(value, kind) or isinstance(value, bool):
            article = "an" if kind.__name__[0] in "aeiou" else "a"
            raise InvalidInput("Design", name, repr(value), "", f"must be {article} {kind.__name__}")

    def for_engine(self) -> dict[str, Any]:
        """Return the design as the engine reads it; the loads go to the engine as arrays of their own."""
        values = {field.name: getattr(self, field.name) for field in dataclasses.fields(self)}
        del values["loads"]
        return {
            name: value.for_engine() if isinstance(value, Part) else value for name, value in values.items()
        }

    @classmethod
    def read(cls, path: str | Path) -> Design:
        """Return the design that stands in a file.

        Parameters
        ----------
        path : str or pathlib.Path
            A TOML file; paths inside it are relative to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown, missing or holds what no design may hold; the message names file and key.
        InvalidFile
            If the file is no TOML, or a CSV file that it names can't be used.
        OSError
            If a file can't be read.
        """
        from loopdrift import design_file

        return design_file.read(path)

    def write(self, path: str | Path) -> None:
        """Write the design into a TOML file, and its loads into a CSV file beside it.

        Parameters
        ----------
        path : str or pathlib.Path
            The TOML file; the loads go to ``<stem>-loads.csv``.

        Raises
        ------
        OSError
            If a file can't be written.
        """
        from loopdrift import design_file

        design_file.write(self, path)

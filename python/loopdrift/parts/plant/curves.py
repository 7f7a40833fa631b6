"""Performance curves of one mode of a heat pump over the entering fluid temperature."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Self

from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput, kept, raise_all, shown
from loopdrift.basics.numbers import Range
from loopdrift.basics.part import require
from loopdrift.basics.series import has_truths
from loopdrift.basics.words import Shown

Coefficients = Sequence[Annotated[float, Range()]]

HARMLESS_COP = (20.0,)
"""COP that the engine accepts in either mode."""


def stand_ins(name: str) -> dict[str, tuple[float, ...] | None]:
    """Return curves of a mode that the engine accepts beside any others, by their names in `from_curves`.

    Parameters
    ----------
    name : str
        The mode, such as ``heating`` or ``heating_low``, whose capacity [W] must be below that of the mode.
    """
    capacity = (1e-9,) if name.endswith("_low") else (1e12,)
    return {
        f"{name}_cop": HARMLESS_COP,
        f"{name}_capacity": capacity,
        f"{name}_range": None,
        f"{name}_entering_load": None,
    }


@dataclass(frozen=True, kw_only=True)
class EnteringLoadCorrection(Shown):
    """Effect of the entering load temperature, of air or water from the building, on performance.

    Parameters
    ----------
    reference : float
        Entering load temperature of the mode's curves [degC].
    between : tuple of float
        Lowest and highest entering load temperature of the data [degC]; beyond it, values are held at the
        limits.
    cop : sequence of float, default nothing
        Change of the COP per kelvin above the reference: c0 + c1 EFT [1/K].
    capacity : sequence of float, default nothing
        Change of the capacity per kelvin above the reference: c0 + c1 EFT [W/K].
    """

    reference: float
    between: tuple[float, ...]
    cop: Coefficients = ()
    capacity: Coefficients = ()

    def __post_init__(self) -> None:
        owner = "EnteringLoadCorrection"
        faults: list[InvalidInput] = []
        with kept(faults):
            reference = units.to_si(self.reference, "degC", owner=owner, field="reference")
            object.__setattr__(self, "reference", reference)
        for name, count in (("between", 2), ("cop", None), ("capacity", None)):
            with kept(faults):
                values = coefficients(name, getattr(self, name), count, owner=owner)
                object.__setattr__(self, name, values)
        raise_all(faults)

    def for_engine(self) -> dict[str, Any]:
        """Return the numbers as the engine reads them."""
        return {
            "reference": self.reference,
            "range": self.between,
            "cop": self.cop,
            "capacity": self.capacity,
        }


@dataclass(frozen=True)
class Mode(Shown):
    """Steady full-load performance in heating or in cooling: polynomials c0 + c1 EFT + ..., EFT in degC.

    Parameters
    ----------
    cop : tuple of float
        Coefficients of the COP.
    capacity : tuple of float or None
        Coefficients of the heat delivered to the building or removed from it [W]; None for no limit.
    entering_fluid_range : tuple of float or None
        Lowest and highest entering fluid temperature of the curves [degC].
    entering_load : EnteringLoadCorrection or None
        Effect of the entering load temperature; None if it is not known.
    """

    cop: tuple[float, ...]
    capacity: tuple[float, ...] | None
    entering_fluid_range: tuple[float, ...] | None
    entering_load: EnteringLoadCorrection | None = None

    @classmethod
    def _from_engine(cls, values: dict[str, Any] | None) -> Self | None:
        if values is None:
            return None
        side = values["entering_load"]
        if side is not None:
            side = EnteringLoadCorrection(
                reference=side["reference"],
                between=side["range"],
                cop=side["cop"],
                capacity=side["capacity"],
            )
        return cls(
            tuple(values["cop"]), tuple(values["capacity"]), tuple(values["entering_fluid_range"]), side
        )

    def pieces(self) -> Iterator[Self]:
        """Yield modes with one of the curves each, and the mode itself; see `Part.pieces`."""
        yield replace(self, capacity=None if self.capacity is None else (1.0,), entering_load=None)
        yield self.of_capacity()
        yield self

    def of_capacity(self) -> Self:
        """Return a mode of the same capacity with a harmless COP."""
        return replace(self, cop=HARMLESS_COP, entering_load=None)

    def harmless(self, name: str) -> Self:
        """Return a mode of the same range with the `stand_ins` of a mode's name for its curves.

        Without a capacity limit it remains so.

        Parameters
        ----------
        name : str
            The mode.
        """
        capacity = None if self.capacity is None else stand_ins(name)[f"{name}_capacity"]
        return replace(self, cop=HARMLESS_COP, capacity=capacity, entering_load=None)

    def over_likely_ranges(self) -> Iterator[Self]:
        """Yield the mode over the ranges likely to be meant by its own: as it is, rising, the usual one."""
        if self.entering_fluid_range is not None:
            yield self
            yield replace(self, entering_fluid_range=tuple(sorted(self.entering_fluid_range)))
        yield replace(self, entering_fluid_range=None)

    def for_engine(self) -> dict[str, Any]:
        """Return the curves as the engine reads them."""
        side = None if self.entering_load is None else self.entering_load.for_engine()
        return {**vars(self), "entering_load": side}


def mode_of(
    name: str,
    cop: Coefficients | None,
    capacity: Coefficients | None,
    entering_fluid_range: Coefficients | None,
    entering_load: EnteringLoadCorrection | None,
    faults: list[InvalidInput],
) -> Mode | None:
    """Return the curves of a mode, in numbers; None for a mode that has none.

    Parameters
    ----------
    name : str
        The mode, for messages.
    cop, capacity : sequence of float or None
        Coefficients of COP [-] and capacity [W].
    entering_fluid_range : sequence of float or None
        Lowest and highest entering fluid temperature [degC].
    entering_load : EnteringLoadCorrection or None
        Effect of the entering load temperature.
    faults : list of InvalidInput
        Takes what is no number, and curves without COP; `stand_ins` replace them in the mode.
    """
    instead = stand_ins(name)
    numbers: dict[str, Any] = {}
    for word, values, count in (
        ("cop", cop, None),
        ("capacity", capacity, None),
        ("range", entering_fluid_range, 2),
    ):
        if values is not None:
            numbers[word] = instead[f"{name}_{word}"]
            with kept(faults):
                numbers[word] = coefficients(f"{name}_{word}", values, count)
    if entering_load is not None:
        with kept(faults):
            require(entering_load, EnteringLoadCorrection, owner="HeatPump", field=f"{name}_entering_load")
            numbers["entering_load"] = entering_load
    if cop is None:
        if capacity is None and entering_fluid_range is None and entering_load is None:
            return None
        allowed = f"must be given with other curves of {name}"
        faults.append(InvalidInput("HeatPump", f"{name}_cop", "nothing", "", allowed))
    return Mode(
        numbers.get("cop", HARMLESS_COP),
        numbers.get("capacity"),
        numbers.get("range"),
        numbers.get("entering_load"),
    )


def coefficients(
    field: str, values: Coefficients, count: int | None = None, owner: str = "HeatPump"
) -> tuple[float, ...]:
    """Return a sequence of numbers as a tuple.

    Parameters
    ----------
    field : str
        What they are, for the message.
    values : sequence of float
        The numbers.
    count : int, optional
        How many there must be.
    owner : str, optional
        The type that holds them, for the message.

    Raises
    ------
    InvalidInput
        If it is no sequence of so many numbers.
    """
    try:
        given = list(values)
        if has_truths(given) or isinstance(values, str):
            raise TypeError
        numbers = tuple(float(value) for value in given)
    except (TypeError, ValueError, OverflowError):
        raise InvalidInput(owner, field, shown(values), "", "must be a sequence of numbers") from None
    if count not in (None, len(numbers)):
        raise InvalidInput(owner, field, numbers, "", f"must be {count} numbers")
    return numbers

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

_HARMLESS_COP = (20.0,)
_LARGEST_CAPACITY = (1e12,)
Coefficients = Sequence[Annotated[float, Range()]]


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
        reference = units.to_si(self.reference, "degC", owner="EnteringLoadCorrection", field="reference")
        object.__setattr__(self, "reference", reference)
        for name, count in (("between", 2), ("cop", None), ("capacity", None)):
            values = coefficients(name, getattr(self, name), count, owner="EnteringLoadCorrection")
            object.__setattr__(self, name, values)

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
        """Yield modes with one of the curves each and a harmless other one, and the mode itself."""
        yield replace(self, capacity=(1.0,), entering_load=None)
        if self.capacity is not None:
            yield replace(self, cop=_HARMLESS_COP, entering_load=None)
        yield self

    def beyond(self) -> Self:
        """Return a mode of the same range that exceeds any stage."""
        return replace(self, cop=_HARMLESS_COP, capacity=_LARGEST_CAPACITY, entering_load=None)

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
        What the temperature from the building changes.

    Raises
    ------
    InvalidInput
        If a mode without COP has other curves, or something is no number.
    """
    if entering_load is not None:
        require(entering_load, EnteringLoadCorrection, owner="HeatPump", field=f"{name}_entering_load")
    if cop is None:
        if capacity is not None or entering_fluid_range is not None or entering_load is not None:
            raise InvalidInput(
                "HeatPump", f"{name}_cop", None, "", f"must be given with other curves of {name}"
            )
        return None
    faults: list[InvalidInput] = []
    numbers: dict[str, tuple[float, ...]] = {}
    for word, values, count in (
        ("cop", cop, None),
        ("capacity", capacity, None),
        ("range", entering_fluid_range, 2),
    ):
        if values is not None:
            with kept(faults):
                numbers[word] = coefficients(f"{name}_{word}", values, count)
    raise_all(faults)
    return Mode(numbers["cop"], numbers.get("capacity"), numbers.get("range"), entering_load)


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

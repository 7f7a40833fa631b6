"""Changes of temperature in words."""

from __future__ import annotations

from typing import Literal

from loopdrift.basics.both_units import both

_VERBS = {"past": ("fell", "rose", "did not change"), "present": ("falls", "rises", "does not change")}


def change(kelvin: float, form: str = ".2f", *, tense: Literal["past", "present"] = "past") -> str:
    """Return a change of temperature in words, such as ``fell 1.63 K (2.93 degF)``.

    Parameters
    ----------
    kelvin : float
        The change [K].
    form : str, default ".2f"
        Format of its amount.
    tense : {"past", "present"}, default "past"
        Tense of the verb.
    """
    fell, rose, same = _VERBS[tense]
    if float(f"{kelvin:{form}}") == 0.0:
        return same
    return f"{fell if kelvin < 0.0 else rose} {both(abs(kelvin), 'K', form)}"

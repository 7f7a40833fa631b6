"""Friction of flow in pipes and annuli, by regime."""

from __future__ import annotations

from typing import Literal

from loopdrift import _core

END_OF_LAMINAR = _core.END_OF_LAMINAR
"""Reynolds number up to which the flow is laminar (Gnielinski 2013), as in the engine's film coefficients."""

START_OF_TURBULENT = _core.START_OF_TURBULENT
"""Reynolds number from which the flow is turbulent (Gnielinski 2013)."""

Regime = Literal["laminar", "transitional", "turbulent"]


def regime(reynolds: float) -> Regime:
    """Return the regime of flow at a Reynolds number.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the hydraulic diameter [-].
    """
    if reynolds <= END_OF_LAMINAR:
        return "laminar"
    return "transitional" if reynolds < START_OF_TURBULENT else "turbulent"


def friction_factor(reynolds: float, relative_roughness: float, *, shape: float = 1.0) -> float:
    """Return the Darcy friction factor of fully developed flow in a pipe or a gap [-].

    Laminar: 64 / Re (Hagen-Poiseuille). Turbulent: Colebrook (1939), solved to machine precision (Clamond
    2009, by the library ``fluids``). Transitional: linear in Re between the two, as the engine interpolates
    the Nusselt number, so the pressure drop rises without a jump. Real transitional flow depends on the
    inlet; published data scatter between the two laws.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-], above 0.
    relative_roughness : float
        Roughness of the wall over the hydraulic diameter [-].
    shape : float, default 1
        Factor from the Reynolds number to that of a round pipe with the same friction [-]: `annulus_shape`.

    References
    ----------
    .. [1] Colebrook, C. F. (1939). Turbulent flow in pipes, with particular reference to the transition
       region between the smooth and rough pipe laws. Journal of the ICE 11, 133-156.
    .. [2] Clamond, D. (2009). Efficient resolution of the Colebrook equation. Industrial & Engineering
       Chemistry Research 48, 3665-3671.

    Examples
    --------
    >>> friction_factor(1600.0, 0.0)
    0.04
    """
    from fluids.friction import Clamond, friction_laminar

    def laminar(reynolds: float) -> float:
        return float(friction_laminar(shape * reynolds))

    def turbulent(reynolds: float) -> float:
        return float(Clamond(shape * reynolds, relative_roughness))

    kind = regime(reynolds)
    if kind == "laminar":
        return laminar(reynolds)
    if kind == "turbulent":
        return turbulent(reynolds)
    share = (reynolds - END_OF_LAMINAR) / (START_OF_TURBULENT - END_OF_LAMINAR)
    return (1.0 - share) * laminar(END_OF_LAMINAR) + share * turbulent(START_OF_TURBULENT)


def annulus_shape(ratio: float) -> float:
    """Return the factor from the Reynolds number of an annulus to that of a pipe with the same friction [-].

    In laminar flow f = 64 / (shape x Re) is exact; in turbulent flow the pipe's law at shape x Re is correct
    within a few percent (Jones & Leung 1981; Gnielinski 2009).

    Parameters
    ----------
    ratio : float
        Inner over outer diameter of the gap [-], between 0 and 1.

    References
    ----------
    .. [1] Jones, O. C., & Leung, J. C. M. (1981). An improvement in the calculation of turbulent friction in
       smooth concentric annuli. Journal of Fluids Engineering 103, 615-623, from memory;
       checked in tests/reference/test_second_sources_bore.py.
    .. [2] Gnielinski, V. (2009). Heat transfer coefficients for turbulent flow in concentric annular ducts.
       Heat Transfer Engineering 30, 431-436.
    """
    return _core.annulus_shape(ratio)

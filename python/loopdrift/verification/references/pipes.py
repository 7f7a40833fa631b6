"""Films, friction and resistances of pipes in a bore."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from scipy.integrate import solve_bvp
from scipy.linalg import eigh_tridiagonal
from scipy.optimize import brentq


def colebrook(reynolds: float, roughness: float) -> float:
    """Return the Darcy friction factor [-] of a turbulent flow, as the root of its equation.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-].
    roughness : float
        Over the diameter [-].

    References
    ----------
    Colebrook, C. F. (1939). Turbulent flow in pipes. J. Inst. Civ. Eng. 11, 133-156.
    """

    def difference(root: float) -> float:
        return float(root + 2.0 * np.log10(roughness / 3.7 + 2.51 * root / reynolds))

    return float(brentq(difference, 1.0, 20.0, xtol=1e-14)) ** -2


def nusselt_by_gnielinski(reynolds: float, prandtl: float, friction_factor: float) -> float:
    """Return the Nusselt number [-] of a turbulent flow.

    Parameters
    ----------
    reynolds, prandtl : float
        Reynolds and Prandtl number [-].
    friction_factor : float
        Darcy's [-].

    References
    ----------
    Gnielinski, V. (1976). New equations for heat and mass transfer in turbulent pipe and channel flow. Int.
    Chem. Eng. 16, 359-368; from memory.
    """
    f8 = friction_factor / 8.0
    root = np.sqrt(f8) * (prandtl ** (2.0 / 3.0) - 1.0)
    return float(f8 * (reynolds - 1000.0) * prandtl / (1.0 + 12.7 * root))


def laminar_nusselt(ratio: float, *, on_inner: bool = False, cells: int = 1000) -> float:
    """Return the Nusselt number [-] of developed laminar flow along a wall of uniform temperature.

    The temperature decays along the flow as its slowest eigenfunction does. Volumes in rings of equal width
    solve (r T')' = -eigenvalue x (u / mean u) x r x T, with an error below 1e-5.

    Parameters
    ----------
    ratio : float
        Inner over outer diameter of the gap [-]; 0 for a pipe.
    on_inner : bool, default False
        Whether the inner wall exchanges heat, and the outer is insulated; otherwise the other way round.
    cells : int, default 1000
        Number of rings.
    """
    faces = np.linspace(ratio, 1.0, cells + 1)
    width = faces[1] - faces[0]
    r = 0.5 * (faces[1:] + faces[:-1])
    speed = 1.0 - r**2 - (0.0 if ratio == 0.0 else (1.0 - ratio**2) / np.log(ratio) * np.log(r))
    carried = speed * r / (speed * r).sum() * r.sum() * width
    conductance = faces / width
    conductance[0] *= 2.0 if on_inner else 0.0
    conductance[-1] *= 0.0 if on_inner else 2.0
    root = np.sqrt(carried)
    diagonal = (conductance[1:] + conductance[:-1]) / carried
    beside = -conductance[1:-1] / (root[1:] * root[:-1])
    (slowest,) = eigh_tridiagonal(diagonal, beside, True, select="i", select_range=(0, 0))
    return float(slowest * (1.0 - ratio**2) * (1.0 - ratio) / (ratio if on_inner else 1.0))


def through_rings(rings: Sequence[tuple[float, float, float]]) -> float:
    """Return the resistance of cylinders within each other [m K/W].

    Parameters
    ----------
    rings : sequence of tuple
        Inner diameter, outer diameter [m] and conductivity [W/(m K)] of each.
    """
    return float(sum(np.log(outer / inner) / (2.0 * np.pi * k) for inner, outer, k in rings))


def effective_by_streams(
    depth: float, capacity_flow: float, slopes: Callable[[tuple[float, float]], tuple[float, float]]
) -> float:
    """Return the mean of entering and leaving fluid over the heat per metre, with the wall at 0 [m K/W].

    The streams down and up the bore are integrated as a boundary value problem.

    Parameters
    ----------
    depth : float
        Of the bore [m].
    capacity_flow : float
        Mass flow x heat capacity [W/K].
    slopes : callable
        capacity_flow x dT/dz of the streams (down, up) [W/m] at their temperatures.
    """

    def derivative(z: object, temperatures: tuple[float, float]) -> object:
        return np.array(slopes(temperatures)) / capacity_flow

    def ends(top: Sequence[float], low: Sequence[float]) -> object:
        return np.array([top[0] - 1.0, low[0] - low[1]])

    z = np.linspace(0.0, depth, 41)
    solution = solve_bvp(derivative, ends, z, np.ones((2, z.size)), tol=1e-8, max_nodes=100_000)
    if not solution.success:
        raise ArithmeticError(solution.message)
    down, up = solution.y[:, 0]
    return float((down + up) / 2 / (capacity_flow * (down - up) / depth))

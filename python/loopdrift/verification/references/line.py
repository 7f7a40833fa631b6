"""Temperature drop along a line of heat in the ground, times 2 pi k over the heat per metre [-]."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.special import erfc, exp1


def of_point_sources(
    time: float, *, distance: float, depth: float, buried_depth: float, diffusivity: float
) -> float:
    """Return the mean drop along a line by point sources on another and by their images above the surface.

    A point source of q draws the temperature at R down by q / (4 pi k R) erfc(R / sqrt(4 a t)). The double
    integral over source and receiver is one over their offset x, whose weight is the length that is offset by
    x.

    Parameters
    ----------
    time : float
        Since the heat began [s].
    distance, depth, buried_depth : float
        Between the lines, of each line, and of their upper ends [m].
    diffusivity : float
        Of the ground [m2/s].

    References
    ----------
    Carslaw, H. S. & Jaeger, J. C. (1959). Conduction of Heat in Solids, section 10.4, equation 2.
    """
    diffused = np.sqrt(4.0 * diffusivity * time)

    def drop(offset: float) -> float:
        apart = np.hypot(distance, offset)
        return float(erfc(apart / diffused) / (2.0 * apart))

    reach = [distance, 10.0 * distance, 100.0 * distance, *(0.5 * n * diffused for n in range(1, 13))]
    inside = [0.0, *(x for x in reach if x < depth), depth]
    own = 2.0 * _integral(lambda x: (depth - x) * drop(x), inside)
    first, centre, last = 2.0 * buried_depth, 2.0 * buried_depth + depth, 2.0 * (buried_depth + depth)
    spread = [first, centre, last, *(x for x in reach if first < x < last)]
    image = _integral(lambda x: (depth - abs(x - centre)) * drop(x), spread)
    return (own - image) / depth


def _integral(of: Callable[[float], float], over: list[float]) -> float:
    """Integrate piece by piece between the places given."""
    places = sorted(set(over))
    return float(sum(quad(of, a, b, epsabs=0.0, epsrel=1e-12)[0] for a, b in pairwise(places)))


def of_infinite_line(
    times: NDArray[np.float64], *, distance: float, depth: float, diffusivity: float
) -> NDArray[np.float64]:
    """Return the mean drop along a deep line: that of an infinite one, less what is missing beyond its ends.

    At x from an end, the missing sources would add the integral of erfc(R / c) / (2 R), c = sqrt(4 a t), over
    what lies farther than x; along the line, with R dR = x dx, that adds up to (c / 2) ierfc(r / c).

    Parameters
    ----------
    times : numpy.ndarray
        Since the heat began [s].
    distance, depth : float
        From the line, and its length [m].
    diffusivity : float
        Of the ground [m2/s].

    References
    ----------
    Carslaw, H. S. & Jaeger, J. C. (1959). Conduction of Heat in Solids, section 10.4, equation 5.
    """
    reach = np.sqrt(4.0 * diffusivity * times)
    x = distance / reach
    missing = reach * (np.exp(-(x**2)) / np.sqrt(np.pi) - x * erfc(x)) / depth
    return np.asarray(0.5 * exp1(x**2) - missing)


def at_rest(*, distance: float, depth: float, buried_depth: float) -> float:
    """Return the steady mean drop: each of the double integrals of 1 / (2 R) is a second difference.

    Parameters
    ----------
    distance, depth, buried_depth : float
        From the line, its length, and the depth of its upper end [m].
    """

    def f(x: float) -> float:
        return float(x * np.arcsinh(x / distance) - np.hypot(x, distance))

    own = (f(depth) - f(0.0)) / depth
    first = 2.0 * buried_depth
    return own - (f(first + 2.0 * depth) - 2.0 * f(first + depth) + f(first)) / (2.0 * depth)

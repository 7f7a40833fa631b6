"""Where a loop lies beside house and property lines, and how far from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from loopdrift.basics.both_units import both
from loopdrift.charts.outlines import nearest_edge
from loopdrift.model.judgement import Criterion, Judgement

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from loopdrift import _core
    from loopdrift.model.design import Design
    from loopdrift.parts.ground_side import GroundSide
    from loopdrift.parts.site_plan import SitePlan

_MOST_NUMBERS = 12
_STEP = 0.5
"""Distance between the points of a path that are looked at, at most [m]."""
_CLOSE = 1e-6
"""Difference of distances that are the same [m]."""
_RANK = 0.1
"""Distance that counts as much as 1 K [m], as in the engine."""


class Clearance(NamedTuple):
    """The least distance of a loop from the house or the property lines."""

    noun: str
    """What is nearest, such as ``bore``."""
    number: int
    """Its number."""
    edge: str
    distance: float
    """[m]; negative outside the property lines and below the house."""
    required: float | None
    """What the site requires [m]."""

    @property
    def holds(self) -> bool:
        """Whether it is as far as the site requires."""
        return self.required is None or self.distance > self.required - _CLOSE

    def __str__(self) -> str:
        distance = both(abs(self.distance), "m", ".1f")
        side = "from" if self.distance >= 0.0 else "beyond" if self.edge == "property lines" else "within"
        text = f"{self.noun.capitalize()} {self.number} is {distance} {side} the {self.edge}"
        if self.required is None:
            return f"{text}, the least distance."
        required = both(self.required, "m", ".1f")
        return f"{text}, {'at least' if self.holds else 'less than'} the required distance of {required}."


def clearances(site: SitePlan | None, paths: Sequence[ArrayLike], noun: str) -> Iterator[Clearance]:
    """Yield the least distances from property lines and house, as far as the site states them.

    Without a required distance, `misplaced` says instead where any of the loop is outside the property lines
    or below the house.

    Parameters
    ----------
    site : SitePlan or None
        House and property lines.
    paths : sequence of array_like, each of shape (n, 2)
        Bores or pipes in plan, in the order of their numbers [m].
    noun : str
        What they are, such as ``bore``.
    """
    if site is None or not paths:
        return
    points = [along(path) for path in paths]
    whole, number = np.concatenate(points), np.repeat(np.arange(len(points)), list(map(len, points))) + 1
    for edge, corners, required, wrong in (
        ("property lines", site.property_lines, site.distance_to_property_lines, site.outside_property),
        ("house", site.house, site.distance_to_house, site.below_house),
    ):
        if corners is None or (required is None and wrong(whole).any()):
            continue
        distances = np.where(wrong(whole), -1.0, 1.0) * nearest_edge(whole, corners).distances
        place = int(distances.argmin())
        yield Clearance(noun, int(number[place]), edge, float(distances[place]), required)


def judged(design: Design, found: _core._Judgement) -> Judgement:
    """Return the judgement of a design: what the engine found, and the distances that its site requires.

    Parameters
    ----------
    design : Design
        The design.
    found : dict
        The engine's judgement.
    """
    return Judgement.of_engine(found).with_distances(criteria(design.site, design.ground_side))


def criteria(site: SitePlan | None, ground_side: GroundSide) -> list[Criterion]:
    """Return the distances that a site requires, as criteria that decide.

    Parameters
    ----------
    site : SitePlan or None
        House and property lines.
    ground_side : GroundSide
        The loop.
    """
    if site is None or not site.requires_distances:
        return []
    return [
        Criterion(
            name=f"distance_to_{each.edge.replace(' ', '_')}",
            decides=True,
            unit="m",
            required=each.required,
            actual=each.distance,
            margin=max(each.distance - each.required, 0.0) if each.holds else each.distance - each.required,
            rank=(each.distance - each.required) / _RANK,
            year=None,
            hour=None,
            hours_broken=(),
        )
        for each in clearances(site, ground_side.paths, ground_side.branch)
        if each.required is not None
    ]


def misplaced(site: SitePlan | None, paths: Sequence[ArrayLike], noun: str) -> list[str]:
    """Return which bores or pipes cross the property lines or lie below the house, in sentences.

    Parameters
    ----------
    site : SitePlan or None
        House and property lines.
    paths : sequence of array_like, each of shape (n, 2)
        Bores or pipes in plan, in the order of their numbers [m].
    noun : str
        What they are, such as ``bore``.
    """
    if site is None:
        return []
    checks = {"outside the property lines": site.outside_property, "below the house": site.below_house}
    found = []
    for where, lies in checks.items():
        numbers = [str(number) for number, path in enumerate(paths, start=1) if lies(along(path)).any()]
        if numbers:
            plural = "" if len(numbers) == 1 else "es" if noun.endswith("ch") else "s"
            verb = "lie" if len(numbers) > 1 else "lies"
            shown = ", ".join(numbers[:_MOST_NUMBERS]) + (" ..." if len(numbers) > _MOST_NUMBERS else "")
            found.append(f"{noun.capitalize()}{plural} {shown} {verb} partly or wholly {where}.")
    return found


def along(path: ArrayLike) -> NDArray[np.float64]:
    """Return points along a path, so that none of it leaves an outline unseen between its corners.

    Parameters
    ----------
    path : array_like, shape (n, 2)
        Its corners, with NaN between two parts of it [m].
    """
    points: NDArray[np.float64] = np.asarray(path, dtype=float).reshape(-1, 2)
    between = np.diff(points, axis=0)
    pieces = np.ceil(np.hypot(*between.T) / _STEP)
    steps = [
        points[place] + between[place] * np.arange(1.0, count)[:, None] / count
        for place, count in enumerate(pieces.tolist())
        if count > 1.0
    ]
    return np.concatenate([points[np.isfinite(points).all(axis=1)], *steps])

"""The bores of all plants on one map."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.series import Series

Table = NDArray[np.float64]
Indices = NDArray[np.intp]

_DEGREES = (180.0, 90.0)
"""Greatest longitude and latitude."""
_NARROWEST = 1.0
"""A map narrower than this [m] with its places within degrees was probably given in degrees."""


@dataclass(frozen=True)
class Bores:
    """The bores of plants, those of each plant together.

    Parameters
    ----------
    positions : numpy.ndarray, shape (bores, 2)
        Metres east and north [m].
    plants : numpy.ndarray
        The plant of each bore.
    firsts, counts : numpy.ndarray
        First bore and number of bores of each plant.
    kinds : numpy.ndarray
        Of each bore, its row in `ends`.
    ends : numpy.ndarray, shape (kinds, 2)
        Depths of the upper and lower end of each kind of bore [m].
    lengths : numpy.ndarray
        Total active depth of each plant [m].
    radii : numpy.ndarray
        Radius of each bore [m].
    """

    positions: Table
    plants: Indices
    firsts: Indices
    counts: Indices
    kinds: Indices
    ends: Table
    lengths: Series
    radii: Series

    @classmethod
    def of(cls, plants: Mapping[str, Plant]) -> Bores:
        """Return those of plants by name, and check their places.

        Raises
        ------
        InvalidInput
            If bores of two plants overlap, or places are in degrees.
        """
        fields = [plant.field for plant in plants.values()]
        counts = np.array([field.count for field in fields], dtype=np.intp)
        firsts = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)
        places = [
            field.positions + np.array(plant.at) for field, plant in zip(fields, plants.values(), strict=True)
        ]
        tops = [np.broadcast_to([bore.buried_depth for bore in field.bores], field.count) for field in fields]
        depths = [np.broadcast_to(field.depths, field.count) for field in fields]
        top = np.concatenate(tops)
        ends, kinds = np.unique(
            np.stack([top, top + np.concatenate(depths)], axis=1), axis=0, return_inverse=True
        )
        radii = [np.full(field.count, 0.5 * field.bores[0].diameter) for field in fields]
        found = cls(
            positions=np.concatenate(places),
            plants=np.repeat(np.arange(len(counts)), counts),
            firsts=firsts,
            counts=counts,
            kinds=kinds.ravel(),
            ends=ends,
            lengths=np.array([field.total_depth for field in fields]),
            radii=np.concatenate(radii),
        )
        found._check(list(plants))
        return found

    def _check(self, names: list[str]) -> None:
        if len(names) < 2:
            return
        span = np.ptp(self.positions, axis=0)
        at = self.positions[self.firsts]
        within_degrees = bool((np.abs(at) <= _DEGREES).all())
        if within_degrees and span.max() < _NARROWEST:
            allowed = (
                "must be metres east and north: all plants lie within one metre, as longitudes and latitudes "
                "of a town would"
            )
            raise InvalidInput(
                "Neighbourhood", "plants", f"places from {at.min(0)} to {at.max(0)}", "", allowed
            )
        for one, other, distance in self.too_near():
            allowed = (
                f"must not overlap: a bore of {names[one]!r} is {distance:.3g} m from one of {names[other]!r}"
            )
            raise InvalidInput("Neighbourhood", "plants", f"{names[one]}, {names[other]}", "", allowed)

    def too_near(self) -> list[tuple[int, int, float]]:
        """Return pairs of plants whose bores overlap, and the distance of their axes [m]."""
        from scipy.spatial import cKDTree

        close = cKDTree(self.positions).query_pairs(2.0 * float(self.radii.max()), output_type="ndarray")
        found = []
        for one, other in close[np.lexsort(close.T[::-1])]:
            distance = float(np.hypot(*(self.positions[one] - self.positions[other])))
            if self.plants[one] != self.plants[other] and distance < self.radii[one] + self.radii[other]:
                found.append((int(self.plants[one]), int(self.plants[other]), distance))
        return found

    @property
    def centres(self) -> Table:
        """The mean place of each plant's bores [m], shape (plants, 2)."""
        return np.add.reduceat(self.positions, self.firsts, axis=0) / self.counts[:, None]

    @property
    def sizes(self) -> Series:
        """Greatest distance of a plant's bores from its centre [m]."""
        apart = self.positions - self.centres[self.plants]
        return np.maximum.reduceat(np.hypot(apart[:, 0], apart[:, 1]), self.firsts)

    def closest(self) -> float:
        """Return the least distance between bores of two plants [m]; infinite for a single plant."""
        from scipy.spatial import cKDTree

        if len(self.counts) < 2:
            return float("inf")
        tree = cKDTree(self.positions)
        near = int(self.counts.max()) + 1
        distances, places = tree.query(self.positions, k=min(near, len(self.positions)))
        others = self.plants[places] != self.plants[:, None]
        return float(distances[others].min())

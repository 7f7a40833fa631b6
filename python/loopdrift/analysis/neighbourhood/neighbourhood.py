"""Neighbourhoods: plants that share the ground under a town."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from loopdrift.analysis.neighbourhood.pairs import Pairs
from loopdrift.analysis.neighbourhood.places import Bores
from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.analysis.neighbourhood.result import NeighbourhoodRun
from loopdrift.analysis.neighbourhood.rounds import settle
from loopdrift.analysis.neighbourhood.stepping import Town
from loopdrift.basics import notebook
from loopdrift.basics.bounds import MOST_CASES, require_count
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.numbers import number_within, whole_number
from loopdrift.basics.part import require
from loopdrift.basics.words import counted
from loopdrift.model.design import Design, check_years
from loopdrift.model.progress import Progress, Reporting
from loopdrift.parts.ground.ground import Ground

if TYPE_CHECKING:
    import pandas as pd

_LONGEST_NAME = 100
_FINEST = 1e-6
_COARSEST = 1.0


class Neighbourhood:
    """Plants with bores on one map, each of which changes the ground of the others.

    Parameters
    ----------
    plants : mapping of str to Plant
        The plants by name.
    ground : Ground, optional
        The ground of all plants, in place of that of their designs; needed if these differ.

    Raises
    ------
    InvalidInput
        If there is no plant, bores of two plants overlap, places are in degrees, or the grounds differ.

    Examples
    --------
    >>> import loopdrift as ld
    >>> town = ld.Neighbourhood.sketch(12, seed=1)
    >>> town
    <Neighbourhood: 12 plants with 27 bores>
    """

    def __init__(self, plants: Mapping[str, Plant], *, ground: Ground | None = None) -> None:
        require(plants, Mapping, owner="Neighbourhood", field="plants")
        if not plants:
            raise InvalidInput("Neighbourhood", "plants", "nothing", "", "must be at least one plant")
        require_count(len(plants), MOST_CASES, owner="Neighbourhood", field="plants")
        for name, plant in plants.items():
            if not isinstance(name, str) or not 0 < len(name.strip()) <= _LONGEST_NAME:
                allowed = f"must be a name of 1 to {_LONGEST_NAME} characters"
                raise InvalidInput("Neighbourhood", "plants", repr(name), "", allowed)
            require(plant, Plant, owner="Neighbourhood", field=f"plants[{name!r}]")
        self.plants: dict[str, Plant] = dict(plants)
        self.ground = _common_ground(self.plants) if ground is None else ground
        require(self.ground, Ground, owner="Neighbourhood", field="ground")
        # In the order of their names, so that the order in which plants are given changes no bit of a result.
        self._in_order = dict(sorted(self.plants.items()))
        self._bores = Bores.of(self._in_order)

    @classmethod
    def sketch(cls, count: int, *, seed: int = 0) -> Neighbourhood:
        """Return an invented town, for trying out.

        Streets with plots, houses that need from one to four bores, some of them cooled in summer, and plants
        that join over the first twenty-five years. Bores are as deep as each house alone needs by a rule of
        thumb. Everything is invented.

        Parameters
        ----------
        count : int
            Number of plants, 1 to 100,000.
        seed : int, default 0
            Seed of the random numbers; the same seed invents the same town.

        Raises
        ------
        InvalidInput
            If a number is out of range.
        """
        from loopdrift.analysis.neighbourhood.sketch import invented

        return cls(
            invented(
                whole_number(count, 1, 100_000, owner="Neighbourhood", field="count"),
                whole_number(seed, 0, owner="Neighbourhood", field="seed"),
            )
        )

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Neighbourhood:
        """Read a neighbourhood from a TOML file that lists design files with their places.

        Parameters
        ----------
        path : str or path-like
            The file. Each table ``[[plant]]`` has ``name``, ``design`` (a design file, relative to this one)
            and the arguments of `Plant`; ``table`` names a CSV or Parquet file with more plants, for which
            ``[templates]`` names design files. See the guide to neighbourhoods.

        Raises
        ------
        InvalidDesignFile, InvalidFile
            If the file or a file that it names can't be used.
        InvalidInput
            If the plants don't fit together.
        OSError
            If a file can't be read.
        """
        from loopdrift.analysis.neighbourhood.reading import of_file

        return cls(of_file(path))

    @classmethod
    def from_table(
        cls,
        table: str | os.PathLike[str] | pd.DataFrame,
        *,
        templates: Mapping[str, Design],
        ground: Ground | None = None,
    ) -> Neighbourhood:
        """Return a neighbourhood with one plant for each row of a table.

        Parameters
        ----------
        table : str, path-like or pandas.DataFrame
            A CSV or Parquet file, or a table, with the columns ``name``, ``east_m``, ``north_m`` and
            ``template``, and optionally ``depth_m``, ``heating_kWh``, ``heating_peak_kW``, ``start_year`` and
            ``last_year``; an empty cell is as in the template. A yearly heat alone multiplies all loads of
            the template; with a peak, the hours of heating are bent to meet both.
        templates : mapping of str to Design
            Designs by the name in the column ``template``.
        ground : Ground, optional
            The ground of all plants, in place of that of the templates.

        Raises
        ------
        InvalidInput
            If a column is missing, or a cell can't be used; with its row.
        OSError
            If the file can't be read.
        """
        from loopdrift.analysis.neighbourhood.reading import of_table

        return cls(of_table(table, templates), ground=ground)

    def __len__(self) -> int:
        return len(self.plants)

    def __repr__(self) -> str:
        return f"<Neighbourhood: {counted(len(self), 'plant')} with {counted(self.bores, 'bore')}>"

    def _repr_html_(self) -> str:
        return notebook.heading(f"{counted(len(self), 'plant')} with {counted(self.bores, 'bore')}")

    @property
    def bores(self) -> int:
        """Number of bores of all plants."""
        return len(self._bores.positions)

    def run(
        self, years: int = 50, *, tolerance: float | str = 1e-3, progress: Progress = False
    ) -> NeighbourhoodRun:
        """Run all plants through every hour, each in the ground that the others leave it.

        Parameters
        ----------
        years : int, default 50
            Horizon, 1 to 100 years of 8760 hours.
        tolerance : float or str, default 0.001
            Largest change of the ground temperature along any plant's bores from one round to the next at
            which the rounds end, from 1e-6 to 1 [K].
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of plants
            stepped, in all rounds together.

        Returns
        -------
        NeighbourhoodRun
            Yearly tables with and without neighbours, and who cools whom.

        Raises
        ------
        InvalidInput
            If a number is out of range, a plant starts after the horizon, or a plant can't be run.

        Notes
        -----
        Each plant steps its own hours with the step response of its own bores, in ground whose undisturbed
        temperature moves by the mean of what the other plants cause along its bores. Plants are first run
        alone; rounds go on until the tolerance is met. Within 5 m of each other, plants feel each other's
        hours, which means over days don't show.
        """
        horizon = check_years(years, owner="Neighbourhood")
        finest = number_within(
            tolerance, "K", owner="Neighbourhood", field="tolerance", least=_FINEST, most=_COARSEST
        )
        for name, plant in self._in_order.items():
            if plant.start_year > horizon:
                field = f"plants[{name!r}].start_year"
                allowed = f"must be within the horizon, {counted(horizon, 'year')}"
                raise InvalidInput("Neighbourhood", field, plant.start_year, "", allowed)
        town = Town(self._in_order, self.ground, horizon)
        pairs = Pairs(self._bores, self.ground, horizon)
        with Reporting(progress, owner="Neighbourhood", unit="plant") as tell:
            settled = settle(town, pairs, finest, tell)
        return NeighbourhoodRun(list(self.plants), self._bores, town, pairs, settled)


def _common_ground(plants: Mapping[str, Plant]) -> Ground:
    """Return the ground that all plants share.

    Raises
    ------
    InvalidInput
        If they have different grounds.
    """
    names: dict[Any, str] = {}
    for name, plant in plants.items():
        names.setdefault(plant.design.ground, name)
    if len(names) > 1:
        one, other = list(names.values())[:2]
        allowed = f"must be given, because the designs of {one!r} and {other!r} have different grounds"
        raise InvalidInput("Neighbourhood", "ground", None, "", allowed)
    ground: Ground = next(iter(names))
    return ground

"""Results of a neighbourhood: what each plant finds with and without its neighbours, and who cools whom."""

from __future__ import annotations

import functools
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from loopdrift.analysis.neighbourhood import maps
from loopdrift.analysis.neighbourhood.ladder import INTERVALS_PER_YEAR
from loopdrift.analysis.neighbourhood.pairs import Pairs
from loopdrift.analysis.neighbourhood.places import Bores
from loopdrift.analysis.neighbourhood.rounds import Settled
from loopdrift.analysis.neighbourhood.stepping import Found, Town
from loopdrift.basics import notebook
from loopdrift.basics.both_units import both
from loopdrift.basics.errors import UnknownName
from loopdrift.basics.numbers import whole_number
from loopdrift.basics.words import counted
from loopdrift.charts import style
from loopdrift.files.tables import write_table
from loopdrift.model.cautions import CAUTIONS
from loopdrift.model.columns import YEARLY

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes

Table = NDArray[np.float64]
Indices = NDArray[np.intp]

ENTERING = ("entering_fluid_min_degC", "entering_fluid_mean_degC", "entering_fluid_max_degC")
CLOSE = 5.0
"""Distance of bores below which plants feel each other's hours [m]."""
_LEAST_DRIFT = 0.05
"""Drift below which no share of it is given [K]."""

MEANINGS: Mapping[str, tuple[str, str]] = {
    "entering_fluid_min_alone_degC": ("degC", "lowest entering fluid temperature without neighbours"),
    "entering_fluid_mean_alone_degC": ("degC", "mean entering fluid temperature without neighbours"),
    "entering_fluid_max_alone_degC": ("degC", "highest entering fluid temperature without neighbours"),
    "electricity_alone_kWh": ("kWh", "electricity of the plant without neighbours"),
    "electricity_lost_kWh": ("kWh", "electricity more than without neighbours"),
    "drop_by_neighbours_K": ("K", "how far neighbours lower the ground along the bores, mean of the year"),
    "drift_share_of_neighbours": (
        "1",
        "share of the change of the mean entering fluid, since the plant's first year alone, that comes from "
        "neighbours; NaN where it is below 0.05 K",
    ),
    "margin_K": ("K", "margin to the deciding limit, negative beyond it"),
    "margin_alone_K": ("K", "margin to the deciding limit without neighbours"),
    "deciding_limit": ("", "limit with the smallest margin"),
    "first_breach_year": ("1", "first year in which a limit breaks, NaN if none does"),
    "first_breach_alone_year": ("1", "first year in which a limit breaks without neighbours"),
    "mostly_through": (
        "",
        "neighbour that lowers or raises the ground most in the first year in which a limit breaks, if none "
        "breaks by then without neighbours",
    ),
    "failure": ("", "why the fluid freezes; temperatures end with the year before"),
}
"""Unit and meaning of what a neighbourhood's table has beside the yearly columns of runs."""


class NeighbourhoodRun:
    """Yearly results of all plants of a neighbourhood; made by `Neighbourhood.run`.

    Parameters
    ----------
    names : sequence of str
        Names of the plants, in the order of the tables.
    bores, town, pairs, settled
        What was computed, with the plants in the order of their names.

    Attributes
    ----------
    names : tuple of str
        Names of the plants.
    years : int
        Horizon.
    rounds : int
        Times that plants were stepped through the horizon, the first time alone.
    changes_K : tuple of float
        Largest change of the ground temperature along any plant's bores by each round [K]; the last is what
        another round would change.
    """

    def __init__(
        self, names: Sequence[str], bores: Bores, town: Town, pairs: Pairs, settled: Settled
    ) -> None:
        self.names = tuple(names)
        self.years = town.years
        self.changes_K = settled.changes
        self.rounds = len(settled.changes)
        self._bores = bores
        self._town = town
        self._pairs = pairs
        self._settled = settled
        place = {name: place for place, name in enumerate(town.names)}
        self._order: Indices = np.array([place[name] for name in names], dtype=np.intp)

    @functools.cached_property
    def table(self) -> xr.Dataset:
        """The yearly tables of all plants, with neighbours, and what they would be without.

        Dimensions are ``plant`` and ``year``; years in which a plant doesn't run are NaN. Columns have the
        names of `Run.yearly`; those that only neighbourhoods have are explained in their ``long_name``.
        """
        import xarray as xr

        alone, together, order = self._settled.alone, self._settled.together, self._order
        columns: dict[str, Table] = dict(together.yearly)
        for name in ENTERING:
            columns[name.replace("_degC", "_alone_degC")] = alone.yearly[name]
        electricity = alone.yearly["electricity_kWh"]
        columns["electricity_alone_kWh"] = electricity
        columns["electricity_lost_kWh"] = columns["electricity_kWh"] - electricity
        columns["drop_by_neighbours_K"] = self._yearly_drops
        columns["drift_share_of_neighbours"] = self._shares_of_drift()
        first, through = self._breaches(together), self._first_through()
        by_plant: dict[str, NDArray[Any]] = {
            "margin_K": together.by_plant["margin_K"],
            "margin_alone_K": alone.by_plant["margin_K"],
            "deciding_limit": together.by_plant["deciding_limit"],
            "first_breach_year": first,
            "first_breach_alone_year": self._breaches(alone),
            "mostly_through": through,
            "failure": np.array(
                [together.failures.get(place, "") for place in range(len(order))], dtype=object
            ),
        }
        centres = self._bores.centres[order]
        data: dict[str, Any] = {
            name: (("plant", "year"), column[order], _attributes(name)) for name, column in columns.items()
        }
        data |= {name: ("plant", column[order], _attributes(name)) for name, column in by_plant.items()}
        metres = {"units": "m", "long_name": "mean place of the bores"}
        coordinates = {
            "plant": list(self.names),
            "year": np.arange(1, self.years + 1),
            "east_m": ("plant", centres[:, 0], metres),
            "north_m": ("plant", centres[:, 1], metres),
            "depth_m": (
                "plant",
                self._bores.lengths[order],
                {"units": "m", "long_name": "depth of all bores"},
            ),
        }
        return xr.Dataset(data, coords=coordinates)

    @property
    def _yearly_drops(self) -> Table:
        drops = self._settled.drops
        means = 0.5 * (drops[:, 1:] + drops[:, :-1])
        return np.asarray(means.reshape(len(drops), self.years, INTERVALS_PER_YEAR).mean(axis=2))

    def _shares_of_drift(self) -> Table:
        """Return the share of each plant's drift that neighbours cause."""
        mean = "entering_fluid_mean_degC"
        alone, together = self._settled.alone.yearly[mean], self._settled.together.yearly[mean]
        starts = [years.start - 1 if years else 0 for years in self._town.running]
        first = alone[np.arange(len(alone)), starts][:, None]
        drift = together - first
        return np.where(
            np.abs(drift) < _LEAST_DRIFT, np.nan, (together - alone) / np.where(drift == 0, 1, drift)
        )

    def _breaches(self, found: Found) -> Table:
        """Return the first year of each plant in which a limit breaks or the fluid freezes; NaN if none."""
        broken = found.yearly["limits_broken"]
        first = np.full(len(broken), np.nan)
        for place, years in enumerate(self._town.running):
            own = broken[place, years.start - 1 : years.stop - 1]
            is_broken = ~(own <= 0.0)
            if is_broken.any():
                first[place] = years.start + int(np.argmax(is_broken))
        return first

    def _first_through(self) -> NDArray[Any]:
        """Return the neighbour with the greatest effect in the year in which a limit first breaks."""
        through = np.full(len(self._town.names), "", dtype=object)
        first, alone = self._breaches(self._settled.together), self._breaches(self._settled.alone)
        by_others = np.isfinite(first) & ~(alone <= first)
        for year in np.unique(first[by_others]):
            matrix = self._pairs.shares(self._states[int(year) - 1])
            for place in np.flatnonzero(by_others & (first == year)):
                row = slice(matrix.indptr[place], matrix.indptr[place + 1])
                if row.start < row.stop:
                    most = int(matrix.indices[row][np.argmax(np.abs(matrix.data[row]))])
                    through[place] = self._town.names[most]
        return through

    @functools.cached_property
    def _states(self) -> Table:
        return self._pairs.states_by_year(self._settled.together.heat)

    def who_cools_whom(
        self, year: int | None = None, *, plant: str | None = None, most: int = 20
    ) -> pd.DataFrame:
        """Return the largest effects of plants on each other.

        Parameters
        ----------
        year : int, optional
            At the end of which year; by default the last.
        plant : str, optional
            The plant that feels them; by default all.
        most : int, default 20
            Number of rows.

        Returns
        -------
        pandas.DataFrame
            Columns ``plant``, ``neighbour`` and ``drop_K``: how far the neighbour has lowered the temperature
            along the plant's bores [K], negative where it has warmed it.

        Raises
        ------
        InvalidInput
            If the year is beyond the horizon, or no plant has the name.
        """
        import pandas as pd

        owner = "NeighbourhoodRun"
        at = whole_number(self.years if year is None else year, 1, self.years, owner=owner, field="year")
        rows = whole_number(most, 1, owner=owner, field="most")
        matrix = self._pairs.shares(self._states[at - 1]).tocoo()
        feels, causes, drops = matrix.row, matrix.col, matrix.data
        if plant is not None:
            if plant not in self._town.names:
                raise UnknownName(owner, "plant", plant, "not a plant of the neighbourhood", self.names)
            own = feels == self._town.names.index(plant)
            feels, causes, drops = feels[own], causes[own], drops[own]
        largest = np.argsort(-np.abs(drops), kind="stable")[:rows]
        names = np.array(self._town.names, dtype=object)
        return pd.DataFrame(
            {"plant": names[feels[largest]], "neighbour": names[causes[largest]], "drop_K": drops[largest]}
        )

    @property
    def reach(self) -> float:
        """Distance up to which plants feel each other [m]."""
        return self._pairs.reach

    @functools.cached_property
    def beyond_reach_K(self) -> float:
        """Upper bound of what all plants beyond reach would add to any plant's drop [K].

        NaN with flowing groundwater.
        """
        heat = self._settled.together.heat
        means = heat.reshape(len(heat), self.years, INTERVALS_PER_YEAR).mean(axis=2)
        return self._pairs.largest_beyond_reach(np.abs(means).max(axis=1))

    @functools.cached_property
    def closest(self) -> float:
        """Least distance between bores of two plants [m]; infinite for a single plant."""
        return self._bores.closest()

    def plot(self, *, units: style.Units = "SI", ax: Axes | None = None) -> Axes:
        """Draw the map of the plants, coloured by their margin to the deciding limit.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.
        """
        return maps.margins(self.table, units=units, ax=ax)

    def plot_drops(
        self, year: int | None = None, *, units: style.Units = "SI", ax: Axes | None = None
    ) -> Axes:
        """Draw the map of how far neighbours have lowered the ground along each plant's bores.

        Parameters
        ----------
        year : int, optional
            Mean of which year; by default the last.
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.

        Raises
        ------
        InvalidInput
            If the year is beyond the horizon.
        """
        last = self.years if year is None else year
        at = whole_number(last, 1, self.years, owner="NeighbourhoodRun", field="year")
        return maps.drops(self.table, at, units=units, ax=ax)

    def write(self, folder: Path, *, units: style.Units = "SI") -> None:
        """Write tables (CSV and Parquet), maps (PNG) and the text into a folder that exists.

        Parameters
        ----------
        folder : pathlib.Path
            The folder.
        units : {"SI", "IP"}, default "SI"
            Units of the maps.

        Raises
        ------
        OSError
            If a file can't be written.
        """
        table = self.table
        by_year = [name for name, column in table.data_vars.items() if "year" in column.dims]
        write_table(
            table[by_year].drop_vars(["east_m", "north_m", "depth_m"]).to_dataframe(), folder / "yearly"
        )
        write_table(table.drop_dims("year").to_dataframe(), folder / "plants")
        write_table(self.who_cools_whom(most=1000).set_index("plant"), folder / "who_cools_whom")
        (folder / "neighbourhood.txt").write_text(str(self), encoding="utf-8")
        maps.save(self.plot(units=units), folder / "margins.png")
        maps.save(self.plot_drops(units=units), folder / "drops.png")

    def __repr__(self) -> str:
        return f"<NeighbourhoodRun: {counted(len(self.names), 'plant')}, {counted(self.years, 'year')}>"

    def __str__(self) -> str:
        return "\n".join([*self._sentences(), "", CAUTIONS]) + "\n"

    def _repr_html_(self) -> str:
        head = f"{counted(len(self.names), 'plant')}, {counted(self.years, 'year')}"
        return notebook.heading(head) + notebook.sentences([*self._sentences(), CAUTIONS])

    def _sentences(self) -> list[str]:
        table = self.table
        bores = counted(len(self._bores.positions), "bore")
        plants = counted(len(self.names), "plant")
        said = [f"{plants} with {bores} in total, {counted(self.years, 'year')}."]
        alone = int(np.isfinite(table["first_breach_alone_year"]).sum())
        first = table["first_breach_year"]
        broken = int(np.isfinite(first).sum())
        if not broken:
            said.append("All limits hold in every hour, with all neighbours.")
        else:
            said.append(
                f"A limit breaks for {broken} of {plants}; without neighbours, for {alone}. The first is "
                f"{self.names[int(np.nanargmin(first.to_numpy()))]!r} in year {int(first.min())}."
            )
        drops = table["drop_by_neighbours_K"].isel(year=-1)
        most = int(np.argmax(np.abs(drops.to_numpy())))
        verb = "lower" if drops[most] >= 0.0 else "raise"
        said.append(
            f"In year {self.years}, neighbours {verb} the ground most along the bores of "
            f"{self.names[most]!r}: by {both(abs(float(drops[most])), 'K', '.2f')}."
        )
        lost, used = (
            float(table[name].isel(year=-1).sum()) for name in ("electricity_lost_kWh", "electricity_kWh")
        )
        share = f", {100.0 * lost / used:.2g} % of all" if used > 0.0 else ""
        said.append(f"They cost {lost:,.0f} kWh of electricity in that year{share}.")
        said += self._accuracy()
        return said

    def _accuracy(self) -> list[str]:
        """Return how exact the temperatures of the ground are, in sentences."""
        said = [
            f"After {counted(self.rounds, 'round')}, another would change the ground along no plant's bores "
            f"by more than {1e3 * self.changes_K[-1]:.2g} mK."
        ]
        beyond = self.beyond_reach_K
        if np.isnan(beyond):
            said.append(f"Plants more than {both(self.reach, 'm')} apart don't feel each other.")
        elif beyond > 0.0:
            said.append(
                f"Plants more than {both(self.reach, 'm')} apart don't feel each other: all of them together "
                f"would change the ground of no plant by more than {1e3 * beyond:.2g} mK."
            )
        if self.closest < CLOSE:
            said.append(
                f"Bores of different plants are as close as {both(self.closest, 'm', '.1f')}: less than "
                f"{both(CLOSE, 'm')} apart, plants feel each other's hours, which the means over "
                "five days leave out."
            )
        return said


def _attributes(name: str) -> dict[str, str]:
    if name in MEANINGS:
        unit, meaning = MEANINGS[name]
        return {"units": unit, "long_name": meaning}
    return {"units": YEARLY[name].unit, "long_name": YEARLY[name].meaning}

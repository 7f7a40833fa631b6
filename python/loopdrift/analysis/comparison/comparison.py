"""Comparison of kinds of loop: table, text, chart and files."""

from __future__ import annotations

import functools
import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from loopdrift.analysis.comparison.measures import COLUMNS, TEXTS, cost, found
from loopdrift.basics import notebook
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.output import ResultFolder
from loopdrift.basics.part import require
from loopdrift.basics.words import counted
from loopdrift.files import design_file
from loopdrift.files.tables import write_table
from loopdrift.ground_sides.candidate import Candidate, not_run, proposed
from loopdrift.ground_sides.kind import Layout, kinds
from loopdrift.ground_sides.site import Site
from loopdrift.model.progress import Progress, Reporting

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

    from loopdrift.model.design import Design


def layouts() -> dict[str, Layout]:
    """Return how each kind of loop is sized on a site, by its name."""
    return {name: layout for kind in kinds() for name, layout in kind.layouts.items()}


class Comparison:
    """All kinds of loop that a site allows, and the designer's own; prints as a table and sentences.

    Made by `Design.compare`.

    Parameters
    ----------
    design : Design
        The design that every kind is sized for.
    site : Site
        The site.
    years : int
        Horizon.
    candidates : sequence of Candidate
        The sized loop of each kind, then the proposals.
    """

    def __init__(self, design: Design, site: Site, years: int, candidates: Sequence[Candidate]) -> None:
        self.design = design
        self.site = site
        self.years = years
        self.candidates = tuple(candidates)

    @functools.cached_property
    def _costs(self) -> dict[str, tuple[dict[str, float], str]]:
        """First and life cost of each kind that was run, and why they are omitted, if they are."""
        return {each.kind: cost(each.run) for each in self.candidates if each.run is not None}

    @functools.cached_property
    def table(self) -> pd.DataFrame:
        """One row for each kind and each proposal.

        ``fits``; ``loop`` in words; ``land_m2`` below bores or trenches, ``water_m2`` of a pond; ``pipe_m``
        in the ground or the pond, ``trench_m``, ``bores`` and ``bored_m``; ``entering_fluid_min_degC`` and
        ``_max_degC`` over the horizon; ``pump_kWh`` of circulation and well pump, ``seasonal_cop`` and
        ``backup_kWh`` of a mean year; ``first_cost`` and ``life_cost``, the present value of all costs;
        ``ruled_out``: why it is infeasible; ``remedies``: what would make it feasible. The values of an
        infeasible kind are those of its nearest size. Values that don't apply or are unknown are empty.
        """
        import pandas as pd

        rows: list[dict[str, Any]] = []
        for each in self.candidates:
            row: dict[str, Any] = {"fits": each.fits, "loop": "", "ruled_out": " ".join(each.reasons)}
            row["remedies"] = " ".join(each.remedies)
            if each.run is not None:
                side = each.run.design.ground_side
                row |= {"loop": str(side), **side.takes, **found(each.run), **self._costs[each.kind][0]}
            rows.append(row)
        index = pd.Index([each.kind for each in self.candidates], name="kind")
        table = pd.DataFrame(rows, index=index, columns=list(COLUMNS))
        numbers = [name for name in COLUMNS if name not in TEXTS]
        return table.astype(dict.fromkeys(numbers, float))

    @functools.cached_property
    def rules_of_thumb(self) -> pd.DataFrame:
        """The rules of thumb for each kind: one row per kind and rule.

        ``value``, the rule's ``least`` and ``most`` (empty if it has none) and ``departure`` in ``unit``, and
        ``why``.
        """
        import pandas as pd

        rows = [
            {
                "kind": each.kind,
                "rule": rule.what,
                "value": rule.value,
                "least": rule.usual.low,
                "most": rule.usual.high,
                "unit": rule.usual.unit,
                "departure": rule.departure,
                "why": rule.why,
            }
            for each in self.candidates
            for rule in each.rules_of_thumb
        ]
        names = ["kind", "rule", "value", "least", "most", "unit", "departure", "why"]
        table = pd.DataFrame(rows, columns=names).astype({"most": float})
        return table.set_index(["kind", "rule"])

    @property
    def feasible(self) -> list[Candidate]:
        """The feasible kinds."""
        return [each for each in self.candidates if each.fits]

    def cost_left_out(self, kind: str) -> str:
        """Return why the costs of a kind are omitted; empty if they aren't.

        Parameters
        ----------
        kind : str
            Name of the kind.
        """
        return self._costs[kind][1] if kind in self._costs else ""

    def text(self, *, units: Literal["SI", "IP"] = "SI") -> str:
        """Return the table, why kinds are infeasible, and departures from rules of thumb.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Units of the table.
        """
        from loopdrift.analysis.comparison.text import text

        return text(self, units)

    def plot(self, *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None) -> Axes:
        """Draw the entering fluid temperatures of each kind over the horizon, with COP and life cost.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.
        """
        from loopdrift import charts

        prices = self.design.prices
        currency = "" if prices is None else prices.currency
        return charts.comparison(
            self.table,
            limits=self.design.limits,
            years=self.years,
            proposed=[each.name for each in self.site.candidates],
            currency=currency,
            units=units,
            ax=ax,
        )

    def write(
        self, folder: str | os.PathLike[str], *, units: Literal["SI", "IP"] = "SI", force: bool = False
    ) -> list[Path]:
        """Write tables (CSV and Parquet), chart (PNG), text, and the design of each feasible kind (TOML).

        All files are written, or none; they replace those of an earlier comparison in the same folder.

        Parameters
        ----------
        folder : str or path-like
            Folder for the files; created if it doesn't exist.
        units : {"SI", "IP"}, default "SI"
            Units of tables and chart.
        force : bool, default False
            Whether the folder may contain other files, and files that loopdrift didn't write may be replaced.

        Returns
        -------
        list of pathlib.Path
            The files.

        Raises
        ------
        InvalidInput
            If the folder contains anything but an unmodified earlier comparison.
        OSError
            If a file can't be written; then no file has changed.
        """
        results = ResultFolder(folder, "compare", force=force)
        with results.writing() as unfinished:
            write_into(self, unfinished, units)
        return results.written

    def __repr__(self) -> str:
        fits = ", ".join(each.kind for each in self.feasible) or "none"
        return f"<Comparison: {len(self.candidates)} kinds, {counted(self.years, 'year')}; feasible: {fits}>"

    def _repr_html_(self) -> str:
        shown = self.table.drop(columns=["ruled_out", "remedies"]).dropna(axis="columns", how="all")
        return notebook.heading(f"Loops for {self.years} years") + notebook.table(shown)

    def __str__(self) -> str:
        return self.text()


def compare(design: Design, site: Site, *, years: int, progress: Progress) -> Comparison:
    """Size every kind of loop on a site; see `Design.compare`."""
    from loopdrift.model.design import check_years

    require(site, Site, owner="Comparison", field="site")
    horizon = check_years(years, owner="Comparison")
    # Found loops stand on a plot of their own, not in the coordinates of the design's house and plot.
    bare = design.replace(site=None)
    sizes = {name: functools.partial(layout, bare, site, horizon) for name, layout in layouts().items()}
    for each in site.candidates:
        if each.name in sizes:
            allowed = f"must be another name: {each.name} is found for every site"
            raise InvalidInput("Proposal", "name", repr(each.name), "", allowed)
    sizes |= {each.name: functools.partial(proposed, each, design, site, horizon) for each in site.candidates}
    candidates = []
    with Reporting(progress, owner="Comparison", unit="loop", total=len(sizes)) as tell:
        for name, size in sizes.items():
            try:
                candidates.append(size())
            except InvalidInput as error:
                candidates.append(not_run(name, error))
            if tell is not None:
                tell(len(candidates))
    return Comparison(design, site, horizon, candidates)


def write_into(comparison: Comparison, folder: Path, units: Literal["SI", "IP"]) -> None:
    """Write the files of `Comparison.write` into an existing empty folder."""
    from matplotlib.figure import Figure

    from loopdrift.basics.units import to_inch_pound

    table = to_inch_pound(comparison.table) if units == "IP" else comparison.table
    write_table(table, folder / "comparison")
    write_table(comparison.rules_of_thumb, folder / "rules-of-thumb")
    figure = Figure(figsize=(8.0, 4.5), layout="constrained")
    comparison.plot(units=units, ax=figure.subplots())
    figure.savefig(folder / "comparison.png", dpi=150)
    (folder / "comparison.txt").write_text(comparison.text(units=units), encoding="utf-8")
    for name, each in zip(_file_names(comparison.feasible), comparison.feasible, strict=True):
        if each.run is not None:
            design_file.write(each.run.design, folder / f"{name}.toml")


def _file_names(candidates: Sequence[Candidate]) -> list[str]:
    """Return a name for the file of each candidate, without characters that a file name can't have."""
    names: list[str] = []
    for each in candidates:
        name = re.sub(r"[^\w]+", "-", each.kind).strip("-_") or "loop"
        same = sum(re.fullmatch(rf"{re.escape(name)}(-\d+)?", other) is not None for other in names)
        names.append(f"{name}-{same + 1}" if same else name)
    return names

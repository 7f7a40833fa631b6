"""Long work with a progress bar, if standard error is a terminal."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any, cast

import click

from loopdrift.analysis.comparison import Comparison, layouts
from loopdrift.analysis.cost import require_priced
from loopdrift.api.design import Design
from loopdrift.api.phases import PhasedRun, Phases
from loopdrift.api.run import Run
from loopdrift.api.site import Site
from loopdrift.basics.model_time import HOURS_PER_YEAR

if TYPE_CHECKING:
    from loopdrift.analysis.learning import Forecast, PlantLog
    from loopdrift.analysis.neighbourhood import Neighbourhood, NeighbourhoodRun


def run_with_progress(plant: Phases, years: int) -> Run | PhasedRun:
    """Run a plant, with a progress bar if standard error is a terminal; as a design if it never changes."""
    for phase in plant.phases:
        require_priced(phase.design)
    changes = len(plant.phases) > 1
    runs: Design | Phases = plant if changes else cast(Design, plant.phases[0].design)
    if not sys.stderr.isatty():
        return runs.run(years)
    with click.progressbar(length=years, label="years", file=sys.stderr) as bar:
        return runs.run(years, progress=lambda hours: bar.update(hours // HOURS_PER_YEAR - bar.pos))


def compare_with_progress(design: Design, site: Site, years: int) -> Comparison:
    """Compare, with a progress bar if standard error is a terminal."""
    if not sys.stderr.isatty():
        return design.compare(site, years=years)
    with click.progressbar(
        length=len(layouts()) + len(site.candidates), label="kinds", file=sys.stderr
    ) as bar:
        return design.compare(site, years=years, progress=lambda done: bar.update(done - bar.pos))


def run_town_with_progress(town: Neighbourhood, years: int) -> NeighbourhoodRun:
    """Run the plants of a town, with a count if standard error is a terminal."""
    if not sys.stderr.isatty():
        return town.run(years)
    finished = town.run(years, progress=_count_plants)
    click.echo(err=True)
    return finished


def forecast_with_progress(design: Design, log: PlantLog, years: int, **said: Any) -> Forecast:
    """Learn from a log and forecast, with a count and a bar if standard error is a terminal.

    Parameters
    ----------
    design : Design
        The design.
    log : PlantLog
        The log.
    years : int
        Horizon of the forecast, extended to that of the log.
    **said
        Arguments of `learn`.
    """
    from loopdrift.analysis.learning import learn

    is_shown = sys.stderr.isatty()
    learned = learn(design, log, progress=_count_runs if is_shown else False, **said)
    if is_shown:
        click.echo(err=True)
    horizon = max(years, learned.seen.years)
    if not is_shown:
        return learned.forecast(horizon, count=SAMPLES)
    with click.progressbar(length=SAMPLES, label="samples", file=sys.stderr) as bar:
        return learned.forecast(horizon, count=SAMPLES, progress=lambda done: bar.update(done - bar.pos))


SAMPLES = 128
"""Samples of a forecast."""


def _count_plants(done: int) -> None:
    click.echo(f"\rstepping: {done} plants, in all rounds", err=True, nl=False)


def _count_runs(done: int) -> None:
    click.echo(f"\rlearning: {done} runs", err=True, nl=False)

"""Long work with a progress bar, if standard error is a terminal."""

from __future__ import annotations

import sys

import click

from loopdrift.analysis.comparison import Comparison, layouts
from loopdrift.analysis.cost import require_priced
from loopdrift.api.design import Design
from loopdrift.api.run import Run
from loopdrift.api.site import Site
from loopdrift.basics.model_time import HOURS_PER_YEAR


def run_with_progress(design: Design, years: int) -> Run:
    """Run, with a progress bar if standard error is a terminal."""
    require_priced(design)
    if not sys.stderr.isatty():
        return design.run(years)
    with click.progressbar(length=years, label="years", file=sys.stderr) as bar:
        return design.run(years, progress=lambda hours: bar.update(hours // HOURS_PER_YEAR - bar.pos))


def compare_with_progress(design: Design, site: Site, years: int) -> Comparison:
    """Compare, with a progress bar if standard error is a terminal."""
    if not sys.stderr.isatty():
        return design.compare(site, years=years)
    with click.progressbar(
        length=len(layouts()) + len(site.candidates), label="kinds", file=sys.stderr
    ) as bar:
        return design.compare(site, years=years, progress=lambda done: bar.update(done - bar.pos))

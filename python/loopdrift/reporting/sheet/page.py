"""The installer's sheet as one HTML page, and its tables as CSV."""

from __future__ import annotations

import os
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from loopdrift import _core
from loopdrift.analysis.quantities import GROUT_SURPLUS, Quantities, quantities
from loopdrift.basics.output import ResultFolder
from loopdrift.charts.style import require_units
from loopdrift.files.tables import csv_text
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.cautions import HAZARDS, PERMITS, STANDING
from loopdrift.reporting.figures import svg
from loopdrift.reporting.html import Units, template
from loopdrift.reporting.sheet import tables
from loopdrift.reporting.sheet.places import LOG, listed, place_headings, place_rows

if TYPE_CHECKING:
    from loopdrift.model.design import Design

_PLAN = (5.2, 3.9)  # in
_WIDE_PLAN = (9.0, 4.6)
_SECTION = (5.2, 2.6)


def write(
    design: Design,
    folder: str | os.PathLike[str],
    *,
    units: Units = "SI",
    grout_surplus: float | str = GROUT_SURPLUS,
    force: bool = False,
) -> list[Path]:
    """Write the installer's sheet of a design; see `Design.write_sheet`."""
    require_units(units, owner="Sheet")
    results = ResultFolder(folder, "sheet", force=force)
    with results.writing() as unfinished:
        write_into(design, unfinished, units=units, grout_surplus=grout_surplus)
    return results.written


def write_into(
    design: Design, folder: Path, *, units: Units, grout_surplus: float | str = GROUT_SURPLUS
) -> None:
    """Write the files of the sheet into an existing empty folder.

    Parameters
    ----------
    design : Design
        The design.
    folder : pathlib.Path
        The folder.
    units : {"SI", "IP"}
        Units that come first.
    grout_surplus : float or str, default 0.25
        Grout ordered beyond the net volume, as a share of it [-].
    """
    import pandas as pd

    found = quantities(design, grout_surplus=grout_surplus)
    (folder / "sheet.html").write_text(page(design, found, units=units), encoding="utf-8")
    places = found.built.places
    headings = place_headings(places, units)
    log = list(_log(found))
    rows = [[*row, *[""] * len(log)] for row in place_rows(places, units)]
    files = {
        "quantities.csv": tables.quantity_table(design, found),
        "places.csv": pd.DataFrame(rows, columns=[*headings, *log]),
    }
    for name, table in files.items():
        (folder / name).write_text(csv_text(table), encoding="utf-8")


def page(design: Design, found: Quantities | None = None, *, units: Units = "SI") -> str:
    """Return the sheet as the text of an HTML page that needs no other file.

    Parameters
    ----------
    design : Design
        The design.
    found : Quantities, optional
        Its quantities, if they have already been computed.
    units : {"SI", "IP"}, default "SI"
        Units that come first.
    """
    require_units(units, owner="Sheet")
    found = quantities(design) if found is None else found
    project = design.project
    sections = groupby(tables.lines(design, found), key=lambda line: line.section)
    return template("loopdrift.reporting.sheet", "sheet.html.jinja", units).render(
        title="Installer's sheet" if project is None or project.name is None else project.name,
        metadata={} if project is None else project.file_metadata,
        project=[] if project is None else list(project.lines),
        summary=_sentence(f"{design.ground_side}; {design.fluid}"),
        plans=_plans(design, found, units),
        sections={
            section: [(line.item, *line.texts(units)) for line in lines] for section, lines in sections
        },
        pipes=tables.pipe_rows(found, units),
        places=listed(found.built.places, units),
        log=_log(found),
        notes=found.notes,
        cautions=(HAZARDS, STANDING, PERMITS),
        version=_core.VERSION,
    )


def _log(found: Quantities) -> tuple[str, ...]:
    places = found.built.places
    return LOG[places.noun] if places.is_drilled else ()


def _plans(design: Design, found: Quantities, units: Units) -> list[str]:
    """Return the plans of the loop and of the plot, and cross-sections, as SVG elements."""
    from matplotlib.figure import Figure

    drawn = []
    charts = kind_of(design.ground_side).charts(design)
    whole_width = len(charts) == 1 and found.built.places.is_drilled
    for name, chart in charts.items():
        size = _SECTION if name == "section" else _WIDE_PLAN if whole_width else _PLAN
        figure = Figure(figsize=size, layout="constrained")
        chart.draw(units, figure.subplots())
        drawn.append(svg(figure, f"sheet-{name}"))
    return drawn


def _sentence(text: str) -> str:
    """Return a text that begins with a capital and ends with a full stop."""
    return f"{text[0].upper()}{text[1:]}."

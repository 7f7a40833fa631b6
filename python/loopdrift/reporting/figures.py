"""The charts of a run: which are available, and each as a figure for screen or file."""

from __future__ import annotations

import functools
import io
import math
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple, get_args

from loopdrift.analysis.cost import own
from loopdrift.basics.errors import InvalidInput
from loopdrift.ground_sides.kind import kind_of
from loopdrift.model.phases import PhasedRun

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from loopdrift.charts.style import Units
    from loopdrift.charts.week import Which
    from loopdrift.model.design import Design
    from loopdrift.model.run import Run
    from loopdrift.parts.project import Project

Kind = Literal["horizon", "coldest-week", "hottest-week", "energy", "loads", "layout", "section", "site"]
_OF_GROUND_SIDE = ("layout", "section", "site")
KINDS: tuple[Kind, ...] = get_args(Kind)

_WIDTH = 8.0  # in
_HEIGHT = 4.2
_DPI = 150


class _Margins(NamedTuple):
    """Space for labels and legend around the Axes [in].

    Fixed margins suit labels of known length and save measuring them, which takes as long as drawing.
    """

    left: float = 0.85
    right: float = 0.25
    top: float = 0.4
    bottom: float = 0.6

    def fit(self, figure: Figure) -> None:
        """Apply the margins to a figure."""
        width, height = figure.get_size_inches()
        figure.subplots_adjust(
            left=self.left / width,
            right=1.0 - self.right / width,
            top=1.0 - self.top / height,
            bottom=self.bottom / height,
        )


PLAIN = _Margins()
_LEVELS_NAMED = _Margins(right=1.75)
_TWO_SCALES = _Margins(right=0.85)
_AMOUNTS = _Margins(left=1.1)
_LINES_OF_HORIZON = 3
"""Its entries in the legend, of three columns, besides changes of the plant."""


def kinds(design: Design) -> list[Kind]:
    """Return the charts that are available for a run of a design."""
    of_ground_side = kind_of(design.ground_side).charts(design)
    return [kind for kind in KINDS if kind not in _OF_GROUND_SIDE or kind in of_ground_side]


def draw(run: Run, kind: Kind, units: Units, ax: Axes | None = None) -> Axes:
    """Draw one chart of a run; see `Run.plot`."""
    from loopdrift import charts

    charts.style.require_units(units, owner="Run")
    design = run.design
    if kind not in kinds(design):
        raise InvalidInput("Run", "kind", repr(kind), "", f"must be one of {', '.join(kinds(design))}")
    if kind == "horizon":
        return _horizon(run, units, ax)
    if kind == "coldest-week" or kind == "hottest-week":
        which: Which = "coldest" if kind == "coldest-week" else "hottest"
        return charts.week_temperatures(
            run.hourly, which, wall=run.wall, start_month=design.start_month, units=units, ax=ax
        )
    if kind == "energy":
        return charts.energy(run.yearly, units=units, ax=ax)
    if kind == "loads":
        return design.loads.plot(units=units, ax=ax)
    return kind_of(design.ground_side).charts(design)[kind].draw(units, ax)


def _horizon(run: Run, units: Units, ax: Axes | None) -> Axes:
    """Draw the entering fluid temperature by year, with those limits that are the same in all years."""
    from loopdrift import charts

    limits, *others = [span.design.limits for span in run.spans]
    freezing_points = {span.design.fluid.freezing_point for span in run.spans}
    ax = charts.horizon(
        run.yearly,
        limits=limits if all(each == limits for each in others) else None,
        freezing_point=freezing_points.pop() if len(freezing_points) == 1 else None,
        units=units,
        ax=ax,
    )
    if isinstance(run, PhasedRun):
        charts.phases(ax, [(phase.year, str(phase)) for phase in run.plant.phases[1:]])
    return ax


def figures(run: Run, units: Units) -> dict[str, Figure]:
    """Return all charts of a run by name."""
    from loopdrift import charts

    design = run.design
    energy = _TWO_SCALES if units == "IP" else PLAIN
    rows = math.ceil((_LINES_OF_HORIZON + len(run.spans) - 1) / 3)
    horizon = _LEVELS_NAMED._replace(top=max(_LEVELS_NAMED.top, 0.05 + 0.19 * rows))
    margins = {"horizon": horizon, "loads": PLAIN, "energy": energy}
    of_ground_side = kind_of(design.ground_side).charts(design)
    margins |= {name: PLAIN for name, chart in of_ground_side.items() if chart.has_short_labels}
    drawn: dict[str, Figure] = {}
    for kind in kinds(design):
        if kind == "coldest-week" or kind == "hottest-week":
            drawn[kind] = _worst_week(run, "coldest" if kind == "coldest-week" else "hottest", units)
        else:
            drawn[kind] = one_chart(functools.partial(draw, run, kind, units), margins.get(kind))
    if design.piping is not None:
        table = design.pressure_drop()
        drawn["pressure-drop"] = one_chart(lambda ax: charts.pressure_drop(table, units=units, ax=ax))
    if design.prices is not None:
        cost = run.once(own)
        drawn["cost"] = one_chart(lambda ax: cost.plot(ax=ax), _AMOUNTS)
    return drawn


def horizon_svg(run: Run) -> str:
    """Return the chart of the entering fluid temperature by year as an SVG element."""
    return svg(one_chart(functools.partial(draw, run, "horizon", "SI"), _LEVELS_NAMED), "horizon")


def svg(figure: Figure, name: str) -> str:
    """Return a figure as an SVG element whose ids are derived from its name."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    text = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path", "svg.hashsalt": name}):
        # `Figure.savefig` would draw everything twice.
        FigureCanvasSVG(figure).print_svg(text, metadata={"Date": None, "Creator": None})  # type: ignore[no-untyped-call]
    found = text.getvalue()
    found = re.sub(r"<metadata>.*?</metadata>", "", found[found.index("<svg") :], flags=re.DOTALL)
    return re.sub(r'width="[^"]*pt" height="[^"]*pt"', 'class="chart"', found, count=1)


def write_png(figure: Figure, path: Path, project: Project | None = None) -> None:
    """Write a figure as a PNG file, with the project's name and designer in its metadata.

    Raises
    ------
    OSError
        If the file can't be written.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    canvas = FigureCanvasAgg(figure)
    figure.set_dpi(_DPI)
    about = {} if project is None else project.file_metadata
    metadata = {name.capitalize(): text for name, text in about.items()}
    canvas.print_png(path, metadata=metadata)  # type: ignore[no-untyped-call]


def one_chart(onto: Callable[[Axes], Axes], margins: _Margins | None = None) -> Figure:
    """Return a figure with one chart; labels are measured unless margins are given."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH, _HEIGHT), layout=None if margins else "constrained")
    if margins:
        margins.fit(figure)
    onto(figure.subplots())
    return figure


def _worst_week(run: Run, which: Which, units: Units) -> Figure:
    from matplotlib.figure import Figure

    from loopdrift import charts

    figure = Figure(figsize=(_WIDTH, 5.6))
    (_TWO_SCALES if units == "IP" else PLAIN).fit(figure)
    figure.subplots_adjust(hspace=0.25)
    above, below = figure.subplots(2, height_ratios=[3, 2], sharex=True)
    start_month = run.design.start_month
    charts.worst_week(
        run.hourly, which, wall=run.wall, start_month=start_month, units=units, axes=(above, below)
    )
    return figure

"""Charts as pictures that stand inside the page."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from loopdrift.plots.style import Units
    from loopdrift.plots.week import Which
    from loopdrift.run import Kind, Run

_WIDTH = 8.0


def charts(run: Run, units: Units) -> dict[str, str]:
    """Return the charts of a run by name, each as the text of an SVG element."""
    from loopdrift import plots

    def worst(which: Which) -> str:
        def draw(figure: Any) -> None:
            axes = figure.subplots(2, height_ratios=[3, 2], sharex=True)
            plots.worst_week(run.hourly, which, units=units, axes=tuple(axes))

        return _drawn(f"{which} week", draw, 5.6)

    def plain(kind: Kind, height: float = 4.0) -> str:
        return _drawn(kind, lambda figure: run.plot(kind, units=units, ax=figure.subplots()), height)

    drawn = {
        "horizon": plain("horizon"),
        "loads": plain("loads"),
        "energy": plain("energy"),
        "coldest week": worst("coldest"),
    }
    if "layout" in run.kinds:
        drawn["layout"] = plain("layout", 3.6)
    if run.yearly["cooling_kWh"].any():
        drawn["hottest week"] = worst("hottest")
    if run.design.prices is not None:
        cost = run.cost()
        drawn["cost"] = _drawn("cost", lambda figure: cost.plot(ax=figure.subplots()), 4.0)
    return drawn


def _drawn(name: str, draw: Callable[[Any], object], height: float) -> str:
    """Return what `draw` draws on a figure, as an SVG element whose ids follow from its name."""
    import matplotlib as mpl
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH, height), layout="constrained")
    canvas = FigureCanvasSVG(figure)
    draw(figure)
    text = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path", "svg.hashsalt": name}):
        # `Figure.savefig` would draw all twice.
        canvas.print_svg(text, metadata={"Date": None, "Creator": None})  # type: ignore[no-untyped-call]
    svg = text.getvalue()
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    return re.sub(r'width="[^"]*pt" height="[^"]*pt"', 'class="chart"', svg, count=1)

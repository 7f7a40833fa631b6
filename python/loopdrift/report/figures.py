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

        return _drawn(draw, 5.6)

    def plain(kind: Kind, height: float = 4.0) -> str:
        return _drawn(lambda figure: run.plot(kind, units=units, ax=figure.subplots()), height)

    drawn = {
        "horizon": plain("horizon"),
        "energy": plain("energy"),
        "coldest week": worst("coldest"),
        "layout": plain("layout", 4.5),
    }
    if run.yearly["cooling_kWh"].any():
        drawn["hottest week"] = worst("hottest")
    if run.design.prices is not None:
        cost = run.cost()
        drawn["cost"] = _drawn(lambda figure: cost.plot(ax=figure.subplots()), 4.0)
    return drawn


def _drawn(draw: Callable[[Any], object], height: float) -> str:
    """Return what `draw` draws on a figure, as an SVG element whose ids are its own."""
    import matplotlib as mpl
    from matplotlib.figure import Figure

    figure = Figure(figsize=(_WIDTH, height), layout="constrained")
    draw(figure)
    text = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "path", "svg.hashsalt": f"{draw!r}"}):
        figure.savefig(text, format="svg", metadata={"Date": None, "Creator": None})
    svg = text.getvalue()
    svg = re.sub(r"<metadata>.*?</metadata>", "", svg[svg.index("<svg") :], flags=re.DOTALL)
    return re.sub(r'width="[^"]*pt" height="[^"]*pt"', 'class="chart"', svg, count=1)

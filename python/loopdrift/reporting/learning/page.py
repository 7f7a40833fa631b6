"""The page of a plant's log: what was found, what isn't seen, and the years to come."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from loopdrift.analysis.learning import Forecast
from loopdrift.analysis.learning.text import found_in_words
from loopdrift.files.tables import write_table
from loopdrift.model.cautions import CAUTIONS
from loopdrift.reporting.figures import one_chart, svg, write_png
from loopdrift.reporting.html import Units, template

_TITLE = "Results of the plant's log"
_CAPTIONS = {
    "forecast": "The log, the fit, and the lowest and highest fluid temperature of each year to come with "
    "the range of 95 % of the samples; dotted: the design as built.",
    "temperatures": "The log in means of a week or longer, the fit, and the run of the design as built.",
    "residuals": "Residuals of the fit: noise without a trend, if the plant is as the design says.",
}
METHODS = (
    "Whole hourly runs of the design are fitted to the log by generalised least squares, with derivatives "
    "from runs side by side.",
    "Where heat or electricity was measured, the loads are scaled step by step to match it. Factors of the "
    "loads and the sensor's offset are fitted too, within their usual errors.",
    "The noise is white in part and correlated in part; shares and correlation time follow from the "
    "restricted likelihood (Patterson & Thompson 1971).",
    "The band of the forecast comes from samples of all fitted numbers with their correlations, each run "
    "over the whole horizon. It doesn't cover a change in the use of the building.",
)


def write_into(forecast: Forecast, folder: Path, units: Units) -> None:
    """Write tables, charts and page into an existing empty folder.

    Parameters
    ----------
    forecast : Forecast
        The forecast, with what was learned.
    folder : pathlib.Path
        The folder.
    units : {"SI", "IP"}
        Units of charts and page.
    """
    learned = forecast.learned
    write_table(learned.table.rename_axis("quantity"), folder / "found")
    write_table(forecast.table, folder / "forecast")
    (folder / "learned.txt").write_text(f"{learned}\n\n{forecast}\n", encoding="utf-8")
    for name, draw in _charts(forecast, units).items():
        write_png(one_chart(draw), folder / f"{name}.png")
    (folder / "learned.html").write_text(page(forecast, units), encoding="utf-8")


def page(forecast: Forecast, units: Units = "SI") -> str:
    """Return the page as HTML.

    Parameters
    ----------
    forecast : Forecast
        The forecast, with what was learned.
    units : {"SI", "IP"}, default "SI"
        Units that come first.
    """
    text: str = template(__package__, "page.html.jinja", units).render(
        title=_TITLE,
        section=section(forecast, units),
        facts=forecast.learned.log.origin,
        methods=METHODS,
        cautions=CAUTIONS,
    )
    return text


def section(forecast: Forecast, units: Units = "SI") -> str:
    """Return the answer, what was found and the charts as HTML, for this page and for the report.

    Parameters
    ----------
    forecast : Forecast
        The forecast, with what was learned.
    units : {"SI", "IP"}, default "SI"
        Units that come first.
    """
    learned = forecast.learned
    text: str = template(__package__, "section.html.jinja", units).render(
        log=str(learned.log),
        answer=forecast.sentences,
        found=found_in_words(learned),
        findings=learned.findings,
        figures=[
            {"svg": svg(one_chart(draw), f"log-{name}"), "caption": _CAPTIONS[name]}
            for name, draw in _charts(forecast, units).items()
        ],
    )
    return text


def _charts(forecast: Forecast, units: Units) -> dict[str, Any]:
    learned = forecast.learned
    return {
        "forecast": lambda ax: forecast.plot(units=units, ax=ax),
        "temperatures": lambda ax: learned.plot("temperatures", units=units, ax=ax),
        "residuals": lambda ax: learned.plot("residuals", units=units, ax=ax),
    }

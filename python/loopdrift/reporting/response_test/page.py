"""The page of a response test: what was found, how sure it is, and what it rests on."""

from __future__ import annotations

from pathlib import Path

from loopdrift.analysis.response_test import FoundGround, ResponseTest, charts
from loopdrift.analysis.response_test.charts import Kind
from loopdrift.analysis.response_test.text import findings, side_by_side, summary
from loopdrift.basics.both_units import both, both_degrees
from loopdrift.files.tables import write_table
from loopdrift.model.cautions import CAUTIONS
from loopdrift.reporting.figures import one_chart, svg, write_png
from loopdrift.reporting.html import Units, template

_TITLE = "Thermal response test"
_CAPTIONS: dict[Kind, str] = {
    "temperatures": "Fluid that enters and leaves the bore, the fitted bore, and the heat.",
    "line": "The straight line over the logarithm of time; dotted, its window.",
    "windows": "Conductivity by the straight line as the start or the end of its window moves, with two "
    "standard errors. A curve that keeps rising as the end moves is a sign of moving groundwater.",
    "residuals": "Residuals of each method: noise without a trend, if the method fits.",
}
METHODS = (
    "Straight line: the mean fluid temperature over the logarithm of time has the slope q / (4 pi k), and "
    "the height that remains after the ground's share gives the resistance (Mogensen 1983). The window "
    "begins 5 r^2 / a after the heat starts, with r the bore's radius and a the ground's diffusivity.",
    "Fitted bore: heat stored in fluid, pipes and grout, the ground around them, ends and surface, with the "
    "heat of every row added step by step; conductivity, grout and undisturbed temperature by least squares.",
    "Standard errors: noise is white in part and correlated in part; shares and times follow from the "
    "restricted likelihood (Patterson & Thompson 1971).",
)


def write_into(test: ResponseTest, folder: Path, units: Units) -> None:
    """Write tables, charts and page into an existing empty folder.

    Parameters
    ----------
    test : ResponseTest
        The test.
    folder : pathlib.Path
        The folder.
    units : {"SI", "IP"}
        Units of charts and page.
    """
    write_table(side_by_side(test).rename_axis("quantity"), folder / "found")
    write_table(test.windows, folder / "windows")
    write_table(test.table, folder / "record")
    (folder / "response-test.txt").write_text(f"{summary(test)}\n", encoding="utf-8")
    for kind in _CAPTIONS:
        figure = one_chart(lambda ax, kind=kind: charts.draw(test, kind, units, ax))  # type: ignore[misc]
        write_png(figure, folder / f"{kind}.png")
    (folder / "response-test.html").write_text(page(test, units), encoding="utf-8")


def page(test: ResponseTest, units: Units = "SI") -> str:
    """Return the page as HTML.

    Parameters
    ----------
    test : ResponseTest
        The test.
    units : {"SI", "IP"}, default "SI"
        Units that come first.
    """
    figures = [
        {
            "svg": svg(one_chart(lambda ax, kind=kind: charts.draw(test, kind, units, ax)), kind),  # type: ignore[misc]
            "caption": caption,
        }
        for kind, caption in _CAPTIONS.items()
    ]
    text: str = template(__package__, "page.html.jinja", units).render(
        title=_TITLE,
        answer=_answer(test.fit),
        findings=findings(test),
        table=_table(test),
        figures=figures,
        facts=_facts(test),
        methods=METHODS,
        cautions=CAUTIONS,
    )
    return text


def _answer(found: FoundGround) -> str:
    """Return what was found in a sentence, with two standard errors."""
    conductivity, resistance, temperature = 2.0 * found.errors
    return (
        f"The ground conducts {both(found.conductivity, 'W/(m K)', '.2f')}, give or take "
        f"{100.0 * conductivity / found.conductivity:.1f} %; the bore's resistance is "
        f"{both(found.resistance, 'm K/W', '.3f')}, "
        f"give or take {100.0 * resistance / found.resistance:.1f} %; "
        f"undisturbed, the ground has {both_degrees(found.temperature)}, give or take "
        f"{both(temperature, 'K', '.2f')} (two standard errors)."
    )


def _table(test: ResponseTest) -> list[list[str]]:
    table = side_by_side(test)

    def form(name: object) -> str:
        return ".2g" if "standard error" in str(name) else ".4g"

    rows = [[str(name), *(format(value, form(name)) for value in row)] for name, row in table.iterrows()]
    return [["", *map(str, table)], *rows]


def _facts(test: ResponseTest) -> list[tuple[str, str]]:
    record = test.record
    facts = [
        *test.origin,
        ("bore", f"{both(test.bore.depth, 'm', '.1f')} deep, {both(test.bore.diameter, 'm', '.3f')} wide"),
        ("heat", f"{both(record.level / test.bore.depth, 'W/m', '.1f')}, {record.level / 1000.0:.2f} kW"),
        ("rows", f"{record.times.size:,} over {record.duration / 3600.0:.1f} h"),
        (
            "assumed",
            f"ground's heat capacity {float(test.volumetric_heat_capacity) / 1e6:.2f} MJ/(m3 K)",
        ),
    ]
    seen: dict[str, str] = {}
    for label, text in facts:
        seen.setdefault(label, text)
    return list(seen.items())

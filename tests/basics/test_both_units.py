"""Sentences that serve readers of SI and of inch-pound units alike."""

import re
from pathlib import Path

import pytest

import loopdrift as ld
from loopdrift.basics.both_units import FACTORS, both, both_degrees, inch_pound_first, pair
from loopdrift.reporting import overview, report

DEMO = Path(ld.__file__).parent / "demo"

UNITS = r"degC|K|m(?! K)|m2|m3|L|kW(?! of lights)|kWh|kg/s|W/K|W/m|W/\(m2? K\)|m K/W"
ALONE = re.compile(rf"(?<!m)\d (?:{UNITS})(?![\w/(])(?! \()")
"""A number in SI without its fellow."""


@pytest.fixture(scope="module")
def run() -> ld.Run:
    return ld.Design.read(DEMO / "design.toml").run(2)


@pytest.mark.parametrize(
    ("value", "unit", "form", "said"),
    [
        (85.0, "m", ".1f", "85.0 m (279 ft)"),
        (340.0, "m", ",.0f", "340 m (1,115 ft)"),
        (0.45, "W/(m2 K)", "g", "0.45 W/(m2 K) (0.079 Btu/(h ft2 degF))"),
        (-2.41, "K", "+.2f", "-2.41 K (-4.34 degF)"),
        (0.0, "kWh", ",.0f", "0 kWh (0.0 million Btu)"),
        (31209.0, "kWh", ",.0f", "31,209 kWh (106 million Btu)"),
        (100.584, "m", "g", "100.6 m (330 ft)"),
        (2.24996, "W/(m K)", "g", "2.25 W/(m K) (1.30 Btu/(h ft degF))"),
        (224806.0, "kW", ".3g", "225,000 kW (767,100 kBtu/h)"),
        (3600.0, "m", ",.0f", "3,600 m (11,810 ft)"),
        (12600.0, "m3", ",.0f", "12,600 m3 (445,000 ft3)"),
        (3.048, "m", ".2f", "3.05 m (10.0 ft)"),
        (8.07, "K", ".2f", "8.07 K (14.5 degF)"),
        (0.164, "K", ".3f", "0.164 K (0.295 degF)"),
    ],
)
def test_both_have_digits_alike(value: float, unit: str, form: str, said: str) -> None:
    assert both(value, unit, form) == said


def test_no_sentence_leaves_si_alone(run: ld.Run) -> None:
    design = run.design
    said = [
        *(str(finding) for finding in run.findings),
        *(f"{label}: {text}" for label, text in overview.facts(design)),
        *(f"{label}: {text}" for label, text in design.loads.origin),
        *(" ".join(margin[:5]) for margin in report.answer.margins(run)),
        report.answer.needs(design, 1),
        report.answer.answer(run)[1].replace("kWh of electricity", ""),
        str(run.heat_build_up()),
        str(run.recovery(5)),
    ]
    assert not [each for text in said for each in ALONE.findall(text.replace("ton (3.517 kW)", "ton"))]


def test_tables_of_an_inch_pound_report(run: ld.Run) -> None:
    page = report.page(run, units="IP")
    headings = re.findall(r"<th>(.*?)</th>", page)
    assert {"Heat extracted [kBtu]", "Electricity [kWh]", "Fuel [million Btu]", "Per million Btu"} <= set(
        headings
    )
    assert not {heading for heading in headings if "°C" in heading}
    assert "deg" not in re.sub("degradation", "", page, flags=re.DOTALL)
    assert "--years 2 --units IP" in page
    drawn = run.yearly["heat_extracted_kWh"].loc[1] * 3.412141633
    assert f"<td>{float(f'{drawn:.3g}'):,.0f}</td>" in page
    levelised = run.cost().summary["levelised_cost_per_kWh"].iloc[0] / 3412.141633e-6
    assert f"<td>{levelised:.1f}</td>" in page


def test_an_inch_pound_summary_has_heat_in_btu(run: ld.Run) -> None:
    from loopdrift.reporting.summary import summary

    table = summary(run, units="IP").splitlines()
    units = next(line for line in table if "[degF]" in line)
    assert units.split() == [*["[degF]"] * 4, *["[kBtu]"] * 2, "[kWh]", "[kBtu]", "[-]"]


def test_months_in_inch_pound_units(run: ld.Run) -> None:
    months = overview.overview(run.design, units="IP")
    heat = run.design.loads.heating.sum() / 1000.0 * 3.412141633
    assert f"{heat:,.0f}" in months and "[kBtu]" in months and "[kWh]" not in months


@pytest.mark.parametrize("unit", [unit for unit in FACTORS if unit not in ("1/kWh", "Pa s")])
@pytest.mark.parametrize("value", [0.0, 0.0345, -12.5, 123456.0])
def test_inch_pound_units_are_put_first(value: float, unit: str) -> None:
    metric, imperial = pair(value, unit, ",.2f")
    text = f"It is {both(value, unit, ',.2f')}, as said (in a table)."
    assert inch_pound_first(text) == f"It is {imperial} ({metric}), as said (in a table)."


def test_only_pairs_are_turned() -> None:
    for text, turned in (
        ("at 1.1 kg/s (1.08 L/s, 17.1 gal/min)", "at 17.1 gal/min (1.08 L/s, 1.1 kg/s)"),
        ("14.8 kW (4.2 tons); 45 to 90 m (150 to 300 ft)", "4.2 tons (14.8 kW); 150 to 300 ft (45 to 90 m)"),
        ("per ton (3.517 kW), 4 bores (85 m deep), year 2 (55 kWh)", None),
    ):
        assert inch_pound_first(text) == (text if turned is None else turned)
    assert inch_pound_first(both_degrees(-4.0)) == "24.8 degF (-4.0 degC)"

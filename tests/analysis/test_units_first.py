"""Sentences about comparisons and studies put the units first that are asked for."""

import re

import loopdrift as ld
from loopdrift.analysis.study import folder

METRIC_FIRST = re.compile(r"\d (?:m|m2|K|degC|kg/s) \(\S+ \S+\)")
IMPERIAL_FIRST = re.compile(r"\d (?:ft|ft2|degF|gal/min) \(\S+ \S+\)")


def only(text: str, wanted: re.Pattern[str], other: re.Pattern[str]) -> bool:
    text = " ".join(text.split())
    return wanted.search(text) is not None and other.search(text) is None


def test_a_comparison(design) -> None:
    site = ld.Site(land=ld.Land(area=900.0), drilling=ld.Drilling(max_depth=120.0))
    compared = design.compare(site, years=1)
    assert only(compared.text(units="SI"), METRIC_FIRST, IMPERIAL_FIRST)
    assert only(compared.text(units="IP"), IMPERIAL_FIRST, METRIC_FIRST)


def test_a_study(design) -> None:
    found = ld.Study(design, vary={"depth": [90.0, 100.0], "flow": [0.5], "ground.temperature": [10.0]}).run(
        1
    )
    assert only(folder.text(found), METRIC_FIRST, IMPERIAL_FIRST)
    assert only(folder.text(found, "IP"), IMPERIAL_FIRST, METRIC_FIRST)
    assert "flow 0.5 kg/s." in folder.text(found, "IP") or "flow 0.5 kg/s, " in folder.text(found, "IP")

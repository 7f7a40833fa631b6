"""What the demo's files say in their comments is true of their numbers and of the weather that they name."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files

import numpy as np
import pytest

import loopdrift as ld

DEMO = files("loopdrift") / "demo"


def texts_and_values(name: str) -> tuple[str, dict]:
    text = (DEMO / name).read_text(encoding="utf-8")
    return text, tomllib.loads(text)


@pytest.mark.parametrize("name", ["site.toml", "trenches.toml"])
def test_ground_is_warmer_than_the_air_that_is_stated_beside_it(name: str) -> None:
    text, values = texts_and_values(name)
    site = name == "site.toml"
    sample = (values if site else values["ground_side"]["surface"])["weather"]["name"]
    ground = values["excavation"]["soil"] if site else values["ground"]
    air = float(np.mean(ld.Weather.sample(sample).dry_bulb))
    line = next(line for line in text.splitlines() if re.search(r"temperature = 8\.0", line))
    (stated,) = re.findall(r"air\D* (\d+\.\d+)", line)
    assert stated == f"{air:.1f}"
    assert "warmer" in line
    assert ground["temperature"] > air


@pytest.mark.parametrize("name", ["trenches.toml", "pond.toml"])
def test_the_first_lines_describe_what_follows(name: str) -> None:
    text, values = texts_and_values(name)
    heading = text[: text.index("\n\n")]
    assert "cold continental climate" in heading
    weather = values["ground_side"].get("weather") or values["ground_side"]["surface"]["weather"]
    assert weather["name"] == "cold continental"
    if name == "trenches.toml":
        assert values["ground"]["soil"] in heading
        assert "Four trenches with four pipes" in heading
        side = values["ground_side"]
        assert side["trenches"] == side["columns"] * side["rows"] == 4
    else:
        (stated,) = re.findall(r"([\d,]+) m2", heading)
        design = ld.Design.read(str(DEMO / name))
        assert design.ground_side.area == pytest.approx(float(stated.replace(",", "")), rel=0.02)

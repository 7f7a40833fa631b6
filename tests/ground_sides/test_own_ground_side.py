"""A ground side of one's own, written as DEVELOPERS.md says, in this file alone: it runs, sizes and reports.

It is a tank that somebody else keeps at one temperature. To the engine it is a well with much water, whose
temperature nothing changes.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure

import loopdrift as ld
from loopdrift.basics.errors import InvalidInput
from loopdrift.ground_sides import kind as known
from loopdrift.ground_sides.candidate import Candidate, ran
from loopdrift.ground_sides.judged import judged
from loopdrift.ground_sides.kind import Chart, Kind, kind_of, register
from loopdrift.ground_sides.rule import RuleOfThumb, Usual, explained
from loopdrift.parts.ground_side import GroundSide
from loopdrift.reporting import figures, report
from loopdrift.reporting.overview import overview
from loopdrift.reporting.summary import summary


@dataclass(frozen=True, kw_only=True)
class Tank(GroundSide):
    """A tank at one temperature [degC], reached through a coil of some length [m]."""

    wall = "tank's water"

    temperature: float

    @property
    def sizes(self):
        return {"tanks": None}

    def size_of(self, what):
        return 1.0

    def __post_init__(self) -> None:
        if not 0.0 < self.temperature < 40.0:
            raise InvalidInput("Tank", "temperature", self.temperature, "degC", "must be from 0 to 40 degC")

    def __str__(self) -> str:
        return f"a tank at {self.temperature:.1f} degC"

    def for_engine(self) -> dict[str, Any]:
        aquifer = ld.Aquifer(
            temperature=self.temperature, thickness=10.0, transmissivity=0.05, storativity=0.01
        )
        return ld.Well(
            aquifer=aquifer,
            diameter=0.5,
            sustained_yield=50.0,
            lift=0.0,
            pump_efficiency=1.0,
            lowest_discharge=0.1,
        ).for_engine()

    def family(self, plot=None):
        return [Tank(temperature=each) for each in (4.0, 6.0, 8.0, 10.0)]

    @property
    def variables(self) -> dict[str, str | None]:
        return {"temperature": "degC"}

    @property
    def children(self) -> dict[str, Any]:
        return {}


class Tanks(Kind):
    """Tanks."""

    name = "tank"
    part = Tank
    conducts = False

    def assumptions(self, design) -> str:
        return "somebody keeps the tank warm"

    def rules(self, design, run) -> Iterator[RuleOfThumb]:
        usual = Usual(30.0, 35.0, "degC", "86 to 95 degF")
        rule = RuleOfThumb("Temperature of the tank", design.ground_side.temperature, usual)
        yield explained(rule, "It is a toy.")

    def charts(self, design) -> Mapping[str, Chart]:
        def draw(units, ax):
            ax = Figure().subplots() if ax is None else ax
            ax.set_title(str(design.ground_side))
            return ax

        return {"layout": Chart(draw)}

    @property
    def layouts(self):
        def on_site(design, site, years) -> Candidate:
            return ran(
                "tank", judged([design.replace(ground_side=Tank(temperature=12.0))], years), site, years
            )

        return {"tank": on_site}


@pytest.fixture
def tanks(monkeypatch):
    monkeypatch.setattr(known, "_kinds", dict(known._kinds))
    register(Tanks())


@pytest.fixture(name="tank")
def of_tank(design, tanks):
    return design.replace(ground_side=Tank(temperature=10.0), fluid=ld.Fluid("water"), flow=2.0)


def test_it_runs(tank):
    run = tank.run(2)
    assert run.wall == "tank's water"
    assert np.allclose(run.hourly["wall_degC"], 10.0)
    assert isinstance(kind_of(tank.ground_side), Tanks)
    assert "Temperature of the tank" in summary(run)
    assert "somebody keeps the tank warm" in overview(tank)


def test_it_is_sized(tank):
    warmer = tank.replace(limits=ld.Limits(entering_fluid_min=7.0))
    assert warmer.size("tanks", years=1).design.ground_side == Tank(temperature=8.0)


def test_it_is_drawn_and_reported(tank, tmp_path):
    run = tank.run(1)
    assert "layout" in figures.kinds(tank)
    assert "section" not in figures.kinds(tank)
    assert run.plot("layout").get_title() == "a tank at 10.0 degC"
    report.write(run, tmp_path / "report.html", title="A tank")
    assert "somebody keeps the tank warm" in (tmp_path / "report.html").read_text()


def test_it_varies_in_a_study(tank):
    found = ld.Study(tank, vary={"ground_side.temperature": [8.0, 12.0]}).run(1)
    lowest = found["entering_fluid_min_degC"].to_numpy().ravel()
    assert lowest == pytest.approx([8.0, 12.0])


def test_it_is_compared_on_a_site(tank):
    found = tank.compare(ld.Site(), years=1)
    assert "tank" in found.table.index
    assert found.table.loc["tank", "fits"]


def test_its_file_is_written_and_read(tank, tmp_path):
    tank.write(tmp_path / "design.toml")
    assert 'kind = "tank"' in (tmp_path / "design.toml").read_text()
    assert ld.Design.read(tmp_path / "design.toml").ground_side == tank.ground_side

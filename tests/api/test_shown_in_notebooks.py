"""What people leave at the end of a cell: one line of `repr`, and a page of HTML whose text is escaped."""

import dataclasses
import inspect
from importlib.resources import files

import pytest

import loopdrift as ld


@pytest.fixture(scope="module")
def shown(design, run):
    study = ld.Study(design, vary={"spacing": [4.0, 6.0]})
    return {
        "design": design,
        "run": run,
        "field": design.ground_side,
        "sizing": design.size(years=1),
        "study": study,
        "build-up": run.heat_build_up(),
        "recovery": run.recovery(1),
        "comparison": design.compare(ld.Site(), years=1),
    }


def test_a_repr_is_one_line_that_names_its_type(shown):
    for each in shown.values():
        assert repr(each).startswith(f"<{type(each).__name__}: ")
        assert "\n" not in repr(each)
        assert len(repr(each)) < 250


def within(value, seen):
    """Yield an object of the package and all that it holds."""
    if isinstance(value, tuple | list) and not hasattr(value, "_fields"):
        for each in value:
            yield from within(each, seen)
    elif type(value).__module__.startswith("loopdrift.") and id(value) not in seen:
        seen.add(id(value))
        yield value
        if dataclasses.is_dataclass(value):
            for field in dataclasses.fields(value):
                yield from within(getattr(value, field.name), seen)


def test_each_part_and_result_is_shown_in_one_line(shown, run):
    demo = files("loopdrift") / "demo"
    mains = [ld.PipeRun(name="header", length=20.0, pipe=ld.Pipe.sdr(11, outer_diameter=0.05))]
    farm = ld.Design.read(demo / "design.toml").replace(
        piping=ld.Piping(mains=mains, pump=ld.Pump(efficiency=0.4)), project=ld.Project(name="A farm")
    )
    water = {"return_water": 30.0, "mild_return_water": 23.0, "cold_day": -20.0}
    parts = [
        ld.WaterDistribution(ld.Weather.sample("hot humid"), **water),
        ld.HotWater(daily_volume=0.2, volume=0.3),
        ld.Building(
            floor_area=140.0,
            walls=[ld.Opaque(area=30.0, u_value=0.25)] * 5,
            windows=[ld.Window(area=14.0, u_value=1.1, g_value=0.55, azimuth=180.0)],
            infiltration=0.15,
            occupancy={0: 1.0, 8: 0.3},
        ),
        ld.Bill(first="2023-01-01", last="2023-01-31", amount="90 gal"),
        ld.Site.read(demo / "site.toml"),
    ]
    results = [run.judgement, run.error, run.findings, farm.quantities()]
    kinds = set()
    for each in within([*shown.values(), farm, *parts, *results], set()):
        assert "\n" not in repr(each), type(each)
        assert len(repr(each)) <= 320, repr(each)
        kinds.add(type(each).__name__)
    assert len(kinds) > 45, kinds


def test_a_part_is_shown_by_what_differs_from_the_usual():
    pipe = ld.Pipe(outer_diameter=0.032, wall_thickness=0.003)
    assert repr(pipe) == "Pipe(outer_diameter=0.032, wall_thickness=0.003)"
    assert repr(ld.UTube(pipe=pipe, shank_spacing=0.07)) == "UTube(pipe=Pipe(...), shank_spacing=0.07)"


def test_what_notebooks_show_is_html(shown):
    for name, each in shown.items():
        if name != "field":
            assert each._repr_html_().startswith("<strong>")


def test_every_class_has_html():
    """Except tuples, whose line of text names and holds all they have, and errors."""
    for name in ld.__all__:
        each = getattr(ld, name)
        if inspect.isclass(each) and not issubclass(each, tuple | BaseException):
            assert hasattr(each, "_repr_html_"), name


def test_parts_show_their_numbers_with_units(design):
    html = design.ground._repr_html_()
    assert html.startswith("<strong>Ground</strong>")
    assert ">volumetric heat capacity</th>" in html
    assert ">2 W/(m K)</td>" in html
    assert "2 bores of 100.0 m (328 ft)" in design.ground_side._repr_html_()
    assert "heating up to 6 kW" in design.loads._repr_html_()
    assert "white-space: normal" in design.ground_side._repr_html_()


def test_a_run_shows_its_chart(shown):
    assert "<svg" in shown["run"]._repr_html_()


def test_text_is_escaped():
    from loopdrift.basics import notebook

    assert notebook.facts([("<b>", "a & b")]).count("<b>") == 0
    assert "&lt;i&gt;" in notebook.sentences(["<i>"])


def test_the_version_is_the_engines():
    assert ld.__version__.count(".") == 2

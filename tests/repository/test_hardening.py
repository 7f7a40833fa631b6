"""Values and files that once ended in somebody else's exception, were believed, or never ended."""

import copy
import pickle
import re

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

import loopdrift as ld
from loopdrift import plots
from loopdrift.basics.bounds import MOST_CASES
from loopdrift.basics.errors import InvalidFile, InvalidInput
from loopdrift.files.tables import write_table

BORE = {"depth": 100.0, "buried_depth": 2.0, "diameter": 0.15, "resistance": 0.1}
HEATING = {"heating_cop": [4.0, 0.05], "heating_capacity": [8000.0, 200.0]}


def window(azimuth):
    return ld.Window(area=1.0, u_value=1.1, g_value=0.5, azimuth=azimuth).azimuth


@pytest.mark.parametrize(
    "make",
    [
        lambda: ld.Bore(**BORE | {"depth": 10**400}),
        lambda: ld.Bore(**BORE | {"depth": 10**5000}),
        lambda: ld.Bore(**BORE | {"depth": "8 ft%"}),
        lambda: ld.Bore(**BORE | {"depth": "2 m*9**9**8"}),
        lambda: ld.Bore(**BORE | {"depth": "3 m" + "*m/m" * 5000}),
        lambda: ld.Bore(**BORE | {"depth": "3 " + "(" * 5000 + "m" + ")" * 5000}),
        lambda: window("180 %"),
        lambda: window("3 m/m"),
        lambda: ld.HeatPump.from_curves(**HEATING | {"heating_cop": [True, 0.05]}),
        lambda: ld.HeatPump.from_curves(**HEATING, heating_range=(True, 20.0)),
        lambda: ld.HeatPump.from_curves(**HEATING | {"heating_cop": [10**400]}),
        lambda: ld.BoreField(ld.Bore(**BORE), positions=[[True, 0.0]]),
        lambda: ld.Loads(heating=[True] * 8760),
        lambda: ld.Weather(dry_bulb=np.ones(8760, dtype=bool)),
        lambda: ld.Samples({"flow": None}, count=10**9),
        lambda: ld.Alternative(name="a\x1b[31mb", efficiency=0.9),
        lambda: ld.Alternative(name="long " * 100, efficiency=0.9),
    ],
)
def test_values_are_refused_in_few_words(make):
    with pytest.raises(InvalidInput) as error:
        make()
    assert len(str(error.value)) < 300 and str(error.value).isprintable()


def test_angles_and_shares_are_themselves():
    assert window("180 deg") == window("0.5 turn") == 180.0
    with pytest.raises(InvalidInput):
        ld.Fluid("propylene glycol", mass_fraction="20 deg")
    assert ld.Fluid("propylene glycol", mass_fraction="20 %").mass_fraction == 0.2


@pytest.mark.parametrize("field", ["flow", "start_month"])
@pytest.mark.parametrize("value", [-(2**70), 2**64, 10**5000, True], ids=["less", "more", "digits", "true"])
def test_whole_numbers_that_no_engine_takes(design, field, value):
    with pytest.raises(InvalidInput, match=rf"^Design\.{field} = ") as error:
        design.replace(**{field: value})
    assert "expected" not in str(error.value) and "Overflow" not in str(error.value)


def test_too_many_cases_are_refused_by_number(design):
    values = list(range(50, 1050))
    with pytest.raises(InvalidInput, match=rf"1000000000: must be at most {MOST_CASES:,}"):
        ld.Study(design, vary={"depth": values, "ground.conductivity": values, "flow": values})


@pytest.mark.parametrize("read", [ld.Loads.read, ld.Weather.read, ld.HeatPump.from_table, ld.Design.read])
def test_a_device_that_never_ends_is_refused(read):
    with pytest.raises(InvalidFile, match=r"must be at most [0-9]+ MiB long"):
        read("/dev/zero")


def test_a_message_shows_nothing_of_another_file(tmp_path):
    secret = tmp_path / "secret"
    secret.write_text("token-of-somebody\nhunter2\n")
    for read in (ld.Loads.read, ld.Weather.read, ld.HeatPump.from_table):
        with pytest.raises(InvalidFile) as error:
            read(secret)
        assert "token" not in str(error.value) and "hunter2" not in str(error.value)


def test_messages_are_short_and_safe_for_a_terminal():
    error = InvalidInput("A" * 1000, "b" * 1000, "c\x1b[31m" * 1000, "m", "d" * 1000)
    assert len(str(error)) < 500 and str(error).isprintable()
    error = InvalidFile("p" * 5000, 3, "c" * 1000, "\x07" * 100_000, "must be less")
    assert len(str(error)) < 500 and str(error).isprintable()


@pytest.mark.parametrize("copied", [copy.deepcopy, copy.copy, lambda part: pickle.loads(pickle.dumps(part))])
def test_copies_can_not_be_written_to(design, copied):
    for array in (
        copied(ld.Weather.sample("hot humid")).dry_bulb,
        copied(design.ground_side).positions,
        copied(design).loads.heating,
    ):
        with pytest.raises(ValueError, match="read-only"):
            array[0] = 1.0


def test_equal_fields_hash_alike():
    one, other = (ld.BoreField(ld.Bore(**BORE), positions=[[zero, 6.0]]) for zero in (0.0, -0.0))
    assert one == other and hash(one) == hash(other)


def test_check_refuses_what_has_no_cost(command, design, tmp_path):
    furnace = ld.Alternative(name="furnace", efficiency=0.9)
    design.replace(prices=ld.Prices(electricity=ld.Tariff(price=0.2), alternatives=[furnace])).write(
        tmp_path / "house.toml"
    )
    for verb in (["check"], ["run", "--years", "1", "--out", tmp_path / "out"], ["report", "--years", "1"]):
        code, out, err = command(verb[0], tmp_path / "house.toml", *verb[1:])
        assert (code, out) == (2, "") and "Alternative.cooling_cop = None: must be given" in err


def test_dollars_are_no_mathematics():
    table = pd.DataFrame({"$x_^$ heat pump": [1.0, 2.0]}, index=[1, 2])
    ax = plots.cost(table, currency="$", ax=Figure().subplots())
    ax.figure.canvas.draw()  # where it is taken for mathematics, this fails


def test_no_text_of_a_table_is_a_formula(tmp_path):
    table = pd.DataFrame({"plant": ["=1+1", "@sum", "plain"], "cost": [-1.0, 2.0, 3.0]})
    write_table(table, tmp_path / "cost")
    lines = (tmp_path / "cost.csv").read_text().splitlines()
    assert [re.sub('"', "", line).split(",")[1] for line in lines[1:]] == ["'=1+1", "'@sum", "plain"]
    assert pd.read_parquet(tmp_path / "cost.parquet")["plant"].tolist() == table["plant"].tolist()

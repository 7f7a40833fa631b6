"""The commands that show hourly loads and weather, and the ways of loads in a design file."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

SEASON = np.cos(2 * np.pi * np.arange(8760) / 8760)
HEATING = np.clip(6000.0 * SEASON, 0.0, None)
WAYS = {
    "months": 'kind = "months"\n'
    'heating_months = [900, "0.8 MWh", 700, 300, 100, 0, 0, 0, 50, 300, 600, 800]\n'
    'heating_peaks = ["5 kW", 5000, 4000, 3000, 2000, 0, 0, 0, 1500, 2500, 4000, 4800]\n',
    "months without heating": "kind = 'months'\n"
    "cooling_months = [0, 0, 0, 0, 0, 100, 300, 200, 0, 0, 0, 0]\n",
    "monthly bills": 'kind = "bills"\n'
    'monthly_bills = ["40 therm", 900, 800, 500, 300, 150, 140, 145, 200, 500, 800, 999]\n',
    "bills by readings": 'kind = "bills"\nfuel = "propane"\nbills = [\n'
    + "".join(
        f'{{ first = 2023-{month:02}-01, last = 2023-{month + 1:02}-{last}, amount = "{amount} gal" }},\n'
        for month, last, amount in (
            (1, 28, 90),
            (3, 30, 60),
            (5, 30, 20),
            (7, 31, 15),
            (9, 31, 30),
            (11, 31, 80),
        )
    )
    + "]\n",
    "a peak": 'kind = "peak"\nheating_peak = "5 kW"\nheating_full_load_hours = 1800\n',
    "a total": "kind = 'total'\nheating_total = 9000.0\ncooling_total = 50.0\n",
}


@pytest.fixture
def text(design_path):
    """The design of the tests without its loads."""
    lines = design_path.read_text().split("\n")
    begin = lines.index("[loads]")
    end = next((at for at in range(begin + 1, len(lines)) if lines[at].startswith("[")), len(lines))
    return "\n".join([*lines[:begin], *lines[end:]])


@pytest.mark.parametrize("name", WAYS)
def test_loads_of_a_design_file_may_be_less_than_hourly(name, text, design_path, command):
    design_path.write_text(f'{text}\n[loads]\nweather = "mild maritime"\n{WAYS[name]}')
    loads = ld.Design.read(design_path).loads
    assert loads.shaped_from is not None
    assert loads.heating.any() or loads.cooling.any()
    code, out, err = command("loads", design_path)
    assert (code, err) == (0, "")
    assert f"shaped from     {loads.shaped_from}: " in out


def test_ways_do_not_stand_beside_each_other(text, design_path, command):
    design_path.write_text(
        f'{text}\n[loads]\nkind = "total"\nweather = "mild maritime"\nheating_total = 9e3\n'
        'heat_loss = "5 kW"\n'
    )
    code, _, err = command("check", design_path)
    assert code == 2 and "loads.heat_loss" in err and "belongs to kind 'heat loss', not to 'total'" in err
    design_path.write_text(
        f'{text}\n[loads]\nkind = "total"\nweather = "mild maritim"\nheating_total = 9e3\n'
    )
    code, _, err = command("check", design_path)
    assert code == 2 and "mild maritim: No such file" in err


def test_a_file_and_what_it_leaves_open_stand_in_the_design_file(text, design_path):
    quarters = pd.DataFrame({"Meter 1": np.repeat(HEATING, 4) / 4e3})
    quarters.to_csv(design_path.with_name("meter.csv"), index=False)
    design_path.write_text(
        f'{text}\n[loads]\nkind = "file"\npath = "meter.csv"\ncolumns = {{ heating = "Meter 1" }}\n'
        'unit = "kWh"\ncadence = "15 min"\n'
    )
    assert_allclose(ld.Design.read(design_path).loads.heating, HEATING, rtol=1e-9)


def test_loads_of_a_meter_are_shown_and_written(tmp_path, command):
    path, out = tmp_path / "meter.csv", tmp_path / "out"
    quarters = pd.DataFrame({"heating": np.repeat(HEATING, 4) / 4e3})
    quarters.to_csv(path, index=False)
    code, _, err = command("loads", path)
    assert code == 2 and "column 'heating': 'heating': has no unit" in err
    code, _, err = command("loads", path, "--unit", "kWh")
    assert code == 2 and "cadence = '15 min'" in err
    code, printed, err = command("loads", path, "--unit", "kWh", "--cadence", "15 min", "--out", out)
    assert (code, err) == (0, "")
    text = " ".join(printed.split())
    assert "heating 16,73" in text and "largest hour 6 kW (20 kBtu/h) on 1 January from 00:00" in text
    assert "steps 15 min, averaged to hours" in text
    assert_allclose(ld.Loads.read(out / "loads.csv").heating, HEATING, rtol=1e-12)
    assert {file.name for file in out.iterdir()} >= {"loads.csv", "loads.txt", "months.png", "heating.png"}
    assert (out / "loads.txt").read_text() in printed
    code, _, err = command("loads", path, "--unit", "kWh", "--cadence", "15 min", "--out", tmp_path)
    assert code == 2 and "meter.csv" in err


def test_weather_is_shown_and_written(tmp_path, command):
    code, printed, err = command("weather", "hot humid", "--out", tmp_path / "out")
    assert (code, err) == (0, "")
    text = " ".join(printed.split())
    assert "place 18.50 deg north, 105.00 deg east" in text and "standard time is UTC+7" in text
    assert "degF d) above 20.0 degC (68.0 degF)" in text and "highest from 11:00" in text
    in_inches = " ".join(command("weather", "hot humid", "--units", "IP")[1].split())
    assert "K d) above 68.0 degF (20.0 degC)" in in_inches and "33 ft (10 m) above the sea" in in_inches
    assert {"weather.csv", "weather.txt", "temperature.png", "sun.png"} <= {
        file.name for file in (tmp_path / "out").iterdir()
    }
    assert ld.Weather.read(tmp_path / "out" / "weather.csv") == ld.Weather.sample("hot humid")
    code, _, err = command("weather", tmp_path / "gone.epw")
    assert code == 2 and "No such file" in err


def test_a_design_file_takes_no_options_of_a_meter(design_path, command):
    code, _, err = command("loads", design_path, "--unit", "kW")
    assert code == 2 and "A design file says itself" in err


@pytest.mark.parametrize("kind", ["days", "hours"])
def test_charts_of_loads(kind):
    from matplotlib.figure import Figure

    ax = ld.Loads(heating=HEATING).plot(kind, units="IP", ax=Figure(layout="constrained").subplots())
    ax.figure.canvas.draw()
    labels = " ".join([ax.get_ylabel(), *(other.get_ylabel() for other in ax.figure.axes)])
    assert "Heating [kBtu/h]" in labels and ax.get_xlabel() == "Month"
    with pytest.raises(ld.InvalidInput, match=r"Loads\.kind = 'weeks'"):
        ld.Loads().plot("weeks")
    with pytest.raises(ld.InvalidInput, match=r"Loads\.series = 'heat'"):
        ld.Loads().plot(series="heat")
    with pytest.raises(ld.InvalidInput, match=r"Weather\.ghi = nothing"):
        ld.Weather(dry_bulb=np.zeros(8760)).plot("sun")

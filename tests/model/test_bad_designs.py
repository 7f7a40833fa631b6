"""Bad values of designs and runs: type of the exception, and a message with field, value, unit and cure."""

import pytest

import loopdrift as ld

COLD = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=-12)
BRINE = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=5.0
)

DESIGNS = {
    "negative flow": ({"flow": -1}, ["Design.flow = -1 kg/s", "from 0.001 to 100000 kg/s"]),
    "flow as a length": ({"flow": "9 ft"}, ["Design.flow = 9 ft", "a unit like kg/s"]),
    "month 13": ({"start_month": 13}, ["Design.start_month = 13", "from 1 to 12"]),
    "half a month": ({"start_month": 1.5}, ["Design.start_month = 1.5", "must be an int"]),
    "pump that gives power": ({"pump_power": -3}, ["Design.pump_power = -3 W", "from 0 to 10000000 W"]),
    "no ground": ({"ground": None}, ["Design.ground = None", "must be a Ground"]),
    "fluid as text": ({"fluid": "water"}, ["Design.fluid = 'water'", "must be a Fluid"]),
    "frozen at rest": (
        {"ground": COLD},
        ["Fluid.freezing_point = -10 degC", "below the undisturbed ground, -12.00 degC"],
    ),
    "no cooling": (
        {"heat_pump": ld.HeatPump.from_curves(heating_cop=[4.0])},
        ["HeatPump.cooling_cop = nothing", "the loads include cooling"],
    ),
    "no heating": (
        {"heat_pump": ld.HeatPump.from_curves(cooling_cop=[4.0])},
        ["HeatPump.heating_cop = nothing", "the loads include heating"],
    ),
    "hardly any flow": (
        {"flow": 0.01},
        ["Design.flow = 0.01 kg/s", "must be above 0.250 kg/s", "past the wall temperature"],
    ),
    "frozen on the way": (
        {"fluid": BRINE},
        ["Fluid.freezing_point = 5 degC", "below the leaving fluid temperature", "more antifreeze"],
    ),
}


@pytest.mark.parametrize(("changes", "parts"), DESIGNS.values(), ids=DESIGNS)
def test_designs(design, changes, parts, says):
    with pytest.raises(ld.InvalidInput) as error:
        design.replace(**changes).run(1)
    says(error, parts)


@pytest.mark.parametrize("years", [0, 101, 1.5, "2", True, -3])
def test_years(design, years, says):
    with pytest.raises(ld.InvalidInput) as error:
        design.run(years)
    says(error, [f"Design.years = {years!r}", "whole number from 1 to 100"])


def test_what_a_run_cannot_draw(design, run, says):
    with pytest.raises(ld.InvalidInput) as error:
        run.plot("pie")
    says(error, ["Run.kind = 'pie'", "one of horizon, coldest-week"])
    with pytest.raises(ld.InvalidInput) as error:
        run.plot("energy", units="metric")
    says(error, ["Run.units = 'metric'", "SI or IP"])
    with pytest.raises(ld.InvalidInput) as error:
        run.hour_of("warmest")
    says(error, ["Run.which = 'warmest'", "coldest or hottest"])
    with pytest.raises(ld.InvalidInput) as error:
        design.run(1, progress=5)
    says(error, ["Design.progress = 5", "callable"])

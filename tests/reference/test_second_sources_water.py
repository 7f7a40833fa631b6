"""Water of tanks, wells and mixtures, and the heat pump's part load, against sources that share no number.

IAPWS-95 by CoolProp, the library chemicals, scipy's constants, and a compressor that starts and stops in
time.
"""

from __future__ import annotations

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from scipy.constants import g as gravity
from scipy.constants import zero_Celsius

import loopdrift as ld
from book import compare
from loopdrift import _core
from loopdrift.basics import units

GROUND = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.5e6, temperature=11.0)
UNIT = ld.HeatPump.from_curves(heating_cop=[4.0])


def of_water(name: str, temperature: float) -> float:
    return PropsSI(name, "T", temperature + zero_Celsius, "P", 101_325, "Water")


def test_water_drawn_takes_the_enthalpy_of_iapws():
    """From cold to warm, by the volume of what is drawn; the code's water of 50 degC makes 0.5 % less of
    it."""
    tank = ld.HotWater(daily_volume=0.2, volume=0.3, use_temperature=42.0, cold_temperature=10.0)
    design = ld.Design(
        ground=GROUND,
        ground_side=ld.BoreField.grid(
            ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1),
            columns=1,
            rows=1,
            spacing=6.0,
        ),
        fluid=ld.Fluid("water"),
        flow=0.4,
        heat_pump=UNIT,
        loads=ld.Loads(heating=np.full(8760, 1000.0)),
        hot_water=tank,
    )
    assert design.tank is not None
    drawn = design.tank["drawn_W"][:24].sum() * 3600.0
    enthalpy = of_water("H", 42.0) - of_water("H", 10.0)
    compare(drawn, 0.2 * of_water("D", 42.0) * enthalpy, rtol=0.01, unit="J")


def test_well_water_is_as_dense_as_at_its_densest():
    """Within 2 in 100,000 of IAPWS-95 at 3.98 degC, and 3 in 10,000 of groundwater of 11 degC."""
    compare(units.WATER_DENSITY, of_water("D", 3.98), rtol=2e-5, unit="kg/m3", what="at 4 degC")
    compare(units.WATER_DENSITY, of_water("D", 11.0), rtol=5e-4, unit="kg/m3", what="at 11 degC")


def test_heat_returned_is_held_back_as_water_stores_it():
    """Water alone in an aquifer would hold back nothing: pi / 3 x volume / flow; heat capacity within 0.5
    %."""
    per_volume = of_water("D", 11.0) * of_water("C", 11.0)
    thickness, distance, flow = 10.0, 50.0, 1.0
    seconds = _core.breakthrough(flow, distance, thickness, per_volume)
    volume_flow = flow / of_water("D", 11.0)
    compare(seconds, np.pi / 3.0 * thickness * distance**2 / volume_flow, rtol=5e-3, unit="s")


def pumped():
    """Hours of a well whose unit runs at full capacity all year."""
    side = ld.Well(
        aquifer=ld.Aquifer(temperature=11.0, thickness=15.0, transmissivity=2e-3, storativity=2e-4),
        diameter=0.3,
        sustained_yield=5.0,
        lift=15.0,
        pump_efficiency=0.5,
        flow=1.5,
        effectiveness=0.8,
        lowest_discharge=2.0,
    )
    unit = ld.HeatPump.from_curves(heating_cop=[4.0], heating_capacity=[8000.0])
    design = ld.Design(
        ground=GROUND,
        ground_side=side,
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.2),
        flow=0.8,
        heat_pump=unit,
        loads=ld.Loads(heating=np.full(8760, 8000.0)),
    )
    return design.run(1).hourly.iloc[-1]


def test_the_wells_pump_lifts_against_gravity():
    end = pumped()
    lifted = 1.5 * gravity * (15.0 + end["drawdown_m"]) / 0.5
    compare(end["electricity_well_W"], lifted, rtol=1e-3, unit="W")


def test_discharged_water_is_colder_by_the_heat_it_gave():
    """Enthalpy of IAPWS-95 between the two temperatures; within 0.5 %."""
    end = pumped()
    given = 1.5 * (of_water("H", 11.0) - of_water("H", end["discharge_degC"]))
    assert end["discharge_degC"] < 10.5
    compare(end["heat_extracted_W"], given, rtol=5e-3, unit="W")


@pytest.mark.parametrize("load", [0.1, 0.3, 0.5, 0.8])
def test_part_load_is_that_of_a_compressor_that_starts_and_stops(load):
    """A cycle of a unit that reaches its capacity with a time constant, and is throttled by its room
    thermostat.

    A thermostat cycles most often at half load, N times an hour: on-time 1 / (4 N (1 - load)). Of each start
    the capacity of one time constant is lost, while the electricity flows, as long as a run is much longer
    than that: 4 N tau (1 - load) of the whole, linear as the code has it (Henderson & Rengarajan 1996, ASHRAE
    Trans. 102(1), from memory). With 60 s and 3 starts an hour the loss is 0.2; the exponential itself makes
    up 1.3 %.
    """
    time_constant, starts = 60.0 / 3600.0, 3.0
    loss = 4.0 * starts * time_constant
    # The fraction that runs, longer than the load for what each start costs; integrated over one run.
    running = load
    for _ in range(200):
        on_time = 1.0 / (4.0 * starts * (1.0 - running))
        hours = np.linspace(0.0, on_time, 4001)
        share = np.trapezoid(1.0 - np.exp(-hours / time_constant), hours) / on_time
        running = load / share
        if running >= 1.0:
            running = 1.0 - 1e-6
    expected = load / running
    unit = ld.HeatPump.from_curves(
        heating_cop=[4.0], heating_capacity=[10_000.0], degradation_coefficient=loss
    )
    design = ld.Design(
        ground=GROUND,
        ground_side=ld.BoreField.grid(
            ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1),
            columns=2,
            rows=2,
            spacing=6.0,
        ),
        fluid=ld.Fluid("water"),
        flow=1.6,
        heat_pump=unit,
        loads=ld.Loads(heating=np.full(8760, 10_000.0 * load)),
    )
    hour = design.run(1).hourly.iloc[0]
    factor = 10_000.0 * load / 4.0 / hour["electricity_W"]
    compare(factor, 1.0 - loss * (1.0 - load), rtol=1e-9, what="equation")
    compare(factor, expected, rtol=0.05, what="integral over a run")

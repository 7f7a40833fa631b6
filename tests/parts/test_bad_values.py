"""Bad values: the type of the exception, and a message with field, value, unit and cure."""

from functools import partial

import numpy as np
import pandas as pd
import pytest

import loopdrift as ld

NAN = float("nan")
HOURS = pd.date_range("2023-01-01", periods=8760, freq="h")

pipe = ld.Pipe.sdr(11, outer_diameter=0.032)
u_tube = ld.UTube(pipe=pipe, shank_spacing=0.07)
bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
built = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, pipes=u_tube, grout_conductivity=1.5)
ground = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
brine = ld.Fluid.constant(
    density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
)


pane = ld.Window(area=2.0, u_value=1.2, g_value=0.5, azimuth=180.0)
shed = ld.Building(floor_area=50.0, walls=ld.Opaque(area=100.0, u_value=0.3), infiltration=0.3)


def heat_loss(**changes):
    weather = ld.Weather(dry_bulb=np.ones(8760))
    return ld.Loads.from_heat_loss(weather, **{"heating_kWh": 5000.0, **changes})


def resistance(**changes):
    return built.resistance_at(
        **{"ground": ground, "fluid": brine, "flow": 0.3, "temperature": 5.0, **changes}
    )


def place(**changes):
    return {"depth": 100.0, "buried_depth": 1.0, "diameter": 0.15, **changes}


# What is done, and what the message must say.
PARTS = {
    "negative conductivity": (
        partial(ground.replace, conductivity=-2),
        ["Ground.conductivity = -2 W/(m K)", "from 0.1 to 20 W/(m K)"],
    ),
    "nan conductivity": (
        partial(ground.replace, conductivity=NAN),
        ["Ground.conductivity = nan W/(m K)", "finite number"],
    ),
    "infinite conductivity": (
        partial(ground.replace, conductivity=float("inf")),
        ["Ground.conductivity = inf W/(m K)", "finite number"],
    ),
    "no conductivity": (
        partial(ground.replace, conductivity=None),
        ["Ground.conductivity = None", "number in W/(m K)"],
    ),
    "truth as a number": (
        partial(ground.replace, conductivity=True),
        ["Ground.conductivity = True", "number in W/(m K)"],
    ),
    "list as a number": (
        partial(ground.replace, conductivity=[1, 2]),
        ["Ground.conductivity = [1, 2]", "number in W/(m K)"],
    ),
    "words as a number": (
        partial(ground.replace, conductivity="good"),
        ["Ground.conductivity = 'good'", "number in W/(m K), or text with a unit"],
    ),
    "length as a temperature": (
        partial(ground.replace, temperature="50 ft"),
        ["Ground.temperature = 50 ft", "a unit like degC"],
    ),
    "unknown unit": (
        partial(ground.replace, temperature="50 parsnips"),
        ["Ground.temperature = 50 parsnips", "a unit like degC"],
    ),
    "ground in kelvin": (
        partial(ground.replace, temperature=283.15),
        ["Ground.temperature = 283.15 degC", "from -15 to 60 degC"],
    ),
    "heat capacity in MJ": (
        partial(ground.replace, volumetric_heat_capacity=2.3),
        ["Ground.volumetric_heat_capacity = 2.3 J/(m3 K)", "from 200000 to 10000000 J/(m3 K)"],
    ),
    "gradient per 100 m": (
        partial(ground.replace, gradient=3),
        ["Ground.gradient = 3 K/m", "from -0.05 to 0.2 K/m"],
    ),
    "time zero": (
        lambda: ground.line_source([0.0], distance=1, depth=100, buried_depth=1),
        ["line_source.times = 0 s", "from 1 to 3.1536e11 s"],
    ),
    "times as words": (
        lambda: ground.line_source(["soon"], distance=1, depth=100, buried_depth=1),
        ["line_source.times = ['soon']", "numbers in s"],
    ),
    "negative distance": (
        lambda: ground.line_source([1e5], distance=-1, depth=100, buried_depth=1),
        ["line_source.distance = -1 m", "from 0.001 to 100000 m"],
    ),
    "negative depth": (partial(bore.replace, depth=-5), ["Bore.depth = -5 m", "from 1 to 2000 m"]),
    "diameter in inches": (partial(bore.replace, diameter=6), ["Bore.diameter = 6 m", "from 0.02 to 2 m"]),
    "negative buried depth": (
        partial(bore.replace, buried_depth=-1),
        ["Bore.buried_depth = -1 m", "from 0 to 200 m"],
    ),
    "negative buried depth in feet": (
        partial(bore.replace, buried_depth="-85 ft"),
        ["Bore.buried_depth = -85 ft (-25.908 m): must be from 0 to 200 m"],
    ),
    "top just below the surface": (
        partial(bore.replace, buried_depth=0.0005),
        ["Bore.buried_depth = 0.0005 m: must be 0, or at least 0.00375 m"],
    ),
    "top just below the surface, of a pile": (
        partial(bore.replace, buried_depth="1 inch", diameter=1.6),
        ["Bore.buried_depth = 1 inch (0.0254 m): must be 0, or at least 0.04 m"],
    ),
    "depth in miles": (
        partial(bore.replace, depth="85 miles"),
        ["Bore.depth = 85 miles (136794.24 m): must be from 1 to 2000 m"],
    ),
    "depth with a comma": (partial(bore.replace, depth="1,200 ft"), ["Bore.depth = '1,200 ft'", "no comma"]),
    "depth in an unknown unit": (
        partial(bore.replace, depth="85 lightyears"),
        ["Bore.depth = 85 lightyears: unknown unit lightyears", "with a unit like m"],
    ),
    "depth as text without a unit": (
        partial(bore.replace, depth="3000"),
        ["Bore.depth = 3000 m: must be from 1 to 2000 m"],
    ),
    "lock-out of what isn't there": (
        lambda: ld.HeatPump.from_curves(
            heating_cop=[4.0], heating_capacity=[9e3], cooling_lock_out="95 degF"
        ),
        ["HeatPump.cooling_lock_out = 95 degF (35 degC): must be left out: the heat pump has no cooling"],
    ),
    "lowest stage above the full one": (
        lambda: ld.HeatPump.from_curves(
            heating_cop=[4.0], heating_capacity=[9e3], heating_low_cop=[4.0], heating_low_capacity=[9.5e3]
        ),
        [
            "HeatPump.heating_low_capacity = 9500.0 W: must be below heating_capacity, "
            "which is 9000.0 W at -10.00 degC"
        ],
    ),
    "no resistance": (
        partial(bore.replace, resistance=0),
        ["Bore.resistance = 0 m K/W", "from 0.001 to 5 m K/W"],
    ),
    "resistance and grout": (
        partial(bore.replace, grout_conductivity=1.5),
        ["Bore.grout_conductivity = 1.5", "left out if resistance is given"],
    ),
    "neither pipes nor resistance": (
        lambda: ld.Bore(**place()),
        ["Bore.pipes = None", "UTube, DoubleUTube or Coaxial, unless a measured resistance"],
    ),
    "pipes as text": (
        lambda: ld.Bore(**place(pipes="U", grout_conductivity=1.5)),
        ["Bore.pipes = 'U'", "UTube, DoubleUTube or Coaxial"],
    ),
    "pipes without grout": (
        lambda: ld.Bore(**place(pipes=u_tube)),
        ["Bore.grout_conductivity = None W/(m K)", "given with pipes"],
    ),
    "yes as truth": (
        partial(built.replace, heat_capacity_inside="yes"),
        ["Bore.heat_capacity_inside = 'yes'", "must be a bool"],
    ),
    "pipes wider than the hole": (
        partial(built.replace, diameter=0.09),
        ["Bore.diameter = 0.09 m", "at least 0.102", "overall width of the pipes"],
    ),
    "legs that overlap": (
        partial(u_tube.replace, shank_spacing=0.01),
        ["UTube.shank_spacing = 0.01 m", "at least 0.032", "legs would overlap"],
    ),
    "a number as a pipe": (partial(u_tube.replace, pipe=0.03), ["UTube.pipe = 0.03", "must be a Pipe"]),
    "four legs that overlap": (
        lambda: ld.DoubleUTube(pipe=pipe, shank_spacing=0.04),
        ["DoubleUTube.shank_spacing = 0.04 m", "at least 0.045"],
    ),
    "pipe in itself": (
        lambda: ld.Coaxial(inner=pipe, outer=pipe),
        ["Coaxial.inner.outer_diameter = 0.032 m", "at most 0.025", "gap for the fluid between the pipes"],
    ),
    "pipe without a bore": (
        partial(pipe.replace, wall_thickness=0.02),
        ["Pipe.wall_thickness = 0.02 m", "at most 0.0155", "leave an opening for the fluid"],
    ),
    "dimension ratio below 2": (
        lambda: ld.Pipe.sdr(1.5, outer_diameter=0.03),
        ["Pipe.dimension_ratio = 1.5", "above 2"],
    ),
    "still fluid": (partial(resistance, flow=0), ["Bore.flow = 0 kg/s", "from 0.000001 to 1000 kg/s"]),
    "nan temperature": (
        partial(resistance, temperature=NAN),
        ["Bore.temperature = nan degC", "finite number"],
    ),
    "ground left out": (partial(resistance, ground=None), ["Bore.ground = None", "must be a Ground"]),
    "fluid as text": (partial(resistance, fluid="water"), ["Bore.fluid = 'water'", "must be a Fluid"]),
    "unknown fluid": (
        lambda: ld.Fluid("propilene glycol", mass_fraction=0.2),
        [
            "Fluid.name = 'propilene glycol'",
            "one of ethanol, ethylene glycol, methanol, propylene glycol, water",
            "did you mean 'propylene glycol'?",
        ],
    ),
    "percent as a fraction": (
        lambda: ld.Fluid("propylene glycol", mass_fraction=20),
        ["Fluid.mass_fraction = 20", "above 0 and at most 0.6"],
    ),
    "part of water": (
        lambda: ld.Fluid("water", mass_fraction=0.2),
        ["Fluid.mass_fraction = 0.2", "must be 0 for water"],
    ),
    "properties of ice": (
        lambda: ld.Fluid("water").properties([-5.0]),
        ["Fluid.temperatures = -5.0 degC", "from 0 to 60 degC"],
    ),
    "fluid without viscosity": (
        partial(brine.replace, viscosity=0),
        ["Fluid.viscosity = 0 Pa s", "from 0.00001 to 10 Pa s"],
    ),
    "limits the wrong way round": (
        lambda: ld.Limits(entering_fluid_min=30, entering_fluid_max=5),
        ["Limits.entering_fluid_min = 30 degC", "below entering_fluid_max, 5 degC"],
    ),
    "negative margin": (
        lambda: ld.Limits(freezing_margin="-5 K"),
        ["Limits.freezing_margin = -5 K", "from 0 to 50 K"],
    ),
    "heat pump without a mode": (
        lambda: ld.HeatPump.from_curves(),
        ["HeatPump.heating_cop = nothing", "must be given, or cooling_cop"],
    ),
    "COP below 1": (
        lambda: ld.HeatPump.from_curves(heating_cop=[0.5]),
        ["HeatPump.heating_cop = 0.5", "above 1 from -10 to 40 degC"],
    ),
    "COP as text": (
        lambda: ld.HeatPump.from_curves(heating_cop="abc"),
        ["HeatPump.heating_cop = 'abc'", "sequence of numbers"],
    ),
    "too many coefficients": (
        lambda: ld.HeatPump.from_curves(heating_cop=[4, 0, 0, 0, 0]),
        ["HeatPump.heating_cop = [4.0,", "1 to 4 coefficients"],
    ),
    "capacity without COP": (
        lambda: ld.HeatPump.from_curves(heating_capacity=[1e3], cooling_cop=[4]),
        ["HeatPump.heating_cop = nothing", "given with other curves of heating"],
    ),
    "negative capacity": (
        lambda: ld.HeatPump.from_curves(heating_cop=[4], heating_capacity=[-1e3]),
        ["HeatPump.heating_capacity = -1000.0", " W", "above 0 W"],
    ),
    "range the wrong way round": (
        lambda: ld.HeatPump.from_curves(heating_cop=[4], heating_range=(10, 0)),
        ["HeatPump.heating_range = [10.0, 0.0] degC", "a lower and a higher temperature"],
    ),
    "more lost than there is": (
        lambda: ld.HeatPump.from_curves(heating_cop=[4], heating_capacity=[1e4], degradation_coefficient=2),
        ["HeatPump.degradation_coefficient = 2", "from 0 to 0.5"],
    ),
    "a number as a mode": (
        lambda: ld.HeatPump(heating=5, cooling=None),
        ["HeatPump.heating = 5", "must be a Mode"],
    ),
    "negative load": (
        lambda: ld.Loads(heating=-1),
        ["Loads.heating = -1 W", "year 1, hour 0", "from 0 to 1000000000 W"],
    ),
    "a short year": (
        lambda: ld.Loads(cooling=np.ones(100)),
        ["Loads.cooling = 100 hourly values", "8760 for each of 1 to 100 whole years"],
    ),
    "load as a length": (lambda: ld.Loads(hot_water="3 ft"), ["Loads.hot_water = 3 ft", "a unit like W"]),
    "complex load": (
        lambda: ld.Loads(heating=np.full(8760, 1j)),
        ["Loads.heating = [1j, 1j,", "numbers in W"],
    ),
    "negative loss": (
        lambda: heat_loss(loss_coefficient=-5),
        ["Loads.loss_coefficient = -5 W/K", "from 0.1 to 10000000 W/K"],
    ),
    "text as weather": (
        lambda: ld.Loads.from_heat_loss("cold", loss_coefficient=5, heating_kWh=15),
        ["Loads.weather = 'cold'", "must be a Weather"],
    ),
    "heat loss at no temperature": (
        lambda: heat_loss(heat_loss=5000),
        ["Loads.heat_loss = 5000 W", "given with design_outdoor"],
    ),
    "no heat loss": (heat_loss, ["Loads.heat_loss = nothing:", "or loss_coefficient"]),
    "heat loss twice": (
        lambda: heat_loss(heat_loss=5000, design_outdoor=-5, loss_coefficient=100),
        ["Loads.loss_coefficient = 100 W/K", "left out where heat_loss"],
    ),
    "designed for summer": (
        lambda: heat_loss(heat_loss=5000, design_outdoor=25),
        ["Loads.design_outdoor = 25 degC", "below indoor, 20 degC"],
    ),
    "more heat than is lost": (
        lambda: heat_loss(loss_coefficient=100, heating_kWh=1e6),
        ["Loads.heating_kWh = 1000000 kWh", "at most 16644 kWh"],
    ),
    "total in watts": (
        lambda: heat_loss(loss_coefficient=100, heating_kWh="5 kW"),
        ["Loads.heating_kWh = 5 kW", "a unit like kWh"],
    ),
    "total of nothing": (
        lambda: heat_loss(loss_coefficient=100, heating_kWh=NAN),
        ["Loads.heating_kWh = nan kWh", "finite number"],
    ),
    "cooler when cooled": (
        lambda: heat_loss(loss_coefficient=100, cooling_indoor=18),
        ["Loads.cooling_indoor = 18 degC", "at least indoor, 20 degC"],
    ),
    "U-value in percent": (
        lambda: ld.Opaque(area=10, u_value=28),
        ["Opaque.u_value = 28 W/(m2 K)", "from 0.01 to 10 W/(m2 K)"],
    ),
    "no area": (lambda: ld.Opaque(area=0, u_value=0.3), ["Opaque.area = 0 m2", "from 0.01 to 1000000 m2"]),
    "exposed twice": (
        lambda: ld.Opaque(area=10, u_value=0.3, exposure=2),
        ["Opaque.exposure = 2", "from 0 to 1"],
    ),
    "g-value in percent": (partial(pane.replace, g_value=55), ["Window.g_value = 55", "from 0 to 1"]),
    "azimuth below north": (
        partial(pane.replace, azimuth=-90),
        ["Window.azimuth = -90 deg", "from 0 to 360 deg"],
    ),
    "azimuth in words": (
        partial(pane.replace, azimuth="south"),
        ["Window.azimuth = 'south'", "number in deg"],
    ),
    "all frame": (partial(pane.replace, frame_share=1), ["Window.frame_share = 1", "from 0 to 0.9"]),
    "a window as a wall": (
        partial(shed.replace, walls=pane),
        ["Building.walls = Window(", "must be an Opaque"],
    ),
    "a building of no size": (
        partial(shed.replace, floor_area=0),
        ["Building.floor_area = 0 m2", "from 1 to 1000000 m2"],
    ),
    "a mass unheard of": (
        partial(shed.replace, mass="massive"),
        ["Building.mass = 'massive'", "one of very light, light"],
    ),
    "all heat recovered": (
        partial(shed.replace, heat_recovery=1.0),
        ["Building.heat_recovery = 1", "from 0 to 0.98"],
    ),
    "crossed set points": (
        partial(shed.replace, heating_set_point={"working_day": {6: 27, 20: 15}}, cooling_set_point=26),
        ["Building.heating_set_point = 27 degC", "Monday from 06:00", "at most cooling_set_point, 26 degC"],
    ),
    "a set point in kelvin": (
        partial(shed.replace, heating_set_point=293.15),
        ["Building.heating_set_point = 293.15 degC", "Monday from 00:00", "from 0 to 50 degC"],
    ),
    "occupied too much": (
        partial(shed.replace, occupancy=ld.Week(1.0, saturday=1.5)),
        ["Building.occupancy = 1.5", "Saturday from 00:00", "from 0 to 1"],
    ),
    "occupied by words": (
        partial(shed.replace, occupancy="often"),
        ["Building.occupancy = 'often'", "must be a number without a unit"],
    ),
    "a day of 23 hours": (lambda: ld.Week([1.0] * 23), ["Week.working_day = [1.0,", "one value, 24, or"]),
    "a 25th hour": (lambda: ld.Week(1.0, sunday={24: 1.0}), ["Week.sunday = 24", "hours from 0 to 23"]),
    "a building that loses nothing": (
        partial(shed.replace, walls=(), infiltration=0),
        ["Building.envelope = 0 W/K", "at least 2.5 W/K with all air changes"],
    ),
    "a building without mass": (
        partial(shed.replace, heat_capacity=100),
        ["Building.heat_capacity = 100 J/(m2 K)", "from 20000 to 2000000"],
    ),
    "no sun for windows": (
        lambda: shed.replace(windows=pane).loads(ld.Weather(dry_bulb=np.ones(8760))),
        ["Weather.latitude = nothing", "given if a building has windows"],
    ),
    "a building in no weather": (lambda: shed.loads(5.0), ["Building.weather = 5.0", "must be a Weather"]),
    "a short year of weather": (
        lambda: ld.Weather(dry_bulb=np.ones(10)),
        ["Weather.dry_bulb = 10 hourly values", "must be 8760"],
    ),
    "an hour of no weather": (
        lambda: ld.Weather(dry_bulb=np.where(np.arange(8760) == 5, NAN, 1.0)),
        ["Weather.dry_bulb = nan degC", "hour 5", "from -90 to 60 degC"],
    ),
    "weather in kelvin": (
        lambda: ld.Weather(dry_bulb=np.full(8760, 280.0)),
        ["Weather.dry_bulb = 280.0 degC", "hour 0", "from -90 to 60 degC"],
    ),
    "place off the Earth": (
        lambda: ld.Weather(dry_bulb=np.ones(8760), latitude=100),
        ["Weather.latitude = 100.0 deg", "from -90 to 90 deg"],
    ),
    "place in words": (
        lambda: ld.Weather(dry_bulb=np.ones(8760), latitude="north"),
        ["Weather.latitude = 'north'", "number in deg"],
    ),
    "unknown climate": (
        lambda: ld.Weather.sample("hot and humid"),
        ["Weather.name = 'hot and humid'", "one of cold continental", "did you mean 'hot humid'?"],
    ),
}


def frame(index, **columns):
    return pd.DataFrame({"temp_air": np.full(len(index), 5.0), **columns}, index=index)


FRAMES = {
    "no temperature": (
        frame(HOURS).rename(columns={"temp_air": "t"}),
        ["Weather.frame = header", "must have a column temp_air"],
    ),
    "no stamps": (frame(range(8760)), ["Weather.frame = RangeIndex", "DatetimeIndex"]),
    "two years": (
        frame(pd.date_range("2022-01-01", periods=17520, freq="h")),
        ["17520 hours were read", "row 17519", "one year of 8760 hours"],
    ),
    "gap": (frame(HOURS.delete(100)), ["no row", "row 100", "a gap at 5 January 04:00 (1 h)"]),
    "repeat": (frame(HOURS.insert(100, HOURS[100])), ["row 101", "must be 2023-01-05T05:00"]),
    "missing stamp": (
        frame(pd.DatetimeIndex([*HOURS[:7], pd.NaT, *HOURS[8:]])),
        ["NaT", "row 7", "must be a time"],
    ),
    "missing value": (
        frame(HOURS, ghi=np.where(np.arange(8760) == 5, NAN, 1.0)),
        ["Weather.frame = nan", "row 5, column 'ghi'", "from 0 to 1600 W/m2"],
    ),
    "text": (
        frame(HOURS, ghi=["sunny"] * 8760),
        ["Weather.frame = sunny", "row 0, column 'ghi'", "a number from 0 to 1600 W/m2"],
    ),
    "no table": ([1, 2], ["Weather.frame = list", "must be a DataFrame"]),
}


@pytest.mark.parametrize(("make", "parts"), PARTS.values(), ids=PARTS)
def test_parts(make, parts, says):
    with pytest.raises(ld.InvalidInput) as error:
        make()
    says(error, parts)


@pytest.mark.parametrize(("table", "parts"), FRAMES.values(), ids=FRAMES)
def test_weather_tables(table, parts, says):
    with pytest.raises(ld.InvalidInput) as error:
        ld.Weather.from_frame(table)
    says(error, parts)


def test_unknown_and_missing_names_are_pythons_own():
    with pytest.raises(TypeError, match="colour"):
        ground.replace(colour="red")
    with pytest.raises(TypeError, match="volumetric_heat_capacity"):
        ld.Ground(conductivity=2.0)

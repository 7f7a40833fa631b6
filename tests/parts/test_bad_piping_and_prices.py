"""Bad pipes, pumps, tariffs and prices: a message with field, value, unit and cure."""

from functools import partial

import pytest

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis import hydraulics

pipe = ld.Pipe.sdr(11, outer_diameter=0.05)
main = ld.PipeRun(name="header", pipe=pipe, length=20.0)
apparatus = ld.Apparatus(name="heat pump", pressure_drop=2e4, flow=1e-3)
pump = ld.Pump(efficiency=0.4)
piping = ld.Piping(pump=pump, mains=[main], temperature=0.0)
tariff = ld.Tariff(price=0.2)
period = ld.Period(price=0.3)
fuel = ld.Fuel(name="natural gas", price=0.06)
furnace = ld.Alternative(name="furnace", efficiency=0.9, fuel=fuel)
installation = ld.Installation(drilling=50.0)
prices = ld.Prices(electricity=tariff, alternatives=[furnace])

# What is done, and what the message must say.
PARTS = {
    "run of no name": (
        partial(main.replace, name=" "),
        ["PipeRun.name = ' '", "must be text, and not empty"],
    ),
    "run of a number": (partial(main.replace, name=3), ["PipeRun.name = 3", "must be text, and not empty"]),
    "run of no pipe": (partial(main.replace, pipe=0.05), ["PipeRun.pipe = 0.05", "must be a Pipe"]),
    "negative length": (
        partial(main.replace, length="-3 ft"),
        ["PipeRun.length = -3 ft (-0.9144 m): must be from 0 to 20000 m"],
    ),
    "length in seconds": (partial(main.replace, length="3 s"), ["PipeRun.length = 3 s", "a unit like m"]),
    "nan length": (partial(main.replace, length=float("nan")), ["PipeRun.length = nan m", "finite number"]),
    "negative loss": (
        partial(main.replace, loss_coefficient=-0.5),
        ["PipeRun.loss_coefficient = -0.5", "from 0 to 10000"],
    ),
    "share of no flow": (
        partial(main.replace, flow_share=0),
        ["PipeRun.flow_share = 0", "from 0.0001 to 1"],
    ),
    "share above all": (partial(main.replace, flow_share="120 percent"), ["PipeRun.flow_share = 1.2"]),
    "apparatus without flow": (
        partial(apparatus.replace, flow=0.0),
        ["Apparatus.flow = 0.0 m3/s", "from 1e-06 to 10 m3/s"],
    ),
    "apparatus that pushes": (
        partial(apparatus.replace, pressure_drop="-2 psi"),
        ["Apparatus.pressure_drop = -2 psi (-13789.5", " Pa): must be from 0 to 1e+07 Pa"],
    ),
    "pump of no efficiency": (
        partial(pump.replace, efficiency=0.0),
        ["Pump.efficiency = 0.0", "from 0.01 to 1"],
    ),
    "efficiency in percent": (partial(pump.replace, efficiency=40), ["Pump.efficiency = 40", "to 1"]),
    "flows without heads": (
        partial(pump.replace, flow=[0.0, 1e-3]),
        ["Pump.head = None", "a curve has flows and heads"],
    ),
    "heads without flows": (partial(pump.replace, head=[5.0, 1.0]), ["Pump.flow = None"]),
    "one point": (
        partial(pump.replace, flow=[1e-3], head=[5.0]),
        ["Pump.head = 1 points", "at least 2"],
    ),
    "more heads than flows": (
        partial(pump.replace, flow=[0.0, 1e-3], head=[5.0, 4.0, 3.0]),
        ["Pump.head = 3 points", "as many as the 2 flows"],
    ),
    "rising heads": (
        partial(pump.replace, flow=[0.0, 1e-3], head=[5.0, 6.0]),
        ["Pump.head = 6.0 m", "below the point before, 5 m"],
    ),
    "falling flows": (
        partial(pump.replace, flow=[1e-3, 0.0], head=[5.0, 4.0]),
        ["Pump.flow = 0.0 m3/s", "above the point before"],
    ),
    "negative flow": (
        partial(pump.replace, flow=[-1e-3, 0.0], head=[5.0, 4.0]),
        ["Pump.flow = -0.001 m3/s", "at least 0 m3/s"],
    ),
    "heads as text": (
        partial(pump.replace, flow=[0.0, 1e-3], head="5 m"),
        ["Pump.head = '5 m'", "a sequence of numbers in m"],
    ),
    "heads as a number": (partial(pump.replace, flow=[0.0, 1e-3], head=5.0), ["Pump.head = 5.0"]),
    "head of no curve": (lambda: pump.head_at(1e-3), ["Pump.flow = 0.001 m3/s", "within the points"]),
    "head beyond the curve": (
        lambda: ld.Pump(efficiency=0.4, flow=[0.0, 1e-3], head=[5.0, 1.0]).head_at(2e-3),
        ["Pump.flow = 0.002 m3/s", "within the points"],
    ),
    "operating point of no curve": (
        lambda: pump.operating_flow(lambda flow: 1e4, 1000.0),
        ["Pump.flow = None", "for an operating point"],
    ),
    "no pump": (partial(piping.replace, pump=0.4), ["Piping.pump = 0.4", "must be a Pump"]),
    "apparatus among mains": (
        partial(piping.replace, mains=[apparatus]),
        ["Piping.mains = Apparatus", "must be a PipeRun"],
    ),
    "two of one name": (
        partial(piping.replace, laterals=[main]),
        ["Piping.name = 'header'", "name one part only"],
    ),
    "a main called bores": (
        partial(piping.replace, mains=[main.replace(name="bores")]),
        ["Piping.name = 'bores'"],
    ),
    "temperature in kelvin": (
        partial(piping.replace, temperature=270.0),
        ["Piping.temperature = 270.0 degC", "from -60 to 60 degC"],
    ),
    "price in pence": (
        partial(tariff.replace, price="20 pence/kWh"),
        ["Tariff.price = 20 pence/kWh", "a unit like currency/kWh"],
    ),
    "price of nothing": (
        partial(tariff.replace, price=None),
        ["Tariff.price = None", "number in currency/kWh"],
    ),
    "period as a number": (
        partial(tariff.replace, periods=[0.3]),
        ["Tariff.periods = 0.3", "must be a Period"],
    ),
    "tiers as text": (partial(tariff.replace, tiers="600 kWh"), ["Tariff.tiers = '600 kWh'", "a Tier"]),
    "negative charge": (
        partial(tariff.replace, monthly=-5.0),
        ["Tariff.monthly = -5.0 currency/month", "from 0 to"],
    ),
    "escalation in percent": (
        partial(tariff.replace, escalation=2),
        ["Tariff.escalation = 2", "from -0.5 to 0.5"],
    ),
    "carbon of a month": (
        partial(tariff.replace, carbon=[0.3] * 720),
        ["Tariff.carbon = 720 numbers", "or 8760 by hour"],
    ),
    "negative carbon": (
        partial(tariff.replace, carbon=[0.3, -0.1]),
        ["Tariff.carbon = -0.1 kg/kWh", "at least 0 kg/kWh"],
    ),
    "carbon as text": (
        partial(tariff.replace, carbon="little"),
        ["Tariff.carbon = 'little'", "must be a number in kg/kWh, or text with a unit"],
    ),
    "infinite carbon": (partial(tariff.replace, carbon=float("inf")), ["Tariff.carbon = inf kg/kWh"]),
    "hourly carbon of a fuel": (
        partial(fuel.replace, carbon=[0.2] * 8760),
        ["Fuel.carbon = 8760 numbers", "one for each of up to 100 years"],
    ),
    "hours beyond the day": (
        partial(period.replace, hours=(16, 25)),
        ["Period.hours = (16, 25)", "from 0 to 24"],
    ),
    "hours of nothing": (
        partial(period.replace, hours=(7, 7)),
        ["Period.hours = (7, 7)", "end at another hour"],
    ),
    "hours from midnight to midnight": (
        partial(period.replace, hours=(24, 0)),
        ["Period.hours = (24, 0)", "end at another hour"],
    ),
    "half hours": (partial(period.replace, hours=(7.5, 9)), ["Period.hours = (7.5, 9)", "whole numbers"]),
    "three months": (partial(period.replace, months=(1, 2, 3)), ["Period.months = (1, 2, 3)", "two whole"]),
    "month zero": (partial(period.replace, months=(0, 3)), ["Period.months = (0, 3)", "from 1 to 12"]),
    "holidays": (
        partial(period.replace, days="holidays"),
        ["Period.days = 'holidays'", "all days, workdays, weekend"],
    ),
    "fuel by a cord without its heat": (
        lambda: ld.Fuel(name="wood", price="80 currency/m3"),
        ["Fuel.price = '80 currency/m3'", "heating_value in a unit like kWh/m3"],
    ),
    "fuel by mass with a heat by volume": (
        lambda: ld.Fuel(name="propane", price="2 currency/kg"),
        ["Fuel.price = '2 currency/kg'", "heating_value in a unit like kWh/kg"],
    ),
    "fuel by the metre": (
        lambda: ld.Fuel(name="gas", price="2 currency/m"),
        ["Fuel.price = 2 currency/m", "a unit like currency/kWh"],
    ),
    "a tariff that pays": (
        lambda: ld.Tariff(price=-1),
        ["Tariff.price = -1.0 currency/kWh", "from 0 to 1e+06 currency/kWh"],
    ),
    "a trench for nothing": (
        partial(installation.replace, trench="-2 currency/ft"),
        ["Installation.trench = -2 currency/ft (-6.56167979003 currency/m): must be from 0"],
    ),
    "wells of no depth": (
        lambda: ld.Installation(well_drilling=90.0).installed_cost(
            ld.Well(
                aquifer=ld.Aquifer(temperature=10.0, thickness=12.0, transmissivity=2e-3, storativity=2e-4),
                diameter=0.3,
                sustained_yield=5.0,
                lift=14.0,
                pump_efficiency=0.5,
                lowest_discharge=3.0,
            )
        ),
        ["Installation.well_drilling = 90.0 currency/m", "or the ground side state its depth"],
    ),
    "free money": (partial(fuel.replace, price=-0.01), ["Fuel.price = -0.01 currency/kWh", "from 0"]),
    "heating value without a unit": (
        partial(fuel.replace, heating_value=10.0),
        ["Fuel.heating_value = 10.0", "text with a unit"],
    ),
    "heating value of nothing": (
        partial(fuel.replace, heating_value="0 kWh/m3"),
        ["Fuel.heating_value = '0 kWh/m3'", "from 0.001"],
    ),
    "furnace above one": (
        partial(furnace.replace, efficiency=1.05),
        ["Alternative.efficiency = 1.05", "at most 1 for a fuel"],
    ),
    "fuel by its name": (
        partial(furnace.replace, fuel="natural gas"),
        ["Alternative.fuel = 'natural gas'", "must be a Fuel"],
    ),
    "air conditioner of no COP": (
        partial(furnace.replace, cooling_cop=0),
        ["Alternative.cooling_cop = 0", "from 0.5 to 30"],
    ),
    "incentive both ways": (
        partial(installation.replace, incentive_share=0.3, incentive_amount=100.0),
        ["Installation.incentive_amount = 100.0 currency", "a share or an amount"],
    ),
    "incentive above all": (
        partial(installation.replace, incentive_share=1.5),
        ["Installation.incentive_share = 1.5", "from 0 to 1"],
    ),
    "drilling for nothing": (
        partial(installation.replace, drilling=-1),
        ["Installation.drilling = -1.0 currency/m", "from 0"],
    ),
    "tariff as a number": (
        partial(prices.replace, electricity=0.2),
        ["Prices.electricity = 0.2", "must be a Tariff"],
    ),
    "two plants of one name": (
        partial(prices.replace, alternatives=[furnace, furnace]),
        ["Prices.alternatives = 'furnace'", "must have different names"],
    ),
    "a plant called as the own": (
        partial(prices.replace, alternatives=[furnace.replace(name="ground source")]),
        ["Prices.alternatives = 'ground source'"],
    ),
    "rate in percent": (
        partial(prices.replace, discount_rate=4),
        ["Prices.discount_rate = 4", "from 0 to 0.5"],
    ),
    "eighth weekday": (
        partial(prices.replace, first_weekday="Someday"),
        ["Prices.first_weekday = 'Someday'", "Monday, Tuesday"],
    ),
    "no currency": (
        partial(prices.replace, currency=""),
        ["Prices.currency = ''", "must be text, and not empty"],
    ),
}


@pytest.mark.parametrize(("attempt", "parts"), PARTS.values(), ids=PARTS)
def test_parts(attempt, parts):
    refused(attempt, parts)


def built(design):
    u_tube = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, pipes=u_tube, grout_conductivity=1.5)
    return design.replace(ground_side=design.ground_side.replace(bore=bore))


PIPED = {
    "measured bores": (
        lambda design: design.replace(piping=piping),
        ["Design.ground_side.bore.pipes = None", "a measured resistance doesn't define the pipes"],
    ),
    "piping as text": (
        lambda design: design.replace(piping="long"),
        ["Design.piping = 'long'", "must be a Piping"],
    ),
    "prices as a number": (
        lambda design: design.replace(prices=0.2),
        ["Design.prices = 0.2", "must be a Prices"],
    ),
    "no temperature": (
        lambda design: built(design).replace(piping=piping.replace(temperature=None), limits=ld.Limits()),
        ["Design.piping.temperature = None degC", "limits.entering_fluid_min"],
    ),
    "frozen water": (
        lambda design: built(design).replace(
            piping=piping.replace(temperature=-2.0), fluid=ld.Fluid("water"), limits=ld.Limits()
        ),
        ["Design.piping.temperature = -2.0 degC", "from 0 to 60 degC, the table of water"],
    ),
    "frozen water with a power of its own": (
        lambda design: built(design).replace(
            piping=piping.replace(temperature=-2.0), fluid=ld.Fluid("water"), pump_power=100.0
        ),
        ["Design.piping.temperature = -2.0 degC", "from 0 to 60 degC, the table of water"],
    ),
    "pump too weak to meet": (
        lambda design: built(design).replace(
            piping=piping.replace(pump=ld.Pump(efficiency=0.4, flow=[4e-4, 1e-3], head=[0.2, 0.1]))
        ),
        ["Pump.head = 0.2 m", "above the loop's head loss"],
    ),
    "curve that ends too soon": (
        lambda design: built(design).replace(
            piping=piping.replace(pump=ld.Pump(efficiency=0.4, flow=[0.0, 1e-4], head=[9.0, 8.0]))
        ),
        ["Pump.head = 8.0 m", "must extend to the loop's head loss"],
    ),
    "no piping": (lambda design: design.pressure_drop(), ["Design.piping = None", "for a pressure drop"]),
    "no flow": (
        lambda design: piping.pressure_drop(
            ground_side=design.ground_side, fluid=design.fluid, flow=0.0, temperature=5.0
        ),
        ["Piping.flow = 0.0 kg/s", "above 0 kg/s"],
    ),
    "bores by their number": (
        lambda design: piping.pressure_drop(ground_side=4, fluid=design.fluid, flow=1.0, temperature=5.0),
        ["Piping.ground_side = 4", "must be a BoreField"],
    ),
    "fluid by its name": (
        lambda design: piping.operating_point(
            ground_side=design.ground_side, fluid="water", flow=1.0, temperature=5.0
        ),
        ["Piping.fluid = 'water'", "must be a Fluid"],
    ),
    "turbulence of measured bores": (
        lambda design: hydraulics.design_flow(design, 5.0),
        ["Design.ground_side.bore.pipes = None", "must be given"],
    ),
    "pressure drop in metres": (
        lambda design: plots.pressure_drop(
            built(design).replace(piping=piping).pressure_drop(), units="metres"
        ),
        ["plots.units = 'metres'", "SI or IP"],
    ),
}


@pytest.mark.parametrize(("attempt", "parts"), PIPED.values(), ids=PIPED)
def test_designs(design, attempt, parts):
    refused(partial(attempt, design), parts)


COSTS = {
    "no prices": (lambda run: run.cost(), ["Run.prices = None", "if the design has none"]),
    "a number as prices": (lambda run: run.cost(0.2), ["Cost.prices = 0.2", "must be a Prices"]),
    "cooling by nothing": (
        lambda run: run.cost(prices),
        ["Alternative.cooling_cop = None", "the loads include cooling"],
    ),
    "carbon for too few years": (
        lambda run: run.cost(ld.Prices(electricity=tariff.replace(carbon=[0.3]))),
        ["Tariff.carbon = 1 numbers", "each of the run's 2 years"],
    ),
    "carbon of a fuel for too few years": (
        lambda run: run.cost(
            prices.replace(alternatives=[furnace.replace(cooling_cop=3.0, fuel=fuel.replace(carbon=[0.2]))])
        ),
        ["Fuel.carbon = 1 numbers", "each of the run's 2 years"],
    ),
    "more incentive than cost": (
        lambda run: run.cost(prices.replace(installation=installation.replace(incentive_amount=1e5))),
        ["Installation.incentive_amount = 100000.0 currency", "at most the installed cost, 10,000"],
    ),
    "unknown column": (
        lambda run: run.cost(ld.Prices(electricity=tariff)).by_year("money"),
        ["Cost.column = 'money'", "heat_kWh"],
    ),
    "negative margin": (
        lambda run: run.antifreeze(margin=-1.0),
        ["Antifreeze.margin = -1.0 K", "from 0 to 50 K"],
    ),
    "water as antifreeze": (
        lambda run: run.antifreeze(name="water"),
        ["Antifreeze.name = 'water'", "must be an antifreeze"],
    ),
    "unknown antifreeze": (
        lambda run: run.antifreeze(name="glycol"),
        ["Fluid.name = 'glycol'", "must be one of"],
    ),
    "margin beyond all doses": (
        lambda run: run.antifreeze(margin=50.0, name="ethanol"),
        ["Antifreeze.margin = 50.0 K", "must be smaller: ethanol with a mass fraction"],
    ),
    "one dose alone": (
        lambda run: run.antifreeze(doses=0.2),
        ["Antifreeze.doses = 0.2", "sequence of mass fractions"],
    ),
    "dose of nothing": (
        lambda run: run.antifreeze(doses=[0.0]),
        ["Fluid.mass_fraction = 0.0", "above 0"],
    ),
}


@pytest.mark.parametrize(("attempt", "parts"), COSTS.values(), ids=COSTS)
def test_costs(run, attempt, parts):
    refused(partial(attempt, run), parts)


TABLES = {
    "unknown key": ("[prices.electricity]\nprise = 0.2", ["prices.electricity.prise = 0.2", "'price'"]),
    "no tariff": ("[prices]\ndiscount_rate = 0.03", ["prices.electricity = nothing", "must be given"]),
    "alternative of no name": (
        "[prices]\nelectricity = { price = 0.2 }\n[[prices.alternatives]]\nefficiency = 0.9",
        ["prices.alternatives[0].name = nothing", "must be given"],
    ),
    "period of no price": (
        "[prices.electricity]\nprice = 0.2\nperiods = [{ hours = [1, 2] }]",
        ["prices.electricity.periods[0].price = nothing"],
    ),
    "period of a bad day": (
        '[prices.electricity]\nprice = 0.2\nperiods = [{ price = 0.1, days = "sunny" }]',
        ["prices.electricity.periods[0].days = 'sunny'", "weekend"],
    ),
    "no pump": ("[piping]\ntemperature = 0.0", ["piping.pump = nothing", "must be given"]),
    "pump of no efficiency": ("[piping.pump]\nflow = [1, 2]", ["piping.pump.efficiency = nothing"]),
    "main without a pipe": (
        '[piping]\npump = { efficiency = 0.4 }\nmains = [{ name = "header", length = 3.0 }]',
        ["piping.mains[0].pipe = nothing"],
    ),
    "measured bores": (
        "[piping]\npump = { efficiency = 0.4 }",
        ["ground_side.bore.pipes = None", "measured resistance"],
    ),
}


@pytest.mark.parametrize(("table", "parts"), TABLES.values(), ids=TABLES)
def test_design_files(command, design_path, table, parts):
    design_path.write_text(f"{design_path.read_text()}\n{table}\n")
    code, out, err = command("run", design_path, "--years", "1")
    assert (code, out) == (2, "")
    assert err.startswith("error: ")
    assert err.count("\n") == 1
    for part in parts:
        assert part in err, err


def refused(attempt, parts):
    with pytest.raises(ld.InvalidInput) as caught:
        attempt()
    message = str(caught.value)
    for part in parts:
        assert part in message, message

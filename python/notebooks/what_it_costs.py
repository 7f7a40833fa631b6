# %% [markdown]
# # What it costs, and what the antifreeze costs
#
# The demo's loop with pipes and a pump, compared with a gas furnace and an air-source heat pump that meet the
# same loads. Building, place and heat pump are invented, and so is every price: replace them with your own.
# Set the environment variable `YEARS` for a shorter run.

# %%
import os
from importlib.resources import files

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis import hydraulics

years = int(os.environ.get("YEARS", "25"))
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")

# %% [markdown]
# ## Pipes and pump
#
# The pump is selected for cold fluid. If the design gives no pump power, it follows from the piping.

# %%
piping = ld.Piping(
    pump=ld.Pump(efficiency=0.35),
    mains=[
        ld.PipeRun(
            name="header",
            pipe=ld.Pipe.sdr(11, outer_diameter="50 mm"),
            length="80 ft",
            loss_coefficient=6.0,
        )
    ],
    laterals=[
        ld.PipeRun(
            name="laterals",
            pipe=ld.Pipe.sdr(11, outer_diameter="32 mm"),
            length=40.0,
            loss_coefficient=3.0,
        )
    ],
    apparatus=[ld.Apparatus(name="heat pump", pressure_drop="20 kPa", flow="1.0 L/s")],
    temperature=-1.0,
)
piped = design.replace(piping=piping, pump_power=None)
print(piped.pressure_drop().round(3).to_string())
print(f"pump: {piped.pump_power:.0f} W")
ax = plots.pressure_drop(piped.pressure_drop())

# %% [markdown]
# ## How much antifreeze
#
# More antifreeze lowers the freezing point but raises the viscosity: below a Reynolds number of 4000 the flow
# in the bores is no longer fully turbulent, and the bore resistance rises.

# %%
run = piped.run(years)
print(f"In the coldest hour {hydraulics.coldest_flow(run)}.\n")
dose = run.antifreeze(margin=4.0, doses=[0.1, 0.2, 0.3, 0.4])
print(dose)
columns = ["freezing_point_degC", "margin_K", "reynolds", "bore_resistance_mK_per_W", "electricity_pump_W"]
print(dose.table[columns].round(3).to_string())

# %% [markdown]
# The table assumes the temperatures of this run. A run with the dose found gives almost the same result:

# %%
again = piped.replace(fluid=dose.fluid).run(years)
print(again.findings[2])

# %% [markdown]
# ## Money and carbon
#
# A tariff with expensive winter evenings, first costs, and an incentive of 30 % of the installed cost: the
# user's own figure, not current law. Each plant delivers the same heating, hot water and cooling.

# %%
prices = ld.Prices(
    electricity=ld.Tariff(
        price="0.14 currency/kWh",
        periods=[ld.Period(price="0.22 currency/kWh", hours=(16, 21), months=(11, 3), days="workdays")],
        monthly=12.0,
        escalation="2 percent",
        carbon=0.25,
    ),
    alternatives=[
        ld.Alternative(
            name="gas furnace",
            efficiency=0.96,
            fuel=ld.Fuel(
                name="natural gas",
                price="1.90 currency/therm",
                monthly=15.0,
                escalation="3 percent",
                carbon=0.19,
            ),
            cooling_cop=3.4,
            first_cost=15_000.0,
            maintenance=200.0,
        ),
        ld.Alternative(
            name="air-source heat pump",
            efficiency=2.4,
            cooling_cop=3.6,
            first_cost=18_000.0,
            maintenance=200.0,
        ),
    ],
    installation=ld.Installation(
        drilling="15 currency/ft",
        each_bore=400.0,
        trenching=2_500.0,
        equipment=10_000.0,
        distribution=6_000.0,
        incentive_share="30 percent",
        maintenance=150.0,
    ),
    discount_rate="3 percent",
)
cost = run.cost(prices)
print(cost)

# %%
ax = cost.plot()

# %% [markdown]
# ## What the drift costs
#
# The ground cools, the heat pump's COP falls, and the same heat takes more electricity. At year-1 prices,
# this effect shows on its own:

# %%
at_first_prices = cost.by_year("energy_cost_at_first_prices")["ground source"]
print(at_first_prices.round(0).to_string())
print(f"{cost.drift:+.1%} from the first year to the last")

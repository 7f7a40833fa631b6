# %% [markdown]
# # From a floor plan to a payback
#
# A client brings a floor plan and asks: what would a ground loop cost me, and when would it pay for itself
# compared with a gas furnace? House, place, heat pump and every price are invented: replace them with your
# own. Set the environment variable `YEARS` for a shorter run.

# %%
import os
import tempfile
from pathlib import Path

import loopdrift as ld
from loopdrift.reporting import report

years = int(os.environ.get("YEARS", "25"))

# %% [markdown]
# ## The floor plan
#
# Two floors of 9 m x 10 m, 2.6 m high, with the larger windows facing south. The wall area is that of the
# outline minus the windows.

# %%
width, length, height, floors = 9.0, 10.0, 2.6, 2
windows = [
    ld.Window(area=14.0, u_value=1.1, g_value=0.55, azimuth=180.0, shading=0.8),
    ld.Window(area=6.0, u_value=1.1, g_value=0.55, azimuth=90.0),
    ld.Window(area=6.0, u_value=1.1, g_value=0.55, azimuth=270.0),
    ld.Window(area=4.0, u_value=1.1, g_value=0.55, azimuth=0.0),
]
walls = 2.0 * (width + length) * height * floors - sum(window.area for window in windows)
house = ld.Building(
    floor_area=width * length * floors,
    height=height,
    walls=ld.Opaque(area=walls, u_value=0.35),
    roof=ld.Opaque(area=1.1 * width * length, u_value=0.22),
    floor=ld.Opaque(area=width * length, u_value=0.35, exposure=0.6),  # on the ground
    windows=windows,
    mass="medium",
    infiltration=0.45,
    occupants=4,
    occupancy=ld.Week({0: 1.0, 8: 0.3, 16: 0.9}, saturday=0.8),
    equipment="700 W",
    equipment_use={0: 0.2, 7: 0.6, 22: 0.2},
    heating_set_point={6: 21.0, 22: 19.0},
    heating_power="9.5 kW",
    cooling_set_point=25.0,
)
weather = ld.Weather.sample("cold continental")
loads = house.loads(weather, hot_water="280 W")
ax = loads.plot()
print(loads.monthly().droplevel("year").round(0).filter(regex="heating|cooling").to_string())
print(
    f"\n{house.loss_coefficient:.0f} W/K; heating up to {loads.peak['heating'] / 1e3:.1f} kW, "
    f"cooling up to {loads.peak['cooling'] / 1e3:.1f} kW"
)

# %% [markdown]
# ## Size the loop
#
# Three bores in a row by the drive. The initial depth is a guess; sizing finds the least depth that holds in
# every hour of the horizon.

# %%
bore = ld.Bore(
    depth=80.0,
    buried_depth=1.5,
    diameter=0.15,
    grout_conductivity=1.8,
    pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.075),
)
prices = ld.Prices(
    electricity=ld.Tariff(price="0.15 currency/kWh", monthly=12.0, escalation="2 percent", carbon=0.25),
    installation=ld.Installation(
        drilling="18 currency/ft",
        trenching=1_800.0,
        equipment=11_000.0,
        incentive_share="30 percent",  # the client's own figure, not current law
    ),
    alternatives=[
        ld.Alternative(
            name=f"gas furnace, {efficiency:.0%}",
            efficiency=efficiency,  # condensing: 95 to 98 % (common practice, no source)
            cooling_cop=3.4,
            fuel=ld.Fuel(
                name="natural gas",
                price="1.60 currency/therm",
                monthly=15.0,
                escalation="3 percent",
                carbon=0.19,
            ),
            first_cost=14_000.0,
        )
        for efficiency in (0.95, 0.98)
    ],
    discount_rate="3 percent",
)
guess = ld.Design(
    ground=ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.3e6, temperature=10.5),
    ground_side=ld.BoreField.grid(bore, columns=3, rows=1, spacing="20 ft"),
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.22),
    flow=0.75,
    heat_pump=ld.HeatPump.from_curves(
        heating_cop=[3.6, 0.08],
        heating_capacity=[10.2e3, 280.0],
        heating_range=(-8.0, 30.0),
        cooling_cop=[7.0, -0.10],
        cooling_capacity=[11e3, -60.0],
        cooling_range=(0.0, 45.0),
        degradation_coefficient=0.1,
    ),
    loads=loads,
    limits=ld.Limits(entering_fluid_min=-2.0, entering_fluid_max=35.0, freezing_margin=3.0),
    pump_power="150 W",
    prices=prices,
)
sized = guess.size("depth", years=years)
print(sized)

# %% [markdown]
# ## The run

# %%
run = sized.design.run(years)
print(*run.findings, sep="\n")
ax = run.plot()

# %% [markdown]
# ## The bill
#
# A furnace and an air conditioner meet the same hourly loads.

# %%
cost = run.cost()
print(cost)
ax = cost.plot()

# %%
for name, row in cost.summary.iloc[1:].iterrows():
    saved = cost.summary["carbon_kg"].iloc[0] / row["carbon_kg"] - 1.0
    print(
        f"Against {name}: {row['extra_first_cost']:,.0f} more first cost, paid back in "
        f"{row['simple_payback_years']:.1f} years; {saved:+.0%} carbon over {years} years."
    )
without = prices.replace(installation=prices.installation.replace(incentive_share=0.0))
payback = run.cost(without).summary["simple_payback_years"].iloc[1]
print(f"Without the incentive: {payback:.1f} years.")

# %% [markdown]
# ## For the client
#
# One page with question, answer, charts, assumptions and the complete input.

# %%
with tempfile.TemporaryDirectory() as folder:
    page = report.write(run, Path(folder) / "report.html", title="A ground loop for a two-storey house")
    print(f"{page.name}: {page.stat().st_size / 1e6:.1f} MB, one self-contained file")

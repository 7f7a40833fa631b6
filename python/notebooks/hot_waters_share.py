# %% [markdown]
# # Hot water's share
#
# The compressor's superheat can heat tap water while the unit cools the rooms; this heat would otherwise go
# into the ground. How much of a household's hot water is free, how does the rest load the ground, and how
# does that affect the drift? House, places and heat pump are invented. Set the environment variable `YEARS`
# for a shorter run.

# %%
import os

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd
from matplotlib.ticker import MaxNLocator

import loopdrift as ld
from loopdrift.basics import model_time

years = int(os.environ.get("YEARS", "20"))

# %% [markdown]
# ## A house in two climates

# %%
house = ld.Building(
    floor_area=180.0,
    walls=ld.Opaque(area=180.0, u_value=0.3),
    roof=ld.Opaque(area=110.0, u_value=0.2),
    floor=ld.Opaque(area=100.0, u_value=0.3, exposure=0.6),
    windows=[
        ld.Window(area=14.0, u_value=1.1, g_value=0.5, azimuth=180.0, shading=0.8),
        ld.Window(area=10.0, u_value=1.1, g_value=0.5, azimuth=270.0),
    ],
    mass="medium",
    infiltration=0.4,
    occupants=4,
    equipment="450 W",
    heating_set_point=20.5,
    cooling_set_point=24.5,
)
unit = ld.HeatPump.from_curves(
    heating_cop=[3.9, 0.09],
    heating_capacity=[9.5e3, 280.0],
    heating_entering_load=ld.EnteringLoadCorrection(
        reference=20.0, between=(15.0, 55.0), cop=[-0.04], capacity=[-20.0]
    ),
    cooling_cop=[7.0, -0.10],
    cooling_capacity=[11e3, -60.0],
    degradation_coefficient=0.1,
)
places = {"cold continental": (10.5, 100.0), "hot humid": (23.0, 130.0)}  # ground [degC], depth [m]


def base(climate: str) -> ld.Design:
    """Return the house without hot water."""
    ground_temperature, depth = places[climate]
    bore = ld.Bore(depth=depth, buried_depth=1.5, diameter=0.15, resistance=0.10)
    return ld.Design(
        ground=ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.3e6, temperature=ground_temperature),
        ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
        flow=0.6,
        heat_pump=unit,
        loads=house.loads(ld.Weather.sample(climate)),
        limits=ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=38.0),
        pump_power="130 W",
    )


# %% [markdown]
# ## Four ways to heat the tank
#
# The household draws 160 L a day. A heat exchanger recovers superheat of up to 12 % of the heating or cooling
# that the unit delivers to the rooms (common practice, no source).

# %%
tank = ld.HotWater(daily_volume="160 L", volume="300 L", heater="element")
ways = {
    "element": tank,
    "superheat, element": tank.replace(desuperheater_heating_share=0.12, desuperheater_cooling_share=0.12),
    "heat pump": tank.replace(heater="heat pump"),
    "superheat, heat pump": tank.replace(
        desuperheater_heating_share=0.12, desuperheater_cooling_share=0.12, heater="heat pump"
    ),
}
rows, tanks, runs = {}, {}, {}
for climate in places:
    without = base(climate).run(years)
    runs[climate, "no hot water"] = without
    for name, way in ways.items():
        run = base(climate).replace(hot_water=way).run(years)
        columns = run.design.tank
        first, last = run.yearly.iloc[0], run.yearly.iloc[-1]
        bought = {
            each: table["electricity_kWh"].iloc[-1]
            for each, table in (("with", run.yearly), ("without", without.yearly))
        }
        needed = (columns["drawn_W"].sum() + columns["lost_W"].sum()) / 1e3
        rows[climate, name] = {
            "free in cooling": columns["desuperheater_in_cooling_W"].sum() / 1e3 / needed,
            "in heating": columns["desuperheater_in_heating_W"].sum() / 1e3 / needed,
            "heater": (columns["heat_pump_W"].sum() + columns["element_W"].sum()) / 1e3 / needed,
            "electricity for it [kWh]": bought["with"] - bought["without"],
            "from ground [kWh]": last["heat_extracted_kWh"] - without.yearly["heat_extracted_kWh"].iloc[-1],
            "into ground [kWh]": last["heat_rejected_kWh"] - without.yearly["heat_rejected_kWh"].iloc[-1],
            "drift of the mean [K]": last["entering_fluid_mean_degC"] - first["entering_fluid_mean_degC"],
        }
        tanks[climate, name] = columns
        runs[climate, name] = run
table = pd.DataFrame(rows).T
print(f"Shares of the tank's heat; heat and electricity of year {years} relative to no hot water.\n")
for climate in places:
    print(f"{climate}\n{table.loc[climate].round(2).to_string()}\n")

# %% [markdown]
# ## Month by month

# %%
month = model_time.month_of_hours(start_month=1)
figure, axes = plt.subplots(1, 2, sharey=True, figsize=(9.0, 4.0), layout="constrained")
sources = {
    "desuperheater_in_cooling_W": ("free, from cooling", "0.85", ""),
    "desuperheater_in_heating_W": ("superheat in heating", "0.55", "////"),
    "heat_pump_W": ("heat pump for the tank", "0.2", ""),
}
for ax, climate in zip(axes, places, strict=True):
    below = np.zeros(12)
    for source, (label, shade, hatch) in sources.items():
        watts = tanks[climate, "superheat, heat pump"][source]
        heat = np.bincount(month, watts)[1:] / 1e3
        ax.bar(
            range(12), heat, bottom=below, color=shade, hatch=hatch, edgecolor="black", label=label, lw=0.5
        )
        below += heat
    ax.set_title(climate, loc="left", fontsize="medium")
    ax.set_xticks(range(12), "JFMAMJJASOND")
    ax.set_xlabel("Month")
axes[0].set_ylim(top=1.1 * axes[0].get_ylim()[1])
axes[0].set_ylabel("Heat into the tank [kWh]")
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside upper center", ncols=3, frameon=False)

# %% [markdown]
# ## Effect on the ground

# %%
figure, axes = plt.subplots(1, 2, figsize=(9.0, 4.0), layout="constrained")
for ax, climate in zip(axes, places, strict=True):
    for name, style in (("no hot water", ":"), ("heat pump", "--"), ("superheat, heat pump", "-")):
        yearly = runs[climate, name].yearly["entering_fluid_mean_degC"]
        ax.plot(yearly.index, yearly, style, color="black", label=name)
    ax.set_title(climate, loc="left", fontsize="medium")
    ax.set_xlabel("Year of operation")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.grid(axis="y", color="0.88")
axes[0].set_ylabel("Mean entering fluid [°C]")
figure.legend(*axes[0].get_legend_handles_labels(), loc="outside upper center", ncols=3, frameon=False)

# %% [markdown]
# ## Summary

# %%
for climate in places:
    columns = tanks[climate, "superheat, heat pump"]
    summer = np.isin(month, (6, 7, 8))
    free = columns["desuperheater_in_cooling_W"]
    needed = columns["drawn_W"] + columns["lost_W"]
    both, plain = table.loc[climate, "superheat, heat pump"], table.loc[climate, "heat pump"]
    print(
        f"{climate}: {free[summer].sum() / needed[summer].sum():.0%} of the hot water from June to August is "
        f"free, and {free.sum() / needed.sum():.0%} over the year. With superheat and heat pump it takes "
        f"{both['electricity for it [kWh]']:,.0f} kWh of electricity a year, with an element alone "
        f"{table.loc[(climate, 'element'), 'electricity for it [kWh]']:,.0f} kWh. The mean fluid drifts "
        f"{both['drift of the mean [K]']:+.2f} K in {years} years, {plain['drift of the mean [K]']:+.2f} K "
        f"without the heat exchanger, and "
        f"{table.loc[(climate, 'element'), 'drift of the mean [K]']:+.2f} K with an element alone."
    )

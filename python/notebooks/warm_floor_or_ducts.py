# %% [markdown]
# # Warm floor or ducts?
#
# With the same house and the same bores, what difference does a warm floor, radiators or ducts make to the
# heat pump and the ground? House, place and heat pumps are invented. Set the environment variable `YEARS`
# for a shorter run.

# %%
import os

import matplotlib.pyplot as plt
import numpy as np
import pandas as pd

import loopdrift as ld

years = int(os.environ.get("YEARS", "20"))
weather = ld.Weather.sample("cold continental")
house = ld.Building(
    floor_area=180.0,
    walls=ld.Opaque(area=180.0, u_value=0.3),
    roof=ld.Opaque(area=110.0, u_value=0.2),
    floor=ld.Opaque(area=100.0, u_value=0.3, exposure=0.6),
    windows=[
        ld.Window(area=14.0, u_value=1.1, g_value=0.55, azimuth=180.0, shading=0.8),
        ld.Window(area=10.0, u_value=1.1, g_value=0.55, azimuth=90.0),
    ],
    mass="medium",
    infiltration=0.4,
    occupants=4,
    equipment="350 W",
    heating_set_point=20.5,
    cooling_set_point=25.0,
)
loads = house.loads(weather)

# %% [markdown]
# ## Two units with the same compressor
#
# The entering load temperature determines the lift of the compressor. One unit heats water; its curves are
# for an inlet of 30 °C in heating and 18 °C in cooling. The other heats air, with curves for 20 °C and
# 26 °C. Each kelvin of warmer inlet costs COP; `EnteringLoadCorrection` describes by how much.

# %%
water_unit = ld.HeatPump.from_curves(
    heating_cop=[4.3, 0.10],
    heating_capacity=[9.5e3, 280.0],
    heating_entering_load=ld.EnteringLoadCorrection(
        reference=30.0, between=(20.0, 55.0), cop=[-0.075], capacity=[-30.0]
    ),
    cooling_cop=[7.2, -0.10],
    cooling_capacity=[10e3, -60.0],
    cooling_entering_load=ld.EnteringLoadCorrection(
        reference=18.0, between=(10.0, 25.0), cop=[0.12], capacity=[150.0]
    ),
    degradation_coefficient=0.1,
)
air_unit = ld.HeatPump.from_curves(
    heating_cop=[3.9, 0.09],
    heating_capacity=[9.5e3, 280.0],
    heating_entering_load=ld.EnteringLoadCorrection(
        reference=20.0, between=(15.0, 27.0), cop=[-0.06], capacity=[-30.0]
    ),
    cooling_cop=[6.6, -0.10],
    cooling_capacity=[10e3, -60.0],
    cooling_entering_load=ld.EnteringLoadCorrection(
        reference=26.0, between=(20.0, 32.0), cop=[0.08], capacity=[150.0]
    ),
    degradation_coefficient=0.1,
)
systems = {
    "warm floor": (
        water_unit,
        ld.WaterDistribution(
            weather, return_water=30.0, mild_return_water=23.0, cold_day=-20.0, pump_share=0.006
        ),
    ),
    "radiators": (
        water_unit,
        ld.WaterDistribution(
            weather, return_water=48.0, mild_return_water=30.0, cold_day=-20.0, pump_share=0.006
        ),
    ),
    "ducts": (air_unit, ld.AirDistribution(heating_air=20.0, cooling_air=26.0, fan_share=0.045)),
}

# %% [markdown]
# ## Entering load temperature
#
# The water temperature follows the weather by outdoor reset: it is high on cold days only. The air that
# returns from the rooms is always at the same temperature.

# %%


def entering(distribution):
    if isinstance(distribution, ld.AirDistribution):
        return np.full(loads.heating.shape, distribution.heating_air)
    return np.interp(
        weather.dry_bulb,
        [distribution.cold_day, distribution.mild_day],
        [distribution.return_water, distribution.mild_return_water],
    )


hourly_side = {name: entering(distribution) for name, (_, distribution) in systems.items()}
_, ax = plt.subplots(figsize=(8.0, 4.5), layout="constrained")
coldest_first = np.argsort(weather.dry_bulb)
for (name, side), style in zip(hourly_side.items(), ("-", "--", ":"), strict=True):
    ax.plot(weather.dry_bulb[coldest_first], side[coldest_first], style, color="black", label=name)
ax.set_xlim(right=18.0)  # the house needs no heating above this
ax.set_xlabel("Outdoor air [°C]")
ax.set_ylabel("Load side of the heat pump in heating [°C]")
ax.grid(axis="y", color="0.88")
ax.legend(frameon=False)

# %% [markdown]
# ## Runs

# %%
bore = ld.Bore(depth=95.0, buried_depth=1.5, diameter=0.15, resistance=0.10)
base = ld.Design(
    ground=ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.3e6, temperature=10.5),
    ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
    flow=0.6,
    heat_pump=water_unit,
    loads=loads,
    limits=ld.Limits(entering_fluid_min=-4.0, entering_fluid_max=35.0),
    pump_power="130 W",
)
rows = {}
for name, (unit, distribution) in systems.items():
    run = base.replace(heat_pump=unit, distribution=distribution).run(years)
    last = run.yearly.iloc[-1]
    rows[name] = {
        "load side [degC]": np.average(hourly_side[name], weights=loads.heating),
        "COP": last["seasonal_cop"],
        "heat pump [kWh]": last["electricity_kWh"] - last["distribution_kWh"] - last["backup_kWh"],
        "fans or pumps [kWh]": last["distribution_kWh"],
        "back-up [kWh]": last["backup_kWh"],
        "from ground [kWh]": last["heat_extracted_kWh"],
        "lowest EFT [degC]": last["entering_fluid_min_degC"],
    }
table = pd.DataFrame(rows).T
bought = ["heat pump [kWh]", "fans or pumps [kWh]", "back-up [kWh]"]
table["all electricity [kWh]"] = table[bought].sum(axis=1)
print(f"Year {years}; the load side is the heating mean, weighted by heat delivered.\n")
print(table.round(2).T.to_string())

# %%
_, ax = plt.subplots(figsize=(8.0, 3.6), layout="constrained")
left = np.zeros(len(table))
for column, shade, hatch in zip(bought, ("0.35", "0.75", "white"), ("", "....", "////"), strict=True):
    ax.barh(
        table.index, table[column], left=left, color=shade, hatch=hatch, edgecolor="black", label=column[:-6]
    )
    left += table[column].to_numpy()
ax.invert_yaxis()
ax.set_xlim(right=1.05 * left.max())
ax.set_xlabel(f"Electricity in year {years} [kWh]")
ax.legend(frameon=False, ncols=3, loc="lower left", bbox_to_anchor=(0.0, 1.0))

# %% [markdown]
# ## Summary

# %%
least = table["all electricity [kWh]"].idxmin()
print(f"The {least} uses the least electricity, {table.loc[least, 'all electricity [kWh]']:,.0f} kWh.")
for name in table.index.drop(least):
    more = table.loc[name, "all electricity [kWh]"] / table.loc[least, "all electricity [kWh]"] - 1.0
    print(
        f"{name.capitalize()}: {more:+.0%}; heat pump's COP {table.loc[name, 'COP']:.2f} against "
        f"{table.loc[least, 'COP']:.2f}."
    )
share = table.loc["ducts", "fans or pumps [kWh]"] / table.loc["ducts", "all electricity [kWh]"]
print(f"With ducts, the fans use {share:.0%} of the electricity.")
colder = table.loc[least, "lowest EFT [degC]"] - table["lowest EFT [degC]"].drop(least)
print(
    f"The better COP draws more heat from the ground: the {least}'s coldest fluid is "
    + " and ".join(f"{-kelvin:.1f} K colder than with {name}" for name, kelvin in colder.items())
    + "."
)

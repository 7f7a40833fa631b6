# %% [markdown]
# # Still and moving groundwater
#
# Three farmhouses share a field of 4 x 3 bores. In still ground it cools for decades; water that flows
# through it carries the cold away. How much does that change, how many metres of bore does it save, and who
# should rely on it? Buildings, place and heat pumps are invented. Set the environment variable `YEARS` for a
# shorter run.

# %%
import os
from importlib.resources import files

import matplotlib.pyplot as plt
import numpy as np

import loopdrift as ld

years = int(os.environ.get("YEARS", "20"))
farm = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
unit, load = farm.heat_pump, farm.loads
still = farm.replace(
    ground_side=ld.BoreField.grid(farm.ground_side.bores[0], columns=4, rows=3, spacing=6.0),
    flow=3.0 * farm.flow,
    heat_pump=ld.HeatPump.from_curves(
        heating_cop=unit.heating.cop,
        heating_capacity=3.0 * np.array(unit.heating.capacity),
        heating_range=unit.heating.entering_fluid_range,
        cooling_cop=unit.cooling.cop,
        cooling_capacity=3.0 * np.array(unit.cooling.capacity),
        cooling_range=unit.cooling.entering_fluid_range,
        degradation_coefficient=unit.degradation_coefficient,
    ),
    loads=ld.Loads(heating=3.0 * load.heating, cooling=3.0 * load.cooling, hot_water=3.0 * load.hot_water),
)


def with_flux(flux, towards=90.0):
    return still.replace(ground=still.ground.replace(darcy_flux=flux, flow_direction=towards))


# %% [markdown]
# ## The step response ends
#
# Without water, the response of a field rises for centuries. With water it ends in a steady state: the
# sooner, the faster the water.

# %%
times = np.geomspace(0.01, 100.0, 60)  # years
fluxes = {0.0: "still", 3e-8: "1 m a year", 1e-7: "3 m a year", 5e-7: "16 m a year"}
figure, ax = plt.subplots(figsize=(7.0, 4.0), layout="constrained")
for (flux, name), style in zip(fluxes.items(), ("-", "--", "-.", ":"), strict=True):
    ground = with_flux(flux).ground
    g = still.ground_side.g_function(ground, times * 8760 * 3600.0)
    ax.semilogx(times, g, linestyle=style, color="black", label=name)
ax.set_xlabel("time [years]")
ax.set_ylabel("g-function [-]")
ax.set_title("4 x 3 bores, 6 m apart", loc="left", fontsize="medium")
ax.legend(title="Darcy flux", frameon=False)

# %% [markdown]
# ## The drift ends too

# %%
runs = {name: with_flux(flux).run(years) for flux, name in fluxes.items()}
figure, ax = plt.subplots(figsize=(7.0, 4.0), layout="constrained")
for (name, run), style in zip(runs.items(), ("-", "--", "-.", ":"), strict=True):
    lowest = run.yearly["entering_fluid_min_degC"]
    ax.plot(lowest.index, lowest, linestyle=style, color="black", label=name)
ax.xaxis.get_major_locator().set_params(integer=True)
ax.set_xlabel("year of operation")
ax.set_ylabel("lowest entering fluid temperature [°C]")
ax.legend(title="Darcy flux", frameon=False)
for name, run in runs.items():
    lowest = run.yearly["entering_fluid_min_degC"]
    print(f"{name}: {lowest.iloc[0]:.2f} degC in year 1, {lowest.iloc[-1]:.2f} degC in year {years}")

# %% [markdown]
# ## The plume
#
# The cold lies around the field in still ground, and downstream where the water carries it. A neighbour there
# gets it.

# %%
x, y = np.linspace(-25.0, 75.0, 201), np.linspace(-25.0, 37.0, 125)
maps = [runs[name].ground_map(x=x, y=y) for name in ("still", "16 m a year")]
levels = np.arange(np.floor(min(float(each.min()) for each in maps)), still.ground.temperature + 0.5, 0.5)
figure, axes = plt.subplots(2, 1, figsize=(7.0, 8.6), layout="constrained")
for ax, each, name in zip(axes, maps, ("still", "16 m a year towards the east"), strict=True):
    ld.plots.ground_map(each, field=still.ground_side, levels=levels, ax=ax)
    ax.set_title(f"{name}: {ax.get_title(loc='left')}", loc="left", fontsize="medium")
print(runs["16 m a year"].ground_heat().iloc[-1].round(0))

# %% [markdown]
# ## What it saves, and the direction
#
# Water along the longer side of the field meets more bores in a row than water across it.

# %%
sized = {name: with_flux(flux).size("depth", years=years).value for flux, name in fluxes.items()}
for name, depth in sized.items():
    print(f"{name}: {depth:.1f} m deep, {12 * (sized['still'] - depth):.0f} m of drilling less")
for direction, towards in (("along the longer side", 90.0), ("across it", 0.0)):
    lowest = with_flux(1e-7, towards).run(years).yearly["entering_fluid_min_degC"].iloc[-1]
    print(f"3 m a year {direction}: {lowest:.2f} degC in year {years}")

# %% [markdown]
# The saving is real only if the water is. A flux is known from a pumping test or from wells nearby, seldom
# better than to a factor of three, and it may fall when somebody else pumps. So size without it, or treat it
# as one of the unknowns of a study and look at its lower end: a design that holds only because of the water
# promises something that nobody measured.

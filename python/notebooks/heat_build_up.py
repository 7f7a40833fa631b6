# %% [markdown]
# # Heat builds up under an office: what does recharge do?
#
# An office in a hot and humid climate rejects far more heat to its field than it extracts in winter, and the
# ground between the bores warms year by year. The field holds for twenty-five years. What happens after that?
# And how much heat would a dry cooler have to remove from the loop in the cooler months to slow the drift?
# Building, place and heat pump are invented. Set the environment variable `YEARS` for a shorter run.

# %%
import os

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "25"))
loads = ld.Loads.from_heat_loss(
    ld.Weather.sample("hot humid"), loss_coefficient=2_500.0, heating_kWh=920.0, cooling_kWh=150_000.0
).scaled(cooling_kWh=150_000.0, cooling_peak=47_000.0)
bore = ld.Bore(
    depth=110.0,
    buried_depth=1.5,
    diameter=0.15,
    grout_conductivity=1.8,
    pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.075),
)
design = ld.Design(
    ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.3e6, temperature=19.0),
    ground_side=ld.BoreField.grid(bore, columns=6, rows=5, spacing=6.0),
    fluid=ld.Fluid("water"),
    flow=9.0,
    heat_pump=ld.HeatPump.from_curves(heating_cop=[3.6, 0.06], cooling_cop=[7.6, -0.09]),
    loads=loads,
    limits=ld.Limits(entering_fluid_max=35.0),
    pump_power="1.5 kW",
)
bare = design.run(years)
print(bare)

# %% [markdown]
# ## How much heat, and what is the steady state?

# %%
found = bare.heat_build_up()
print(found)
ax = plots.heat_build_up(found)
limit = design.limits.entering_fluid_max
first_broken = found.yearly.index[found.yearly["entering_fluid_max_degC"] > limit][0]
print(
    f"The limit is broken from year {first_broken} on, by {found.final['max'] - limit:.1f} K at steady state."
)
assert first_broken < 100
assert found.final["max"] > limit

# %% [markdown]
# ## How much recharge holds the limit?
#
# A dry cooler removes heat from the loop at constant power in the months with little cooling. How much does
# each kelvin of drift cost?

# %%
runs = {"no recharge": bare.yearly}
needed = {}
for share in (0.5, 0.25):
    drift = share * (
        bare.yearly["entering_fluid_mean_degC"].max() - bare.yearly["entering_fluid_mean_degC"][1]
    )
    recharge = design.find_recharge(drift, years=years)
    needed[share] = recharge
    print(recharge)
    recharged = recharge.design.run(years)
    runs[f"{-recharge.yearly / 1e3:.0f} MWh per year removed"] = recharged.yearly
assert needed[0.5].holds
assert abs(needed[0.25].yearly) > abs(needed[0.5].yearly)
ax = plots.drift(runs)

# %%
half, half_yearly = needed[0.5], list(runs.values())[1]
rejected = bare.yearly["heat_rejected_kWh"][years]
more = half_yearly["electricity_kWh"][years] - bare.yearly["electricity_kWh"][years]
print(
    f"Halving the drift means removing {-half.yearly / rejected:.0%} of the heat rejected to the ground. The "
    f"electricity of heat pump and circulation pump changes by {more:+,.0f} kWh in year {years}; that of the "
    "cooler comes on top."
)
forever = half.design.run(years).heat_build_up()
print(forever)
inside = limit - forever.final["max"]
print(f"At steady state the highest entering fluid is {inside:+.1f} K inside its limit.")
assert inside > limit - found.final["max"]

# %% [markdown]
# ## Does a rest help?
#
# How far does the ground recover if the plant stops?

# %%
recovery = bare.recovery(10)
print(recovery)
ax = plots.recovery(recovery)

# %% [markdown]
# Nearly all the heat that this office rejects stays in the ground, and most of its effect appears only after
# twenty-five years: the limit holds over the horizon but is broken later. Removing half of the heat in the
# cooler months halves the drift and holds permanently; each further kelvin costs as much again. Left alone,
# the ground still keeps three tenths of its temperature rise after ten years: the build-up is hard to undo.

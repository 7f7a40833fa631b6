# %% [markdown]
# # Does this field still work in year fifty?
#
# Four bores serve a farmhouse that takes more heat from the ground than it gives back. They are drilled
# once: does a field that holds in year 20 still hold in year 50, how much of the drift is still to come, and
# what happens if the loads are higher than planned? Building, place and heat pump are invented. Set the
# environment variable `YEARS` for a shorter run.

# %%
import os
from importlib.resources import files

import numpy as np

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "50"))
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
run = design.run(years)
print(run)

# %%
ax = run.plot()

# %% [markdown]
# ## What is the steady state?
#
# The last year of a run is not the end of the drift. The drift ends at the steady state, when heat flows in
# from the surface and the surrounding ground as fast as it is extracted.

# %%
found = run.heat_build_up()
print(found)
ax = plots.heat_build_up(found)

# %%
still_to_come = float(run.yearly["entering_fluid_min_degC"].iloc[-1]) - found.final["min"]
print(f"After year {years} the lowest entering fluid falls by another {still_to_come:.2f} K in total.")
assert still_to_come > 0.0
assert found.final["min"] > design.limits.entering_fluid_min

# %% [markdown]
# ## What if the loads are higher?
#
# Another wing, a colder place, a family that likes it warm: heating and hot water are scaled together.
# Back-up heat meets what the heat pump can't, and so relieves the ground.

# %%
scales = np.arange(0.9, 1.51, 0.1)
cases = [{"heating_scale": scale, "hot_water_scale": scale} for scale in scales]
table = ld.Study(design, cases=cases).run(years)
margins, backup = table["margin_K"].to_numpy(), table["backup_kWh"].sel(year=years).to_numpy()
for scale, margin, heat, limit in zip(
    scales, margins, backup, table["deciding_limit"].to_numpy(), strict=True
):
    print(f"{scale:.0%} of the heat: {margin:+.2f} K to {limit}, {heat:,.0f} kWh of back-up in year {years}")
for_ever = margins - scales * still_to_come  # the remaining drift grows with the heat
holds = scales[for_ever >= 0.0]
print(f"With the remaining drift, the field holds up to {holds.max():.0%} of the heat, in steps of 10 %.")
assert holds.max() >= 1.0

# %% [markdown]
# ## Recovery after the plant stops

# %%
recovery = run.recovery(10)
print(recovery)
ax = plots.recovery(recovery)

# %% [markdown]
# Year 20 is not the end: the ground continues to cool for decades, but by hundredths of a kelvin. The steady
# state gives the drift after year 50, and the field has room for it, and for higher loads than planned. After
# the plant stops, most of the recovery takes a year or two; the last tenth takes far longer than anyone will
# wait.

# %% [markdown]
# # Does this field still work in year fifty?
#
# Four bores serve a farmhouse that takes more heat from the ground than it gives back. They are paid for once
# and drilled once: is what holds in year 20 still good in year 50, how much of the drift is yet to come, and
# what happens if the house asks for more than was reckoned? Building, place and heat pump are invented.
# `YEARS` in the environment makes it shorter.

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
# ## Where does it end?
#
# The last year of a run is not the end of the drift. The end is the steady state: heat then comes in from the
# surface and from around as fast as it is taken.

# %%
found = run.heat_build_up()
print(found)
ax = plots.heat_build_up(found)

# %%
still_to_come = float(run.yearly["entering_fluid_min_degC"].iloc[-1]) - found.final["min"]
print(f"After year {years} the lowest entering fluid falls by another {still_to_come:.2f} K and no more.")
assert still_to_come > 0.0
assert found.final["min"] > design.limits.entering_fluid_min

# %% [markdown]
# ## And if the house asks for more?
#
# Another wing, a colder place, a family that likes it warm: heat and hot water are scaled together. What the
# heat pump can't carry is left to back-up heat, which spares the ground.

# %%
scales = np.arange(0.9, 1.51, 0.1)
cases = [{"heating_scale": scale, "hot_water_scale": scale} for scale in scales]
table = ld.Study(design, cases=cases).run(years)
margins, backup = table["margin_K"].to_numpy(), table["backup_kWh"].sel(year=years).to_numpy()
for scale, margin, heat, limit in zip(
    scales, margins, backup, table["deciding_limit"].to_numpy(), strict=True
):
    print(f"{scale:.0%} of the heat: {margin:+.2f} K to {limit}, {heat:,.0f} kWh of back-up in year {years}")
for_ever = margins - scales * still_to_come  # what is still to come grows with the heat
holds = scales[for_ever >= 0.0]
print(f"With what is still to come the field holds up to {holds.max():.0%} of the heat, in steps of a tenth.")
assert holds.max() >= 1.0

# %% [markdown]
# ## And when it is given up?

# %%
recovery = run.recovery(10)
print(recovery)
ax = plots.recovery(recovery)

# %% [markdown]
# Year 20 is not the end: the ground goes on cooling for decades, but by hundredths of a kelvin. What is still
# to come after year 50 is known from the steady state, and the field has room for it, and for more heat than
# was reckoned. After the plant stops most of the way back takes a year or two; the last tenth takes longer
# than anyone will wait.

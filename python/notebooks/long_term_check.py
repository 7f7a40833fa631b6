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
limit = design.limits.entering_fluid_min
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
now = float(run.yearly["entering_fluid_min_degC"].iloc[-1])
still_to_come = now - found.final["min"]
margin = found.final["min"] - limit
print(
    f"After year {years} the lowest entering fluid falls by another {still_to_come:.2f} K at most, and stays "
    f"{margin:.1f} K above its limit for ever."
)
assert still_to_come > 0.0
assert margin > 0.0

# %% [markdown]
# ## And if the house asks for more?
#
# Another wing, a colder place, a family that likes it warm: heat and hot water are scaled together.

# %%
more = np.arange(0.9, 1.51, 0.1)
cases = [{"heating_scale": scale, "hot_water_scale": scale} for scale in more]
table = ld.Study(design, cases=cases).run(years)
for scale, least, reason in zip(
    more, table["margin_K"].to_numpy(), table["deciding_limit"].to_numpy(), strict=True
):
    print(f"{scale:.0%} of the heat: {least:+.2f} K to {reason}")
holds = more[table["margin_K"].to_numpy() >= 0.0]
assert 1.0 <= holds.max() < more.max()
print(f"The field holds up to {holds.max():.0%} of the heat, in steps of a tenth.")

# %% [markdown]
# ## And when it is given up?

# %%
recovery = run.recovery(10)
print(recovery)
ax = plots.recovery(recovery)

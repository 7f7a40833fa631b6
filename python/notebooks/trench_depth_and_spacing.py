# %% [markdown]
# # How deep, and how far apart?
#
# The demo's farmhouse on trenches. Winter reaches deeper pipes later and more weakly; wider spacing takes
# more land but reduces interaction between trenches. How much trench length does each save if every limit
# must hold in every hour of twenty years? Building, place, soil and heat pump are invented. Set the
# environment variable `YEARS` for a shorter run.

# %%
import os
from importlib.resources import files

import numpy as np

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "20"))
farm = ld.Design.read(files("loopdrift") / "demo" / "trenches.toml")
print(farm.ground_side)
ax = plots.trench_section(farm.ground_side)

# %% [markdown]
# The undisturbed ground temperature at three depths through the year.

# %%
days = np.arange(0, 365, 73)
for depth in (1.2, 1.8, 2.4):
    found = farm.ground_side.surface.temperature(farm.ground, depth=depth, hours=24 * days)
    print(
        f"{depth} m: "
        + ", ".join(f"day {day}: {value:.1f} degC" for day, value in zip(days, found, strict=True))
    )

# %%
for depth in (1.5, 2.0, 2.5):
    sized = farm.replace(ground_side=farm.ground_side.lowered(depth)).size("length", years=years)
    print(f"{depth} m deep: {sized}")

# %%
for apart in (2.0, 3.0, 4.0, 6.0):
    sized = farm.replace(ground_side=farm.ground_side.replace(spacing=apart)).size("length", years=years)
    print(f"{apart} m apart: {sized}")

# %% [markdown]
# A run reports the hours in which the soil at the pipes would freeze; freezing itself is not modelled.

# %%
run = farm.run(years)
print(run)
ax = run.plot()

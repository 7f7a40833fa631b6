# %% [markdown]
# # A first run
#
# Does the demo's loop still supply usable fluid in year 20? Building, place and heat pump are invented.

# %%
from importlib.resources import files

import loopdrift as ld

design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
run = design.run(years=20)
print(run)

# %%
run.yearly[["entering_fluid_min_degC", "entering_fluid_mean_degC", "drift_mean_K", "seasonal_cop"]].round(2)

# %%
ax = run.plot()

# %% [markdown]
# The ground cools a little less each year: most of the drift occurs in the first five years. In year 20 the
# coldest fluid is still above the unit's lower limit, and the mixture stays well above its freezing point.

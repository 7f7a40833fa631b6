# %% [markdown]
# # A first run
#
# Does the demo's loop still give usable fluid in year 20? Building, place and heat pump are invented.

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
# The ground cools year by year, less each time: most of the drift comes in the first five years. The coldest
# fluid of year 20 still is above the unit's lower limit, and the mixture does not come near its freezing
# point.

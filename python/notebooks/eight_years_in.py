# %% [markdown]
# # Eight years in: what now?
#
# A farmhouse has had its ground-source heat pump for eight years, and the fluid is colder than the design
# promised. Which ground do the bores stand in, will the loop last to year 25, and can a workshop be
# connected? The log is invented: daily means from a plant whose ground (1.9 W/(m K), 2.15 MJ/(m3 K),
# 10.1 degC) and bore resistance (0.112 m K/W) are known, but not to the method, with noise, a gap of five
# weeks and a sensor that shows 0.1 K too much. Set the environment variable `YEARS` for a shorter forecast.

# %%
import os
from importlib.resources import files

import loopdrift as ld

years = max(int(os.environ.get("YEARS", "25")), 9)
demo = files("loopdrift") / "demo"
built = ld.Design.read(demo / "design.toml")
log = ld.PlantLog.read(demo / "plant-log.csv")
print(log)

# %% [markdown]
# Whole hourly runs of the design are fitted to the log. As the heat was measured, the loads follow it.

# %%
learned = ld.learn(built, log)
ax = learned.plot()

# %%
print(learned)

# %% [markdown]
# The ground conducts a fifth less than the design assumed. The undisturbed temperature and the offset of the
# sensor shift all readings alike, so the log determines only their sum: a reading of the undisturbed
# temperature, or a check of the sensor, would narrow both. The residuals should be noise:

# %%
ax = learned.plot("residuals")

# %% [markdown]
# The years to come: samples of everything that was found, each run from the first year on.

# %%
forecast = learned.forecast(years, count=64)
print(forecast)
ax = forecast.plot()

# %% [markdown]
# Can the workshop be connected? With the ground and the bores that were found, a tenth more heating from year
# 9 on:

# %%
found = built.replace(ground=learned.design.ground, ground_side=learned.design.ground_side)
more = found.loads.scaled(heating_kWh=1.1 * float(found.loads.heating.sum()) / 1000.0)
workshop = found.then(9, loads=more).run(years)
for name, run in {"as it is": found.run(years), "with the workshop": workshop}.items():
    lowest = run.yearly["entering_fluid_min_degC"].iloc[-1]
    verdict = "holds" if run.holds else "doesn't hold"
    print(f"{name}: {lowest:.2f} degC at the lowest of year {years}; {verdict}")

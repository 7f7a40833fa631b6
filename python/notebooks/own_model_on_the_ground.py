# %% [markdown]
# # The ground in a model of your own
#
# Sometimes the plant isn't one that loopdrift knows: a cold store, a solar field that charges the ground, a
# controller under development. Two ways lead to the ground alone:
#
# 1. `field.g_function` gives the step response of a bore field; your model superposes it.
# 2. A load of `recharge` and nothing else drives a run with heat that you prescribe, hour by hour.
#
# All numbers are invented. Set the environment variable `YEARS` for a shorter run.

# %%
import os

import numpy as np
from scipy.signal import fftconvolve

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "20"))
hours = np.arange(1, 8760 * years + 1)
ground = ld.Ground(conductivity=2.2, volumetric_heat_capacity=2.2e6, temperature=11.0)
bore = ld.Bore(depth=120.0, buried_depth=2.0, diameter=0.14, resistance=0.09)
field = ld.BoreField.grid(bore, columns=4, rows=3, spacing=5.0)
ax = plots.layout(field)

# %% [markdown]
# ## 1. The step response
#
# After a heat extraction of q watts per metre begins, the bore wall is colder by
#
# $$\Delta T(t) = \frac{q}{2 \pi k} \, g(t)$$
#
# with the ground's conductivity k. Heat that changes from hour to hour is a sum of steps, so the temperature
# is a convolution of the changes of q with g: one line of scipy, for all hours at once. The plant here is an
# invented cold store that rejects heat all year, more of it in summer, and takes it back for heating.

# %%
season = np.cos(2 * np.pi * (np.arange(8760) - 20 * 24) / 8760)
of_a_year = 14_000.0 * season - 3_000.0  # W from the ground
heat = np.tile(of_a_year, years)

g = field.g_function(ground, 3600.0 * hours)
q = heat / field.total_depth
drop = fftconvolve(np.diff(q, prepend=0.0), g)[: q.size] / (2 * np.pi * ground.conductivity)
wall = ground.temperature - drop
fluid = wall - q * bore.resistance  # mean of the two legs
print(f"bore wall from {wall.min():.2f} to {wall.max():.2f} degC, mean fluid down to {fluid.min():.2f} degC")

# %% [markdown]
# A model that steps, because the heat of an hour depends on its temperature, needs the part of the sum that
# is already known, and the response of one hour. The cold store below takes less heat from a colder ground.

# %%
step = g[: 8760 // 4] / (2 * np.pi * ground.conductivity)  # a quarter of a year
taken = np.zeros(step.size)
temperature = np.zeros(step.size)
change = np.zeros(step.size)
for hour in range(step.size):
    known = ground.temperature - change[:hour] @ step[hour:0:-1] if hour else ground.temperature
    before = taken[hour - 1] if hour else 0.0
    # Solve taken = 4 W/(m K) x (temperature - 2 degC), temperature = known - (taken - before) x step[0].
    temperature[hour] = (known + (before + 4.0 * 2.0) * step[0]) / (1.0 + 4.0 * step[0])
    taken[hour] = 4.0 * (temperature[hour] - 2.0)
    change[hour] = taken[hour] - before
print(f"heat taken falls from {taken[0]:.1f} to {taken[-1]:.1f} W/m, the wall to {temperature[-1]:.2f} degC")

# %% [markdown]
# g has no inside: a fluid model adds what lies between fluid and wall, here a resistance.
# `bore.resistance_at` gives it for a bore of pipes and grout.
#
# ## 2. Heat that you prescribe
#
# `Loads.recharge` is heat added to the loop, negative where it is taken. Without heating, cooling and hot
# water the heat pump never runs, and the run is the response of ground, bores and fluid to that heat alone,
# with all its results: temperatures, drift, maps, error.

# %%
forced = ld.Design(
    ground=ground,
    ground_side=field,
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
    flow=4.0,
    heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),  # required, but idle
    loads=ld.Loads(recharge=-of_a_year),
)
run = forced.run(years)
assert np.allclose(run.hourly["heat_extracted_W"], heat)
apart = np.abs(run.hourly["wall_degC"].to_numpy() - wall).max()
print(f"the run's bore wall and the convolution differ by at most {1000.0 * apart:.3f} mK")
assert apart < 1e-3

# %% [markdown]
# With dates, the series joins measured ones; units travel with the table.

# %%
dated = run.hourly_from(2027)
monthly = dated["wall_degC"].resample("MS").mean()
print(monthly.iloc[:12].round(2).to_string())
print(f"[{dated.attrs['units']['wall_degC']}], hours without 29 February: {len(dated):,}")
run.to_xarray()["wall_degC"]

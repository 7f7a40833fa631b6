# %% [markdown]
# # Does a pond supply a farmhouse through a hard winter?
#
# The demo's farmhouse on coils in a pond, in the demo's cold winter and in winters with air colder by 3, 6
# and 9 K. How thick is the ice, how cold does the water at the coils get, and what coil length holds the
# limits? Building, place, pond and heat pump are invented. Set the environment variable `YEARS` for a
# shorter run.

# %%
import os
from importlib.resources import files

import numpy as np

import loopdrift as ld
from loopdrift import plots

years = min(3, int(os.environ.get("YEARS", "3")))
farm = ld.Design.read(files("loopdrift") / "demo" / "pond.toml")
pond = farm.ground_side
print(pond)
ax = plots.pond_profile(pond)

# %% [markdown]
# Colder winters: the same year with the air temperature lowered from November to March, most in January.

# %%
weather = pond.weather
season = np.clip(np.cos(2.0 * np.pi * (np.arange(8760) / 8760 - 15.0 / 365.0)), 0.0, None)


def colder(by: float) -> ld.Weather:
    """Return the pond's weather with midwinter colder by `by` [K]."""
    return ld.Weather(
        dry_bulb=weather.dry_bulb - by * season,
        relative_humidity=weather.relative_humidity,
        ghi=weather.ghi,
        wind_speed=weather.wind_speed,
        latitude=weather.latitude,
        altitude=weather.altitude,
    )


# %%
for by in (0.0, 3.0, 6.0, 9.0):
    hourly = farm.replace(ground_side=pond.replace(weather=colder(by))).run(years).hourly
    print(
        f"{by:.0f} K colder: ice up to {hourly['ice_m'].max():.2f} m, water at the coils from "
        f"{hourly['wall_degC'].min():.1f} degC, coils from {hourly['coil_surface_degC'].min():.1f} degC, "
        f"entering fluid from {hourly['entering_fluid_degC'].min():.1f} degC"
    )

# %% [markdown]
# The loads are those of the demo in every case, so only the pond differs. Ice acts as a lid: a harder winter
# makes it thicker and leaves the water below near 4 degC, so the fluid temperature hardly changes. What
# matters to the fluid is the length of the coils.

# %%
for by in (0.0, 9.0):
    harder = farm.replace(ground_side=pond.replace(weather=colder(by)))
    print(f"{by:.0f} K colder: {harder.size('length', years=years)}")

# %%
run = farm.run(years)
for finding in run.findings:
    print(finding)
ax = run.plot("coldest-week")

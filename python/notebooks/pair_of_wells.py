# %% [markdown]
# # How far away must the second well be?
#
# The demo's farmhouse on a pair of wells. Water injected into the second well eventually reaches the first,
# colder after each winter. How far apart must they be on this plot, and how does a neighbour who pumps as
# much on the other side affect the water level? All is invented. Set the environment variable `YEARS` for a
# shorter run.

# %%
import os
from importlib.resources import files

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "20"))
farm = ld.Design.read(files("loopdrift") / "demo" / "well.toml")
well = farm.ground_side
print(well)
ax = plots.well_streamlines(well)

# %% [markdown]
# Breakthrough time for continuous pumping and for the mean flow of the year, and the effect in hourly runs.

# %%
for distance in (15.0, 25.0, 40.0, 70.0):
    pair = well.replace(return_distance=distance)
    run = farm.replace(ground_side=pair).run(years)
    always = pair.breakthrough_time(farm.ground) / 86400.0
    running = float(run.hourly["well_flow_kg_per_s"].mean()) / well.flow
    lowest = run.yearly["entering_fluid_min_degC"].min()
    moved = float((run.hourly["wall_degC"] - well.aquifer.temperature).min())
    print(
        f"{distance:.0f} m: breakthrough after {always:,.0f} days of continuous pumping, or "
        f"{always / running:,.0f} days at the mean flow; in {years} years the well water cools by "
        f"{-moved:.2f} K and the entering fluid falls to {lowest:.1f} degC"
    )

# %% [markdown]
# Breakthrough time grows with the square of the distance. The heat and cold of a year partly cancel on the
# way, because streamlines of different lengths mix winters with summers; the yearly imbalance remains. The
# model neglects conduction with the layers above and below and natural groundwater flow. Both would help, so
# the results are conservative.

# %%
hour, year = 3600.0, 8760 * 3600.0
for distance in (50.0, 100.0, 200.0):
    fall = well.aquifer.drawdown(well.flow, distance=distance, times=[24 * hour, 90 * 24 * hour, year])
    levels = f"{fall[0]:.2f}, {fall[1]:.2f} and {fall[2]:.2f} m after a day, 90 days and a year"
    print(f"a neighbour {distance:.0f} m away lowers the water level by {levels}")

# %%
run = farm.run(years)
for finding in run.findings:
    print(finding)

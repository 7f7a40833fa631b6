# %% [markdown]
# # How far away must the second well be?
#
# The demo's farmhouse on a pair of wells. What the second well takes back comes to the first in the end,
# colder after each winter. How far apart must they be on this plot, and what does a neighbour who pumps
# as much on the other side do to the level? All is invented. `YEARS` in the environment makes it shorter.

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
# Time of breakthrough if the well pumped without a pause, and with the mean of the year's pumping; and
# what comes of it in hourly runs.

# %%
for distance in (15.0, 25.0, 40.0, 70.0):
    pair = well.replace(return_distance=distance)
    run = farm.replace(ground_side=pair).run(years)
    always = pair.breakthrough_time(farm.ground) / 86400.0
    running = float(run.hourly["well_flow_kg_per_s"].mean()) / well.flow
    lowest = run.yearly["entering_fluid_min_degC"].min()
    moved = float((run.hourly["wall_degC"] - well.aquifer.temperature).min())
    print(
        f"{distance:.0f} m: breakthrough after {always:,.0f} days of pumping, {always / running:,.0f} days "
        f"of the year as it is; in {years} years the well's water falls by {-moved:.2f} K and the entering "
        f"fluid to {lowest:.1f} degC"
    )

# %% [markdown]
# The time grows with the square of the distance. Heat and cold of a year partly cancel on the way, as
# streamlines of different lengths mix winters with summers; what stays is the year's balance. The model
# leaves out conduction with the layers above and below and the aquifer's own flow, both of which help: it
# is on the safe side.

# %%
hour, year = 3600.0, 8760 * 3600.0
for distance in (50.0, 100.0, 200.0):
    fall = well.aquifer.drawdown(well.flow, distance=distance, times=[24 * hour, 90 * 24 * hour, year])
    levels = f"{fall[0]:.2f}, {fall[1]:.2f} and {fall[2]:.2f} m after a day, 90 days and a year"
    print(f"a neighbour {distance:.0f} m away lowers the level by {levels}")

# %%
run = farm.run(years)
for finding in run.findings:
    print(finding)

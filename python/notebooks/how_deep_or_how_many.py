# %% [markdown]
# # How deep, or how many?
#
# A few deep bores or many short ones can supply the same heat. A driller charges a fixed sum per bore and a
# price per metre: which field costs least and still holds in every hour of twenty-five years? Building,
# place, heat pump and prices are invented. Set the environment variable `YEARS` for a shorter run.

# %%
import os
from importlib.resources import files

import loopdrift as ld

years = int(os.environ.get("YEARS", "25"))
each_bore, each_metre = 1_500.0, 60.0
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
bore = design.ground_side.bores[0]

# %% [markdown]
# First, the depth that each layout needs. The bores share the flow: with many bores it becomes laminar, and
# the bore resistance rises.

# %%
cost = {}
for columns, rows in ((2, 1), (3, 1), (2, 2), (3, 2), (4, 2), (3, 3)):
    field = ld.BoreField.grid(bore, columns=columns, rows=rows, spacing=6.0)
    sized = design.replace(ground_side=field).size("depth", years=years)
    if not sized.holds:
        print(f"{columns} x {rows}: {sized}")
        continue
    metres = sized.design.ground_side.total_depth
    cost[columns, rows] = each_bore * field.count + each_metre * metres
    print(
        f"{columns} x {rows}: {field.count} bores of {sized.value:.0f} m, {metres:.0f} m in total, "
        f"costs {cost[columns, rows]:,.0f}"
    )

# %% [markdown]
# Now the reverse: the rig reaches 100 m. How many bores does it take?

# %%
shallow = design.replace(ground_side=design.ground_side.replace(bore=bore.replace(depth=100.0)))
print(shallow.size("bores", years=years))

# %%
columns, rows = min(cost, key=cost.get)
print(f"cheapest: {columns} x {rows}")

# %% [markdown]
# A few deep bores are cheapest here, and not only because of the fixed sum. Two bores need a quarter less
# total drilling than nine: in a field of many bores, neighbours draw on the same ground, and each bore's
# share of the flow becomes laminar. Ask the driller whether a rig reaches this depth at the same price per
# metre. If it reaches only 100 m, three bores are enough.

# %% [markdown]
# # How deep, or how many?
#
# The same heat can come from few deep bores or from many short ones. A driller asks for a fixed sum for each
# bore and a price for each metre: which field costs least and still holds in every hour of twenty-five
# years? Building, place, heat pump and prices are invented. `YEARS` in the environment makes it shorter.

# %%
import os
from importlib.resources import files

import loopdrift as ld

years = int(os.environ.get("YEARS", "25"))
each_bore, each_metre = 1_500.0, 60.0
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
bore = design.ground_side.bores[0]

# %% [markdown]
# First the depth that each layout needs. Flow is shared by the bores, so that with many of them it turns
# laminar and the bores' resistance rises.

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
        f"{columns} x {rows}: {field.count} bores of {sized.value:.0f} m, {metres:.0f} m in all, "
        f"costs {cost[columns, rows]:,.0f}"
    )

# %% [markdown]
# Then the other way round: the rig reaches 100 m. How many bores does it take?

# %%
shallow = design.replace(ground_side=design.ground_side.replace(bore=bore.replace(depth=100.0)))
print(shallow.size("bores", years=years))

# %%
columns, rows = min(cost, key=cost.get)
print(f"cheapest: {columns} x {rows}")

# %% [markdown]
# Few and deep is cheapest here, and not only for the fixed sum: two bores need a quarter less drilling in all
# than nine, since every bore of many stands among neighbours that draw on the same ground, and its share of
# the flow turns laminar. Whether a rig reaches so deep at the same price for each metre is the question to
# ask the driller; where 100 m is all it does, three bores are enough.

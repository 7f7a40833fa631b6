# %% [markdown]
# # Who cools whom
#
# A small town changes to heat pumps with bores, house by house, over twenty-five years. Each plant was
# designed by itself. What happens to the house in the middle when all have joined? Town, houses and heat
# pumps are invented. Set the environment variable `YEARS` for a shorter run.

# %%
import dataclasses
import os

import matplotlib.pyplot as plt
import numpy as np

import loopdrift as ld

years = int(os.environ.get("YEARS", "50"))
sketch = ld.Neighbourhood.sketch(60, seed=2)
town = ld.Neighbourhood(
    {
        name: dataclasses.replace(plant, start_year=min(plant.start_year, years))  # in a shorter run
        for name, plant in sketch.plants.items()
    }
)
found = town.run(years)
print(found)

# %% [markdown]
# ## The map
#
# The colour is the margin to the limit of each unit in the coldest hour. A ring marks a house whose limit
# breaks only because of its neighbours: no designer of a single plant would have seen it.

# %%
found.plot()

# %% [markdown]
# ## How the ground cools
#
# Neighbours lower the ground along the bores of each house, while more and more of them join. The band
# holds nine of ten houses.

# %%
drops = found.table["drop_by_neighbours_K"]
low, middle, high = (drops.quantile(share, "plant") for share in (0.05, 0.5, 0.95))
figure, ax = plt.subplots(figsize=(7.0, 4.0), layout="constrained")
ax.fill_between(drops.year, low, high, color="0.85", linewidth=0.0, label="nine of ten houses")
ax.plot(drops.year, middle, color="black", label="median")
ax.set_xlabel("year")
ax.set_ylabel("ground lowered by neighbours [K]")
ax.set_xlim(1, years)
ax.set_ylim(0.0, None)
ax.legend(frameon=False, loc="upper left")

# %% [markdown]
# ## Who it is
#
# The largest effects of one house on another:

# %%
print(found.who_cools_whom(most=8).round(2).to_string(index=False))

# %% [markdown]
# ## A balanced building next door
#
# The house that feels its neighbours most gets a new one beside it: an office that is cooled as much as
# it is heated. It gives the ground in summer what it takes in winter.

# %%
coldest = str(drops.plant[int(np.argmax(drops.isel(year=-1).to_numpy()))].item())
house = town.plants[coldest]
strongest = found.who_cools_whom(plant=coldest, most=1)["neighbour"].iloc[0]
taker = town.plants[strongest]
season = np.cos(2.0 * np.pi * np.arange(8760) / 8760.0)
power = 9000.0 * taker.field.total_depth / 200.0
office = taker.design.replace(
    loads=ld.Loads(
        heating=np.clip(power * season, 0.0, None), cooling=np.clip(-0.65 * power * season, 0.0, None)
    )
)
balanced = ld.Plant(design=office, at=taker.at, depth=taker.depth, start_year=taker.start_year)
after = ld.Neighbourhood(town.plants | {strongest: balanced}).run(years)
for name, run in {"as it is": found, f"with an office at {strongest}": after}.items():
    table = run.table.sel(plant=coldest, year=years)
    print(
        f"{coldest}, {name}: ground lowered by {float(table['drop_by_neighbours_K']):.2f} K, "
        f"lowest entering fluid {float(table['entering_fluid_min_degC']):.2f} degC"
    )

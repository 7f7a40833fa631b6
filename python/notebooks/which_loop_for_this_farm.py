# %% [markdown]
# # Which loop for this farm?
#
# The owner of the demo's farmhouse shows us the land: a paddock behind the house with clay on rock, a pond
# that shrinks in dry summers, a driller who reaches 120 m, and a neighbour's well that indicates
# groundwater. He offers two bores of 110 m. Bores, trenches, pond or well: which fit, what do they need, and
# what decides? House, farm, prices and heat pump are all invented. Set the environment variable `YEARS` for a
# shorter run.

# %%
import os
from importlib.resources import files

import loopdrift as ld

years = int(os.environ.get("YEARS", "20"))
demo = files("loopdrift") / "demo"
house = ld.Design.read(demo / "design.toml")
iron = ld.WaterLimit(substance="iron", measured=0.12, limit=0.2, unit="mg/L")
bore = house.ground_side.bores[0].replace(depth="110 m")
offer = ld.BoreField.grid(bore, columns=2, rows=1, spacing="20 ft")
site = ld.Site(
    land=ld.Land(area="1.5 acre", length="100 m"),
    drilling=ld.Drilling(max_depth="120 m", ground=house.ground),
    excavation=ld.Excavation(soil=ld.Ground.of_soil("wet clay", temperature=8.0), rock_depth="7 ft"),
    water=ld.OpenWater(area="1.1 acre", depth="10 ft"),
    groundwater=ld.Groundwater(
        aquifer=ld.Aquifer(temperature=9.5, thickness=12.0, transmissivity=3e-3, storativity=3e-4),
        sustained_yield="40 gal/min",
        lift=16.0,
        lowest_discharge=3.0,
        return_distance=60.0,
        available_drawdown=6.0,
        depth=30.0,
        quality=[iron],
    ),
    weather=ld.Weather.sample("cold continental"),
    candidates=[ld.Proposal(name="the driller's offer", ground_side=offer)],
)
print(site)

# %% [markdown]
# Each kind is sized as small as the limits allow in every hour of the horizon, with the same house, heat
# pump, fluid and limits. The driller's offer is run as it stands.

# %%
compared = house.compare(site, years=years)
print(compared)
ax = compared.plot()

# %% [markdown]
# First cost, or life cost? The answers may differ.

# %%
table = compared.table[compared.table["fits"]]
priced = table.dropna(subset=["life_cost"])
cheapest, least = priced["first_cost"].idxmin(), priced["life_cost"].idxmin()
print(priced[["first_cost", "life_cost", "seasonal_cop", "pump_kWh"]].round(2).to_string())
if cheapest == least:
    print(f"{least} has the lowest first cost and the lowest cost over {years} years")
else:
    dearer = priced["first_cost"][least] - priced["first_cost"][cheapest]
    saved = priced["life_cost"][cheapest] - priced["life_cost"][least]
    print(f"{least} has {dearer:,.0f} more first cost than {cheapest} and saves {saved:,.0f} in total")

# %% [markdown]
# How certain is this? The owner doesn't know yet how deep the rock is, whether the pond keeps its water and
# may be used, whether the groundwater is suitable, and what depth the drilling permit allows. We change one
# of these at a time, and size the affected kinds again.

# %%
wells = site.groundwater
doubts = {
    "rock at 1 m": ("trench", {"excavation": site.excavation.replace(rock_depth=1.0)}),
    "a pond of 0.5 acre, 1.5 m deep": ("pond", {"water": site.water.replace(area="0.5 acre", depth=1.5)}),
    "no permit to use the pond": ("pond", {"water": None}),
    "no analysis of the water": ("well", {"groundwater": wells.replace(quality=())}),
    "a tenth of the yield": (
        "well",
        {"groundwater": wells.replace(sustained_yield=0.1 * wells.sustained_yield)},
    ),
    "no bores below 60 m": ("bore", {"drilling": site.drilling.replace(max_depth=60.0)}),
}
best = {}
for doubt, (word, change) in doubts.items():
    touched = [kind for kind in compared.table.index if word in kind]
    part = ld.Site(land=site.land, weather=site.weather, **change)
    changed = house.compare(part, years=years).table.loc[touched]
    costs = priced["life_cost"].drop(touched, errors="ignore").to_dict()
    costs |= changed["life_cost"][changed["fits"]].dropna().to_dict()
    best[doubt] = min(costs, key=costs.get)
    print(f"{doubt}: lowest life cost {costs[best[doubt]]:,.0f}, {best[doubt]}")
    for kind, row in changed.iterrows():
        was = compared.table["life_cost"][kind]
        moved = f"life cost {row['life_cost'] - was:+,.0f}"
        if not row["fits"]:
            moved = f"{row['ruled_out']} {row['remedies']}".strip()
        print(f"    {kind}: {moved}")

# %% [markdown]
# And the rules of thumb: how far off would a loop be that was bought by them?

# %%
rules = compared.rules_of_thumb
for (kind, rule), row in rules[rules["departure"] != 0.0].iterrows():
    print(f"{kind}: {rule}: {row['value']:.3g} {row['unit']}, {row['departure']:+.3g} off")

# %%
upset = [f"{doubt} ({choice})" for doubt, choice in best.items() if choice != least]
print(f"On this farm {least} has the lowest life cost, {priced['life_cost'][least]:,.0f}.")
if upset:
    print(f"Find out first, because it would change this result: {'; '.join(upset)}.")
else:
    print("None of these uncertainties changes this result.")

# %% [markdown]
# # A control of your own, against a fixed set point
#
# Electricity costs more in some hours than in others. A heavy house stores heat for a day or so, so a control
# that knows tomorrow's prices can warm it a little while electricity is cheap, and let it cool while it is
# dear. What does that save on a heat pump with bores, if the rooms must never be colder than with a plain
# thermostat?
#
# The answer needs the plant hour by hour: `design.simulation()` takes the heat that the control asks for, and
# returns fluid temperatures, electricity and what could not be delivered. House, prices, place and heat pump
# are invented.

# %%
import matplotlib.pyplot as plt
import numpy as np

import loopdrift as ld

outdoor = ld.Weather.sample("cold continental").dry_bulb
bore = ld.Bore(depth=110.0, buried_depth=1.5, diameter=0.15, resistance=0.09)
design = ld.Design(
    ground=ld.Ground(conductivity=2.3, volumetric_heat_capacity=2.3e6, temperature=9.5),
    ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=7.0),
    fluid=ld.Fluid("propylene glycol", mass_fraction=0.25),
    flow=0.9,
    heat_pump=ld.HeatPump.from_curves(
        heating_cop=[3.9, 0.09],
        heating_capacity=[9_500.0, 260.0],
        degradation_coefficient=0.05,
    ),
    loads=ld.Loads(heating=np.clip(190.0 * (17.0 - outdoor), 0.0, None)),
    pump_power=110.0,
    pump_stops=True,
)

# %% [markdown]
# ## The house and the prices
#
# One heat capacity, one loss coefficient. Without heat the house loses a tenth of its difference to the
# outside in some ten hours. Free heat from people and appliances is even.

# %%
loss, capacity, free = 190.0, 18_000.0, 550.0  # W/K, Wh/K, W
least, most = 20.0, 22.5  # degC that the rooms must keep

hours = np.arange(outdoor.size)
random = np.random.default_rng(7)
of_day = 0.06 * np.cos(2 * np.pi * (hours - 19) / 24) + 0.05 * np.cos(4 * np.pi * (hours - 8) / 24)
of_wind = np.repeat(random.normal(0.0, 0.05, hours.size // 12), 12)  # half a day of wind or calm
price = np.clip(0.27 + of_day + of_wind, 0.04, None)  # currency per kWh


def room_after(room, heat, hour):
    """Return the room temperature at the end of an hour [degC]."""
    return room + (heat + free - loss * (room - outdoor[hour])) / capacity


def heat_for(room, target, hour):
    """Return the heat that brings the rooms to a temperature in an hour [W], zero or more."""
    return max(0.0, (target - room) * capacity - free + loss * (room - outdoor[hour]))


# %% [markdown]
# ## Two controls
#
# The thermostat holds the least temperature. The other control looks at the prices of the next eighteen
# hours, which it is assumed to know. In the cheapest third of them the set point is the highest temperature,
# otherwise the lowest. How much heat the unit can deliver in the hour depends on the fluid; `outlook` tells.


# %%
def thermostat(hour):
    return least


def by_price(hour, ahead=18, share=0.3):
    """Set point from the price now among those of the next hours [degC]."""
    coming = price[hour : hour + ahead]
    return most if price[hour] <= np.quantile(coming, share) else least


def year_with(set_point):
    """Step through a year; return room, fluid [degC], heat and electricity [W] of each hour."""
    simulation = design.simulation(years=1)
    room, rows = least, []
    while simulation.hours_left:
        hour = simulation.hour
        wanted = heat_for(room, set_point(hour), hour)
        able = simulation.outlook(heating=1e6).heating  # more than any capacity
        needed = heat_for(room, least, hour)  # back-up heat only for what the rooms can't do without
        taken = simulation.step(heating=min(wanted, max(able, needed)))
        room = room_after(room, taken.heating + taken.backup, hour)
        rows.append((room, taken.entering_fluid, taken.heating + taken.backup, taken.electricity))
    return np.array(rows).T


plain, own = year_with(thermostat), year_with(by_price)
costs = [float(price @ electricity) / 1000.0 for *_, electricity in (plain, own)]
heats = [heat.sum() / 1000.0 for _, _, heat, _ in (plain, own)]
print(f"fixed set point: {heats[0]:,.0f} kWh of heat for {costs[0]:,.0f}")
print(f"by price:        {heats[1]:,.0f} kWh of heat for {costs[1]:,.0f}")
print(f"coldest rooms: {plain[0].min():.2f} and {own[0].min():.2f} degC")
print(f"coldest fluid: {plain[1].min():.1f} and {own[1].min():.1f} degC")
saved = 1.0 - costs[1] / costs[0]
print(f"saved: {100.0 * saved:.0f} %, with {heats[1] / heats[0] - 1.0:.0%} more heat")
assert saved > 0.03 and own[0].min() > least - 1e-9

# %% [markdown]
# The rooms are warmer than they must be, so the house loses more heat; the hours in which it is bought are
# cheaper by more than that. The loop sees the same heat in fewer, larger pieces: its fluid is a little colder
# in these hours, which is in the electricity.
#
# ## Three days in January

# %%
days = slice(24 * 20, 24 * 23)
at = np.arange(72)
colours = ["0.45", "tab:red"]
figure, axes = plt.subplots(3, 1, sharex=True, figsize=(7.5, 6.5), layout="constrained")
axes[0].step(at, price[days], where="post", color="tab:blue")
axes[0].set_ylabel("price [1/kWh]")
for (room, _, _, electricity), colour, name in zip(
    (plain, own), colours, ("fixed set point", "by price"), strict=True
):
    axes[1].plot(at + 1, room[days], color=colour, label=name)
    axes[2].step(at, electricity[days] / 1000.0, where="post", color=colour)
axes[1].set_ylabel("rooms [degC]")
axes[1].legend(loc="upper right", ncols=2)
axes[2].set_ylabel("electricity [kW]")
axes[2].set_xlabel("hour")
axes[2].set_xticks(np.arange(0, 73, 12))
axes[0].set_title("Heat is bought where it is cheap")

# %% [markdown]
# ## Ask before you buy
#
# The rule above knows nothing of the loop. A copy of the simulation does: it shows what a plan of several
# hours would cost, with the fluid as it would be. Here twelve hours of an even load are compared with the
# same heat in the six cheapest of them.

# %%
simulation = design.simulation(years=1)
while simulation.hour < 24 * 20:
    simulation.step(**simulation.demand)
coming = price[simulation.hour :][:12]
even = np.full(12, 4_000.0)
cheap = np.where(coming <= np.sort(coming)[5], 8_000.0, 0.0)
for name, plan in (("even", even), ("in the cheapest hours", cheap)):
    branch = simulation.copy()
    taken = [branch.step(heating=heat) for heat in plan]
    cost = sum(each * hour.electricity for each, hour in zip(coming, taken, strict=True)) / 1000.0
    coldest = min(hour.entering_fluid for hour in taken)
    print(f"{name}: {cost:.2f} for {plan.sum() / 1000.0:.0f} kWh, fluid down to {coldest:.1f} degC")

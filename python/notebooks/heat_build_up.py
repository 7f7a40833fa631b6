# %% [markdown]
# # Heat builds up under an office: what does recharge do?
#
# An office in a hot and humid climate rejects far more heat into its field than it takes out in winter. The
# ground between the bores warms year by year. How far, how soon, and how much heat must a dry cooler take out
# of the loop in the cooler months to hold it? Building, place and heat pump are invented. `YEARS` in the
# environment makes it shorter.

# %%
import os
from importlib.resources import files

import loopdrift as ld
from loopdrift import plots

years = int(os.environ.get("YEARS", "25"))
weather = ld.Weather.sample("hot humid")
loads = ld.Loads.from_weather(
    weather,
    loss_coefficient=1_500.0,
    heating_balance=14.0,
    gain_coefficient=2_500.0,
    cooling_balance=18.0,
)
bore = ld.Bore(
    depth=110.0,
    top=1.5,
    diameter=0.15,
    grout_conductivity=1.8,
    pipes=ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), centre_spacing=0.075),
)
design = ld.Design(
    ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.3e6, temperature=19.0),
    ground_side=ld.BoreField.grid(bore, columns=6, rows=5, spacing=6.0),
    fluid=ld.Fluid("water"),
    flow=9.0,
    heat_pump=ld.HeatPump.from_curves(heating_cop=[3.6, 0.06], cooling_cop=[7.6, -0.09]),
    loads=loads,
    limits=ld.Limits(entering_fluid_max=35.0),
    pump_power=1_500.0,
)
bare = design.run(years)
print(bare)

# %% [markdown]
# ## How much heat, how fast?

# %%
found = bare.heat_build_up()
print(found)
ax = plots.heat_build_up(found)

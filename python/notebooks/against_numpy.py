# %% [markdown]
# # How long plain superposition takes
#
# Twenty coupled hourly years of one invented design, by loopdrift and by plain NumPy: each hour's temperature
# is the sum over all hours before (Carslaw & Jaeger 1959, Duhamel's theorem; from memory), the heat pump
# solved by fixed-point iteration. Both use the same step response. `YEARS` in the environment makes it
# shorter.

# %%
import os
import time

import numpy as np

import loopdrift as ld

years = int(os.environ.get("YEARS", "20"))
hours = np.arange(8760)
season, day = np.cos(2 * np.pi * hours / 8760), np.cos(2 * np.pi * hours / 24)
resistance, heat_capacity, flow = 0.10, 3900.0, 2.4
cop = {"heating": [3.6, 0.08, -0.0004], "cooling": [7.0, -0.09, 0.0002]}

design = ld.Design(
    ground=ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5),
    ground_side=ld.BoreField.grid(
        ld.Bore(depth=100.0, top=2.0, diameter=0.15, resistance=resistance), columns=4, rows=3, spacing=6.0
    ),
    fluid=ld.Fluid.constant(
        density=1020.0, heat_capacity=heat_capacity, conductivity=0.45, viscosity=0.004, freezing_point=-20.0
    ),
    flow=flow,
    heat_pump=ld.HeatPump.from_curves(heating_cop=cop["heating"], cooling_cop=cop["cooling"]),
    loads=ld.Loads(
        heating=np.clip(28e3 * season + 6e3 * day + 4e3, 0, None),
        cooling=np.clip(-22e3 * season - 5e3 * day - 6e3, 0, None),
    ),
)

# %%
_ = design.run(1).yearly
start = time.perf_counter()
run = design.run(years)
table = run.yearly
ours = time.perf_counter() - start

# %%
start = time.perf_counter()
count = years * 8760
metres = design.ground_side.total_depth
response = design.ground_side.g_function(design.ground, 3600.0 * np.arange(1, count + 1))
response /= 2 * np.pi * design.ground.conductivity * metres
to_fluid = resistance / metres - 0.5 / (flow * heat_capacity)
backwards = response[::-1].copy()
changes, entering, heat, temperature = np.zeros(count), np.zeros(count), 0.0, 10.5
for n in range(count):
    heating, cooling = design.loads.heating[n % 8760], design.loads.cooling[n % 8760]
    open_circuit = 10.5 - changes[:n] @ backwards[count - 1 - n : count - 1] + heat * response[0]
    for _ in range(12):
        heating_cop = cop["heating"][0] + temperature * (cop["heating"][1] + temperature * cop["heating"][2])
        cooling_cop = cop["cooling"][0] + temperature * (cop["cooling"][1] + temperature * cop["cooling"][2])
        extracted = heating * (1 - 1 / heating_cop) - cooling * (1 + 1 / cooling_cop)
        temperature = open_circuit - (response[0] + to_fluid) * extracted
    changes[n], heat, entering[n] = extracted - heat, extracted, temperature
plain = time.perf_counter() - start

# %%
difference = np.abs(run.hourly["entering_fluid_degC"].to_numpy() - entering).max()
print(f"{years} years: loopdrift with check and tables {1e3 * ours:.0f} ms, plain NumPy {plain:.2f} s")
print(f"ratio {plain / ours:,.0f}")
print(f"largest difference of the entering fluid temperature {difference:.1e} K")

# %% [markdown]
# Both find the same temperatures; what differs is the work for an hour, which grows with the hours before it
# in plain superposition and stays the same with exponentials.

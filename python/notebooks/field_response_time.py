# %% [markdown]
# # How long the g-function of a field takes
#
# Invented fields of 10 to 10,000 bores at random places, one in each square of 7 m: how long the g-function
# from one hour to a hundred years takes, the best of three. `BORES` in the environment goes further, such as
# to 100000.

# %%
import os
import time

import matplotlib.pyplot as plt
import numpy as np

import loopdrift as ld

most = int(os.environ.get("BORES", "10000"))
counts = [count for count in (10, 30, 100, 300, 1000, 3000, 10_000, 30_000, 100_000) if count <= most]
ground = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2.0e6, temperature=10.0)
bore = ld.Bore(depth=100.0, top=4.0, diameter=0.15, resistance=0.1)
times = 3600 * np.geomspace(1, 100 * 8760, 50)
random = np.random.default_rng(1)


# %%
def scattered(count):
    side = int(np.ceil(np.sqrt(count)))
    corners = 7.0 * np.array([[i % side, i // side] for i in range(count)])
    return corners + random.uniform(0.0, 6.0, (count, 2))


def seconds(count):
    field = ld.BoreField(bore, positions=scattered(count))
    taken = []
    for _ in range(3):
        begin = time.perf_counter()
        field.g_function(ground, times)
        taken.append(time.perf_counter() - begin)
    return min(taken)


seconds(10)
taken = np.array([seconds(count) for count in counts])
for count, time_taken in zip(counts, taken, strict=True):
    print(f"{count:6} bores: {1e3 * time_taken:8.1f} ms")

# %%
fig, ax = plt.subplots(figsize=(6, 4))
ax.loglog(counts, 1e3 * taken, "o-", label="g-function")
proportional = 1e3 * taken[-1] * np.array(counts) / counts[-1]
ax.loglog(counts, proportional, ":", color="grey", label="in proportion to the bores")
ax.set(xlabel="number of bores", ylabel="time [ms]", title="Time that a g-function takes")
ax.legend()
fig.savefig("field-response-time.png", dpi=120, bbox_inches="tight")

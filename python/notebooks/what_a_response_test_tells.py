# %% [markdown]
# # What a response test tells
#
# A bore has been heated for three days, with a power cut in the second night. Which ground is that, how sure
# is it, and what does the remaining uncertainty mean in year 20? The test is invented; its ground is known
# (2.05 W/(m K), 0.115 m K/W, 10.6 degC), but not to the methods. Set the environment variable `YEARS` for a
# shorter run.

# %%
import os
from importlib.resources import files

import loopdrift as ld

years = int(os.environ.get("YEARS", "20"))
demo = files("loopdrift") / "demo"
pipes = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
bore = ld.Bore(depth=120.0, buried_depth=2.0, diameter=0.14, grout_conductivity=1.5, pipes=pipes)
test = ld.ResponseTest.read(demo / "response-test.csv", bore=bore, volumetric_heat_capacity="2.2 MJ/(m3 K)")
ax = test.plot()

# %% [markdown]
# The usual evaluation is a straight line over the logarithm of time. It needs steady heat, so its window ends
# with the power cut, and the heat stored in the grout still tilts it. The fitted bore has both.

# %%
print(test)
ax = test.plot("line")

# %% [markdown]
# How far the straight line depends on its window, against the fitted bore:

# %%
ax = test.plot("windows")

# %% [markdown]
# What each leaves should be noise. The standard errors allow for noise that lasts for hours, as this does.

# %%
ax = test.plot("residuals")

# %% [markdown]
# Into a design: the ground, a bore with the resistance that was found, and samples with their correlation. A
# heat meter that is 2 % uncertain matters more than the noise.

# %%
farm = ld.Design.read(demo / "design.toml")
design = farm.replace(
    ground=test.ground(), ground_side=farm.ground_side.replace(bore=test.measured_bore(depth=95.0))
)
samples = test.samples(64, heat_error="2 percent")
found = ld.Study(design, samples=samples).run(years)
lowest = found["entering_fluid_min_degC"].isel(year=-1)
print(
    f"lowest entering fluid of year {years}: {float(lowest.mean()):.2f} degC, 95 % of samples from "
    f"{float(lowest.quantile(0.025)):.2f} to {float(lowest.quantile(0.975)):.2f} degC"
)
ax = ld.plots.uncertainty(found, limits=design.limits)

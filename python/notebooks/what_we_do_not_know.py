# %% [markdown]
# # What we don't know about the ground
#
# A field is sized with one conductivity, one heat capacity and one temperature of the ground. None of them
# is known exactly. How likely is it that a field that just holds on paper breaks a limit, how much deeper
# must it be to be safe, and what should be measured first? Building, place, heat pump and distributions are
# invented. Set the environment variable `YEARS` for a shorter run.

# %%
import os
from importlib.resources import files

from scipy import stats

import loopdrift as ld
from loopdrift import plots
from loopdrift.analysis.study import broken_probability

years = int(os.environ.get("YEARS", "20"))
count = 256 if years > 5 else 16  # samples
base = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
unknown = {
    "ground.conductivity": stats.truncnorm(-2.5, 2.5, loc=2.4, scale=0.25),
    "ground.volumetric_heat_capacity": stats.uniform(2.0e6, 0.6e6),
    "ground.temperature": stats.norm(10.5, 0.3),
}

# %%
on_paper = base.size("depth", years=years)
print(on_paper)

# %%
found = ld.Study(on_paper.design, samples=ld.Samples(unknown, count=count)).run(years)
upper, lower = plots.uncertainty(found, limits=base.limits)
print(f"a limit is broken in {broken_probability(found).iloc[-1]:.0%} of the samples")

# %% [markdown]
# Which unknown matters most? Sobol indices attribute the variance of the margin to the unknowns.

# %%
samples = ld.Samples(unknown, count=count // 4, method="sensitivity")
indices = samples.indices(ld.Study(on_paper.design, samples=samples).run(years)["margin_K"])
ax = plots.sensitivity(indices)
print(indices.round(2))

# %% [markdown]
# How much extra depth is safe?

# %%
for deeper in (1.05, 1.10, 1.20):
    field = on_paper.design.ground_side
    deep = field.bores[0].replace(depth=deeper * on_paper.value)
    study = ld.Study(
        on_paper.design.replace(ground_side=field.replace(bore=deep)),
        samples=ld.Samples(unknown, count=count),
    )
    share = broken_probability(study.run(years)).iloc[-1]
    print(f"{deeper * on_paper.value:.0f} m, {deeper - 1.0:+.0%}: {share:.1%} of the samples break a limit")

# %% [markdown]
# The field that holds on paper breaks a limit in half of the samples: a design based on best guesses is a
# coin toss. With a tenth more depth, one sample in ten breaks a limit; with a fifth more, hardly any does.
# Nearly all of the uncertainty is in the conductivity: a thermal response test, which measures it, is worth
# more here than better values of heat capacity or temperature.

"""The years to come, with the uncertainty that a log leaves."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from loopdrift.analysis.study import Study
from loopdrift.analysis.study.statistics import band, broken_probability, missing_in_words
from loopdrift.basics import notebook
from loopdrift.basics.both_units import both_degrees
from loopdrift.basics.errors import InvalidInput
from loopdrift.model.design import Design, check_years
from loopdrift.model.progress import Progress

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr
    from matplotlib.axes import Axes

    from loopdrift.analysis.learning.learned import Learned

QUANTILES = (0.025, 0.5, 0.975)


def forecast(learned: Learned, years: int, *, count: int, seed: int, progress: Progress) -> Forecast:
    """Return the forecast of what was learned; see `Learned.forecast`."""
    horizon = check_years(years, owner="Learned")
    if horizon < learned.seen.years:
        allowed = f"must include the log, up to year {learned.seen.years}"
        raise InvalidInput("Learned", "years", horizon, "", allowed)
    design = to_horizon(learned.design, learned.first, horizon)
    dataset = Study(design, samples=learned.samples(count, seed=seed)).run(horizon, progress=progress)
    return Forecast(learned, dataset, learned.first.run(horizon).yearly)


def to_horizon(design: Design, first: Design, years: int) -> Design:
    """Return a design whose loads of past years are followed by those of the first design.

    Later years have the first design's loads times the mean ratio of the years so far.
    """
    so_far, own = design.loads, first.loads
    if so_far.years == own.years:
        return design  # nothing was measured: the loads repeat as in the first design
    series = {}
    for name, of_own in own.for_engine().items():
        past = so_far.for_engine()[name]
        every = np.resize(of_own, years * 8760)
        total = float(every[: past.size].sum())
        every = every * (float(past.sum()) / total if total else 1.0)
        every[: past.size] = past[: every.size]
        series[name] = every
    return design.replace(loads=own.with_series(**series))


class Forecast:
    """Entering fluid temperatures of the years to come; made by `Learned.forecast`.

    Parameters
    ----------
    learned : Learned
        What was learned.
    dataset : xarray.Dataset
        The yearly results of all samples, as of a `Study`.
    first : pandas.DataFrame
        The yearly table of the design as it was built.
    """

    def __init__(self, learned: Learned, dataset: xr.Dataset, first: pd.DataFrame) -> None:
        self.learned, self.dataset, self.first = learned, dataset, first

    @functools.cached_property
    def table(self) -> pd.DataFrame:
        """Lowest, mean and highest entering fluid temperature by year [degC].

        For each, ``_from`` and ``_to`` of the 95 % band, ``_median``, and ``_design`` of the design as it was
        built; and ``limits_broken``, the probability that a limit has been broken by then [-].
        """
        import pandas as pd

        columns: dict[str, Any] = {}
        for which in ("min", "mean", "max"):
            name = f"entering_fluid_{which}_degC"
            found = band(self.dataset, name, quantiles=QUANTILES)
            for quantile, label in zip(QUANTILES, ("from", "median", "to"), strict=True):
                columns[f"entering_fluid_{which}_{label}_degC"] = found[quantile].to_numpy()
            columns[f"entering_fluid_{which}_design_degC"] = self.first[name].to_numpy()
        columns["limits_broken"] = broken_probability(self.dataset).to_numpy()
        return pd.DataFrame(columns, index=self.first.index)

    @property
    def sentences(self) -> list[str]:
        """The last year in words, beside the first design's own forecast."""
        last, year = self.table.iloc[-1], int(self.table.index[-1])
        found = []
        for which, word in (("min", "lowest"), ("max", "highest")):
            low, middle, high, own = (
                float(last[f"entering_fluid_{which}_{label}_degC"])
                for label in ("from", "median", "to", "design")
            )
            found.append(
                f"In year {year} the {word} entering fluid temperature is {both_degrees(middle)}, between "
                f"{both_degrees(low)} and {both_degrees(high)} in 95 % of samples; for the design as "
                f"built, it was {both_degrees(own)}."
            )
        share = float(last["limits_broken"])
        found.append(f"A limit is broken by then in {100.0 * share:.0f} % of samples.")
        missing = missing_in_words(self.dataset, "sample")
        return [*found, f"{missing}."] if missing else found

    def plot(self, *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None) -> Axes:
        """Draw the log, the fit, and the forecast with its band beside that of the first design, and limits.

        Parameters
        ----------
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.

        Raises
        ------
        InvalidInput
            If `units` is unknown.
        """
        from loopdrift.analysis.learning.charts import draw_forecast

        return draw_forecast(self, units, ax)

    def __repr__(self) -> str:
        return f"<Forecast: {self.dataset.sizes['case']} samples over {self.dataset.sizes['year']} years>"

    def __str__(self) -> str:
        return "\n".join(self.sentences)

    def _repr_html_(self) -> str:
        return (
            notebook.heading("Forecast from the log")
            + notebook.sentences(self.sentences)
            + notebook.table(self.table.iloc[[0, len(self.table) // 2, -1]].T)
        )

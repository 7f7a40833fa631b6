"""Statistics of a study of samples: bands and probabilities by year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from loopdrift.analysis.study.dataset import NOT_RUN, ran
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.words import counted

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

BAND = (0.05, 0.5, 0.95)
"""Quantiles of a band."""


def band(
    dataset: xr.Dataset, variable: str = "entering_fluid_min_degC", *, quantiles: Sequence[float] = BAND
) -> pd.DataFrame:
    """Return quantiles of a variable over the cases that were run, by year.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.
    variable : str, default "entering_fluid_min_degC"
        One of its variables by case and year.
    quantiles : sequence of float, default (0.05, 0.5, 0.95)
        Quantiles [-].

    Returns
    -------
    pandas.DataFrame
        One row per year, one column per quantile.

    Raises
    ------
    InvalidInput
        If the dataset has no such variable by case and year, or no case was run.
    """
    import pandas as pd

    known = [name for name, found in dataset.data_vars.items() if found.dims == ("case", "year")]
    if variable not in known:
        raise InvalidInput(
            "band", "variable", repr(variable), "", f"must be one of {', '.join(map(str, known))}"
        )
    found = dataset[variable][ran(dataset).to_numpy()]
    if not found.sizes["case"]:
        raise InvalidInput("band", "dataset", "no case that was run", "", "must have at least one")
    lines = found.quantile(list(quantiles), dim="case").transpose("year", "quantile")
    return pd.DataFrame(lines.to_numpy(), lines.indexes["year"], lines.indexes["quantile"])


def broken_probability(dataset: xr.Dataset) -> pd.Series[float]:
    """Return the share of cases in which a limit has been broken by the end of each year.

    The limits are all deciding criteria of `Limits`. A case whose fluid freezes counts as broken from that
    year on, one that can't be run at all from the first year. Cases that were not run, because the study was
    stopped, don't count.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.

    Returns
    -------
    pandas.Series
        One value per year [-]; NaN if no case was run.
    """
    import pandas as pd

    limits = dataset["limits_broken"]
    others = [name for name in limits.dims if name != "year"]
    broken = (limits > 0.0) | (dataset["year"] >= first_missing_year(dataset))
    by_now = broken.transpose(*others, "year").to_numpy().reshape(-1, limits.sizes["year"]).cumsum(axis=1) > 0
    was_run = (dataset["failure"] != NOT_RUN).transpose(*others).to_numpy().ravel()
    share = by_now[was_run].mean(axis=0) if was_run.any() else np.full(limits.sizes["year"], np.nan)
    return pd.Series(share, index=dataset.indexes["year"], name="broken_probability")


def first_missing_year(dataset: xr.Dataset) -> xr.DataArray:
    """Return the year from which on each case has no results; infinite if it has all.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of a study.
    """
    since = dataset["failure_year"] if "failure_year" in dataset else np.nan * (dataset["failure"] == "")
    since = since.fillna(float(dataset["year"][0]))
    return since.where(~ran(dataset), np.inf)


def missing_share(dataset: xr.Dataset) -> pd.Series[float]:
    """Return the share of the cases that were started which have no results for each year.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of a study.

    Returns
    -------
    pandas.Series
        One value per year [-].
    """
    import pandas as pd

    years = dataset["year"].to_numpy()
    since = first_missing_year(dataset).to_numpy().ravel()
    since = since[dataset["failure"].to_numpy().ravel() != NOT_RUN]
    share = (years[:, None] >= since).sum(axis=1) / max(len(since), 1)
    return pd.Series(share, index=dataset.indexes["year"], name="missing_share")


def missing_in_words(dataset: xr.Dataset, what: str = "case") -> str:
    """Return how many cases have no results for all years, why and since when; empty if all have.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of a study.
    what : str, default "case"
        What a case is called.

    Returns
    -------
    str
        Such as ``3 of 256 samples incomplete: 1 can't be run, 2 freeze, the first in year 12``.
    """
    failure = dataset["failure"].to_numpy().ravel()
    years = (
        dataset["failure_year"].to_numpy().ravel() if "failure_year" in dataset else np.nan * (failure == "")
    )
    stopped = failure == NOT_RUN
    freezes = np.isfinite(years)
    unfit = (failure != "") & ~stopped & ~freezes
    parts = []
    if unfit.any():
        parts.append(f"{unfit.sum()} can't be run")
    if freezes.any():
        verb = "freezes" if freezes.sum() == 1 else "freeze"
        when = f"in year {years[freezes].min():g}"
        parts.append(f"{freezes.sum()} {verb}, {when if freezes.sum() == 1 else f'the first {when}'}")
    if stopped.any():
        parts.append(f"{stopped.sum()} not run")
    if not parts:
        return ""
    return f"{(failure != '').sum()} of {counted(len(failure), what)} incomplete: {', '.join(parts)}"

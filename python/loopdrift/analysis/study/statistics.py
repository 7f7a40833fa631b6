"""Statistics of a study of samples: bands and probabilities by year."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from loopdrift.analysis.study.dataset import ran
from loopdrift.basics.errors import InvalidInput

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

    The limits are all deciding criteria of `Limits`. A case that can't be run, such as one whose fluid
    freezes, counts as broken from the first year.

    Parameters
    ----------
    dataset : xarray.Dataset
        The result of `Study.run` for samples.

    Returns
    -------
    pandas.Series
        One value per year [-].
    """
    import pandas as pd

    limits = dataset["limits_broken"]
    others = [name for name in limits.dims if name != "year"]
    broken = (limits > 0.0) | ~ran(dataset)
    by_now = broken.transpose(*others, "year").to_numpy().reshape(-1, limits.sizes["year"]).cumsum(axis=1) > 0
    return pd.Series(by_now.mean(axis=0), index=dataset.indexes["year"], name="broken_probability")

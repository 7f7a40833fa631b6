"""Samples of uncertain parameters, and sensitivity indices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift.basics.bounds import MOST_CASES, require_count
from loopdrift.basics.errors import InvalidInput, shown
from loopdrift.basics.numbers import whole_number
from loopdrift.basics.words import InALine

if TYPE_CHECKING:
    import pandas as pd

Method = Literal["latin hypercube", "sobol", "sensitivity"]


@dataclass(frozen=True)
class Samples(InALine):
    """Values of several unknowns, drawn independently from their distributions.

    Parameters
    ----------
    distributions : mapping of str to scipy.stats distribution
        Frozen distributions, such as ``scipy.stats.norm(2.1, 0.2)``, by the names that `Study` takes, in SI.
    count : int
        Number of samples; a power of two, except for the Latin hypercube.
    method : {"latin hypercube", "sobol", "sensitivity"}, default "latin hypercube"
        Latin hypercube or scrambled Sobol points from scipy.stats.qmc; or the ``count * (unknowns + 2)``
        points that `indices` requires [1]_.
    seed : int, default 0
        Seed; equal seeds give equal samples.

    Raises
    ------
    InvalidInput
        If a distribution isn't frozen, or the count doesn't fit the method.

    References
    ----------
    .. [1] Saltelli, A., et al. (2010). Variance based sensitivity analysis of model output. Computer Physics
       Communications 181(2), 259-270.

    Examples
    --------
    >>> from scipy import stats
    >>> unknown = {"ground.conductivity": stats.uniform(1.8, 0.6)}
    >>> Samples(unknown, count=4).table().shape
    (4, 1)
    """

    distributions: Mapping[str, Any]
    count: int
    method: Method = "latin hypercube"
    seed: int = 0

    def __post_init__(self) -> None:
        def refuse(field: str, value: object, allowed: str) -> None:
            raise InvalidInput("Samples", field, shown(value), "", allowed)

        if not isinstance(self.distributions, Mapping) or not self.distributions:
            refuse("distributions", self.distributions, "must map names to distributions")
        for name, distribution in self.distributions.items():
            if not hasattr(distribution, "ppf") or not hasattr(distribution, "args"):
                refuse(
                    "distributions",
                    {name: distribution},
                    "must be frozen, such as scipy.stats.norm(2.1, 0.2)",
                )
        if not isinstance(self.method, str) or self.method not in get_args(Method):
            refuse("method", self.method, f"must be one of {', '.join(get_args(Method))}")
        whole_number(self.count, 2, owner="Samples", field="count")
        require_count(self.count, MOST_CASES, owner="Samples", field="count")
        whole_number(self.seed, 0, owner="Samples", field="seed")
        if self.method != "latin hypercube" and self.count & (self.count - 1):
            refuse("count", self.count, f"must be a power of two for {self.method}")

    def table(self) -> pd.DataFrame:
        """Return the samples, one row per sample, one column per unknown."""
        import pandas as pd

        columns = self._points().T
        drawn = zip(self.distributions.items(), columns, strict=True)
        return pd.DataFrame({name: distribution.ppf(column) for (name, distribution), column in drawn})

    def _points(self) -> NDArray[np.float64]:
        """Return points in the unit cube, shape (samples, unknowns)."""
        from scipy.stats import qmc

        unknowns = len(self.distributions)
        if self.method == "latin hypercube":
            return np.asarray(qmc.LatinHypercube(unknowns, rng=self.seed).random(self.count))
        if self.method == "sobol":
            return np.asarray(qmc.Sobol(unknowns, rng=self.seed).random(self.count))
        from SALib.sample import sobol

        points = sobol.sample(self._problem(), self.count, calc_second_order=False, seed=self.seed)
        return np.asarray(points, dtype=float)

    def _problem(self) -> dict[str, Any]:
        names = list(self.distributions)
        return {"num_vars": len(names), "names": names, "bounds": [[0.0, 1.0]] * len(names)}

    def indices(self, values: ArrayLike) -> pd.DataFrame:
        """Return Sobol indices: the contribution of each unknown to the variance of a result.

        Parameters
        ----------
        values : array_like
            The result for each sample of the method ``sensitivity``, shape (samples,), such as
            ``dataset["entering_fluid_min_degC"].min("year")`` of a `Study`.

        Returns
        -------
        pandas.DataFrame
            By unknown: ``first_order``, its contribution alone; ``total``, including all interactions with
            others; and ``_confidence``, the half-width of the 95 % interval of each.

        Raises
        ------
        InvalidInput
            If the samples are of another method, or values are missing or not finite.
        """
        import pandas as pd

        if self.method != "sensitivity":
            raise InvalidInput("Samples", "method", self.method, "", "must be sensitivity for indices")
        given = np.asarray(values, dtype=float)
        expected = self.count * (len(self.distributions) + 2)
        if given.shape != (expected,):
            allowed = f"must have one value for each of {expected} samples"
            raise InvalidInput("Samples", "values", f"shape {given.shape}", "", allowed)
        missing = int((~np.isfinite(given)).sum())
        if missing:
            allowed = "must all be finite: narrow the distributions to what can be run"
            raise InvalidInput("Samples", "values", f"{missing} of {expected} not finite", "", allowed)
        if np.ptp(given) == 0.0:
            raise InvalidInput(
                "Samples", "values", given[0], "", "must differ: the result doesn't depend on the unknowns"
            )
        from SALib.analyze import sobol

        found = sobol.analyze(self._problem(), given, calc_second_order=False, seed=self.seed)
        columns = {
            "first_order": "S1",
            "first_order_confidence": "S1_conf",
            "total": "ST",
            "total_confidence": "ST_conf",
        }
        index = pd.Index(list(self.distributions), name="unknown")
        return pd.DataFrame({name: found[key] for name, key in columns.items()}, index=index)

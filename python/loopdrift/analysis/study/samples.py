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
from loopdrift.basics.series import array
from loopdrift.basics.words import InALine

if TYPE_CHECKING:
    import pandas as pd

Method = Literal["latin hypercube", "sobol", "sensitivity"]


@dataclass(frozen=True)
class Samples(InALine):
    """Values of several unknowns, drawn from their distributions, independently unless they are correlated.

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
    correlation : array_like, optional
        Correlations of the unknowns in their order, shape (unknowns, unknowns): those of the normal scores,
        so that each unknown keeps its distribution. Not for ``sensitivity``, whose indices need independent
        unknowns.

    Raises
    ------
    InvalidInput
        If a distribution isn't frozen, the count doesn't fit the method, or the correlations aren't those of
        so many unknowns.

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
    correlation: Any = None

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
        if self.correlation is not None:
            if self.method == "sensitivity":
                refuse("correlation", self.correlation, "must be left out: indices need independent unknowns")
            object.__setattr__(self, "correlation", _correlation(self.correlation, len(self.distributions)))

    def table(self) -> pd.DataFrame:
        """Return the samples, one row per sample, one column per unknown."""
        import pandas as pd

        points = self._points()
        columns = (points if self.correlation is None else _correlated(points, self.correlation)).T
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


def _correlation(given: Any, unknowns: int) -> tuple[tuple[float, ...], ...]:
    """Return correlations as tuples.

    Raises
    ------
    InvalidInput
        If they aren't a matrix of correlations of so many unknowns.
    """
    matrix = array(given, "1", owner="Samples", field="correlation")
    allowed = f"must be correlations, shape ({unknowns}, {unknowns}), symmetric, with ones on the diagonal"
    right = matrix.shape == (unknowns, unknowns) and np.isfinite(matrix).all()
    if not right or not np.allclose(matrix, matrix.T) or not np.allclose(np.diag(matrix), 1.0):
        raise InvalidInput("Samples", "correlation", shown(matrix.tolist()), "", allowed)
    if np.linalg.eigvalsh(matrix).min() <= 1e-12:
        allowed = "must be positive definite: no unknown may follow from the others"
        raise InvalidInput("Samples", "correlation", shown(matrix.tolist()), "", allowed)
    return tuple(map(tuple, matrix.tolist()))


def _correlated(points: NDArray[np.float64], correlation: Any) -> NDArray[np.float64]:
    """Return points of the unit cube whose normal scores are correlated: a Gaussian copula."""
    from scipy.special import ndtr, ndtri

    scores = ndtri(points) @ np.linalg.cholesky(np.array(correlation)).T
    return np.asarray(ndtr(scores))

"""The ground around a bore field during a run: temperatures, and the origin of the heat."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from loopdrift import _core
from loopdrift.basics import units
from loopdrift.basics.errors import InvalidInput
from loopdrift.basics.model_time import HOURS_PER_YEAR, SECONDS_PER_HOUR
from loopdrift.basics.numbers import number_within, whole_number
from loopdrift.basics.series import array
from loopdrift.ground_sides.bore_field.field import BoreField
from loopdrift.model.key_figures import warmed_by
from loopdrift.model.moment import end_of_hour

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

    from loopdrift.model.run import Run

LAST_HOUR = HOURS_PER_YEAR - 1

# Default number of points along each axis.
_POINTS = 200

# Length of a plume on maps, relative to the margin around the field.
_PLUME = 4.0

# Number of directions in the search for the far field, and of points along each.
_DIRECTIONS = 48
_STEPS = 48

_METRES = {"x": "x", "y": "y", "depth": "depth below the surface"}


def history(run: Run) -> _core.GroundHistory:
    """Return the engine's history of the heat of a run, distributed over bores and segments."""
    design = run.design
    field, ground, fluid = (part.for_engine() for part in (_bores(run), design.ground, design.fluid))
    return _core.GroundHistory(field, ground, fluid, design.flow, run.hourly["heat_extracted_W"].to_numpy())


def at_points(run: Run, points: ArrayLike, years: int | Sequence[int] | None, hour: int) -> xr.DataArray:
    """Return temperatures at points at one hour of given years; see `Run.ground_temperature`."""
    import xarray as xr

    places = array(points, "m", owner="ground_temperature", field="points")
    if places.ndim not in (1, 2) or places.shape[-1] != 3:
        shape = f"array of shape {places.shape}"
        raise InvalidInput("ground_temperature", "points", shape, "", "must have rows of x, y and depth")
    places = places.reshape(-1, 3)
    chosen = _years(run, years, owner="ground_temperature")
    hours = [_hour(run, year, hour, owner="ground_temperature") for year in chosen]
    values = run.once(history).points(places, hours)
    coordinates = {name: ("point", places[:, axis], _length(name)) for axis, name in enumerate(_METRES)}
    return xr.DataArray(
        values,
        {"year": ("year", chosen, {"long_name": "year of operation"}), "hour": hour, **coordinates},
        ["year", "point"],
        "ground_temperature",
        {"units": "degC", "long_name": "ground temperature"},
    )


def plan(
    run: Run,
    year: int | None,
    depth: float | str | None,
    x: ArrayLike | None,
    y: ArrayLike | None,
    hour: int,
) -> xr.DataArray:
    """Return temperatures at one depth; see `Run.ground_map`."""
    (chosen,) = _years(run, year, owner="ground_map")
    place = middle_depth(run) if depth is None else units.to_si(depth, "m", owner="ground_map", field="depth")
    across, up = (
        _axis(values, _around(run, axis), owner="ground_map", field=field)
        for axis, (field, values) in enumerate((("x", x), ("y", y)))
    )
    at = _hour(run, chosen, hour, owner="ground_map")
    values = run.once(history).plan(across, up, place, at)
    return _map(run, values, {"y": up, "x": across}, {"depth": place}, chosen, hour)


def section(
    run: Run,
    year: int | None,
    y: float | str | None,
    x: ArrayLike | None,
    depths: ArrayLike | None,
    hour: int,
) -> xr.DataArray:
    """Return temperatures in a vertical plane along x; see `Run.ground_section`."""
    (chosen,) = _years(run, year, owner="ground_section")
    field = _bores(run)
    if y is None:
        rows = field.positions[:, 1]
        place = float(rows[np.abs(rows - rows.mean()).argmin()])
    else:
        place = units.to_si(y, "m", owner="ground_section", field="y")
    deepest = max(bore.buried_depth + bore.depth for bore in field.bores)
    across = _axis(x, _around(run, 0), owner="ground_section", field="x")
    down = _axis(depths, np.linspace(0.0, 1.3 * deepest, _POINTS), owner="ground_section", field="depths")
    at = _hour(run, chosen, hour, owner="ground_section")
    places = np.column_stack([across, np.full(across.size, place)])
    values = run.once(history).section(places, down, at)
    return _map(run, values, {"depth": down, "x": across}, {"y": place}, chosen, hour)


def heat(run: Run) -> pd.DataFrame:
    """Return the origin of the heat by year; see `Run.ground_heat`."""
    import pandas as pd

    years = np.arange(1, run.years + 1)
    ends = (years * HOURS_PER_YEAR).tolist()
    return pd.DataFrame(run.once(history).heat_sources(ends), index=pd.Index(years, name="year"))


def far_field_radius(
    run: Run, threshold: float | str, year: int | None, depth: float | str | None, hour: int
) -> float:
    """Return the distance from the bores within which the ground has changed; see `Run.far_field_radius`."""
    owner = "far_field_radius"
    (chosen,) = _years(run, year, owner=owner)
    least = number_within(threshold, "K", owner=owner, field="threshold", least=1e-6)
    place = middle_depth(run) if depth is None else units.to_si(depth, "m", owner=owner, field="depth")
    at = _hour(run, chosen, hour, owner=owner)
    ground, bores = run.design.ground, _bores(run).positions
    undisturbed = ground.temperature + ground.gradient * place + warmed_by(run.design, at - 1)
    middle = bores.mean(axis=0)
    angles = 2.0 * np.pi * np.arange(_DIRECTIONS) / _DIRECTIONS
    if ground.darcy_flux > 0.0:
        angles += np.radians(90.0 - ground.flow_direction)  # a narrow plume lies along one of them
    directions = np.column_stack([np.cos(angles), np.sin(angles)])

    def outermost(distances: NDArray[np.float64]) -> tuple[Any, Any]:
        """Return, for each direction, the last distance at which the threshold is reached, and the next."""
        places = middle + distances[:, :, None] * directions[:, None, :]
        rows = np.column_stack([places.reshape(-1, 2), np.full(distances.size, place)])
        change = np.abs(run.once(history).points(rows, [at])[0] - undisturbed).reshape(distances.shape)
        enough = change >= least
        last = np.where(enough.any(axis=1), _STEPS - 1 - enough[:, ::-1].argmax(axis=1), -1)
        every = np.arange(_DIRECTIONS)
        return (
            np.where(last < 0, 0.0, distances[every, np.maximum(last, 0)]),
            distances[every, np.minimum(last + 1, _STEPS - 1)],
        )

    # Changes beyond this distance are below exp(-36) in still ground; groundwater carries them farther.
    diffusivity = ground.conductivity / ground.volumetric_heat_capacity
    spread = np.sqrt(4.0 * diffusivity * SECONDS_PER_HOUR * at)
    reach = float(np.hypot(*(bores - middle).T).max() + 6.0 * spread)
    inner, outer = outermost(np.tile(np.linspace(0.0, reach, _STEPS), (_DIRECTIONS, 1)))
    while (inner == outer).any() and ground.darcy_flux > 0.0:
        reach *= 2.0
        inner, outer = outermost(np.tile(np.linspace(0.0, reach, _STEPS), (_DIRECTIONS, 1)))
    for _ in range(2):
        inner, outer = outermost(np.linspace(inner, outer, _STEPS, axis=1))
    ends = middle + inner[:, None] * directions
    apart = np.hypot(*(ends[:, None, :] - bores).transpose(2, 0, 1)).min(axis=1)
    return float(apart[inner > 0.0].max(initial=0.0))


def middle_depth(run: Run) -> float:
    """Return the mean depth of the midpoints of the bores' active lengths [m]."""
    field = _bores(run)
    return float(
        np.resize([bore.buried_depth + bore.depth / 2.0 for bore in field.bores], field.count).mean()
    )


def _years(run: Run, years: int | Sequence[int] | None, *, owner: str) -> list[int]:
    field = "years" if owner == "ground_temperature" else "year"
    given = run.years if years is None else years
    several = given if isinstance(given, Sequence | np.ndarray) and not isinstance(given, str) else [given]
    what = "the years of the run"
    return [whole_number(year, 1, run.years, owner=owner, field=field, what=what) for year in several]


def _hour(run: Run, year: int, hour: int, *, owner: str) -> int:
    of_year = whole_number(hour, 0, LAST_HOUR, owner=owner, field="hour", what="an hour of the year")
    return (year - 1) * HOURS_PER_YEAR + of_year + 1


def _axis(
    values: ArrayLike | None, default: NDArray[np.float64], *, owner: str, field: str
) -> NDArray[np.float64]:
    if values is None:
        return default
    axis = array(values, "m", owner=owner, field=field)
    if axis.ndim != 1 or axis.size == 0:
        shape = f"array of shape {axis.shape}"
        raise InvalidInput(owner, field, shape, "", "must be a list of numbers in m")
    return axis


def _bores(run: Run) -> BoreField:
    """Return the run's bore field; the ground around other loops isn't available."""
    field = run.design.ground_side
    if not isinstance(field, BoreField):
        allowed = "must be a BoreField for temperatures of the ground around it"
        raise InvalidInput("Run", "ground_side", type(field).__name__, "", allowed)
    if field.leans:
        allowed = "must be 0 for temperatures of the ground, which are available only around vertical bores"
        raise InvalidInput("BoreField", "inclination", float(field.inclination.max()), "deg", allowed)
    return field


def _around(run: Run, axis: int) -> NDArray[np.float64]:
    """Return points along an axis over the field, its surroundings and the nearest part of its plume."""
    positions = _bores(run).positions
    margin = max(15.0, 0.3 * float(np.ptp(positions, axis=0).max()))
    carried = run.design.ground.thermal_velocity[axis] * run.years * HOURS_PER_YEAR * SECONDS_PER_HOUR
    plume = float(np.clip(carried, -_PLUME * margin, _PLUME * margin))
    low, high = positions[:, axis].min() - margin, positions[:, axis].max() + margin
    return np.linspace(low + min(plume, 0.0), high + max(plume, 0.0), _POINTS)


def _length(name: str) -> dict[str, str]:
    return {"units": "m", "long_name": _METRES[name]}


def _map(
    run: Run,
    values: NDArray[np.float64],
    axes: dict[str, NDArray[np.float64]],
    fixed: dict[str, float],
    year: int,
    hour: int,
) -> xr.DataArray:
    import xarray as xr

    coordinates: dict[str, Any] = {name: (name, points, _length(name)) for name, points in axes.items()}
    coordinates |= {name: ((), value, _length(name)) for name, value in fixed.items()}
    coordinates |= {"year": ((), year, {"long_name": "year of operation"}), "hour": hour}
    coordinates["date"] = end_of_hour(run.design, hour)
    attributes = {"units": "degC", "long_name": "ground temperature"}
    return xr.DataArray(values, coordinates, list(axes), "ground_temperature", attributes)

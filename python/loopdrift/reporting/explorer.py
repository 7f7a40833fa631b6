"""A design with sliders, in a notebook: each move is a run, drawn at once.

The chart is drawn once; a move then draws only the lines and their band over a copy of the rest.
"""

from __future__ import annotations

import base64
import io
import itertools
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from loopdrift.analysis.study import Study
from loopdrift.analysis.study.planning.variation import SCALE, Variable, value, variable, varied
from loopdrift.basics.errors import InvalidInput, LoopdriftError, shown
from loopdrift.basics.numbers import number_within, whole_number
from loopdrift.basics.words import change
from loopdrift.charts.horizon import horizon
from loopdrift.model.design import Design, check_years
from loopdrift.model.moment import moment

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

_STEPS = 100
"""Steps of a slider from end to end."""
_MOST_SLIDERS = 6
_SIZE = (8.0, 4.2)  # in
_DPI = 90
_WORDS = {"max": "highest", "mean": "mean", "min": "lowest"}


class WidgetsNeeded(LoopdriftError, ImportError):
    """The explorer can't be shown because ipywidgets is not installed."""

    def __str__(self) -> str:
        return "the explorer needs an extra: pip install 'loopdrift[notebook]'"


class Explorer:
    """Sliders for numbers of a design, and the entering fluid temperature by year.

    Made by `Design.explore`. At the end of a cell, it shows itself.

    Parameters
    ----------
    design : Design
        The design to start from.
    ranges : mapping of str to tuple
        Least and greatest value by name, as `Study` takes names and values.
    years : int
        Horizon, 1 to 100 years.

    Raises
    ------
    InvalidInput
        If a name or a range is invalid, or nothing in the ranges can be run.
    WidgetsNeeded
        If ipywidgets isn't installed.
    """

    def __init__(self, design: Design, ranges: Mapping[str, Any], *, years: int = 20) -> None:
        try:
            import ipywidgets
        except ImportError:
            raise WidgetsNeeded from None
        if not 1 <= len(ranges) <= _MOST_SLIDERS:
            allowed = f"must be 1 to {_MOST_SLIDERS} ranges by name, such as depth=(60, 200)"
            raise InvalidInput("Design", "explore", len(ranges), "", allowed)
        self._base = design
        self._years = check_years(years, owner="Design")
        self._variables = {name: variable(design, name) for name in ranges}
        bounds = {name: _bounds(design, self._variables[name], ends) for name, ends in ranges.items()}
        self._sliders = {name: _slider(design, self._variables[name], ends) for name, ends in bounds.items()}
        corners = [dict(zip(bounds, corner, strict=True)) for corner in itertools.product(*bounds.values())]
        self._chart = _Chart(design, self._run([*corners, self.values]))
        self._verdict = ipywidgets.HTML()
        self._image = ipywidgets.Image(format="png")
        self._box = ipywidgets.VBox([*self._sliders.values(), self._verdict, self._image])
        for slider in self._sliders.values():
            slider.observe(self._move, names="value")
        self._move()

    @property
    def values(self) -> dict[str, float]:
        """The values of the sliders, in SI, by the names given."""
        return {name: slider.value for name, slider in self._sliders.items()}

    @property
    def design(self) -> Design:
        """The design with the values of the sliders."""
        changes = {self._variables[name].path: number for name, number in self.values.items()}
        fields = {path.split(".")[0] for path in changes}
        within = {
            field: {path: each for path, each in changes.items() if path.split(".")[0] == field}
            for field in sorted(fields)
        }
        return self._base.replace(
            **{field: varied(self._base, field, given) for field, given in within.items()}
        )

    @property
    def yearly(self) -> pd.DataFrame:
        """Lowest, mean and highest entering fluid temperature by year, as shown."""
        return self._yearly.copy()

    def move(self, **values: float | str) -> None:
        """Move sliders to other values, by the names given; a value beyond an end moves to that end.

        Parameters
        ----------
        **values
            Numbers [SI units], or text with units.

        Raises
        ------
        InvalidInput
            If a name has no slider, or a value isn't a number in a suitable unit.
        """
        for name, given in values.items():
            if name not in self._sliders:
                allowed = f"must be one of {', '.join(self._sliders)}"
                raise InvalidInput("Explorer", name, shown(given), "", allowed)
        for name, given in values.items():
            self._sliders[name].value = value(self._base, self._variables[name], given)

    def _repr_mimebundle_(self, **_: Any) -> Any:
        return self._box._repr_mimebundle_()

    def _repr_html_(self) -> str:
        """Return the state as a picture, for pages without widgets."""
        picture = base64.b64encode(self._image.value).decode()
        return f"<div>{self._verdict.value}<img src='data:image/png;base64,{picture}'></div>"

    def __repr__(self) -> str:
        return f"<Explorer: {', '.join(f'{name} {number:g}' for name, number in self.values.items())}>"

    def _run(self, cases: list[dict[str, float]]) -> xr.Dataset:
        return Study(self._base, cases=cases).run(self._years)

    def _move(self, _: Any = None) -> None:
        found = self._run([self.values])
        self._yearly = _temperatures(found).droplevel("case")
        self._verdict.value = f"<div style='white-space: normal'>{_verdict(found, self._base)}</div>"
        self._image.value = self._chart.png(self._yearly)


def _bounds(design: Design, variable: Variable, ends: Any) -> tuple[float, float]:
    """Return the least and greatest value of a slider, in SI."""
    name = variable.names[-1]
    if not isinstance(ends, tuple | list) or len(ends) != 2:
        raise InvalidInput("Design", name, shown(ends), "", "must be its least and its greatest value")
    if variable.is_number:
        low, high = (
            number_within(value(design, variable, end), "", owner="Design", field=name) for end in ends
        )
    else:
        low, high = (whole_number(end, 1, owner="Design", field=name) for end in ends)
    if low >= high:
        allowed = "must rise from the first to the second"
        raise InvalidInput("Design", name, shown(ends), variable.unit, allowed)
    return low, high


def _slider(design: Design, variable: Variable, ends: tuple[float, float]) -> Any:
    """Return a slider at the design's own value if it lies within the ends, else halfway between them."""
    import ipywidgets

    low, high = ends
    own = _own_value(design, variable)
    look: dict[str, Any] = {
        "description": f"{variable.label} [{variable.unit}]" if variable.unit else variable.label,
        "style": {"description_width": "initial"},
        "layout": {"width": f"{_SIZE[0] * 70:.0f}px"},
    }
    if not variable.is_number:
        start = own if own is not None and low <= own <= high else (low + high) // 2
        return ipywidgets.IntSlider(value=int(start), min=int(low), max=int(high), **look)
    start = own if own is not None and low <= own <= high else 0.5 * (low + high)
    step = 10.0 ** np.floor(np.log10((high - low) / _STEPS))
    return ipywidgets.FloatSlider(
        value=start, min=low, max=high, step=float(step), readout_format=".5g", **look
    )


def _own_value(design: Design, variable: Variable) -> float | None:
    """Return what a design has at a dotted name; None if it isn't a number."""
    if variable.path.endswith(SCALE):
        return 1.0
    part: Any = design
    for name in variable.names:
        children = getattr(part, "children", {})
        part = children[name] if name in children else getattr(part, name, None)
    if not variable.is_number and design.ground_side is not None:
        sides = getattr(design.ground_side, "sides", None)
        part = dict(zip(("columns", "rows"), sides or (), strict=False)).get(variable.names[-1], part)
    return float(part) if isinstance(part, float | int) and np.isfinite(part) else None


def _temperatures(found: xr.Dataset) -> pd.DataFrame:
    """Return lowest, mean and highest entering fluid temperature by case and year [degC]."""
    names = [f"entering_fluid_{which}_degC" for which in _WORDS]
    table: pd.DataFrame = found[names].to_dataframe()[names]
    return table


def _verdict(found: xr.Dataset, design: Design) -> str:
    """Return whether the limits hold and by how much, and the drift, as HTML."""
    from html import escape

    case = found.isel(case=0)
    failure = str(case["failure"].item() or "")
    if failure:
        return f"<b>can't be run:</b> {escape(failure)}"
    limit, margin = str(case["deciding_limit"].item() or ""), float(case["margin_K"])
    means = case["entering_fluid_mean_degC"].to_numpy()
    drift = f"the mean entering fluid {change(float(means[-1] - means[0]))} after year 1"
    if not limit:
        return f"<b>holds:</b> no limit applies; {drift}"
    when = moment(design, int(case["deciding_year"]), None)
    decided = f"{escape(limit.replace('_', ' '))} decides in {when}"
    return (
        f"<b>{'holds' if margin >= 0.0 else 'does not hold'}</b> by {abs(margin):.2f} K: {decided}; {drift}"
    )


class _Chart:
    """The chart of the horizon, of which a move draws only what changes."""

    def __init__(self, design: Design, corners: xr.Dataset) -> None:
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure

        every = _temperatures(corners)
        by_year = every.groupby(level="year")
        widest = by_year.mean()
        widest["entering_fluid_min_degC"] = by_year["entering_fluid_min_degC"].min()
        widest["entering_fluid_max_degC"] = by_year["entering_fluid_max_degC"].max()
        if widest.isna().to_numpy().any():
            reason = "; ".join(sorted({str(each) for each in corners["failure"].to_numpy() if each}))
            allowed = f"must have a case that can be run: {reason}"
            raise InvalidInput("Design", "explore", "no case", "", allowed)
        figure = Figure(figsize=_SIZE, dpi=_DPI)
        figure.subplots_adjust(left=0.1, right=0.78, top=0.9, bottom=0.14)
        self._canvas: Any = FigureCanvasAgg(figure)
        self._ax = figure.subplots()
        freezing_point = design.fluid.freezing_point
        horizon(widest, limits=design.limits, freezing_point=freezing_point, ax=self._ax)
        self._band: Any = self._ax.collections[0]
        self._lines = dict(zip(_WORDS, self._ax.lines[:3], strict=True))
        for name, text in zip(_WORDS.values(), self._ax.get_legend().get_texts(), strict=True):  # type: ignore[union-attr]
            text.set_text(name)
        for artist in (self._band, *self._lines.values()):
            artist.set_animated(True)
        self._still: Any = None

    def png(self, yearly: pd.DataFrame) -> bytes:
        """Return the chart of a table as a PNG file."""
        from PIL import Image

        years = yearly.index.to_numpy()
        values = {which: yearly[f"entering_fluid_{which}_degC"].to_numpy() for which in _WORDS}
        for which, line in self._lines.items():
            line.set_data(years, values[which])
        outline = np.concatenate(
            [np.column_stack([years, values["min"]]), np.column_stack([years, values["max"]])[::-1]]
        )
        self._band.set_verts([outline])
        if self._still is None:
            self._canvas.draw()
            self._still = self._canvas.copy_from_bbox(self._ax.figure.bbox)
        self._canvas.restore_region(self._still)
        for artist in (self._band, *self._lines.values()):
            self._ax.draw_artist(artist)
        file = io.BytesIO()
        Image.fromarray(np.asarray(self._canvas.buffer_rgba())).convert("RGB").save(
            file, "png", compress_level=1
        )
        return file.getvalue()

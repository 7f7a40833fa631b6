"""Cost of each plant by year."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from loopdrift.charts import style

if TYPE_CHECKING:
    import pandas as pd
    from matplotlib.axes import Axes

_LOOKS: list[dict[str, Any]] = [
    {"color": 0.0, "linestyle": "-", "linewidth": 2.2},
    {"color": style.VERMILION, "linestyle": "--", "marker": "^"},
    {"color": style.BLUE, "linestyle": "-.", "marker": "v"},
    {"color": style.ORANGE, "linestyle": ":", "marker": "s"},
    {"color": 0.4, "linestyle": "--", "marker": "o"},
    {"color": style.SKY, "linestyle": "-", "marker": "D"},
]


def cost(by_year: pd.DataFrame, *, currency: str = "currency", ax: Axes | None = None) -> Axes:
    """Draw the cost of each year, one line per plant, without first costs.

    Parameters
    ----------
    by_year : pandas.DataFrame
        ``Cost.by_year("cost")``: one row per year, one column per plant, the ground-source plant first.
    currency : str, default "currency"
        Name of the currency.
    ax : matplotlib.axes.Axes, optional
        Where to draw; by default a new figure.

    Returns
    -------
    matplotlib.axes.Axes
        The chart.
    """
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    ax = style.new_axes(ax)
    for place, (name, amounts) in enumerate(by_year.items()):
        look = _LOOKS[place % len(_LOOKS)]
        look = look | {"color": style.tone(ax, look["color"])}
        ax.plot(by_year.index, amounts, label=style.plain(str(name)), markersize=4.0, **look)
    top = float(by_year.to_numpy().max())
    if float(by_year.to_numpy().min()) >= 0.0 < top:
        ax.set_ylim(0.0, 1.06 * top)
    ax.set_xlim(by_year.index[0] - 0.6, by_year.index[-1] + 0.6)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True))
    ax.yaxis.set_major_formatter(FuncFormatter(lambda amount, _: f"{amount:,.6g}"))
    ax.set_xlabel("Year of operation")
    ax.set_ylabel(f"Yearly cost without first cost [{style.plain(currency)}/year]")
    style.finish(ax)
    return ax

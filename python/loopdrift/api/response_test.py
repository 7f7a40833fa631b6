"""Thermal response tests with their charts and findings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from loopdrift.analysis.response_test import charts, text
from loopdrift.analysis.response_test import response_test as analysis
from loopdrift.basics import notebook

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from loopdrift.ground_sides.finding import Finding


class ResponseTest(analysis.ResponseTest):
    __doc__ = analysis.ResponseTest.__doc__

    def plot(
        self, kind: charts.Kind = "temperatures", *, units: Literal["SI", "IP"] = "SI", ax: Axes | None = None
    ) -> Axes:
        """Draw the test.

        Parameters
        ----------
        kind : {"temperatures", "line", "windows", "residuals"}, default "temperatures"
            Temperatures and heat with the fit; the straight line over ln t; conductivity by the end and by
            the start of its window; residuals of both methods.
        units : {"SI", "IP"}, default "SI"
            Units of the chart.
        ax : matplotlib.axes.Axes, optional
            Where to draw; by default a new figure.

        Raises
        ------
        InvalidInput
            If `kind` or `units` is unknown.
        """
        return charts.draw(self, kind, units, ax)

    @property
    def findings(self) -> list[Finding]:
        """Departures, gaps in the heat, groundwater, and what the errors leave out."""
        return text.findings(self)

    def __str__(self) -> str:
        return text.summary(self)

    def _repr_html_(self) -> str:
        return (
            notebook.heading("Response test")
            + notebook.sentences([repr(self)[1:-1]])
            + notebook.table(text.side_by_side(self), 4)
            + notebook.sentences(map(str, self.findings))
        )

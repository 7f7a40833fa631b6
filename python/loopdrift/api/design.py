"""A design, with everything that can be done with it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, ClassVar, Self, cast

from loopdrift.analysis import comparison, recharge, sizing
from loopdrift.api.run import Run
from loopdrift.basics import notebook
from loopdrift.files import design_file
from loopdrift.model import design as model
from loopdrift.reporting.overview import facts

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import ArrayLike

    from loopdrift.analysis.comparison import Comparison
    from loopdrift.analysis.recharge import Recharge
    from loopdrift.analysis.sizing import Sizing, What
    from loopdrift.ground_sides.site import Site
    from loopdrift.parts.ground_side import GroundSide


class Design(model.Design):
    __doc__ = model.Design.__doc__

    run_type: ClassVar[type[Run]] = Run

    def run(self, years: int = 20, *, progress: Callable[[int], object] | None = None) -> Run:
        """Simulate every hour of a horizon; the loads repeat as often as they must.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : callable, optional
            Called now and then with the number of hours done.

        Returns
        -------
        Run
            Hourly and yearly tables, and the error of the temperatures.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, or the fluid that leaves the heat pump freezes on the way.
        """
        return cast(Run, super().run(years, progress=progress))

    def size(
        self,
        what: What | None = None,
        *,
        years: int = 20,
        between: tuple[float | str, float | str] | None = None,
        among: Sequence[GroundSide] | None = None,
        progress: Callable[[int], object] | None = None,
    ) -> Sizing[Self]:
        """Find the least field with which the limits hold in every hour of a horizon.

        Each step of the search is an hourly coupled run of the whole horizon, which is judged as `Limits`
        says; the total flow stays as it is.

        Parameters
        ----------
        what : {"depth", "length", "spacing", "bores"}, optional
            The shortest bores (depth), trenches or coils of a pond (length) for the layout; the least
            spacing between bores or trenches, and so the least land; or the fewest bores. Depth or length
            unless given.
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        between : tuple of float or str, optional
            Least and greatest depth, length or spacing [m]: unless given 20 to 300 m of depth and 3 to 15 m
            between bores, 10 to 1000 m of length and 0.5 to 10 m between trenches. The answer is no more than
            0.1 m of depth or length or 0.01 m of spacing above one that doesn't hold.
        among : sequence of BoreField, optional
            For ``bores``: fields, the preferred first. Unless given, all single rows of the design's bore and
            spacing, and all rectangles no longer than three times their width, with up to twice as many bores
            as it has: the fewest bores first, and of those with as many the closest to a square first.
        progress : callable, optional
            Called now and then with the number of runs done.

        Returns
        -------
        Sizing
            The design of that size and the hour that decides; where nothing holds, what comes closest.

        Raises
        ------
        InvalidInput
            If an argument is out of range, or no size can be run at all.
        """
        return sizing.size(self, what, years=years, between=between, among=among, progress=progress)

    def find_recharge(
        self,
        drift: float | str,
        *,
        years: int = 20,
        profile: ArrayLike | None = None,
        most: float | str | None = None,
        progress: Callable[[int], object] | None = None,
    ) -> Recharge[Self]:
        """Find the least recharge that holds the drift of the entering fluid over a horizon.

        Recharge is heat put into the loop from elsewhere, as by a solar collector, where the ground cools;
        where it warms, heat is taken out, as by a dry cooler. Each step of the search is an hourly coupled
        run of the whole horizon. The drift is held where no year's mean entering fluid temperature is farther
        from the first year's than `drift`, below or above. Too much recharge breaks that too, and part of the
        drift comes from the start in undisturbed ground, so that nothing may hold. The search looks at the
        drift alone; its answer holds if the design with that recharge also holds as `Limits` says.

        Parameters
        ----------
        drift : float or str
            Greatest distance from the first year [K].
        years : int, default 20
            Horizon, 2 to 100 years of 8760 hours.
        profile : array_like, optional
            What each month from January gets, 12 numbers in any unit, which are scaled. Unless given, the
            same power in all months with less than half of the heating and hot water of the month with the
            most (of the cooling, where heat is taken out), or in all months where there are none such.
        most : float or str, optional
            Greatest power to try in the months with the most [W]. Unless given, what gives the ground in a
            year twice the heat that it lacks in the last year without recharge.
        progress : callable, optional
            Called after each run with the number of runs done.

        Returns
        -------
        Recharge
            The recharge by month, and the design with it; no more than 0.2 % of `most` above one that doesn't
            hold. Where nothing in the range holds, what came closest.

        Raises
        ------
        InvalidInput
            If an argument is out of range, or `most` is left out though the fluid freezes without recharge.
        """
        return recharge.find_recharge(self, drift, years=years, profile=profile, most=most, progress=progress)

    def compare(
        self, site: Site, *, years: int = 20, progress: Callable[[int], object] | None = None
    ) -> Comparison:
        """Size every kind of loop that a site allows for this building, and set them side by side.

        Bores, trenches with straight pipes and with coils, a pond's coils and a well are each as small as
        holds the limits in every hour of the horizon. The design's own loop tells how its kind is built;
        other kinds are built as in `comparison.usual`. Total flow, fluid, heat pump and limits stay.

        Parameters
        ----------
        site : Site
            What the land offers.
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : callable, optional
            Called after each kind with the number of kinds done.

        Returns
        -------
        Comparison
            One row a kind, with what rules it out where it doesn't fit.

        Raises
        ------
        InvalidInput
            If an argument is of the wrong type or out of range.
        """
        return comparison.compare(self, site, years=years, progress=progress)

    @classmethod
    def read(cls, path: str | Path) -> Self:
        """Return the design that stands in a file.

        Parameters
        ----------
        path : str or pathlib.Path
            A TOML file; paths inside it are relative to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown, missing or holds what no design may hold; the message names file and key.
        InvalidFile
            If the file is no TOML, or a CSV file that it names can't be used.
        OSError
            If a file can't be read.
        """
        return design_file.read(path, cls)

    def write(self, path: str | Path) -> None:
        """Write the design into a TOML file, and its hourly series into CSV files beside it.

        Parameters
        ----------
        path : str or pathlib.Path
            The TOML file; the loads go to ``<stem>-loads.csv``, the weather that a distribution follows to
            ``<stem>-weather.csv``.

        Raises
        ------
        OSError
            If a file can't be written; then none has changed.
        """
        design_file.write(self, path)

    def _repr_html_(self) -> str:
        return notebook.heading("Design") + notebook.facts(facts(self))

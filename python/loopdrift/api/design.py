"""A design with all its analyses."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self, cast

from loopdrift.analysis import comparison, recharge, sizing
from loopdrift.analysis.quantities import GROUT_SURPLUS
from loopdrift.analysis.quantities import quantities as quantities_of
from loopdrift.analysis.simulation import Simulation
from loopdrift.api.phases import Phases
from loopdrift.api.run import Run
from loopdrift.basics import notebook
from loopdrift.files import design_file
from loopdrift.model import design as model
from loopdrift.reporting import sheet
from loopdrift.reporting.explorer import Explorer
from loopdrift.reporting.overview import facts

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import ArrayLike

    from loopdrift.analysis.comparison import Comparison
    from loopdrift.analysis.quantities import Quantities
    from loopdrift.analysis.recharge import Recharge
    from loopdrift.analysis.sizing import Sizing, What
    from loopdrift.ground_sides.site import Site
    from loopdrift.model.progress import Progress
    from loopdrift.parts.ground_side import GroundSide


class Design(model.Design):
    __doc__ = model.Design.__doc__

    run_type: ClassVar[type[Run]] = Run

    def run(self, years: int = 20, *, progress: Progress = False) -> Run:
        """Simulate every hour of a horizon; the loads repeat as needed.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of hours done.

        Returns
        -------
        Run
            Hourly and yearly tables, and the error of the temperatures.

        Raises
        ------
        InvalidInput
            If the horizon is out of range, or the fluid leaving the heat pump freezes during the run.
        """
        return cast(Run, super().run(years, progress=progress))

    def simulation(self, years: int = 20) -> Simulation:
        """Return the design before its first hour, to be stepped hour by hour with demands of your own.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.

        Returns
        -------
        Simulation
            Takes an hour's demand at a time; `Simulation.outlook` tells what an hour would give.

        Raises
        ------
        InvalidInput
            If the horizon is out of range.

        Examples
        --------
        >>> import loopdrift as ld
        >>> from importlib.resources import files
        >>> design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
        >>> simulation = design.simulation(years=1)
        >>> hour = simulation.step(heating=6000.0)
        >>> hour.heating
        6000.0
        >>> simulation.hours_left
        8759
        """
        return Simulation(self, years)

    def then(self, year: int, *, investment: float | str = 0.0, **changes: Any) -> Phases:
        """Return the plant that changes in a later year: another heat pump, other loads, other limits.

        The ground keeps the heat of the years before. Ground, ground side and first month stay the same.

        Parameters
        ----------
        year : int
            Year of operation that begins with the change, 2 to 100.
        investment : float, default 0
            What the change costs when it is made [currency].
        **changes
            Fields of the design and their values, as for the constructor: ``heat_pump``, ``loads``,
            ``distribution``, ``hot_water``, ``limits``, ``fluid``, ``flow``, ``pump_power``, ``pump_stops``
            and ``piping``. Loads begin with their first year; those that don't change go on.

        Returns
        -------
        Phases
            The plant in phases; `Phases.then` adds another change, `Phases.run` simulates it.

        Raises
        ------
        InvalidInput
            If the year or a field is not allowed, or the design can't have the values.

        Examples
        --------
        >>> import loopdrift as ld
        >>> from importlib.resources import files
        >>> design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
        >>> extended = ld.Loads(heating=1.3 * design.loads.heating, cooling=design.loads.cooling)
        >>> plant = design.then(3, loads=extended).then(5, limits=ld.Limits(entering_fluid_min=-3.0))
        >>> run = plant.run(years=6)
        >>> [str(phase) for phase in plant.phases[1:]]
        ['from year 3: loads', 'from year 5: limits']
        """
        return Phases.of(self).then(year, investment=investment, **changes)

    def size(
        self,
        what: What | None = None,
        *,
        years: int = 20,
        between: tuple[float | str, float | str] | None = None,
        among: Sequence[GroundSide] | None = None,
        plot: tuple[float | str, float | str] | None = None,
        total_length: float | str | None = None,
        progress: Progress = False,
    ) -> Sizing[Self]:
        """Find the smallest ground side with which the limits hold in every hour of a horizon.

        Each step of the search is an hourly coupled run of the whole horizon, judged by all criteria of
        `Limits`. The total flow of the loop doesn't change.

        Parameters
        ----------
        what : str, optional
            What to minimise: ``depth`` or number of ``bores``; ``length`` or number of ``trenches``, or of
            ``coils`` in a pond; ``spacing`` of bores or trenches, and so the land; ``flow`` of a well, or
            ``effectiveness`` of its heat exchanger. By default depth, length or flow.
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        between : tuple of float or str, optional
            Smallest and largest depth, length or spacing [m], flow [kg/s] or effectiveness [-]. By default,
            20 to 300 m of depth and 3 to 15 m between bores, 10 to 1000 m of length and 0.5 to 10 m between
            trenches, 2 % to all of a well's yield, and an effectiveness of 0.3 to 0.95. The resolution is
            0.1 m of depth or length, 0.01 m of spacing, 0.05 % of the yield and 0.001 of effectiveness.
            With `total_length`: the depth of each bore, or length of each trench or coil.
        among : sequence of GroundSide, optional
            For a number of bores, trenches or coils: candidates in order of preference. By default, all
            numbers up to twice the design's, at least up to 12. Bores stand in single rows and in rectangles
            no longer than three times their width; for equal numbers, the closest to a square comes first.
        plot : tuple of float or str, optional
            For a number of bores or trenches: length and width of the rectangle that all must stand in [m],
            less the distances to its boundary that local rules require. By default, they stand within the
            property lines in the design's `site`, beside its house, if these are given. All numbers of bores
            that fit are tried, also in L and U shapes.
        total_length : float or str, optional
            For a number of bores, trenches or coils: total length of all of them [m], shared equally. Each
            number that gives a depth or length within `between` is judged, and listed in `Sizing.splits`.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of runs done.

        Returns
        -------
        Sizing
            The design of that size and the critical hour; if nothing holds, the nearest size.

        Raises
        ------
        InvalidInput
            If an argument is out of range, or no size can be run at all.
        """
        return sizing.size(
            self,
            what,
            years=years,
            between=between,
            among=among,
            plot=plot,
            total_length=total_length,
            progress=progress,
        )

    def find_recharge(
        self,
        drift: float | str,
        *,
        years: int = 20,
        profile: ArrayLike | None = None,
        most: float | str | None = None,
        progress: Progress = False,
    ) -> Recharge[Self]:
        """Find the smallest recharge that limits the drift of the entering fluid over a horizon.

        Recharge is heat added to the loop, for example by a solar collector, if the ground cools; if the
        ground warms, heat is removed, for example by a dry cooler. Each step of the search is an hourly
        coupled run of the whole horizon. The drift is within its limit if no year's mean entering fluid
        temperature differs from that of the first year by more than `drift`. Too much recharge also exceeds
        the limit, and part of the drift stems from the start in undisturbed ground, so there may be no
        solution. The search considers only the drift; its result holds if the design with that recharge
        also meets all criteria of `Limits`.

        Parameters
        ----------
        drift : float or str
            Limit to the departure from the first year [K].
        years : int, default 20
            Horizon, 2 to 100 years of 8760 hours.
        profile : array_like, optional
            Relative recharge of each month from January, 12 numbers in any unit. By default, equal power in
            all months with less than half of the peak month's heating and hot water (of its cooling, if heat
            is removed), or in all months if there are none.
        most : float or str, optional
            Greatest power in any month [W]. By default, the power that adds, in a year, twice the ground's
            heat deficit of the last year without recharge.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of runs done.

        Returns
        -------
        Recharge
            The recharge by month, and the design with it; the resolution is 0.2 % of `most`. If nothing in
            the range holds, the nearest recharge.

        Raises
        ------
        InvalidInput
            If an argument is out of range, or `most` is omitted and the fluid freezes without recharge.
        """
        return recharge.find_recharge(self, drift, years=years, profile=profile, most=most, progress=progress)

    def compare(self, site: Site, *, years: int = 20, progress: Progress = False) -> Comparison:
        """Size every kind of loop that a site allows for this building, and compare them.

        Bores, trenches with straight pipes and with coils, pond coils and a well are each sized to the
        smallest that holds the limits in every hour of the horizon. A loop of the design's own kind is built
        like the design's, in its ground, within what the site offers; other kinds are built with typical
        values. Total flow, fluid, heat pump and limits don't change. The site's `candidates` are run as they
        stand, with the building, limits and prices of the design, and compared beside them.

        For each infeasible loop, the same searches find what would make it feasible: larger sizes, more land
        or water, a greater depth, yield or drawdown.

        Parameters
        ----------
        site : Site
            The site.
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        progress : bool or callable, default False
            Whether to show a progress bar; or a function called periodically with the number of loops done.

        Returns
        -------
        Comparison
            One row per kind and candidate, with the reasons if it is infeasible and what would make it
            feasible.

        Raises
        ------
        InvalidInput
            If an argument is of the wrong type or out of range.
        """
        return comparison.compare(self, site, years=years, progress=progress)

    def explore(self, *, years: int = 20, **ranges: tuple[float | str, float | str]) -> Explorer:
        """Show sliders for numbers of the design in a notebook; each move is a run, drawn at once.

        Needs ipywidgets: ``pip install 'loopdrift[notebook]'``.

        Parameters
        ----------
        years : int, default 20
            Horizon, 1 to 100 years of 8760 hours.
        **ranges
            Least and greatest value of up to six numbers [SI units], by name as in `Study`, such as
            ``depth=(60, 200)`` or ``**{"ground.conductivity": (1.5, 2.5)}``. Sliders start at the design's
            own values.

        Returns
        -------
        Explorer
            Shows itself at the end of a cell; its `design` has the values of the sliders.

        Raises
        ------
        InvalidInput
            If a name, a range or the horizon is invalid, or nothing in the ranges can be run.
        ImportError
            If ipywidgets isn't installed.
        """
        return Explorer(self, ranges, years=years)

    @classmethod
    def read(cls, path: str | os.PathLike[str]) -> Self:
        """Read a design from a file.

        Parameters
        ----------
        path : str or path-like
            A TOML file; paths inside it are relative to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown or missing, or its value is invalid; the message names file and key.
        InvalidFile
            If the file isn't valid TOML, or a CSV file that it names is invalid.
        OSError
            If a file can't be read.
        """
        return design_file.read(path, cls)

    @classmethod
    def read_phases(cls, path: str | os.PathLike[str]) -> Phases:
        """Read a plant that may change, from a design file with tables ``[[then]]``.

        Each of them has its ``year``, the parts that change then, and an ``investment`` if
        there are prices. A file without them is a plant of one phase.

        Parameters
        ----------
        path : str or path-like
            A TOML file; paths inside it are relative to its folder.

        Raises
        ------
        InvalidDesignFile
            If a key is unknown or missing, or its value is invalid; the message names file and key.
        InvalidFile
            If the file isn't valid TOML, or a CSV file that it names is invalid.
        OSError
            If a file can't be read.
        """
        return design_file.read_phases(path, cls, Phases)

    def write(self, path: str | os.PathLike[str]) -> None:
        """Write the design to a TOML file, and its hourly series to CSV files in the same folder.

        Parameters
        ----------
        path : str or path-like
            The TOML file; the loads go to ``<stem>-loads.csv``, the weather of a distribution to
            ``<stem>-weather.csv``.

        Raises
        ------
        OSError
            If a file can't be written; then no file has changed.
        """
        design_file.write(self, path)

    def quantities(self, *, grout_surplus: float | str = GROUT_SURPLUS) -> Quantities:
        """Return what the design is built of and filled with: pipes, grout, fluid, flows and pressures.

        Parameters
        ----------
        grout_surplus : float or str, default 0.25
            Grout ordered beyond the net volume, as a share of it [-] (common practice, no source).

        Raises
        ------
        InvalidInput
            If the surplus is not from 0 to 3.
        """
        return quantities_of(self, grout_surplus=grout_surplus)

    def write_sheet(
        self,
        folder: str | os.PathLike[str],
        *,
        units: Literal["SI", "IP"] = "SI",
        grout_surplus: float | str = GROUT_SURPLUS,
        force: bool = False,
    ) -> list[Path]:
        """Write the installer's sheet: a page that prints, quantities, and places by number.

        Parameters
        ----------
        folder : str or path-like
            Folder for ``sheet.html``, ``quantities.csv`` and ``places.csv``; created if it doesn't exist.
        units : {"SI", "IP"}, default "SI"
            Units that come first; the page has both.
        grout_surplus : float or str, default 0.25
            Grout ordered beyond the net volume, as a share of it [-] (common practice, no source).
        force : bool, default False
            Whether the folder may contain other files, and files that loopdrift didn't write may be replaced.

        Returns
        -------
        list of pathlib.Path
            The files.

        Raises
        ------
        InvalidInput
            If an argument is out of range, or the folder contains anything but an unmodified sheet.
        OSError
            If a file can't be written; then no file has changed.
        """
        return sheet.write(self, folder, units=units, grout_surplus=grout_surplus, force=force)

    def _repr_html_(self) -> str:
        return notebook.heading("Design") + notebook.facts(facts(self))

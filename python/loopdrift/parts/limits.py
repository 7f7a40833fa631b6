"""The limits that a run is judged by."""

from __future__ import annotations

from dataclasses import dataclass

from loopdrift.basics.part import Number, OptionalNumber, Part


@dataclass(frozen=True, kw_only=True)
class Limits(Part):
    """The limits of a design.

    Runs, studies, sizing, comparisons and the search for a recharge all judge in the same way: a design holds
    if no deciding criterion is violated in any hour of the horizon. Any other criterion is a caution: it is
    reported, and the design still holds. A run counts the hours of each violation; its results don't change.

    ======================= =================================================== ==========================
    criterion               required                                            decides
    ======================= =================================================== ==========================
    ``entering_fluid_min``  entering fluid in hours with demand                 where the limit is given
    ``entering_fluid_max``  entering fluid in hours with demand                 where the limit is given
    ``freezing_margin``     leaving fluid in hours with demand, above freezing  always
    ``frozen_fluid``        circulating fluid doesn't freeze; a run stops there always
    ``fluid_max``           circulating fluid within its table of properties,   always
                            and below 100 degC
    ``ice_max``             ice on a pond takes at most 80 % of its depth       always
    ``lowest_discharge``    a well's discharge while it pumps                   always
    ``discharge_freezing``  a well's discharge isn't below 0 degC               always
    ``available_drawdown``  fall of the level in a well                         where the limit is given
    ``wall_min``            bore wall, or soil at the pipes of trenches, in all where the limit is given;
                            hours                                               a caution below 0 degC
    ``coil_surface_min``    outside of a pond's coils isn't below 0 degC        a caution
    ``water_at_coils_min``  water at a pond's coils isn't below 1 degC          a caution
    ``hours_outside_table`` hours of a year with demand in which the entering   where the limit is given;
                            fluid is outside the heat pump's table              a caution above 0
    ``backup_share``        back-up heat of a year                              where the limit is given;
                                                                                a caution above 0
    ``unmet_cooling_share`` unmet cooling of a year                             where the limit is given;
                                                                                a caution above 0
    ======================= =================================================== ==========================

    Parameters
    ----------
    entering_fluid_min, entering_fluid_max : float or str, optional
        Lowest and highest entering fluid temperature [degC]; no limit if left out.
    freezing_margin : float or str, default 3
        Least margin of the leaving fluid temperature above the fluid's freezing point [K].
    wall_min : float or str, optional
        Lowest temperature of the bore wall, or of the soil at the pipes of trenches [degC]. With this limit
        studies and sizing take about twice as long, because each run's heat is superposed as well.
    backup_share : float, optional
        Largest share of back-up heat in a year's heat for rooms and hot water [-].
    unmet_cooling_share : float, optional
        Largest share of unmet cooling in a year's cooling [-].
    hours_outside_table : float, optional
        Greatest number of hours per year with demand in which the entering fluid is outside the heat pump's
        table [h].

    Raises
    ------
    InvalidInput
        If a value is outside the range that the engine accepts, or the lowest isn't below the highest.

    Examples
    --------
    >>> round(Limits(entering_fluid_min="30 degF", entering_fluid_max=35.0).entering_fluid_min, 3)
    -1.111
    """

    entering_fluid_min: OptionalNumber = OptionalNumber()
    entering_fluid_max: OptionalNumber = OptionalNumber()
    freezing_margin: Number = Number(default=3.0)
    wall_min: OptionalNumber = OptionalNumber()
    backup_share: OptionalNumber = OptionalNumber()
    unmet_cooling_share: OptionalNumber = OptionalNumber()
    hours_outside_table: OptionalNumber = OptionalNumber()

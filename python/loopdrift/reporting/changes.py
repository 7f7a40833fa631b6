"""What changes in a plant, and when, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from loopdrift.model.phases import PhasedRun
from loopdrift.reporting.input_tables import sections

if TYPE_CHECKING:
    from loopdrift.model.phases import Phase, Phases
    from loopdrift.model.run import Run
    from loopdrift.reporting.html import Units
    from loopdrift.reporting.input_tables import Section


def in_words(phase: Phase, currency: str) -> str:
    """Return what changes, in which year and for how much, in a sentence.

    Parameters
    ----------
    phase : Phase
        A phase after the first.
    currency : str
        Currency of the prices; empty without prices.
    """
    cost = f", for {phase.investment:,.0f} {currency}" if phase.investment and currency else ""
    names = [name.replace("_", " ") for name in phase.changed]
    listed = " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)
    return f"New from year {phase.year}: {listed}{cost}."


def of_plant(plant: Phases) -> list[str]:
    """Return the changes of a plant, a sentence each."""
    prices = plant.phases[0].design.prices
    return [in_words(phase, "" if prices is None else prices.currency) for phase in plant.phases[1:]]


def changes_of(run: Run) -> list[str]:
    """Return the changes of the plant of a run, a sentence each; none for a plant that stays the same."""
    return of_plant(run.plant) if isinstance(run, PhasedRun) else []


def changed_sections(run: Run, units: Units) -> list[Section]:
    """Return the input of the plant of year 1 part by part, and that of each change.

    Parameters
    ----------
    run : Run
        The run.
    units : {"SI", "IP"}
        Units of equations and lists; single numbers are in both.
    """
    (first, *later) = run.spans
    found = sections(first.design, units)
    if not isinstance(run, PhasedRun):
        return found
    for span, phase in zip(later, run.plant.phases[1:], strict=True):
        names = {name.replace("_", " ") for name in phase.changed}
        of_change = sections(span.design, units)
        for section in of_change:
            part = section.title.split(", ")[0].lower()
            if part in names:
                found.append(section._replace(title=f"From year {span.first}, {section.title}"))
            elif part == "design":
                rows = [row for row in section.rows if row[0] in names]
                if rows:
                    found.append(section._replace(title=f"From year {span.first}", rows=rows))
    return found


def years_in_words(first: int, last: int) -> str:
    """Return a span of years, such as ``Years 1 to 7``."""
    return f"Years {first} to {last}" if last > first else f"Year {first}"

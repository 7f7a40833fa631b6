"""Freezing points and properties of the fluids against published values.

ASHRAE Handbook: Fundamentals, chapter "Physical properties of secondary coolants (brines)": tables of
the freezing points of aqueous solutions of ethylene glycol and of propylene glycol by mass and by
volume. The freezing points by mass are from memory; the volume fractions of the same rows, also from
memory, are turned into freezing points by CoolProp's copy of those tables (its fluids AEG and APG, by
volume), which confirms them.

The cryoscopic law: Delta T = K_f m for a dilute solution, K_f = 1.86 K kg/mol for water (CRC Handbook of
Chemistry and Physics, "Cryoscopic constants"; from memory).

Water at 20 degC: density 998.2 kg/m3, heat capacity 4184 J/(kg K), conductivity 0.598 W/(m K), viscosity
1.0016 mPa s (CRC Handbook, "Properties of water in the range 0-100 degC"; from memory).
"""

import CoolProp.CoolProp
import pytest

from book import compare
from loopdrift.parts.fluid.fluid import Fluid
from loopdrift.verification.references.published import (
    CRYOSCOPIC_CONSTANT,
    FREEZING_POINTS,
    WATER_AT_20_DEGREES,
)


@pytest.mark.parametrize(("name", "by_mass", "by_volume", "freezing_point"), FREEZING_POINTS)
def test_freezing_point_against_ashrae(name, by_mass, by_volume, freezing_point):
    compare(Fluid(name, mass_fraction=by_mass).freezing_point, freezing_point, atol=1.0, unit="degC")


@pytest.mark.parametrize(
    ("name", "by_mass", "by_volume", "freezing_point"),
    [row for row in FREEZING_POINTS if row[2] is not None],
)
def test_the_remembered_table_against_its_copy_by_volume(name, by_mass, by_volume, freezing_point):
    fluid = {"ethylene glycol": "AEG", "propylene glycol": "APG"}[name]
    copy = CoolProp.CoolProp.PropsSI("T_freeze", "T", 293.15, "P", 3e5, f"INCOMP::{fluid}[{by_volume}]")
    compare(copy - 273.15, freezing_point, atol=0.4, unit="degC")


@pytest.mark.parametrize(
    ("name", "molar_mass"),  # [g/mol]
    [("propylene glycol", 76.09), ("ethylene glycol", 62.07), ("methanol", 32.04), ("ethanol", 46.07)],
)
def test_a_dilute_mixture_follows_the_cryoscopic_law(name, molar_mass):
    fraction = 0.05
    molality = 1000.0 * fraction / (1.0 - fraction) / molar_mass
    compare(
        Fluid(name, mass_fraction=fraction).freezing_point,
        -CRYOSCOPIC_CONSTANT * molality,
        atol=0.1,
        unit="degC",
    )


def test_water_at_20_degrees():
    compare(
        Fluid("water").properties([20.0]),
        [[value for value, _ in WATER_AT_20_DEGREES.values()]],
        rtol=2e-3,
        unit="SI units",
    )

"""Films, pipes and grout: what the code takes from one author or from practice, against another.

Second sources: laminar flow by the eigenvalues of its own equation; turbulent films by Petukhov and Churchill
(library ht), in a gap by Petukhov & Roizen; roughness, bends and plastics by tables of fluids and ht;
grout as the mixture that it is.
"""

from __future__ import annotations

import ht.conv_internal
import ht.insulation
import numpy as np
import pytest
import scipy.linalg
from fluids.fittings import Darby3K, bend_miter, bend_rounded
from fluids.friction import Clamond, material_roughness
from scipy.special import kv

import loopdrift as ld
from book import between, compare
from loopdrift import _core
from loopdrift.parts.bore import GROUT_HEAT_CAPACITY, POLYETHYLENE_CONDUCTIVITY, SMOOTH_ROUGHNESS
from loopdrift.parts.hydraulics.friction import annulus_shape, friction_factor
from loopdrift.parts.hydraulics.piping import CLOSE_BEND

GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5)
WATER = ld.Fluid("water")
TEMPERATURE = 10.0
DENSITY, CAPACITY, CONDUCTIVITY, VISCOSITY = WATER.properties([TEMPERATURE]).iloc[0]
PRANDTL = CAPACITY * VISCOSITY / CONDUCTIVITY
OUTSIDE = 0.090  # of the gap [m]
POLYETHYLENE = tuple(f"Plastics, polyethylene / polythene, {kind} density" for kind in ("low", "high"))


def in_a_leg(reynolds: float) -> float:
    """Nusselt number in a smooth leg of a U-tube."""
    pipe = ld.Pipe(outer_diameter=0.032, wall_thickness=0.003, roughness=0.0)
    bore = ld.Bore(
        depth=100.0,
        buried_depth=1.0,
        diameter=0.15,
        pipes=ld.UTube(pipe=pipe, shank_spacing=0.07),
        grout_conductivity=1.5,
    )
    found = bore.resistance_at(
        ground=GROUND, fluid=WATER, flow=reynolds * np.pi * 0.026 * VISCOSITY / 4.0, temperature=TEMPERATURE
    )
    return found.film_coefficient * 0.026 / CONDUCTIVITY


def coaxial(ratio: float) -> ld.Bore:
    """A bore that its outer pipe fills, around an inner pipe that is `ratio` as wide as the gap's outside."""
    inner = ld.Pipe(outer_diameter=ratio * OUTSIDE, wall_thickness=0.1 * ratio * OUTSIDE, roughness=0.0)
    outer = ld.Pipe(outer_diameter=0.110, wall_thickness=0.010, roughness=0.0)
    return ld.Bore(
        depth=100.0,
        buried_depth=1.0,
        diameter=0.110,
        pipes=ld.Coaxial(inner=inner, outer=outer),
        grout_conductivity=1.5,
    )


def on_walls(ratio: float, reynolds: float) -> tuple[float, float]:
    """Nusselt numbers on inner and outer wall of the gap; the inner one from what keeps the two streams
    apart."""
    bore = coaxial(ratio)
    inner = bore.pipes.inner
    opening = inner.outer_diameter - 2.0 * inner.wall_thickness
    flow = reynolds * np.pi * (1.0 + ratio) * OUTSIDE * VISCOSITY / 4.0
    found = bore.resistance_at(ground=GROUND, fluid=WATER, flow=flow, temperature=TEMPERATURE)
    between = 1.0 / (1.0 / found.internal - 1.0 / (4.0 * found.local))
    wall = np.log(inner.outer_diameter / opening) / (2.0 * np.pi * inner.conductivity)
    inside = in_a_leg(found.inner_reynolds) * CONDUCTIVITY / opening
    film = between - wall - 1.0 / (np.pi * opening * inside)
    gap = (1.0 - ratio) * OUTSIDE
    on_inner = gap / (np.pi * inner.outer_diameter * film * CONDUCTIVITY)
    return on_inner, found.film_coefficient * gap / CONDUCTIVITY


def developed(ratio: float, *, warm: str) -> float:
    """Nusselt number of laminar flow far down a gap or a pipe (ratio 0) with one wall at one temperature.

    The slowest mode of (r T')' / r = -s u T for the flow's own profile u of mean 1, by finite volumes;
    the other wall is insulated. Heat through the wall is what the flow loses: h x perimeter = k s x section.
    """
    cells = 1500
    face = np.linspace(ratio, 1.0, cells + 1)
    r, step = 0.5 * (face[1:] + face[:-1]), face[1] - face[0]
    u = 1.0 - r**2 if ratio == 0.0 else 1.0 - r**2 - (1.0 - ratio**2) * np.log(r) / np.log(ratio)
    u /= np.sum(u * r) / np.sum(r)
    through = face / step
    through[0], through[-1] = (2.0 * face[end] / step for end in (0, -1))
    through[-1 if warm == "inner" else 0] = 0.0
    diagonal = (through[:-1] + through[1:]) / (u * r * step)
    beside = -through[1:-1] / (step * np.sqrt(u[1:] * r[1:] * u[:-1] * r[:-1]))
    slowest = scipy.linalg.eigh_tridiagonal(diagonal, beside, select="i", select_range=(0, 0))[0][0]
    perimeter = 2.0 * np.pi * (ratio if warm == "inner" else 1.0)
    return float(slowest * np.pi * (1.0 - ratio**2) / perimeter * 2.0 * (1.0 - ratio))


def test_laminar_film_in_a_leg_is_graetzs():
    compare(in_a_leg(800.0), developed(0.0, warm="outer"), rtol=1e-3)


@pytest.mark.parametrize("ratio", [0.1, 0.3, 0.5, 0.8])
def test_laminar_films_in_a_gap_are_those_of_its_flow(ratio):
    """3.66 + 1.2 a^-0.8 inside and 3.66 + 1.2 a^0.5 outside (VDI Heat Atlas); within 4 %."""
    expected = [developed(ratio, warm=wall) for wall in ("inner", "outer")]
    compare(on_walls(ratio, 1000.0), expected, rtol=0.04)


@pytest.mark.parametrize("reynolds", [1e4, 3e4, 1e5])
def test_turbulent_film_in_a_leg_is_near_those_of_others(reynolds):
    """Gnielinski's within 10 % of Petukhov, Kirillov & Popov and of Churchill & Zajic, by ht."""
    friction = Clamond(reynolds, 0.0)
    others = [
        ht.conv_internal.turbulent_Petukhov_Kirillov_Popov(Re=reynolds, Pr=PRANDTL, fd=friction),
        ht.conv_internal.turbulent_Churchill_Zajic(Re=reynolds, Pr=PRANDTL, fd=friction),
    ]
    compare(in_a_leg(reynolds), others, rtol=0.10)


@pytest.mark.parametrize("ratio", [0.2, 0.45, 0.7])
@pytest.mark.parametrize("reynolds", [2e4, 1e5])
def test_turbulent_films_in_a_gap_are_near_those_of_others(ratio, reynolds):
    """Petukhov & Roizen (1964), High Temp. 2, 65: 0.86 a^-0.16 inside and 1 - 0.14 a^0.6 outside of a
    pipe's film.

    From memory, and on the film of Petukhov, Kirillov & Popov, where the code has Gnielinski's three
    coefficients on his own: within 15 %.
    """
    of_pipe = ht.conv_internal.turbulent_Petukhov_Kirillov_Popov(
        Re=reynolds, Pr=PRANDTL, fd=Clamond(reynolds, 0.0)
    )
    expected = of_pipe * np.array([0.86 * ratio**-0.16, 1.0 - 0.14 * ratio**0.6])
    compare(on_walls(ratio, reynolds), expected, rtol=0.15)


@pytest.mark.parametrize("ratio", [0.3, 0.6, 0.9])
def test_turbulent_friction_in_a_gap_is_that_between_plates(ratio):
    """Dean (1978), J. Fluids Eng. 100, 215: 0.0347 at Re 10,000; Beavers, Sparrow & Lloyd (1971), J. Basic
    Eng. 93, 296: 0.0320 (both from memory). The code has 0.0343 to 0.0345, a pipe 0.0309."""
    reynolds = 1e4
    found = friction_factor(reynolds, 0.0, shape=annulus_shape(ratio))
    compare(found, 4.0 * 0.073 * (reynolds / 2.0) ** -0.25, rtol=0.03)
    compare(found, 4.0 * 0.1268 * reynolds**-0.3, rtol=0.08)


def test_a_drawn_tube_is_as_smooth_as_the_library_has_it():
    compare(SMOOTH_ROUGHNESS, material_roughness("Glass"), rtol=0.02, unit="m")


def test_the_close_bend_is_between_a_rounded_one_and_two_sharp_elbows():
    """1.25 by Darby's three constants, 1.26 where a pipe is bent as close as it goes, 2.4 of two mitres."""
    rounded = bend_rounded(Di=0.026, angle=180.0, fd=0.025, rc=0.75 * 0.026)
    name = "Elbow, 180\N{DEGREE SIGN}, threaded, close-return bend, (r/D = 1)"
    darby = Darby3K(NPS=1.0, Re=1e4, name=name)
    between(CLOSE_BEND, max(darby, rounded), 2.0 * bend_miter(angle=90.0))
    compare(CLOSE_BEND, darby, rtol=0.2)


def test_polyethylene_conducts_between_its_two_kinds():
    """0.33 of low and 0.50 W/(m K) of high density (ISO 10456:2007, table 3, by the library ht)."""
    kinds = [ht.insulation.k_material(name) for name in POLYETHYLENE]
    between(POLYETHYLENE_CONDUCTIVITY, min(kinds), max(kinds), unit="W/(m K)")


def heat_capacity_of_walls() -> float:
    """What the engine takes for pipe walls [J/(m3 K)], from how slow fluid and walls make the bore's answer.

    At small p the answer is resistance - p x sum of (capacity x (resistance from there to the ground)^2).
    """
    bore, flow, p = coaxial(0.55), 3.0, 1e-7
    inner, outer = bore.pipes.inner, bore.pipes.outer
    given = (bore.for_engine(), GROUND.for_engine(), WATER.for_engine())
    fluid, _ = _core.testing.bore_first_hours(
        *given, flow=flow, temperature=TEMPERATURE, p=np.array([p]), ground_response=np.zeros(1)
    )
    seen = bore.resistance_at(ground=GROUND, fluid=WATER, flow=flow, temperature=TEMPERATURE)
    # The ground of a line source that the bore has taken away: Carslaw & Jaeger (1959), section 13.5.
    x = 0.055 * np.sqrt(p * GROUND.volumetric_heat_capacity / GROUND.conductivity)
    around = 2.0 * np.pi * GROUND.conductivity
    ground = (kv(0, x) / (x * kv(1, x)) - kv(0, x)) / around
    whole = seen.effective + ground
    slowness = (whole - float(fluid[0]) / around) / p
    radius = np.linspace(0.045, 0.055, 10_001)
    wall = np.log(0.055 / radius) / (2.0 * np.pi * outer.conductivity)
    beyond = seen.effective - seen.local + wall + ground
    opening = inner.outer_diameter - 2.0 * inner.wall_thickness
    of_inner = np.pi / 4.0 * (inner.outer_diameter**2 - opening**2)
    of_fluid = np.pi / 4.0 * OUTSIDE**2 - of_inner
    walls = of_inner * whole**2 + np.trapezoid(2.0 * np.pi * radius * beyond**2, radius)
    return float((slowness - DENSITY * CAPACITY * of_fluid * whole**2) / walls)


def test_pipe_walls_store_what_polyethylene_does():
    """High and low density by ht's table (ISO 10456): 980 x 1800 and 920 x 2200 J/(m3 K)."""
    of = [ht.insulation.rho_material(name) * ht.insulation.Cp_material(name) for name in POLYETHYLENE]
    between(heat_capacity_of_walls(), min(of) * 0.99, max(of) * 1.01, unit="J/(m3 K)")


def test_grout_stores_what_it_is_mixed_of():
    """Water with 15 to 40 % by volume of clay, sand or cement (2.0 to 2.2 MJ/(m3 K)); poor and rich in
    solids."""
    by_solids = [(1.0 - solids) * DENSITY * CAPACITY + solids * 2.1e6 for solids in (0.15, 0.45)]
    between(GROUT_HEAT_CAPACITY, by_solids[1], by_solids[0], unit="J/(m3 K)")

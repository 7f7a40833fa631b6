"""Bore resistances against other methods.

Local and internal resistance: finite elements in two dimensions (scikit-fem), whose ground ends in the exact
condition of each Fourier harmonic on a circle outside the bore. Effective resistance: the two streams'
differential equations, solved by scipy. Films: the correlations of the libraries ``ht`` and ``fluids``, or
written anew from the sources.
"""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
import scipy.sparse
import scipy.sparse.linalg
import scipy.spatial
import skfem
from skfem.helpers import dot, grad

import loopdrift as ld
from book import compare
from loopdrift.verification.references.pipes import effective_by_streams, through_rings

GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)


@dataclasses.dataclass(frozen=True)
class TableOfOneRow:
    """A fluid as the engine reads it, the same at every temperature."""

    density: float
    heat_capacity: float
    conductivity: float
    viscosity: float

    def for_engine(self):
        values = {name: [value] for name, value in dataclasses.asdict(self).items()}
        return {
            "name": "test",
            "freezing_point": -20.0,
            "first_temperature": 0.0,
            "temperature_step": 1.0,
            **values,
        }

    @property
    def prandtl(self) -> float:
        return self.heat_capacity * self.viscosity / self.conductivity


@pytest.fixture(scope="module")
def water() -> TableOfOneRow:
    from CoolProp.CoolProp import PropsSI

    def at(name):
        return PropsSI(name, "T", 283.15, "P", 3e5, "Water")

    return TableOfOneRow(at("D"), at("C"), at("L"), at("V"))


def built(pipes, *, diameter=0.15, grout=1.5, depth=100.0):
    return ld.Bore(depth=depth, buried_depth=2.0, diameter=diameter, grout_conductivity=grout, pipes=pipes)


def at(bore, fluid, flow, ground=GROUND):
    return bore.resistance_at(ground=ground, fluid=fluid, flow=flow, temperature=0.0)


def leg_resistance(pipe, film_coefficient):
    inner = pipe.outer_diameter - 2 * pipe.wall_thickness
    wall = np.log(pipe.outer_diameter / inner) / (2 * np.pi * pipe.conductivity)
    return 1 / (np.pi * inner * film_coefficient) + wall


# Finite elements --------------------------------------------------------------------------------------------


def mesh_of_section(centres, pipe_radius, bore_radius, outer_radius):
    """Return triangles with nodes on pipes, wall and outer circle, the finest next to the pipes."""
    around = 80
    angle = 2 * np.pi * np.arange(around) / around
    circle = np.exp(1j * angle)
    wall_nodes = 480
    wall = bore_radius * np.exp(2j * np.pi * (np.arange(wall_nodes) + 0.5) / wall_nodes)
    points = [wall]
    fine = 2 * np.pi * pipe_radius / around
    for centre in centres:
        points.append(centre + pipe_radius * circle)

    def keep(candidates, clearance):
        to_wall = np.abs(np.abs(candidates) - bore_radius)
        to_pipes = np.min([np.abs(candidates - c) - pipe_radius for c in centres], axis=0)
        good = (to_wall > clearance) & (to_pipes > clearance)
        return candidates[good]

    # Rings about each pipe as long as they are nearest to it, then ever coarser rings from the wall to both
    # sides.
    step, radius, turn = fine, pipe_radius, 0.0
    for _ in range(14):
        radius, turn = radius + step, turn + 0.5
        for c in centres:
            ring = c + radius * circle * np.exp(2j * np.pi * turn / around)
            others = [np.abs(ring - d) for d in centres if d != c]
            nearest = np.all([d >= radius for d in others], axis=0) if others else np.ones(around, bool)
            points.append(keep(ring[nearest], 0.6 * fine))
        step *= 1.12
    for sign in (-1, 1):
        spread, r, turn = 2 * np.pi * bore_radius / wall_nodes, bore_radius, 0.5
        while True:
            r, turn = r + sign * spread, turn + 0.5
            if not 0.5 * spread < r < outer_radius - 0.5 * spread:
                break
            count = round(2 * np.pi * r / spread)
            ring = r * np.exp(2j * np.pi * (np.arange(count) + turn) / count)
            to_pipes = np.min([np.abs(ring - c) for c in centres], axis=0)
            points.append(ring[to_pipes > radius])
            spread *= 1.15
    points.append(outer_radius * np.exp(2j * np.pi * np.arange(120) / 120))
    z = np.concatenate(points)
    xy = np.column_stack([z.real, z.imag])
    triangles = scipy.spatial.Delaunay(xy).simplices
    middle = z[triangles].mean(axis=1)
    outside = np.min([np.abs(middle - c) for c in centres], axis=0) > pipe_radius * np.cos(np.pi / around)
    corners = xy[triangles]
    (ax, ay), (bx, by) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    triangles = triangles[outside & (np.abs(ax * by - ay * bx) > 1e-6 * fine**2)]
    used, renumbered = np.unique(triangles, return_inverse=True)
    return skfem.MeshTri(np.ascontiguousarray(xy[used].T), np.ascontiguousarray(renumbered.reshape(-1, 3).T))


def finite_element_matrix(centres, pipe_radius, bore_radius, k_grout, k_ground, leg):
    """Resistances R[m, n] [m K/W] from the fluid of pipe m to the wall's mean temperature per heat of pipe n.

    The outer circle, at 1.6 times the bore's radius, has the exact condition k n / r T of each harmonic n;
    the harmonic 0 carries the whole heat away and is fixed at temperature 0.
    """
    outer_radius = 1.6 * bore_radius
    mesh = mesh_of_section(centres, pipe_radius, bore_radius, outer_radius)
    in_grout = np.hypot(*mesh.p[:, mesh.t].mean(axis=1)) < bore_radius
    materials = {k_grout: in_grout, k_ground: ~in_grout}

    @skfem.BilinearForm
    def conduction(u, v, w):
        return dot(grad(u), grad(v))

    @skfem.BilinearForm
    def contact(u, v, w):
        return u * v

    @skfem.LinearForm
    def total(v, w):
        return v

    stiffness = sum(
        k * conduction.assemble(skfem.Basis(mesh, skfem.ElementTriP2(), elements=np.flatnonzero(where)))
        for k, where in materials.items()
    )
    rights = []
    for centre in centres:
        facets = mesh.facets_satisfying(
            lambda x, c=centre: (
                np.abs(np.hypot(x[0] - c.real, x[1] - c.imag) - pipe_radius) < 2e-3 * pipe_radius
            ),
            True,
        )
        side = skfem.FacetBasis(mesh, skfem.ElementTriP2(), facets=facets)
        perimeter = np.sum(side.dx)
        stiffness = stiffness + contact.assemble(side) / (leg * perimeter)
        rights.append(total.assemble(side) / (leg * perimeter))

    outside = mesh.facets_satisfying(lambda x: np.hypot(*x) > 0.99 * outer_radius, True)
    rim = skfem.FacetBasis(mesh, skfem.ElementTriP2(), facets=outside)
    harmonics = []
    scales = []
    for n in range(1, 13):
        for shape in (np.cos, np.sin):

            @skfem.LinearForm
            def project(v, w, n=n, shape=shape):
                return v * shape(n * np.arctan2(w.x[1], w.x[0]))

            harmonics.append(project.assemble(rim))
            scales.append(k_ground * n / (np.pi * outer_radius**2))
    modes = np.array(harmonics).T
    low_rank = modes * np.array(scales)

    wall = mesh.facets_satisfying(lambda x: np.abs(np.hypot(*x) - bore_radius) < 1e-3 * bore_radius)
    ring = skfem.InteriorFacetBasis(mesh, skfem.ElementTriP2(), facets=wall)
    mean_wall = total.assemble(ring) / np.sum(ring.dx)
    mean_rim = total.assemble(rim) / np.sum(rim.dx)

    # Fluid temperatures given, heats found: conductances. The rim's mean is tied to 0 by a Lagrange
    # multiplier.
    saddle = scipy.sparse.bmat([[stiffness, mean_rim[:, None]], [mean_rim[None, :], None]]).tocsc()
    factors = scipy.sparse.linalg.splu(saddle, permc_spec="MMD_AT_PLUS_A")
    pad = np.zeros((1, modes.shape[1]))
    solved_modes = factors.solve(np.vstack([low_rank, pad]))[:-1]
    small = np.eye(modes.shape[1]) + modes.T @ solved_modes

    def solve(right):
        plain = factors.solve(np.append(right, 0.0))[:-1]
        return plain - solved_modes @ np.linalg.solve(small, modes.T @ plain)

    fields = np.array([solve(right) for right in rights])
    count = len(centres)
    heats = np.array([[(m == n) / leg - rights[m] @ fields[n] for n in range(count)] for m in range(count)])
    walls = fields @ mean_wall
    return (np.eye(count) - walls[None, :]) @ np.linalg.inv(heats)


SECTIONS = {
    "U, grout below the ground": (ld.UTube(pipe=PIPE, shank_spacing=0.07), 0.8, 2.8),
    "U, grout above the ground": (ld.UTube(pipe=PIPE, shank_spacing=0.07), 2.4, 0.9),
    "U, legs near each other": (ld.UTube(pipe=PIPE, shank_spacing=0.035), 1.5, 2.1),
    "U, legs near the wall": (ld.UTube(pipe=PIPE, shank_spacing=0.113), 0.8, 2.8),
    "double U, grout below the ground": (ld.DoubleUTube(pipe=PIPE, shank_spacing=0.08), 0.8, 2.8),
    "double U, grout above the ground, near the wall": (
        ld.DoubleUTube(pipe=PIPE, shank_spacing=0.112),
        2.4,
        0.9,
    ),
}


@pytest.mark.parametrize("name", SECTIONS)
def test_local_and_internal_resistance_against_finite_elements(name, water):
    pipes, grout, k = SECTIONS[name]
    ground = ld.Ground(conductivity=k, volumetric_heat_capacity=2.3e6, temperature=10.5)
    found = at(built(pipes, grout=grout), water, 0.4, ground)
    count = 2 if isinstance(pipes, ld.UTube) else 4
    centres = pipes.shank_spacing / 2 * np.exp(2j * np.pi * np.arange(count) / count)
    leg = leg_resistance(PIPE, found.film_coefficient)
    matrix = finite_element_matrix(centres, PIPE.outer_diameter / 2, 0.075, grout, k, leg)
    direction = np.repeat([1.0, -1.0], count // 2)
    compare(found.local, matrix.sum() / count**2, rtol=0.001, unit="m K/W", what="local")
    compare(
        found.internal,
        4 * direction @ matrix @ direction / count**2,
        rtol=0.001,
        unit="m K/W",
        what="internal",
    )


# Effective resistance ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("flow", [0.03, 0.1, 0.5])
@pytest.mark.parametrize(
    "pipes", [ld.UTube(pipe=PIPE, shank_spacing=0.05), ld.DoubleUTube(pipe=PIPE, shank_spacing=0.08)]
)
def test_effective_resistance_of_legs(pipes, flow, water):
    found = at(built(pipes, depth=150.0), water, flow)
    between = 1 / (1 / found.internal - 1 / (4 * found.local))

    def slopes(temperatures):
        down, up = temperatures
        exchange = (down - up) / between
        return -down / (2 * found.local) - exchange, up / (2 * found.local) - exchange

    compare(
        found.effective,
        effective_by_streams(150.0, flow * water.heat_capacity, slopes),
        rtol=1e-6,
        unit="m K/W",
    )


@pytest.mark.parametrize("into_gap", [True, False])
def test_effective_resistance_of_a_coaxial_bore(into_gap, water):
    inner, outer = ld.Pipe.sdr(11, outer_diameter=0.063), ld.Pipe.sdr(17, outer_diameter=0.110)
    found = at(built(ld.Coaxial(inner=inner, outer=outer), depth=150.0), water, 0.2)
    between = 1 / (1 / found.internal - 1 / (4 * found.local))

    def slopes(temperatures):
        down, up = temperatures
        exchange = (down - up) / between
        if into_gap:
            return -down / found.local - exchange, -exchange
        return -exchange, up / found.local - exchange

    compare(
        found.effective,
        effective_by_streams(150.0, 0.2 * water.heat_capacity, slopes),
        rtol=1e-6,
        unit="m K/W",
    )


# Films ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("reynolds", [500.0, 2299.0, 3000.0, 4001.0, 1.2e4, 1e5])
@pytest.mark.parametrize("roughness", [0.0, 1e-4])
def test_film_in_a_leg_against_ht_and_fluids(reynolds, roughness, water):
    from fluids.friction import Haaland
    from ht.conv_internal import turbulent_Gnielinski

    pipe = PIPE.replace(roughness=roughness)
    inner = pipe.outer_diameter - 2 * pipe.wall_thickness
    flow = reynolds * np.pi * inner * water.viscosity / 4

    def turbulent(re):
        return turbulent_Gnielinski(Re=re, Pr=water.prandtl, fd=Haaland(Re=re, eD=roughness / inner))

    share = np.clip((reynolds - 2300) / (4000 - 2300), 0, 1)
    nusselt = (1 - share) * 3.66 + share * turbulent(max(reynolds, 4000.0))
    found = at(built(ld.UTube(pipe=pipe, shank_spacing=0.07)), water, flow)
    compare(found.reynolds, reynolds, rtol=1e-12, what="Reynolds number")
    assert found.regime == (
        "laminar" if reynolds < 2300 else "transitional" if reynolds < 4000 else "turbulent"
    )
    compare(
        found.film_coefficient, nusselt * water.conductivity / inner, rtol=1e-9, unit="W/(m2 K)", what="film"
    )


@pytest.mark.parametrize("reynolds", [800.0, 2e4, 2e5])
def test_film_in_a_gap_against_the_published_equations(reynolds, water):
    # Gnielinski (2009), outer wall heated and inner one insulated; smooth friction factor after Konakov
    # (1946) as in the source, from memory. Laminar: VDI Heat Atlas (2010), G2, from memory.
    inner = ld.Pipe.sdr(11, outer_diameter=0.063)
    outer = ld.Pipe.sdr(17, outer_diameter=0.110, roughness=0.0)
    outside = outer.outer_diameter - 2 * outer.wall_thickness
    a = inner.outer_diameter / outside
    gap = outside - inner.outer_diameter
    flow = reynolds * np.pi * (outside + inner.outer_diameter) * water.viscosity / 4
    star = reynolds * ((1 + a**2) * np.log(a) + (1 - a**2)) / ((1 - a) ** 2 * np.log(a))
    f8 = (1.8 * np.log10(star) - 1.5) ** -2 / 8
    k1 = 1.07 + 900 / reynolds - 0.63 / (1 + 10 * water.prandtl)
    pr = water.prandtl
    turbulent = f8 * reynolds * pr / (k1 + 12.7 * np.sqrt(f8) * (pr ** (2 / 3) - 1)) * (0.9 - 0.15 * a**0.6)
    nusselt = 3.66 + 1.2 * np.sqrt(a) if reynolds < 2300 else turbulent
    found = at(built(ld.Coaxial(inner=inner, outer=outer)), water, flow)
    compare(found.reynolds, reynolds, rtol=1e-12, what="Reynolds number")
    # Haaland's friction factor differs from Konakov's by up to 1 %.
    compare(
        found.film_coefficient,
        nusselt * water.conductivity / gap,
        rtol=1e-9 if reynolds < 2300 else 0.01,
        unit="W/(m2 K)",
        what="film",
    )


@pytest.mark.parametrize("reynolds", [1e4, 1e5])
@pytest.mark.parametrize("roughness", [1e-4, 8e-4])
def test_film_in_a_rough_gap_has_the_friction_of_its_width(roughness, reynolds, water):
    """Gnielinski (2009) as above, with Colebrook's friction by ``fluids`` for roughness over the hydraulic
    diameter; Haaland's differs from it by up to 2 %."""
    from fluids.friction import Colebrook

    inner = ld.Pipe.sdr(11, outer_diameter=0.063)
    outer = ld.Pipe.sdr(17, outer_diameter=0.110, roughness=roughness)
    outside = outer.outer_diameter - 2 * outer.wall_thickness
    a, gap = inner.outer_diameter / outside, outside - inner.outer_diameter
    star = reynolds * ((1 + a**2) * np.log(a) + (1 - a**2)) / ((1 - a) ** 2 * np.log(a))
    f8, pr = Colebrook(star, roughness / gap) / 8, water.prandtl
    k1 = 1.07 + 900 / reynolds - 0.63 / (1 + 10 * pr)
    nusselt = f8 * reynolds * pr / (k1 + 12.7 * np.sqrt(f8) * (pr ** (2 / 3) - 1)) * (0.9 - 0.15 * a**0.6)
    flow = reynolds * np.pi * (outside + inner.outer_diameter) * water.viscosity / 4
    found = at(built(ld.Coaxial(inner=inner, outer=outer)), water, flow).film_coefficient
    compare(found, nusselt * water.conductivity / gap, rtol=0.02, unit="W/(m2 K)", what="film")


# Closed form ------------------------------------------------------------------------------------------------


def test_local_resistance_of_a_coaxial_bore_is_a_layered_cylinder(water):
    inner, outer = ld.Pipe.sdr(11, outer_diameter=0.063), ld.Pipe.sdr(17, outer_diameter=0.110)
    found = at(built(ld.Coaxial(inner=inner, outer=outer)), water, 0.5)
    layers = leg_resistance(outer, found.film_coefficient) + through_rings([(0.11, 0.15, 1.5)])
    compare(found.local, layers, rtol=1e-12, unit="m K/W")

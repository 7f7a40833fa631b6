"""Trench fields against two-dimensional finite elements, ring sources against the integral of point sources.

The elements (scikit-fem) solve the same problem without sources and images: pipes are holes in ground below a
surface with its own yearly wave, linked to one fluid by the pipes' resistance, and the fluid takes the heat
that the run found. Ring sources: the continuous point source with its mirror image (Carslaw & Jaeger 1959,
section 10.4), integrated around the rings by mpmath. The wave itself (Kusuda & Achenbach 1965): the equation
of conduction in one dimension, stepped by scipy.
"""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
import scipy.integrate
import scipy.sparse
import scipy.sparse.linalg
import scipy.spatial
import scipy.special
import skfem
from skfem.helpers import dot, grad

import loopdrift as ld
from book import compare
from loopdrift import _core

GROUND = ld.Ground(conductivity=1.5, volumetric_heat_capacity=2.4e6, temperature=10.0)
WAVE = ld.SurfaceWave(amplitude=12.0, coldest_day=31.0)
PIPE = ld.Pipe.sdr(11, outer_diameter=0.032)
THICK = ld.Pipe(outer_diameter=0.032, wall_thickness=0.0029, conductivity=0.1)
THICK_RESISTANCE = np.log(16.0 / 13.1) / (2 * np.pi * 0.1)
DIFFUSIVITY = 1.5 / 2.4e6
DAY, YEAR = 86_400.0, 365 * 86_400.0
YEARS = 10


def undisturbed(depth, time):
    """Return the temperature below a surface of one harmonic (Carslaw & Jaeger 1959, section 2.6)."""
    reach = np.sqrt(DIFFUSIVITY * YEAR / np.pi)
    turn = 2 * np.pi * (time / YEAR - 31.0 / 365.0) - depth / reach
    return 10.0 - 12.0 * np.exp(-depth / reach) * np.cos(turn)


def test_the_wave_is_that_of_conduction_in_one_dimension() -> None:
    depths = 25.0 * np.linspace(0.0, 1.0, 301) ** 1.5
    gaps = np.diff(depths)
    cells = 0.5 * (gaps[1:] + gaps[:-1])

    def rate(time, inside):
        surface = 10.0 - 12.0 * np.cos(2 * np.pi * (time / YEAR - 31.0 / 365.0))
        flux = DIFFUSIVITY * np.diff(np.concatenate([[surface], inside, [inside[-1]]])) / gaps
        return np.diff(flux) / cells

    start = undisturbed(depths[1:-1], 0.0)
    days = np.array([400.0, 500.0, 600.0, 700.0, 730.0])
    found = scipy.integrate.solve_ivp(
        rate, (0.0, 730.0 * DAY), start, "LSODA", t_eval=days * DAY, rtol=1e-6, atol=1e-6, lband=1, uband=1
    )
    for place in (20, 40, 80, 150):
        ours = WAVE.temperature(GROUND, depth=depths[1:-1][place], hours=24 * days)
        compare(ours, found.y[place], atol=12.0 * 5e-4)


def mesh_around(centres, radius, width, bottom):
    """Return triangles of a half of a cross-section: holes for the pipes, finer toward them."""
    x, y = [grown(0.0, end, 0.06, 1.16) for end in (width, bottom)]
    plain = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    # Circles end before those of the next pipe and before the middle of the trench.
    least = np.append(centres[:, 0], scipy.spatial.distance.pdist(centres) / 2.0).min()
    angles = 2 * np.pi * np.arange(20) / 20
    circles = radius * (0.9 * least / radius) ** np.linspace(0.0, 1.0, 9)
    around = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    rings = [centre + r * around for centre in centres for r in circles]
    clear = scipy.spatial.distance.cdist(plain, centres).min(axis=1) > 1.05 * circles[-1]
    points = np.concatenate([plain[clear], *rings])
    points = points[points[:, 0] >= 0.0]
    triangles = scipy.spatial.Delaunay(points).simplices
    middle = points[triangles].mean(axis=1)
    solid = scipy.spatial.distance.cdist(middle, centres).min(axis=1) > radius * 0.99
    return skfem.MeshTri(np.ascontiguousarray(points.T), np.ascontiguousarray(triangles[solid].T))


def grown(start, end, first, growth):
    count = int(np.ceil(np.log(1 + (end - start) * (growth - 1) / first) / np.log(growth)))
    steps = first * growth ** np.arange(count)
    return start + np.concatenate([[0.0], np.cumsum(steps) * (end - start) / steps.sum()])


def stepped(centres, resistance, heat, step):
    """Return the mean wall temperature [degC] at the end of each step.

    `centres` are those of the pipes in the half x > 0 of a trench; `heat` [W/m] is that of these pipes
    together at the end of each step [s]; `resistance` is that of one metre of pipe [m K/W].
    """
    radius = PIPE.outer_diameter / 2.0
    mesh = mesh_around(centres, radius, 22.0, 25.0)
    basis = skfem.Basis(mesh, skfem.ElementTriP2())
    stiffness = skfem.BilinearForm(lambda u, v, _: 1.5 * dot(grad(u), grad(v))).assemble(basis)
    mass = skfem.BilinearForm(lambda u, v, _: 2.4e6 * u * v).assemble(basis)
    middles = mesh.p[:, mesh.facets].mean(axis=1)
    onto = scipy.spatial.distance.cdist(middles.T, centres)
    walls = mesh.boundary_facets()[onto[mesh.boundary_facets()].min(axis=1) < 1.01 * radius]
    wall = skfem.FacetBasis(mesh, skfem.ElementTriP2(), facets=walls)
    length = skfem.Functional(lambda _: 1.0).assemble(wall)
    # Polygons stand for circles: the wall's conductance is spread over the length that they have.
    film = len(centres) / resistance / length
    robin = skfem.BilinearForm(lambda u, v, _: film * u * v).assemble(wall)
    link = skfem.LinearForm(lambda v, _: film * v).assemble(wall)
    mean = skfem.LinearForm(lambda v, _: v / length).assemble(wall)
    surface = basis.get_dofs(lambda x: x[1] < 1e-9).all()
    free = np.setdiff1d(np.arange(basis.N), surface)

    whole = stiffness + robin
    conducts = scipy.sparse.bmat(
        [[whole, -link[:, None]], [link[None, :], -np.array([[link.sum()]])]]
    ).tocsc()
    stores = scipy.sparse.block_diag([mass, np.zeros((1, 1))]).tocsc()
    keep = np.append(free, basis.N)
    # Backward differentiation of second order: what the small triangles ring with dies out at once.
    left = 1.5 * stores + step * conducts
    factors = scipy.sparse.linalg.splu(left[keep][:, keep].tocsc())
    at_surface = left[keep][:, surface].tocsr()
    stores = stores[keep].tocsr()
    now = np.append(undisturbed(basis.doflocs[1], 0.0), undisturbed(centres[:, 1].mean(), 0.0))
    before = now
    found = np.zeros(len(heat))
    for n, taken in enumerate(heat):
        load = stores @ (2.0 * now - 0.5 * before)
        load[-1] = step * taken
        row = np.zeros(len(now))
        row[surface] = undisturbed(0.0, (n + 1) * step)
        row[keep] = factors.solve(load - at_surface @ row[surface])
        now, before = row, now
        found[n] = mean @ now[:-1]
    return found


@pytest.mark.parametrize(
    "pipes",
    [[[-0.3, 1.5], [0.3, 1.5]], [[-0.25, 1.1], [0.25, 1.1], [-0.25, 1.7], [0.25, 1.7]]],
    ids=["two side by side", "four in two rows"],
)
def test_ten_years_agree_with_finite_elements(pipes) -> None:
    season = np.cos(2 * np.pi * (np.arange(8760) / 8760 - 0.05))
    length = 1000.0
    design = ld.Design(
        ground=GROUND,
        ground_side=ld.TrenchField(pipe=PIPE, length=length, pipes=pipes, surface=WAVE),
        fluid=ld.Fluid.constant(
            density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-30.0
        ),
        flow=4.0 * len(pipes),
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0], cooling_cop=[5.0]),
        loads=ld.Loads(
            heating=length * np.clip(25.0 * season, 0.0, None),
            cooling=length * np.clip(-8.0 * season, 0.0, None),
        ),
    )
    hourly = design.run(YEARS).hourly
    # The resistance that the run had, from its own fluid and wall in the coldest hour.
    fluid = 0.5 * (hourly["entering_fluid_degC"] + hourly["leaving_fluid_degC"])
    per_metre = (hourly["heat_extracted_W"] / (length * len(pipes))).to_numpy()
    coldest = int(per_metre.argmax())
    resistance = (hourly["wall_degC"] - fluid).to_numpy()[coldest] / per_metre[coldest]

    step = 2 * DAY
    hours = int(step / 3600)
    count = YEARS * 8760 // hours
    heat = per_metre[hours - 1 :: hours][:count] * len(pipes) / 2.0
    half = np.array([pipe for pipe in pipes if pipe[0] > 0.0])
    elements = stepped(half, resistance, heat, step)
    wall = hourly["wall_degC"].to_numpy()[hours - 1 :: hours][:count]
    swing = np.ptp(elements)
    assert swing > 10.0
    # The elements' first steps are too long for heat that sets in all at once.
    first = 15
    compare(wall[first:], elements[first:], rtol=0.0, atol=0.005 * swing, unit="K")


def test_fluid_at_rest_shows_the_wave_as_finite_elements_do() -> None:
    """Two pipes close together and one far below share one fluid: without heat, how much each counts depends
    on the pipes' resistance as much as on the ground between them."""
    # The film adds nothing at such a flow. Without the pipe's resistance the fluid would differ by 0.13 K.
    pipes = [[0.2, 0.9], [0.2, 1.05], [0.2, 2.6]]
    pipes += [[-x, depth] for x, depth in pipes]
    field = ld.TrenchField(pipe=THICK, length=1000.0, pipes=pipes, surface=WAVE)
    design = ld.Design(
        ground=GROUND,
        ground_side=field,
        fluid=ld.Fluid.constant(
            density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-30.0
        ),
        flow=30.0 * len(pipes),
        heat_pump=ld.HeatPump.from_curves(heating_cop=[4.0]),
        loads=ld.Loads(),
    )
    step, years = 2 * DAY, 2
    count = int(years * 365 / 2)
    elements = stepped(np.array(pipes[:3]), THICK_RESISTANCE, np.zeros(count), step)
    fluid = design.run(years).hourly["entering_fluid_degC"].to_numpy()[47::48][:count]
    year = slice(count // 2, None)
    compare(fluid[year], elements[year], rtol=0.0, atol=0.03, unit="degC")


def coil(*, rings, upright=False, diameter=0.8, pitch=0.9, pipe=PIPE):
    return ld.TrenchField(
        pipe=pipe,
        length=diameter + (rings - 0.5) * pitch,
        coil=ld.Coil(diameter=diameter, pitch=pitch, depth=1.5, upright=upright),
        surface=WAVE,
    )


def answer(field, time):
    return float(_core.testing.trench_source(field.for_engine(), GROUND.for_engine(), np.array([time]))[0])


@pytest.mark.parametrize("upright", [False, True])
@pytest.mark.parametrize("time", [3600.0, 30 * DAY, 20 * YEAR])
def test_a_ring_is_the_integral_of_its_point_sources(time: float, upright: bool) -> None:
    field = coil(rings=1, upright=upright)
    ring, radius, reach = 0.4, 0.016, mpmath.sqrt(4 * DIFFUSIVITY * time)

    def point(distance):
        return mpmath.erfc(distance / reach) / distance

    def real(angle):
        return point(mpmath.sqrt((2 * ring * mpmath.sin(angle / 2)) ** 2 + radius**2))

    def mirrored(angle, other=0.0):
        if not upright:
            return point(mpmath.sqrt((2 * ring * mpmath.sin(angle / 2)) ** 2 + 9))
        across = ring * (mpmath.cos(angle) - mpmath.cos(other))
        return point(mpmath.hypot(across, 3 + ring * (mpmath.sin(angle) + mpmath.sin(other))))

    near = mpmath.quad(real, [0, 0.01, 0.05, 0.2, 1, mpmath.pi]) / mpmath.pi
    if upright:
        # Smooth and periodic both ways: the trapezoid rule is exact to rounding.
        turn = [2 * mpmath.pi * n / 24 for n in range(24)]
        image = sum(mirrored(a, b) for a in turn for b in turn) / len(turn) ** 2
    else:
        image = mpmath.quad(mirrored, [0, mpmath.pi]) / mpmath.pi
    exact = mpmath.pi * ring * (near - image)
    compare(answer(field, time), float(exact), rtol=1e-8, atol=1e-8)


@pytest.mark.parametrize(("pitch", "upright"), [(0.9, False), (0.9, True), (0.5, False), (0.3, True)])
def test_rings_in_a_row_are_sums_of_point_sources(pitch: float, upright: bool) -> None:
    """A thick pipe keeps crossing rings so far apart that the trapezoid rule is exact to rounding."""
    pipe = ld.Pipe(outer_diameter=0.12, wall_thickness=0.01)
    rings, ring, radius, time = 3, 0.4, 0.06, 60 * DAY
    field = coil(rings=rings, upright=upright, pitch=pitch, pipe=pipe)
    assert field.rings == rings
    angles = 2 * np.pi * np.arange(600) / 600
    along, sideways = ring * np.cos(angles), ring * np.sin(angles)

    def mean(lag):
        square = (lag * pitch + along[:, None] - along[None, :]) ** 2
        if upright:
            near = square + (sideways[:, None] - sideways[None, :]) ** 2 + radius**2
            far = square + (3.0 + sideways[:, None] + sideways[None, :]) ** 2
        else:
            near = square + (sideways[:, None] - sideways[None, :]) ** 2 + radius**2
            far = near - radius**2 + 9.0
        reach = np.sqrt(4 * DIFFUSIVITY * time)
        near, far = np.sqrt(near), np.sqrt(far)
        return (scipy.special.erfc(near / reach) / near - scipy.special.erfc(far / reach) / far).mean()

    lags = mean(0) + sum(2 * (rings - lag) / rings * mean(lag) for lag in range(1, rings))
    compare(answer(field, time), np.pi * ring * lags, rtol=1e-8)

"""Bores and pipes as a designer gives them."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

U_TUBE = ld.UTube(pipe=ld.Pipe.sdr(11, outer_diameter=0.032), shank_spacing=0.07)
PLACE = {"depth": 100.0, "buried_depth": 2.0, "diameter": 0.15}
GROUND = ld.Ground(conductivity=2.1, volumetric_heat_capacity=2.3e6, temperature=10.5)

# Outer diameter and least wall of polyethylene pipe SDR 11 in mm, ISO 4427-2; from memory.
METRIC = {25: 2.3, 32: 3.0, 40: 3.7, 50: 4.6, 63: 5.8, 75: 6.8, 90: 8.2, 110: 10.0, 125: 11.4, 160: 14.6}
# Outer diameter and least wall of polyethylene pipe DR 11 in inches, ASTM D3035; from memory.
INCH = {1.050: 0.095, 1.315: 0.120, 1.660: 0.151, 1.900: 0.173, 2.375: 0.216, 3.500: 0.318, 4.500: 0.409}


@pytest.mark.parametrize(("outer", "wall"), METRIC.items())
def test_sdr_11_of_metric_pipe(outer, wall):
    pipe = ld.Pipe.sdr(11, outer_diameter=f"{outer} mm")
    assert_allclose(pipe.wall_thickness, wall / 1000, rtol=0, atol=0.0001)


@pytest.mark.parametrize(("outer", "wall"), INCH.items())
def test_sdr_11_of_inch_pipe(outer, wall):
    pipe = ld.Pipe.sdr(11, outer_diameter=f"{outer} in")
    assert_allclose(pipe.wall_thickness, wall * 0.0254, rtol=0, atol=0.00055 * 0.0254)


def refused(field, **values):
    with pytest.raises(ld.InvalidInput) as caught:
        ld.Bore(**PLACE, **values)
    assert f"{caught.value.owner}.{caught.value.field}" == field


def test_exactly_one_of_two_ways():
    refused("Bore.pipes")
    refused("Bore.pipes", grout_conductivity=1.5)
    refused("Bore.grout_conductivity", pipes=U_TUBE)
    refused("Bore.pipes", pipes=U_TUBE, resistance=0.1)
    refused("Bore.grout_conductivity", grout_conductivity=1.5, resistance=0.1)
    refused("Bore.heat_capacity_inside", heat_capacity_inside=True, resistance=0.1)


def test_pipes_that_do_not_fit_are_refused():
    refused("Bore.diameter", pipes=U_TUBE.replace(shank_spacing=0.13), grout_conductivity=1.5)
    with pytest.raises(ld.InvalidInput, match=r"UTube.shank_spacing = 0.03 m: must be at least 0.032"):
        U_TUBE.replace(shank_spacing=0.03)
    with pytest.raises(ld.InvalidInput, match=r"Coaxial.inner.outer_diameter"):
        ld.Coaxial(inner=U_TUBE.pipe, outer=U_TUBE.pipe)
    with pytest.raises(ld.InvalidInput, match=r"Pipe.dimension_ratio"):
        ld.Pipe.sdr(2, outer_diameter=0.032)


def test_defaults_of_what_is_inside():
    built = ld.Bore(**PLACE, pipes=U_TUBE, grout_conductivity="1.5 W/(m K)")
    assert (built.grout_heat_capacity, built.heat_capacity_inside) == (3.4e6, True)
    assert built.for_engine()["inside"]["pipes"]["kind"] == "U-tube"
    assert built.replace(depth="300 ft").depth == pytest.approx(91.44)
    measured = ld.Bore(**PLACE, resistance=0.1)
    assert measured.for_engine()["inside"] == {"kind": "measured", "resistance": 0.1}


class Water:
    """Water at 10 degC as the engine reads it (IAPWS-95, rounded)."""

    def for_engine(self):
        table = {
            "density": [999.7],
            "heat_capacity": [4194.0],
            "conductivity": [0.579],
            "viscosity": [1.306e-3],
        }
        return {
            "name": "water",
            "freezing_point": 0.0,
            "first_temperature": 10.0,
            "temperature_step": 1.0,
            **table,
        }


def test_measured_resistance_is_the_effective_one():
    found = ld.Bore(**PLACE, resistance=0.1).resistance_at(
        ground=GROUND, fluid=Water(), flow=0.3, temperature=10.0
    )
    assert (found.local, found.internal, found.effective, found.regime) == (0.1, None, 0.1, None)


def test_flow_must_be_above_zero():
    with pytest.raises(ld.InvalidInput, match=r"Bore.flow = 0 kg/s"):
        ld.Bore(**PLACE, resistance=0.1).resistance_at(
            ground=GROUND, fluid=Water(), flow=0.0, temperature=10.0
        )

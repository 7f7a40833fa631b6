"""Bad values of bore fields: the type of the exception, and a message with field, value, unit and cure."""

import numpy as np
import pytest

import loopdrift as ld

bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
ground = ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0)
field = ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0)

FIELDS = {
    "bores that overlap": (
        lambda: ld.BoreField(bore, positions=[[0, 0], [0.1, 0]]),
        ["BoreField.positions = 0.1 m", "bores 1 and 2", "overlap", "at least 0.15 m"],
    ),
    "bores that meet below the surface": (
        lambda: ld.BoreField(bore, positions=[[0, 0], [40, 0]], inclination=30, direction=[90, 270]),
        ["BoreField.positions = ", "bores 1 and 2 below the surface", "would intersect", "at least 0.15 m"],
    ),
    "inclination of a ramp": (
        lambda: ld.BoreField(bore, positions=[[0, 0], [40, 0]], inclination=[0, 75]),
        ["BoreField.inclination = 75 deg", "of bore 2", "from 0 to 60 deg"],
    ),
    "inclination to the other side": (
        lambda: ld.BoreField(bore, positions=[[0, 0]], inclination="-10 deg"),
        ["BoreField.inclination = -10 deg", "from 0 to 60 deg"],
    ),
    "direction beyond the compass": (
        lambda: ld.BoreField(bore, positions=[[0, 0]], inclination=10, direction=400),
        ["BoreField.direction = 400 deg", "from 0 to 360 deg"],
    ),
    "direction in words": (
        lambda: ld.BoreField(bore, positions=[[0, 0]], inclination=10, direction="north"),
        ["BoreField.direction = 'north'", "number in deg"],
    ),
    "inclination as a length": (
        lambda: ld.BoreField(bore, positions=[[0, 0]], inclination="10 m"),
        ["BoreField.inclination = 10 m", "a unit like deg"],
    ),
    "inclinations that are not as many as the positions": (
        lambda: ld.BoreField(bore, positions=[[0, 0], [6, 0], [12, 0]], inclination=[10, 20]),
        ["BoreField.inclination = 2", "one for each of the 3 positions"],
    ),
    "inclination in a table": (
        lambda: ld.BoreField(bore, positions=[[0, 0], [6, 0]], inclination=np.ones((2, 2))),
        ["BoreField.inclination = [1.0, 1.0]", "number in deg"],
    ),
    "more leaning bores than are solved": (
        lambda: ld.BoreField.grid(bore, columns=61, rows=1, spacing=6).replace(inclination=5),
        ["BoreField.positions = 61 bores", "60 bores at most in a field with inclined bores"],
    ),
    "positions without y": (
        lambda: ld.BoreField(bore, positions=[1, 2, 3]),
        ["BoreField.positions = shape (3,)", "shape (n, 2)"],
    ),
    "ragged positions": (
        lambda: ld.BoreField(bore, positions=[[1, 2], [3]]),
        ["BoreField.positions = [[1, 2], [3]]", "shape (n, 2)"],
    ),
    "no positions": (
        lambda: ld.BoreField(bore, positions=[]),
        ["BoreField.positions = shape (0,)", "n from 1"],
    ),
    "a bore too few": (
        lambda: ld.BoreField([bore, bore], positions=[[0, 0], [6, 0], [12, 0]]),
        ["BoreField.bore = 2", "one for each of the 3 positions"],
    ),
    "a number as a bore": (
        lambda: ld.BoreField(5, positions=[[0, 0]]),
        ["BoreField.bore = 5", "must be a Bore"],
    ),
    "bores of two diameters": (
        lambda: ld.BoreField([bore, bore.replace(diameter=0.2)], positions=[[0, 0], [6, 0]]),
        ["BoreField.bore.diameter = 0.2", "bore 2 differs from bore 1"],
    ),
    "no columns": (
        lambda: ld.BoreField.grid(bore, columns=0, rows=1, spacing=6),
        ["BoreField.columns = 0", "whole number from 1 to 1000"],
    ),
    "half a row": (
        lambda: ld.BoreField.grid(bore, columns=2, rows=1.5, spacing=6),
        ["BoreField.rows = 1.5", "whole number from 1 to 1000"],
    ),
    "more bores than memory": (
        lambda: ld.BoreField.grid(bore, columns=10**6, rows=10**6, spacing=6),
        ["BoreField.columns = 1000000", "whole number from 1 to 1000"],
    ),
    "negative spacing": (
        lambda: ld.BoreField.grid(bore, columns=2, rows=1, spacing="-20 ft"),
        ["BoreField.spacing = -6.09", " m: ", "at least 0.15 m"],
    ),
    "past times": (lambda: field.g_function(ground, [-1.0]), ["g_function.times = -1 s", "from 1 to"]),
}


@pytest.mark.parametrize(("make", "parts"), FIELDS.values(), ids=FIELDS)
def test_fields(make, parts, says):
    with pytest.raises(ld.InvalidInput) as error:
        make()
    says(error, parts)

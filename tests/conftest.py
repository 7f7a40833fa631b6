"""Designs that are quick to run, and the command line as a user meets it."""

import contextlib
import io
import os
import subprocess
import sys

import numpy as np
import pytest

import loopdrift as ld
from loopdrift import command_line

pytest_plugins = ["book"]


@pytest.fixture(scope="session")
def design():
    """Two bores of measured resistance, a fluid of constant properties and loads that swing with the year."""
    season = np.cos(2 * np.pi * np.arange(8760) / 8760)
    bore = ld.Bore(depth=100.0, buried_depth=2.0, diameter=0.15, resistance=0.1)
    return ld.Design(
        ground=ld.Ground(conductivity=2.0, volumetric_heat_capacity=2e6, temperature=10.0),
        ground_side=ld.BoreField.grid(bore, columns=2, rows=1, spacing=6.0),
        fluid=ld.Fluid.constant(
            density=1000.0, heat_capacity=4000.0, conductivity=0.5, viscosity=1e-3, freezing_point=-10.0
        ),
        flow=0.5,
        heat_pump=ld.HeatPump.from_curves(
            heating_cop=[4.0, 0.05],
            heating_capacity=[8000.0, 200.0],
            cooling_cop=[6.0, -0.05],
            cooling_capacity=[9000.0],
        ),
        loads=ld.Loads(
            heating=np.clip(6000.0 * season, 0.0, None), cooling=np.clip(-3000.0 * season, 0.0, None)
        ),
        limits=ld.Limits(entering_fluid_min=-2.0, entering_fluid_max=30.0),
    )


@pytest.fixture(scope="session")
def run(design):
    return design.run(2)


@pytest.fixture
def design_path(design, tmp_path):
    """The design as a file, its loads beside it."""
    path = tmp_path / "house.toml"
    design.write(path)
    return path


@pytest.fixture(scope="session")
def says():
    """Check that the message of an error has some parts."""

    def says(error, parts):
        missing = [part for part in parts if part not in str(error.value)]
        assert not missing, f"{missing} not in: {error.value}"

    return says


@pytest.fixture(scope="session")
def command():
    """Run the command with arguments; give exit code, standard output and standard error."""

    def command(*arguments):
        code, out, err = 0, io.StringIO(), io.StringIO()
        with (
            pytest.MonkeyPatch.context() as patch,
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            patch.setattr(sys, "argv", ["loopdrift", *map(str, arguments)])
            try:
                command_line.main()
            except SystemExit as exit:
                code = exit.code
        return code, out.getvalue(), err.getvalue()

    return command


@pytest.fixture
def printed_by_threads(request):
    """Run a script, which can import the test's module, with 1, 2 and 5 threads; return what it printed."""

    def printed_by_threads(script):
        return {
            subprocess.run(
                [sys.executable, "-c", script],
                cwd=request.path.parent,
                env={**os.environ, "RAYON_NUM_THREADS": threads},
                capture_output=True,
                text=True,
                check=True,
            ).stdout
            for threads in ("1", "2", "5")
        }

    return printed_by_threads

"""The explorer: sliders move runs, in a real kernel too; wrong ranges and a missing library are refused."""

import subprocess
import sys

import numpy as np
import pytest
from numpy.testing import assert_allclose

import loopdrift as ld

CELLS = [
    """
from importlib.resources import files
import loopdrift as ld
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
explorer = design.explore(spacing=(4, 10), depth=(60, 200))
explorer
""",
    """
before = explorer._image.value
slider = explorer._box.children[1]
slider.value = 120.0  # what the browser does
assert explorer._image.value != before
explorer.design
""",
]

# In a process of its own, as the libraries of notebooks have warnings of their own.
SCRIPT = """
import nbclient, nbformat
notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in {cells!r}])
nbclient.NotebookClient(notebook, timeout=240, kernel_name="python3").execute()
shown = [cell.outputs[0]["data"] for cell in notebook.cells]
assert "application/vnd.jupyter.widget-view+json" in shown[0], shown[0]
print(shown[1]["text/plain"])
"""


def test_it_moves_in_a_kernel():
    script = SCRIPT.format(cells=CELLS)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=480)
    assert done.returncode == 0, done.stderr[-2000:]
    assert "4 bores of 120.0 m" in done.stdout


def test_it_starts_at_the_design_and_shows_its_run(design, run):
    explorer = design.explore(years=2, depth=(60, 200), spacing=("4 m", "10 m"))
    assert explorer.values == {"depth": 100.0, "spacing": 6.0}
    assert explorer.design == design
    columns = list(explorer.yearly)
    assert_allclose(explorer.yearly, run.yearly[columns], atol=1e-12)
    explorer.move(depth="150 m")
    assert explorer.design == design.replace(ground_side=design.ground_side.sized("depth", 150.0))
    assert_allclose(explorer.yearly, explorer.design.run(2).yearly[columns], atol=1e-12)
    assert repr(explorer) == "<Explorer: depth 150, spacing 6>"
    assert bytes(explorer._image.value).startswith(b"\x89PNG")
    assert "<img src='data:image/png;base64," in explorer._repr_html_()
    assert "holds" in explorer._verdict.value


def test_counts_and_scales_have_sliders(design):
    explorer = design.explore(years=1, columns=(1, 4), heating_scale=(0.5, 1.5))
    assert explorer.values == {"columns": 2, "heating_scale": 1.0}
    explorer.move(columns=3, heating_scale=0.8)
    assert explorer.design.ground_side.count == 3
    assert_allclose(explorer.design.loads.heating, 0.8 * design.loads.heating)


def test_a_case_that_freezes_says_so(design):
    explorer = design.explore(years=1, depth=(5, 200))
    explorer.move(depth=5)
    assert "can't be run" in explorer._verdict.value
    assert np.isnan(explorer.yearly.to_numpy()).all()
    explorer.move(depth=150)
    assert "holds" in explorer._verdict.value


@pytest.mark.parametrize(
    ("ranges", "message"),
    [
        ({}, "must be 1 to 6 ranges by name"),
        ({"depth": 60}, "must be its least and its greatest value"),
        ({"depth": (200, 60)}, "must rise"),
        ({"depth": (60, "deep")}, "depth"),
        ({"columns": (1, 2.5)}, "columns"),
        ({"deepness": (60, 200)}, "unknown parameter"),
        ({"depth": (1e6, 2e6)}, "must have a case that can be run"),
    ],
)
def test_wrong_ranges_are_refused(design, ranges, message):
    with pytest.raises(ld.InvalidInput, match=message):
        design.explore(years=1, **ranges)


def test_a_slider_that_is_not_there(design):
    explorer = design.explore(years=1, depth=(60, 200))
    with pytest.raises(ld.InvalidInput, match="must be one of depth"):
        explorer.move(spacing=5.0)


def test_without_widgets(design, monkeypatch):
    monkeypatch.setitem(sys.modules, "ipywidgets", None)
    with pytest.raises(ImportError, match=r"pip install 'loopdrift\[notebook\]'"):
        design.explore(depth=(60, 200))

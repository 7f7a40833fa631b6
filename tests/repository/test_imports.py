"""What `import loopdrift` brings along."""

import subprocess
import sys

HEAVY = {
    "CoolProp",
    "SALib",
    "dask",
    "distributed",
    "fluids",
    "matplotlib",
    "pandas",
    "pint",
    "pvlib",
    "pyarrow",
    "scipy",
    "tomli_w",
    "tqdm",
    "xarray",
}


def test_nothing_heavy_comes_along():
    script = "import sys, loopdrift, loopdrift.command_line; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert "loopdrift.api.design" in loaded.split()
    assert not HEAVY & {name.partition(".")[0] for name in loaded.split()}


def test_a_report_brings_along_only_what_it_needs(design_path, tmp_path):
    script = (
        "import sys, loopdrift as ld\n"
        "from loopdrift.reporting import report\n"
        f"run = ld.Design.read({str(design_path)!r}).run(1)\n"
        f"report.write(run, {str(tmp_path / 'report.html')!r})\n"
        "print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert "matplotlib.backends.backend_svg" in loaded
    unwanted = {"CoolProp", "matplotlib.pyplot", "pvlib", "pyarrow.parquet", "scipy.optimize", "xarray"}
    assert not unwanted & set(loaded)

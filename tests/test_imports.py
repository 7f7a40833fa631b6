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
    assert "loopdrift.design" in loaded.split()
    assert not HEAVY & {name.partition(".")[0] for name in loaded.split()}

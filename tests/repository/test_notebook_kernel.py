"""A kernel of a notebook that forks after it has used loopdrift: neither it nor its children hang."""

import subprocess
import sys

LONGEST = 240  # s

CELLS = [
    """
import multiprocessing, os, threading
from concurrent.futures import ProcessPoolExecutor
from importlib.resources import files
import xarray as xr
import loopdrift as ld
design = ld.Design.read(files("loopdrift") / "demo" / "design.toml")
study = ld.Study(design, vary={"spacing": [5.0, 6.0], "depth": [80.0, 90.0]})
expected = study.run(1)
""",
    """
with ProcessPoolExecutor(2, multiprocessing.get_context("fork")) as executor:
    xr.testing.assert_identical(study.run(1, client=executor), expected)
""",
    """
ends = []
def from_a_thread():
    child = os.fork()
    if child == 0:
        os._exit(0 if study.run(1).identical(expected) else 1)
    ends.append(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
thread = threading.Thread(target=from_a_thread)
thread.start()
xr.testing.assert_identical(study.run(1), expected)
thread.join()
assert ends == [0], ends
""",
    "print('the kernel is alive', design.run(1).yearly.shape[0])",
]

# In a process of its own, as the libraries of notebooks have warnings of their own.
SCRIPT = """
import sys, nbclient, nbformat
notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in {cells!r}])
nbclient.NotebookClient(notebook, timeout={longest}, kernel_name="python3").execute()
print(notebook.cells[-1].outputs[0]["text"])
"""


def test_a_kernel_that_forks():
    script = SCRIPT.format(cells=CELLS, longest=LONGEST)
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, timeout=2 * LONGEST)
    assert done.returncode == 0, done.stderr[-2000:]
    assert "the kernel is alive 1" in done.stdout

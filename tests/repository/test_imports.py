"""What the package and its commands load, each in a new process."""

import pydoc
import subprocess
import sys

import loopdrift
from loopdrift.command_line.commands import LIST, Commands

SLOW = {
    "CoolProp",
    "SALib",
    "dask",
    "distributed",
    "fluids",
    "jinja2",
    "matplotlib",
    "numpy",
    "pandas",
    "pint",
    "pvlib",
    "pyarrow",
    "scipy",
    "tomli_w",
    "tqdm",
    "tree_sitter",
    "xarray",
}


def loaded(script):
    """Return the names of all modules that a new process has loaded at the end of a script."""
    done = subprocess.run(
        [sys.executable, "-c", f"{script}\nimport sys; print('|', *sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )
    return set(done.stdout.rpartition("|")[2].split())


def packages(modules):
    return {name.partition(".")[0] for name in modules}


def own(modules):
    return {name for name in modules if name.startswith("loopdrift")}


def test_the_package_alone_loads_nothing_but_the_engine():
    modules = loaded("import loopdrift")
    assert own(modules) == {"loopdrift", "loopdrift._core", "loopdrift._core.testing"}
    assert not (SLOW | {"click"}) & packages(modules)


def test_help_loads_no_command():
    call = "sys.argv[1:] = ['--help']\nfrom loopdrift.command_line import main\nmain()"
    modules = loaded(f"import sys\n{call}")
    assert "loopdrift.command_line.main" in modules
    assert not SLOW & packages(modules)
    assert not {f"loopdrift.command_line.{listed.module}" for listed in LIST.values()} & modules


def test_a_class_of_the_package_loads_only_what_it_is_made_of():
    modules = loaded("import loopdrift; loopdrift.Design")
    assert "loopdrift.api.design" in modules
    assert not SLOW - {"numpy"} & packages(modules)


def test_a_run_of_the_demo_loads_no_library_that_it_has_no_use_for(design_path):
    call = "from loopdrift.command_line import main\nmain()"
    modules = loaded(f"import sys\nsys.argv[1:] = ['run', {str(design_path)!r}, '--years', '1']\n{call}")
    assert "pandas" in modules
    unwanted = {"CoolProp", "SALib", "fluids", "matplotlib", "tomli_w", "tqdm", "xarray"}
    assert not unwanted & packages(modules)
    assert not {"scipy.optimize", "scipy.sparse", "scipy.stats", "pyarrow.parquet"} & modules
    assert "loopdrift.analysis.learning" not in modules


def test_a_report_loads_only_what_it_needs(design_path, tmp_path):
    modules = loaded(
        "import loopdrift as ld\n"
        "from loopdrift.reporting import report\n"
        f"run = ld.Design.read({str(design_path)!r}).run(1)\n"
        f"report.write(run, {str(tmp_path / 'report.html')!r})"
    )
    assert "matplotlib.backends.backend_svg" in modules
    assert not {"CoolProp", "matplotlib.pyplot", "pyarrow.parquet", "scipy.optimize", "xarray"} & modules


def test_each_command_is_listed_with_the_first_sentence_of_its_help():
    group = Commands()
    for name, listed in LIST.items():
        command = group.get_command(None, name)
        assert command.name == name
        first = " ".join(command.help.partition("\n\n")[0].split())
        assert first == listed.summary


def test_names_are_seen_before_they_load():
    assert set(loopdrift.__all__) <= set(dir(loopdrift))
    assert "class Design(" in pydoc.render_doc(loopdrift, renderer=pydoc.plaintext)

"""Bad input at the command line: a line for each fault on standard error, with the cure, and exit code 2."""

import re

import pytest


def refused(outcome, parts):
    code, out, err = outcome
    assert code == 2
    first, *others = err.splitlines()
    assert first.startswith("error: ")
    assert all(other.startswith("  ") for other in others)
    assert err.endswith("\n")
    for part in parts:
        assert part in err, err
    for word in ("Traceback", "panic", "NaN", "nan "):
        assert word not in out + err
    assert "year" not in out


# Text of the design file, what stands in its place, and what the line on standard error must say.
DESIGN_FILES = {
    "unknown key": (
        "conductivity = 2.0",
        "conductvity = 2.0",
        ["ground.conductvity", "did you mean 'conductivity'"],
    ),
    "missing key": ("temperature = 10.0", "", ["ground.temperature = nothing", "must be given"]),
    "out of range": (
        "conductivity = 2.0",
        "conductivity = 200.0",
        ["ground.conductivity = 200 W/(m K)", "0.1 to 20"],
    ),
    "wrong type": (
        "conductivity = 2.0",
        "conductivity = []",
        ["ground.conductivity = []", "number in W/(m K)"],
    ),
    "wrong unit": ("depth = 100.0", 'depth = "3 s"', ["ground_side.bore.depth = 3 s", "a unit like m"]),
    "unknown kind": (
        'kind = "bore field"',
        'kind = "pit"',
        ["ground_side.kind = pit", "must be one of bore field, bore grid, trench field, trench rows, pond"],
    ),
    "unknown key above": (
        "[ground]",
        "pump_powr = 3\n[ground]",
        ["pump_powr = 3", "did you mean 'pump_power'"],
    ),
    "freezing fluid": (
        "freezing_point = -10.0",
        "freezing_point = 10.5",
        ["freezing_point = 10.5 degC", "below"],
    ),
    "no TOML": ("[ground]", "[ground", ["house.toml, line ", "'[ground'", "must be TOML"]),
    "folder as loads": ("house-loads.csv", ".", ["Is a directory"]),
    "missing loads": ("house-loads.csv", "gone.csv", ["gone.csv", "No such file"]),
    "overlap": ("6.0", "0.1", ["positions = 0.1 m", "bores 1 and 2", "overlap"]),
}


@pytest.mark.parametrize(("old", "new", "parts"), DESIGN_FILES.values(), ids=DESIGN_FILES)
@pytest.mark.parametrize("verb", ["check", "run"])
def test_design_files_at_the_command_line(command, design_path, verb, old, new, parts):
    text = design_path.read_text()
    assert old in text
    design_path.write_text(text.replace(old, new))
    arguments = ["--years", "1"] if verb == "run" else []
    refused(command(verb, design_path, *arguments), parts)


def test_a_design_without_cooling_at_the_command_line(command, design_path):
    text = re.sub(r"cooling_(cop|capacity) = \[[^]]*\]\n", "", design_path.read_text())
    design_path.write_text(text)
    refused(command("check", design_path), ["cooling_cop = nothing", "the loads include cooling"])


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        (["rum"], ["No such command 'rum'", "loopdrift --help"]),
        (["run"], ["Missing argument 'DESIGN'", "loopdrift run --help"]),
        (["run", "gone.toml"], ["gone.toml: No such file or directory"]),
        (["run", "."], [".: Is a directory"]),
        (["run", "DESIGN", "--years", "0"], ["years = 0", "from 1 to 100"]),
        (["run", "DESIGN", "--years", "101"], ["years = 101", "from 1 to 100"]),
        (["run", "DESIGN", "--years", "ten"], ["'--years'", "'ten' is not a valid integer", "run --help"]),
        (["run", "DESIGN", "--units", "metric"], ["'--units'", "'metric'", "'SI', 'IP'"]),
        (["run", "DESIGN", "--yeers", "2"], ["--yeers", "--years"]),
        (["run", "DESIGN", "--out", "DESIGN/there"], ["there", "Not a directory"]),
        (["run", "DESIGN", "--out", "DESIGN"], ["house.toml", "File exists"]),
        (["demo", "--out", "DESIGN/there"], ["there", "Not a directory"]),
        (["check", "LOADS"], ["house-loads.csv, line 1", "must be TOML"]),
    ],
)
def test_arguments_of_the_command(command, design_path, arguments, parts):
    stand_ins = {"DESIGN": design_path, "LOADS": design_path.with_name("house-loads.csv")}
    given = [argument.replace("DESIGN", str(design_path)) for argument in arguments]
    refused(command(*(stand_ins.get(argument, argument) for argument in given)), parts)


def test_a_binary_design_at_the_command_line(command, tmp_path):
    (tmp_path / "house.toml").write_bytes(bytes(range(256)))
    refused(command("check", tmp_path / "house.toml"), ["house.toml, line 2", "must be UTF-8 text"])


NO_SERIES = {
    "nothing": ("", "must have a header"),
    "a header alone": ("heating_kW\n", "0 hours were read"),
    "numbers alone": ("1\n" * 8760, "must be a header, such as heating_kW: the first line holds numbers"),
    "a page from the network": ("<html>404 not found</html>", "unknown column"),
    "bytes": (bytes(range(256)) * 9, "must be UTF-8 text, Latin-1 text, or an Excel workbook"),
}


@pytest.mark.parametrize(("content", "part"), NO_SERIES.values(), ids=NO_SERIES)
def test_files_that_hold_no_series(command, tmp_path, content, part):
    path = tmp_path / "my meter é.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    refused(command("loads", path), ["my meter é.csv, line 1", part])


@pytest.mark.parametrize("option", ["--time-zone=Mars/Olympus", "--date-format=zzz", "--stamps=end"])
def test_what_is_said_of_times_needs_times(command, tmp_path, option):
    """Otherwise a misspelt zone would be taken without a word."""
    path = tmp_path / "meter.csv"
    path.write_text("heating_kW\n" + "1\n" * 8760)
    refused(command("loads", path, option), ["must be left out: the rows have no dates"])


def test_a_misspelt_climate(command):
    refused(command("weather", "cold contnental"), ["did you mean the climate 'cold continental'?"])


def test_loads_of_zero_are_doubted(command, tmp_path):
    path = tmp_path / "meter.csv"
    path.write_text("heating_kW\n" + "0\n" * 8760)
    code, out, _ = command("loads", path)
    assert code == 0 and "look at         every hour is zero" in out

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

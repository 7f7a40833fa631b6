"""Terminals that have few characters, or end: files come first, then words, and the exit code stays right."""

import io
import os
import subprocess
import sys

import pytest

from loopdrift import command_line

NAME = "Wärmepumpe ≥ 3 °C"
OTHER = "cp866"  # has neither ä nor the signs of the sentences
PLANT = f"""
[prices.electricity]
price = 0.2
[[prices.alternatives]]
name = "{NAME}"
efficiency = 2.6
cooling_cop = 3.4
[study.vary]
ground_side.spacing = [5, 6]
"""
VERBS = {
    "check": [],
    "run": ["--years", "1"],
    "report": ["--years", "1"],
    "size": ["--years", "1"],
    "study": ["--years", "1"],
    "compare": ["--years", "1"],
    "demo": ["--years", "1"],
}


@pytest.fixture
def arguments(design_path, tmp_path):
    """Arguments of a verb, and the file or folder that it leaves; names have other characters too."""
    design_path.write_text(design_path.read_text() + PLANT)
    path = design_path.rename(tmp_path / "Häuschen.toml")
    (tmp_path / "site.toml").write_text("[land]\narea = 2000.0\n[drilling]\nmax_depth = 120\n")
    out = tmp_path / "Ergebnisse ü"

    def arguments(verb):
        inputs = {"compare": [path, tmp_path / "site.toml"], "demo": []}.get(verb, [path])
        to = [] if verb == "check" else ["--out", out]
        return list(map(str, [verb, *inputs, *VERBS[verb], *to])), out

    return arguments


def on_a_terminal(monkeypatch, arguments, encoding):
    """Run the command on a terminal of an encoding; give exit code, standard output and error as bytes."""
    streams = [io.BytesIO(), io.BytesIO()]
    for name, stream in zip(("stdout", "stderr"), streams, strict=True):
        monkeypatch.setattr(sys, name, io.TextIOWrapper(stream, encoding=encoding, errors="strict"))
    monkeypatch.setattr(sys, "argv", ["loopdrift", *arguments])
    code = 0
    try:
        command_line.main()
    except SystemExit as exit:
        code = exit.code
    sys.stdout.flush()
    sys.stderr.flush()
    return code, *(stream.getvalue() for stream in streams)


@pytest.mark.parametrize("verb", VERBS)
def test_a_terminal_of_another_encoding(monkeypatch, arguments, verb):
    given, out = arguments(verb)
    code, said, err = on_a_terminal(monkeypatch, given, OTHER)
    assert (code, err) == (0, b"") and said
    assert verb == "check" or (out.stat().st_size if verb == "report" else any(out.glob("*.*")))
    # Where a terminal says that it has ASCII only, click takes that for a mistake and writes UTF-8.
    code, in_full, err = on_a_terminal(monkeypatch, given, "ascii")
    assert (code, err) == (0, b"")
    assert said.decode(OTHER) == in_full.decode("utf-8").encode(OTHER, "replace").decode(OTHER)


def test_an_error_on_a_terminal_of_another_encoding(monkeypatch, arguments, tmp_path):
    code, said, err = on_a_terminal(monkeypatch, ["run", str(tmp_path / "Häuser.toml")], OTHER)
    assert (code, said) == (2, b"") and err.startswith(b"error: ") and b"H?user.toml" in err


@pytest.mark.parametrize(
    "terminal",
    [
        {"PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"LC_ALL": "POSIX"},
    ],
    ids=lambda terminal: next(iter(terminal.values())),
)
def test_in_another_locale(arguments, terminal):
    given, out = arguments("run")
    code = "from loopdrift.command_line import main; main()"
    environment = {name: text for name, text in os.environ.items() if not name.startswith(("LC_", "LANG"))}
    done = subprocess.run(
        [sys.executable, "-c", code, *given], capture_output=True, env=environment | terminal, timeout=120
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"wrote " in done.stdout and (out / "hourly.csv").exists()
    assert NAME in (out / "design.toml").read_text(encoding="utf-8")
    assert "°C" in (out / "report.html").read_text(encoding="utf-8")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
def test_words_that_can_not_be_written_cost_no_file(arguments):
    given, out = arguments("run")
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-c", "from loopdrift.command_line import main; main()", *given],
            stdout=full,
            stderr=subprocess.PIPE,
            timeout=120,
        )
    assert done.returncode not in (0, 1) and b"Traceback" not in done.stderr
    assert (out / "hourly.csv").exists()

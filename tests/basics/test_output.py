"""What is written appears whole, together, and over nothing that loopdrift didn't write."""

import collections
import contextlib
import errno
import itertools
import json
import os
import resource
import signal
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

import kills
import loopdrift as ld
from loopdrift.basics.errors import as_text
from loopdrift.basics.output import MARKER, ResultFolder, ResultPage, write_whole
from loopdrift.reporting import report
from loopdrift.reporting import run_folder as results

STUDY = "\n[study.vary]\nground_side.spacing = [5, 6]\n"
VERBS = {
    "run": ["run", "DESIGN", "--years", "1"],
    "size": ["size", "DESIGN", "--years", "1"],
    "study": ["study", "DESIGN", "--years", "1"],
    "compare": ["compare", "DESIGN", "SITE", "--years", "1"],
}


@pytest.fixture
def project(design, tmp_path):
    """A folder of a user's own: a design with comments and a study, its loads, a site and notes."""
    folder = tmp_path / "project"
    folder.mkdir()
    design.write(folder / "design.toml")
    text = (folder / "design.toml").read_text()
    (folder / "design.toml").write_text("# my own words\n" + text + STUDY)
    (folder / "site.toml").write_text("[land]\narea = 2000.0\n[drilling]\nmax_depth = 120\n")
    (folder / "notes.txt").write_text("mine")
    return folder


def contents(folder):
    return {
        path.relative_to(folder): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()
    }


def arguments(verb, project):
    stand_ins = {"DESIGN": project / "design.toml", "SITE": project / "site.toml"}
    return [stand_ins.get(argument, argument) for argument in VERBS[verb]]


@pytest.mark.parametrize("forced", [False, True])
@pytest.mark.parametrize("verb", VERBS)
def test_results_never_go_where_the_inputs_are(command, project, verb, forced):
    before = contents(project)
    code, out, err = command(*arguments(verb, project), "--out", project, *(["--force"] if forced else []))
    assert (code, out) == (2, "")
    assert err.startswith("error: Results.folder = ") and "which is an input: choose another folder" in err
    assert contents(project) == before


@pytest.mark.parametrize("verb", VERBS)
def test_results_go_to_a_folder_of_their_own(command, project, tmp_path, verb):
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "hourly.csv").write_text("measured")
    code, out, err = command(*arguments(verb, project), "--out", folder)
    assert (code, out) == (2, "")
    assert "holds files that loopdrift didn't write: choose another folder, or replace it by force" in err
    assert contents(folder) == {path.relative_to(folder): b"measured" for path in folder.iterdir()}


def test_a_report_never_replaces_what_is_not_a_report(command, project):
    before = contents(project)
    run = ["report", project / "design.toml", "--years", "1"]
    for name in ("design.toml", "design-loads.csv"):
        for force in ([], ["--force"]):
            code, _, err = command(*run, "--out", project / name, *force)
            assert code == 2 and "is an input: choose another name" in err
    code, _, err = command(*run, "--out", project / "notes.txt")
    assert code == 2 and "exists and isn't as loopdrift wrote it" in err
    assert contents(project) == before
    page = project / "report.html"
    assert command(*run, "--out", page)[0] == command(*run, "--out", page)[0] == 0
    page.write_text(page.read_text().replace("</h1>", ", as we agreed</h1>", 1))
    assert command(*run, "--out", page)[0] == 2
    assert "as we agreed" in page.read_text()
    assert command(*run, "--out", page, "--force")[0] == 0
    assert "as we agreed" not in page.read_text()


def test_the_demo_keeps_inputs_that_were_changed(command, tmp_path):
    demo = ("demo", "--years", "1", "--out", tmp_path / "demo")
    design = tmp_path / "demo" / "inputs" / "design.toml"
    assert command(*demo)[0] == 0
    assert command("run", design, "--years", "1", "--out", tmp_path / "demo", "--force")[0] == 2
    changed = "# changed\n" + design.read_text()
    design.write_text(changed)
    code, _, err = command(*demo)
    assert code == 2 and "inputs/design.toml was changed since loopdrift wrote it" in err
    assert design.read_text() == changed


def test_later_results_replace_earlier_ones_and_no_others(command, project, tmp_path):
    out = tmp_path / "out"
    run = (*arguments("run", project), "--out", out)
    assert command(*run)[0] == 0
    (out / "thoughts.txt").write_text("mine")
    assert command(*run, "--units", "IP")[0] == 0
    assert (out / "thoughts.txt").read_text() == "mine"
    assert "degF" in (out / "yearly.csv").read_text()
    before = contents(out)
    code, _, err = command(*arguments("size", project), "--out", out)
    assert code == 2 and "holds results of run" in err
    (out / "hourly.csv").write_text("changed")
    code, _, err = command(*run)
    assert code == 2 and "hourly.csv was changed since loopdrift wrote it" in err
    (out / "hourly.csv").write_bytes(before[(out / "hourly.csv").relative_to(out)])
    assert contents(out) == before
    assert command(*arguments("size", project), "--out", out, "--force")[0] == 0
    assert {path.name for path in out.iterdir()} == {
        MARKER, "design.toml", "design-loads.csv", "sizing.txt", "thoughts.txt",
    }  # fmt: skip


def test_a_file_of_the_users_among_results_stays(tmp_path):
    out = ResultFolder(tmp_path / "out", "run")
    with out.writing() as unfinished:
        (unfinished / "a.txt").write_text("1")
    (tmp_path / "out" / "b.txt").write_text("mine")
    with pytest.raises(ld.InvalidInput, match=r"b\.txt exists"), out.writing() as unfinished:
        (unfinished / "a.txt").write_text("2")
        (unfinished / "b.txt").write_text("2")
    assert [(tmp_path / "out" / name).read_text() for name in ("a.txt", "b.txt")] == ["1", "mine"]
    assert sorted(os.listdir(tmp_path / "out")) == [MARKER, "a.txt", "b.txt"]


OLD = {"a.txt": "1", "same.txt": "0", "inputs/b.txt": "1", "gone.txt": "1"}
NEW = {"a.txt": "2", "same.txt": "0", "inputs/b.txt": "2", "new/c.txt": "2"}


def fill(folder, files):
    with ResultFolder(folder, "run").writing() as unfinished:
        for name, text in files.items():
            (unfinished / name).parent.mkdir(exist_ok=True)
            (unfinished / name).write_text(text)


@pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")
def test_a_process_that_ends_at_any_step_mixes_no_results(tmp_path):
    states = {}
    for name, files in (("before", OLD), ("after", NEW)):
        fill(tmp_path / "out", files)
        (tmp_path / "out" / "mine.txt").write_text("mine")
        states[name] = kills.contents(tmp_path / "out")
    stood, code = collections.Counter(), -9
    for step in itertools.count(1):
        folder = tmp_path / f"out-{step}"
        fill(folder, OLD)
        (folder / "mine.txt").write_text("mine")
        child = os.fork()
        if child == 0:
            kills.watch_steps(folder, step)
            fill(folder, NEW)
            os._exit(0)
        code = kills.ended_within(child, kills.LONGEST)
        stood[kills.check(kills.contents(folder), **states)] += 1
        ResultFolder(folder, "run")  # as the next command begins
        assert kills.contents(folder) in states.values()
        fill(folder, NEW)
        assert kills.contents(folder) == states["after"]
        if code == 0:
            break
    assert set(stood) == {"as before", "some missing", "as after"} and stood.total() > 15


def test_what_was_changed_while_files_waited_for_their_places_stays(tmp_path):
    folder = tmp_path / "out"
    fill(folder, OLD)
    child = os.fork()
    if child == 0:
        os.unlink = lambda path: os.kill(os.getpid(), signal.SIGKILL)  # the first old file goes
        fill(folder, NEW)
    assert kills.ended_within(child, kills.LONGEST) == -signal.SIGKILL
    (folder / "a.txt").write_text("changed")
    before = kills.contents(folder)
    with pytest.raises(ld.InvalidInput, match=r"a\.txt was changed since loopdrift wrote it"):
        fill(folder, NEW)
    assert kills.contents(folder) == before
    (folder / "a.txt").unlink()
    fill(folder, OLD)
    assert (folder / "a.txt").read_text() == "1" and not (folder / "new" / "c.txt").exists()


@pytest.mark.parametrize("way", ["a.txt", "new"])
def test_something_else_in_the_way_of_results(tmp_path, way):
    """A folder where a file goes, or a file where a folder goes: refused before anything changes."""
    folder = tmp_path / "out"
    fill(folder, {"same.txt": "0"})
    if way == "new":
        (folder / way).write_text("mine")
    else:
        (folder / way).mkdir()
    for force in (False, True):
        with (
            pytest.raises(ld.InvalidInput, match=r"has something else where .* goes"),
            ResultFolder(folder, "run", force=force).writing() as unfinished,
        ):
            (unfinished / "new").mkdir()
            (unfinished / "new" / "c.txt").write_text("2")
            (unfinished / "a.txt").write_text("2")
    assert kills.contents(folder).keys() - {"new"} == {MARKER, "same.txt"}
    assert sorted(os.listdir(folder)) == sorted([MARKER, "same.txt", way])


def test_results_that_are_written_side_by_side(tmp_path):
    """Several at once in one folder end in the results of one of them, or say what is wrong."""

    def write(number):
        for _ in range(10):
            with contextlib.suppress(ld.InvalidInput, OSError):
                fill(tmp_path / "out", {name: "1" for name in OLD})

    with ThreadPoolExecutor(4) as threads:
        list(threads.map(write, range(4)))
    fill(tmp_path / "out", NEW)
    assert {name: (tmp_path / "out" / name).read_text() for name in NEW} == NEW
    assert not (tmp_path / "out" / "gone.txt").exists()


def test_what_a_killed_process_left_is_in_nobodys_way(tmp_path, monkeypatch):
    """Not even where results are written in the folder itself, as in one that is mounted."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / ".loopdrift-unfinished-0123").mkdir()
    fill(".", NEW)
    assert (tmp_path / "a.txt").read_text() == "2"


@pytest.mark.parametrize("known", ['{"files": {"../kept.txt": ["DIGEST"]}, "kind": "run"}', "[", "3"])
def test_a_marker_is_not_believed_blindly(tmp_path, known):
    """Neither one that names files elsewhere, nor one that is damaged."""
    (tmp_path / "kept.txt").write_text("mine")
    digest = "5e2acdaba9ae8e2a78e5c7dc1e46f12c5ae6ad5bbc0c3a3d8b9b6a0a4aa1f4d7"
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / MARKER).write_text(known.replace("DIGEST", digest))
    with ResultFolder(tmp_path / "out", "run", force=True).writing() as unfinished:
        (unfinished / "a.txt").write_text("1")
    assert (tmp_path / "kept.txt").read_text() == "mine"


def test_nothing_appears_of_what_fails_half_way(run, tmp_path, monkeypatch):
    def fail(*_, **__):
        raise OSError(28, "No space left on device")

    results.write(run, tmp_path / "old")
    before = contents(tmp_path / "old")
    with monkeypatch.context() as patch:
        patch.setattr(results, "write_png", fail)
        for name in ("old", "new"):
            with pytest.raises(OSError, match="No space"):
                results.write(run, tmp_path / name)
    assert contents(tmp_path / "old") == before
    assert not any((tmp_path / "new").iterdir())
    assert sorted(os.listdir(tmp_path)) == ["new", "old"]


@contextlib.contextmanager
def files_no_longer_than(room):
    """Let files that grow beyond a size fail, as on a full disk."""
    before, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, most))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (before, most))


@pytest.mark.parametrize("room", [0, 20_000])
@pytest.mark.parametrize("write", [results.write, report.write])
def test_a_full_disk_leaves_what_was_there(run, tmp_path, write, room):
    write(run, tmp_path / "out")
    before = contents(tmp_path)
    for name in ("out", "new"):
        with files_no_longer_than(room), pytest.raises(OSError, match="File too large"):
            write(run, tmp_path / name)
    (tmp_path / "new").exists() and (tmp_path / "new").rmdir()
    assert contents(tmp_path) == before
    assert os.listdir(tmp_path) == ["out"]


def test_a_design_is_written_with_its_loads_or_not_at_all(design, tmp_path):
    path = tmp_path / "house.toml"
    design.write(path)
    loads = (tmp_path / "house-loads.csv").read_bytes()
    (tmp_path / "house.toml").unlink()
    (tmp_path / "house.toml").mkdir()
    with pytest.raises(IsADirectoryError):
        design.replace(loads=ld.Loads(heating=np.ones(8760))).write(path)
    assert list(contents(tmp_path).values()) == [loads]
    assert sorted(os.listdir(tmp_path)) == ["house-loads.csv", "house.toml"]


def test_what_is_no_plain_file_is_written_to(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    reader = os.open(tmp_path / "pipe", os.O_RDONLY | os.O_NONBLOCK)
    write_whole({tmp_path / "pipe": b"through"})
    assert os.read(reader, 100) == b"through"
    os.close(reader)
    target = tmp_path / "target.txt"
    target.write_text("old")
    target.chmod(0o640)
    (tmp_path / "link.txt").symlink_to(target)
    write_whole({tmp_path / "link.txt": b"new"})
    assert target.read_text() == "new" and (tmp_path / "link.txt").is_symlink()
    assert target.stat().st_mode & 0o777 == 0o640


def test_pages_and_folders_from_python(run, tmp_path):
    page = tmp_path / "page.html"
    page.write_text("<p>mine</p>")
    with pytest.raises(ld.InvalidInput, match="isn't as loopdrift wrote it"):
        report.write(run, page)
    assert report.write(run, page, force=True) == page
    ResultPage(page)
    marker = json.loads((results.write(run, tmp_path / "out")[0].parent / MARKER).read_text())
    assert marker["kind"] == "run" and "hourly.csv" in marker["files"]
    (tmp_path / "out" / "hourly.csv").write_text("changed")
    with pytest.raises(ld.InvalidInput, match=r"hourly\.csv was changed"):
        results.write(run, tmp_path / "out")


def test_threads_that_create_a_file_never_show_a_part_of_it(tmp_path):
    content = bytes(1_000_000)
    with ThreadPoolExecutor(4) as threads:
        for number in range(100):
            path = tmp_path / str(number)
            writes = [threads.submit(write_whole, {path: content}) for _ in range(4)]
            while not all(each.done() for each in writes):
                with contextlib.suppress(FileNotFoundError):
                    assert len(path.read_bytes()) == len(content)


@pytest.mark.parametrize(
    "make", [lambda folder: ResultFolder(folder, "run"), lambda folder: ResultPage(folder / "x.html")]
)
def test_a_folder_that_takes_no_files_is_named(tmp_path, monkeypatch, make) -> None:
    """Not the random name of the file tried in it. Root may write anywhere, so the system is replaced."""

    def refuse(path, *_, **__):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), os.fspath(path))

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(PermissionError) as caught:
        make(tmp_path)
    assert as_text(caught.value) == f"{tmp_path}: Permission denied"

"""The short form of `kills.py`: some moments and some sizes of disk for each command."""

import random

import pytest

import kills

SEED = 1
MOMENTS = 2
ROOM = 20_000
COMMANDS = ["run", "report", "demo", "size", "study"]

# Python warns of any fork beside threads.
pytestmark = pytest.mark.filterwarnings("ignore:This process .* is multi-threaded:DeprecationWarning")


@pytest.fixture(scope="module")
def prepared(tmp_path_factory):
    """Prepare each scenario once."""
    known = {}

    def prepared(name):
        if name not in known:
            known[name] = kills.prepared(name, tmp_path_factory.mktemp("prepared"))
        return known[name]

    return prepared


@pytest.mark.parametrize("name", COMMANDS)
def test_what_stands_after_a_kill_is_whole(prepared, name, tmp_path):
    stood = kills.kill(prepared(name), tmp_path / "place", random.Random(f"{name} {SEED}"), MOMENTS)
    assert stood.total() == MOMENTS


@pytest.mark.parametrize("name", COMMANDS)
def test_a_full_disk_changes_nothing(prepared, name, tmp_path):
    assert kills.limit(prepared(name), tmp_path / "limited", ROOM) == "refused"
    assert kills.fill(prepared(name), tmp_path / "disk", ROOM) in (None, "refused")  # none may be mounted


def test_the_check_sees_a_mixture():
    before, after = {"a": b"1", "b": b"1", "mine": b""}, {"a": b"2", "b": b"2", "mine": b""}
    assert kills.check(before, before, after) == "as before"
    assert kills.check({"a": b"2", "mine": b""}, before, after) == "some missing"
    for found in ({"a": b"1", "b": b"2", "mine": b""}, {"a": b"", "mine": b""}, {"a": b"1", "b": b"1"}):
        with pytest.raises(kills.Broken):
            kills.check(found, before, after)

"""The short form of `fuzz.py`: some mutated inputs of each kind, and what was found before."""

import shutil

import pytest

import fuzz

SEED = 3
COUNTS = {"drawn": 60, "design": 40, "study": 20, "site": 40, "loads": 25, "weather": 10, "table": 40}


@pytest.mark.parametrize("kind", COUNTS)
def test_mutated_inputs_end_in_a_result_or_an_own_error(kind, tmp_path):
    ends = [
        fuzz.outcome(fuzz.READERS[kind], path) for path in fuzz.inputs(kind, COUNTS[kind], SEED, tmp_path)
    ]
    assert len(set(ends)) > 1, "some are good, or wrong in more than one way"


@pytest.mark.parametrize("path", sorted(fuzz.CORPUS.glob("*-*")), ids=lambda path: path.name)
def test_what_was_found_before(path, tmp_path):
    for source in fuzz.DEMO.glob("*.csv"):
        shutil.copyfile(source, tmp_path / source.name)
    shutil.copyfile(path, tmp_path / path.name)
    fuzz.outcome(fuzz.READERS[path.name.split("-")[0]], tmp_path / path.name)


def test_damaged_stores_are_mended(tmp_path):
    assert list(fuzz.stores(5, SEED, tmp_path)) == ["mended"] * 5

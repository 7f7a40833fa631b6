"""`loopdrift neighbourhood` on a street of three plants."""

import pandas as pd
import pytest

STREET = """
[[plant]]
name = "west"
design = "house.toml"

[[plant]]
name = "middle"
design = "house.toml"
at = ["12 m", 0]

[[plant]]
name = "east"
design = "house.toml"
at = [24, 0]
start_year = 2
"""


@pytest.fixture
def street(design_path, monkeypatch):
    path = design_path.with_name("street.toml")
    path.write_text(STREET)
    monkeypatch.chdir(path.parent)
    return path


def test_tables_maps_and_text_are_written(street, command):
    code, out, error = command("neighbourhood", "street.toml", "--years", "2", "--out", "street")
    assert code == 0, error
    assert "3 plants with 6 bores in total, 2 years." in out and "wrote street" in out
    folder = street.parent / "street"
    assert {path.name for path in folder.iterdir() if not path.name.startswith(".")} == {
        "drops.png",
        "margins.png",
        "neighbourhood.txt",
        *(f"{stem}.{end}" for stem in ("plants", "who_cools_whom", "yearly") for end in ("csv", "parquet")),
    }
    yearly = pd.read_csv(folder / "yearly.csv")
    assert len(yearly) == 6 and {"plant", "year", "drop_by_neighbours_K"} <= set(yearly)
    assert list(pd.read_parquet(folder / "plants.parquet")["plant"]) == ["west", "middle", "east"]
    assert (
        code == command("neighbourhood", "street.toml", "--years", "2", "--out", "street", "--units", "IP")[0]
    )


@pytest.mark.parametrize(
    ("change", "arguments", "said"),
    [
        (("", ""), ["missing.toml"], "missing.toml"),
        (("house.toml", "hous.toml"), ["street.toml"], "hous.toml"),
        (("[24, 0]", "[12.1, 0]"), ["street.toml"], "must not overlap"),
        (("", ""), ["street.toml", "--years", "1"], "must be within the horizon"),
        (("", ""), ["street.toml", "--years", "2", "--out", "."], "which is an input"),
    ],
)
def test_wrong_commands_end_in_a_sentence(street, command, change, arguments, said):
    street.write_text(STREET.replace(*change, 1) if change[0] else STREET)
    code, _, error = command("neighbourhood", *arguments)
    assert code != 0 and said in error and "Traceback" not in error

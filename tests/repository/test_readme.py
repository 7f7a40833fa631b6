"""README: says what the package itself says."""

from pathlib import Path

import pytest

from loopdrift.analysis.cautions import HAZARDS, PERMITS, STANDING

README = Path(__file__).parents[2] / "README.md"


@pytest.mark.parametrize("caution", [HAZARDS, STANDING, PERMITS])
def test_it_has_every_caution(caution):
    assert caution in " ".join(README.read_text(encoding="utf-8").split())

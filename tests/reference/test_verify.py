"""The checks that `loopdrift verify` makes on a user's machine.

Each check names its own source; the references import nothing of loopdrift (a contract in pyproject.toml).
"""

import dataclasses
import re

import pytest

from book import compare
from loopdrift.command_line import verification
from loopdrift.verification import GROUPS, Check


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_values_of_each_group(group):
    checks = list(group())
    assert checks
    for check in checks:
        compare(check.found, check.expected, rtol=0.0, atol=check.tolerance, unit=check.unit, what=check.what)
        assert check.passes


def test_the_command_prints_found_expected_and_digits(command, monkeypatch):
    good = Check("one", "by hand", 1.0 + 1e-9, 1.0, 1e-8, "m")
    monkeypatch.setattr(verification, "GROUPS", (lambda: [good],))
    code, out, _ = command("verify")
    assert code == 0
    assert re.search(r"one +1 +1 +m +9\.0 +1e-08", out)
    assert "1 of 1 checks pass" in out


def test_a_check_that_fails_is_named_and_ends_in_1(command, monkeypatch):
    good = Check("one", "by hand", 1.0, 1.0, 1e-8)
    for wrong in (1.1, float("nan"), float("inf")):
        bad = dataclasses.replace(good, what="two", found=wrong)
        monkeypatch.setattr(verification, "GROUPS", (lambda bad=bad: [good, bad],))
        code, out, _ = command("verify")
        assert code == 1
        assert [line for line in out.splitlines() if "FAILS" in line and "two" in line]
        assert "1 of 2 checks pass" in out


@pytest.mark.parametrize(
    ("found", "digits"), [(100.0, 16.0), (100.1, 3.0), (-100.0, 0.0), (float("nan"), 0.0)]
)
def test_digits(found, digits):
    compare(Check("one", "by hand", found, 100.0, 1.0).digits, digits, atol=1e-3)

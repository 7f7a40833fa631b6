"""Months of a run's year."""

from loopdrift.basics.model_time import months


def test_a_year_begins_in_its_month():
    assert list(months(1)) == list(range(1, 13))
    assert list(months(10)) == [10, 11, 12, 1, 2, 3, 4, 5, 6, 7, 8, 9]

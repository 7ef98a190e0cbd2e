"""The closed vocabularies: their order is meaning."""

from __future__ import annotations

import pytest

from folioproof.vocabulary import Level, Severity, worst


def test_levels_rise_from_ordinary_care_to_leave_out() -> None:
    assert [level.value for level in Level] == ["ordinary care", "extra care", "not assessed", "leave out"]
    assert [level.rank for level in Level] == [0, 1, 2, 3]


@pytest.mark.parametrize("other", list(Level))
def test_the_worst_of_two_is_the_higher(other: Level) -> None:
    assert worst([Level.LEAVE_OUT, other]) is Level.LEAVE_OUT
    assert worst([other, Level.ORDINARY]) is other
    assert worst([Level.EXTRA, Level.NOT_ASSESSED]) is Level.NOT_ASSESSED


def test_of_nothing_the_worst_is_not_assessed() -> None:
    assert worst([]) is Level.NOT_ASSESSED


def test_ungraded_counts_as_moderate() -> None:
    assert Severity.UNGRADED.rank == Severity.MODERATE.rank
    graded = (Severity.MINOR, Severity.MODERATE, Severity.SEVERE, Severity.FATAL)
    assert [severity.rank for severity in graded] == [1, 2, 3, 4]

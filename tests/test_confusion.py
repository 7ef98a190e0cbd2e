"""Pairs of names that mislead: towards the more dangerous plant, and only near ones."""

from __future__ import annotations

from typing import Any

import pytest

from folioproof.confusion import confusable_pairs, danger
from folioproof.text import normalise, sound_key
from folioproof.vocabulary import Level

DANGERS = {"mild": 0, "worse": 1, "worst": 3}


def rows(*names: tuple[str, str]) -> list[dict[str, Any]]:
    folded = ((normalise(name), name, plant) for name, plant in names)
    return list(confusable_pairs(((key, sound_key(key), name, plant) for key, name, plant in folded), DANGERS))


def pairs(*names: tuple[str, str]) -> list[tuple[str, str, str, float]]:
    return [(row["name"], row["near_name"], row["why"], row["edits"]) for row in rows(*names)]


@pytest.mark.parametrize(
    ("adults", "taught", "expected"),
    [
        (Level.ORDINARY, Level.ORDINARY, 0),
        (Level.NOT_ASSESSED, Level.NOT_ASSESSED, 0),
        (Level.EXTRA, Level.EXTRA, 1),
        (Level.EXTRA, Level.LEAVE_OUT, 2),
        (Level.ORDINARY, Level.LEAVE_OUT, 2),
        (Level.LEAVE_OUT, Level.LEAVE_OUT, 3),
    ],
)
def test_danger_rises_with_the_level(adults: Level, taught: Level, expected: int) -> None:
    assert danger(adults, taught) == expected


@pytest.mark.parametrize(
    ("name", "near", "why", "edits"),
    [
        ("rose bay", "Rose-bay", "same name", 0.0),
        ("black berry", "blackberry", "same letters", 0.5),
        ("chokeberry", "chokebery", "same sound", 0.5),
        ("laurel", "laurol", "one letter", 1.0),
        ("laurel", "laure", "one letter", 1.0),
        ("laurel", "luarel", "one letter", 1.0),
    ],
)
def test_a_near_name_of_a_more_dangerous_plant_is_told(name: str, near: str, why: str, edits: float) -> None:
    assert pairs((name, "mild"), (near, "worst")) == [(name, near, why, edits)]


def test_only_from_the_milder_to_the_more_dangerous() -> None:
    assert pairs(("laurel", "worst"), ("laurol", "mild")) == [("laurol", "laurel", "one letter", 1.0)]
    assert pairs(("laurel", "worst"), ("laurol", "worst")) == []


@pytest.mark.parametrize(("name", "near"), [("fig", "fi"), ("ivy", "ivi"), ("laurel", "lauels"), ("maple", "oak")])
def test_short_or_distant_names_are_no_pair(name: str, near: str) -> None:
    assert pairs((name, "mild"), (near, "worst")) == []


def test_rows_are_numbered_and_the_same_whatever_the_order_of_the_names() -> None:
    names = [("laurel", "mild"), ("laurol", "worst"), ("laurels", "worse"), ("Laurel", "worst")]
    assert pairs(*names) == pairs(*names[::-1])
    found = rows(*names)
    assert [row["id"] for row in found] == list(range(1, len(found) + 1)) != []
    assert all(DANGERS[row["near_taxon_id"]] > DANGERS[row["taxon_id"]] for row in found)

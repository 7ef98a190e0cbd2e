"""The levels against the lists of two poison-information bodies, by every name that the lists print.

UCD2012: Filmer, A.K. (2012), Safe and Poisonous Garden Plants, University of California, Davis, lists on
pp. 12 and 26. CPCS2022: California Poison Control System (2022), Plants, tables 2 (non-toxic) and 4 (toxic).
The rows stand in data/, copied as facts.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.answers import Check, Plant
from folioproof.claims import HazardClaim
from folioproof.vocabulary import Basis, Company, Level, Part, Rank, Route, Step

Row = dict[str, str]
Record = Callable[[str], Plant]

#: Least share of the plants on two safe lists and no hazard list that must read ordinary care. False alarms
#: teach people to read no warning at all; the rest leaves room for a hazard that a later source describes.
MOSTLY = 0.9

SKIN = (Route.SKIN_IRRITANT, Route.SKIN_ALLERGEN, Route.SKIN_SUNLIGHT, Route.THROUGH_SKIN, Route.HAIRS_THORNS)


def printed_names(row: Row) -> list[str]:
    """Return each name as printed, and those with a remark in brackets also without it."""
    names = [row["scientific_name"], *filter(None, row["common_names"].split("; "))]
    return list(dict.fromkeys([*names, *(name.partition(" (")[0] for name in names)]))


def parts(row: Row) -> list[Part]:
    """Return the parts that the list names; the leaf, which is printed, when it means all or is silent."""
    named = {Part(part) for part in row["part"].split(";")}
    return [Part.LEAF] if named & {Part.ALL, Part.UNSTATED} else sorted(named)


def why(found: Check) -> list[tuple[str, str, str]]:
    return [(reason.code, reason.level.value, reason.text) for reason in found.reasons]


@pytest.mark.published("uc_class_1")
def test_uc_class_1_is_never_ordinary_care_by_any_printed_name(reference: Reference, row: Row) -> None:
    levels = {name: reference.check(name).level for name in printed_names(row)}
    assert Level.ORDINARY not in levels.values(), levels


@pytest.mark.published("uc_class_1")
def test_uc_class_1_is_never_ordinary_care_in_the_part_it_names(reference: Reference, row: Row) -> None:
    levels = {part: reference.check(row["scientific_name"], part=part).level for part in parts(row)}
    assert Level.ORDINARY not in levels.values(), levels


@pytest.mark.published("cpcs_rating_4")
def test_cpcs_rating_4_is_never_ordinary_care_by_any_printed_name(reference: Reference, row: Row) -> None:
    asked = [(name, part) for name in printed_names(row) for part in parts(row)]
    levels = {(name, part): reference.check(name, part=part).level for name, part in asked}
    assert Level.ORDINARY not in levels.values(), levels


@pytest.mark.published("cpcs_rating_4")
def test_the_leaf_of_cpcs_rating_4_is_never_ordinary_care_without_the_warning(reference: Reference, row: Row) -> None:
    """A list that grades the seeds alone does not set the level of the leaf, but the seeds must be shown."""
    found = reference.check(row["scientific_name"])
    if found.level is Level.ORDINARY:
        assert "CPCS2022" in {held.claim.source for held in found.other_parts}, why(found)


@pytest.mark.published("cpcs_rating_4")
def test_cpcs_rating_4_is_left_out_of_a_class(record: Record, reference: Reference, row: Row) -> None:
    """What is said of a whole family goes no higher than extra care."""
    family = record(row["scientific_name"]).rank is Rank.FAMILY
    for part in parts(row):
        found = reference.check(row["scientific_name"], part=part, company=Company.CLASS)
        assert found.level.rank >= (Level.EXTRA if family else Level.LEAVE_OUT).rank, (part, why(found))


@pytest.mark.published("uc_class_4")
def test_uc_class_4_shows_a_skin_note_and_a_skin_precaution(
    record: Record, reference: Reference, skin_precautions: set[str], row: Row
) -> None:
    plant_id = record(row["scientific_name"]).id
    for part in parts(row):
        found = reference.plant(plant_id, part=part).assessment
        claims = [held.claim for reason in found.reasons for held in reason.claims]
        assert any(isinstance(claim, HazardClaim) and claim.route in SKIN for claim in claims), found.reasons
        assert skin_precautions.intersection(found.precautions[Step.PICK]), found.precautions


@pytest.fixture(scope="session")
def skin_precautions(database: Path) -> set[str]:
    """Return the lines that the table of precautions has for the skin while picking."""
    with sqlite3.connect(database) as connection:
        lines = connection.execute("SELECT subject, text FROM precautions WHERE step = 'pick'").fetchall()
    return {text for subject, text in lines if subject in SKIN}


@pytest.mark.published("uc_safe")
def test_the_uc_safe_list_is_left_out_only_for_another_published_claim(reference: Reference, row: Row) -> None:
    found = reference.check(row["scientific_name"])
    if found.level is Level.LEAVE_OUT:
        deciding = [held.claim for r in found.reasons if r.level is Level.LEAVE_OUT for held in r.claims]
        published = {claim.source for claim in deciding if claim.basis is Basis.PUBLISHED}
        assert published - {"UCD2012"}, why(found)


@pytest.mark.published("two_safe_lists")
def test_a_plant_on_two_safe_lists_is_not_left_out(reference: Reference, row: Row) -> None:
    found = reference.check(row["scientific_name"])
    assert found.level is not Level.LEAVE_OUT, why(found)


def test_most_plants_on_two_safe_lists_read_ordinary_care(
    record: Record, reference: Reference, rows: Callable[[str], list[Row]]
) -> None:
    """A bare genus name is never ordinary care, so a genus counts by the level of its own record."""
    levels = {row["scientific_name"]: _own_level(record(row["scientific_name"])) for row in rows("two_safe_lists")}
    others = {name: level.value for name, level in levels.items() if level is not Level.ORDINARY}
    assert 1 - len(others) / len(levels) >= MOSTLY, others


def _own_level(plant: Plant) -> Level:
    """Return the level of the record itself, without what its species add."""
    own = [reason.level for reason in plant.assessment.reasons if reason.code != "N04"]
    return max(own, key=lambda level: level.rank)

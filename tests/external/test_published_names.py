"""Names against published cases: spellings that were really met, and names that a dangerous plant shares."""

from __future__ import annotations

import pytest

from folioproof import Reference
from folioproof.answers import Check
from folioproof.claims import Carries, HazardClaim
from folioproof.vocabulary import Company, Level, Status

Row = dict[str, str]

#: Statuses with which the records really hold a plant of this name.
HELD = (Status.EXACT, Status.GENUS)


def ids(reference: Reference, name: str) -> set[str]:
    return {candidate.id for candidate in reference.find(name).candidates}


def why(found: Check) -> tuple[str, str, list[str]]:
    return found.status.value, found.level.value, [reason.text for reason in found.reasons]


@pytest.mark.published("spellings")
def test_a_spelling_that_was_met_finds_the_plant_that_was_meant(reference: Reference, row: Row) -> None:
    meant, found = reference.find(row["meant"]), reference.find(row["name"])
    if meant.status in HELD and meant.candidates[0].match.kind != "genus":
        assert {c.id for c in meant.candidates} & {c.id for c in found.candidates}, found.candidates
    else:
        assert found.status is not Status.EXACT, found.candidates


@pytest.mark.published("spellings")
def test_a_spelling_that_was_met_is_never_milder_than_the_plant_that_was_meant(reference: Reference, row: Row) -> None:
    for company in Company:
        meant, found = (reference.check(row[key], company=company) for key in ("meant", "name"))
        if meant.status in HELD:
            assert found.level.rank >= meant.level.rank, (company, why(found), why(meant))


@pytest.mark.published("spellings")
def test_a_spelling_that_was_met_carries_ordinary_care_only_when_it_is_a_name(reference: Reference, row: Row) -> None:
    found = reference.check(row["name"])
    assert found.level is not Level.ORDINARY or found.status is Status.EXACT


def test_letters_without_sense_are_unknown(reference: Reference) -> None:
    """Reported as gbif/portal-feedback #6745."""
    assert reference.find("Xqzwklerty Vbnmasdfgh").status is Status.UNKNOWN


@pytest.mark.parametrize(
    ("old", "current"),
    [
        # The title of Acta Ophthalmol. Scand. 80(3):332-335 (2002) prints it so.
        pytest.param("Datura suaveolens", "Brugmansia suaveolens", id="Datura suaveolens"),
        # Common practice, no source: older lists keep poison ivy in Rhus, and misspell the chinaberry.
        pytest.param("Rhus radicans", "Toxicodendron radicans", id="Rhus radicans"),
        pytest.param("Melia azederach", "Melia azedarach", id="Melia azederach"),
    ],
)
def test_an_old_name_of_a_dangerous_plant_finds_it(reference: Reference, old: str, current: str) -> None:
    assert ids(reference, current) <= ids(reference, old)
    assert reference.check(old).level.rank >= reference.check(current).level.rank


@pytest.mark.published("shared_names")
def test_a_name_shared_with_a_dangerous_plant_is_never_ordinary_care(reference: Reference, row: Row) -> None:
    for name in (row["name"], row["name"].capitalize(), f"{row['name']} leaf"):
        found = reference.check(name)
        assert found.level is not Level.ORDINARY, why(found)


@pytest.mark.published("shared_names")
def test_a_name_shared_with_a_dangerous_plant_shows_that_plant(reference: Reference, row: Row) -> None:
    dangerous = set().union(*(ids(reference, plant) for plant in row["dangerous_plants"].split("; ")))
    assert dangerous & ids(reference, row["name"])


@pytest.mark.published("shared_names")
def test_a_name_shared_with_a_dangerous_plant_gives_the_reasons_of_a_known_danger(
    reference: Reference, row: Row
) -> None:
    """A plant that nobody has assessed, or hardly, must not stand in front of one that is known to harm."""
    found = reference.check(row["name"])
    known = [reason for reason in found.reasons if reason.level in (Level.EXTRA, Level.LEAVE_OUT)]
    claims = [held.claim for reason in known for held in reason.claims]
    assert any(isinstance(claim, HazardClaim | Carries) for claim in claims), (found.acting_on, why(found))


def test_hemlock_may_be_the_poison(reference: Reference) -> None:
    """Farthing (1996), Lab. Med. 27(4):260."""
    found = reference.check("hemlock")
    assert found.status is Status.AMBIGUOUS
    assert {"conium-maculatum", "cicuta"} <= {candidate.id for candidate in found.candidates}
    worst_meant = max(reference.check(name).level.rank for name in ("Conium maculatum", "Cicuta maculata"))
    assert found.level.rank >= worst_meant


@pytest.mark.parametrize(
    "name",
    ["poison ash", "ash", "poison dogwood", "mad apple", "water fennel", "myrtle spurge", "cashew"],
)
def test_a_common_name_of_a_dangerous_plant_is_never_ordinary_care(reference: Reference, name: str) -> None:
    """WordNet 3.0, plant synsets; "ash" ends the name "poison ash"."""
    found = reference.check(name)
    assert found.level is not Level.ORDINARY, why(found)

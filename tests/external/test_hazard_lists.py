"""The levels against published tables of one hazard each, and against the lists of health authorities.

The rows stand in data/, each with its source: kin of poison ivy (MCGOVERN1998B, table 9), plants that burn in
sunlight (REIS2014, table 2), plants that give off cyanide (TOXTABLE1147, tables 114-6 and 114-7), buttercups
(MCGOVERN1998, table 4), and plants named by a ministry (RNZIH), a poison centre (QLD), a city's health bureau
(TOKYO), a trade body (HTA_GLEBE) and a plant conservation body (NZPCN).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from folioproof import Reference
from folioproof.answers import Check, Plant
from folioproof.claims import HazardClaim
from folioproof.vocabulary import Company, Level, Part, Route, State, Step

Row = dict[str, str]
Record = Callable[[str], Plant]


def parts(row: Row) -> list[Part]:
    """Return the parts that the list names; the leaf when it means all, says nothing, or means its hairs."""
    named = {Part(part) for part in row["part"].split(";")}
    return [Part.LEAF] if named & {Part.ALL, Part.UNSTATED, Part.HAIR} else sorted(named)


def answers(reference: Reference, row: Row, company: Company, state: State = State.ANY) -> list[Check]:
    return [reference.check(row["scientific_name"], part=part, state=state, company=company) for part in parts(row)]


def routes(found: Check) -> set[Route]:
    claims = [held.claim for reason in found.reasons for held in reason.claims]
    return {claim.route for claim in claims if isinstance(claim, HazardClaim)}


def why(found: Check) -> tuple[str, list[tuple[str, str, str]]]:
    return found.level.value, [(reason.code, reason.level.value, reason.text) for reason in found.reasons]


@pytest.mark.published("urushiol_genera")
def test_kin_of_poison_ivy_is_never_ordinary_care_and_left_out_of_a_class(reference: Reference, row: Row) -> None:
    for found in answers(reference, row, Company.ADULTS):
        assert found.level.rank >= Level.EXTRA.rank, why(found)
        assert Route.SKIN_ALLERGEN in routes(found), why(found)
    for found in answers(reference, row, Company.CLASS):
        assert found.level is Level.LEAVE_OUT, why(found)


@pytest.mark.published("phototoxic")
def test_a_plant_that_burns_in_sunlight_is_never_ordinary_care_and_says_so(reference: Reference, row: Row) -> None:
    for found in answers(reference, row, Company.ADULTS):
        assert found.level.rank >= Level.EXTRA.rank, why(found)
        assert Route.SKIN_SUNLIGHT in routes(found), why(found)
    for found in answers(reference, row, Company.CLASS):
        assert found.level is Level.LEAVE_OUT, why(found)


@pytest.mark.published("cyanogenic")
def test_a_plant_that_gives_off_cyanide_is_heated_outdoors_and_left_out_of_a_class(
    reference: Reference, row: Row
) -> None:
    for found in answers(reference, row, Company.ADULTS):
        assert found.level.rank >= Level.EXTRA.rank, why(found)
        assert any("extraction" in line for line in found.precautions[Step.HEAT]), found.precautions
    for found in answers(reference, row, Company.CLASS):
        assert found.level is Level.LEAVE_OUT, why(found)


@pytest.mark.published("protoanemonin")
def test_a_fresh_buttercup_is_never_ordinary_care(reference: Reference, row: Row) -> None:
    for found in answers(reference, row, Company.ADULTS, State.FRESH):
        assert found.level.rank >= Level.EXTRA.rank, why(found)
        assert Route.SKIN_IRRITANT in routes(found), why(found)


@pytest.mark.published("poison_lists")
def test_a_plant_on_an_official_list_is_never_ordinary_care_by_the_route_it_is_listed_for(
    reference: Reference, row: Row
) -> None:
    """A moderate harm by swallowing may be ordinary care among adults, never with children in the room."""
    swallowed = Route(row["route"]) is Route.SWALLOWED
    for found in answers(reference, row, Company.CHILDREN if swallowed else Company.ADULTS):
        assert found.level.rank >= Level.EXTRA.rank, why(found)


@pytest.mark.published("poison_lists")
def test_a_plant_on_an_official_list_says_by_which_route_it_harms(
    record: Record, reference: Reference, row: Row
) -> None:
    plant_id = record(row["scientific_name"]).id
    for part in parts(row):
        reasons = reference.plant(plant_id, part=part).assessment.reasons
        claims = [held.claim for reason in reasons for held in reason.claims]
        shown = {claim.route for claim in claims if isinstance(claim, HazardClaim)}
        assert Route(row["route"]) in shown, reasons

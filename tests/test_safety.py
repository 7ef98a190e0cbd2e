"""Each rule of the level on its own, with facts made by hand and the real tables."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from folioproof.assessment import RULES, Assessment, Facts, Held, Neighbour, Tables
from folioproof.claims import AllClear, Carries, HazardClaim, LookAlike, Searched
from folioproof.database import connect, read_tables
from folioproof.safety import assess
from folioproof.vocabulary import (
    Audience,
    Basis,
    Company,
    Level,
    Part,
    Rank,
    Route,
    Severity,
    State,
    Step,
    Strength,
)

ORDINARY, EXTRA, NOT_ASSESSED, LEAVE_OUT = Level
CLASS, CHILDREN, ANIMALS = Company.CLASS, Company.CHILDREN, Company.ANIMALS
EVERY_COMPANY = (CLASS, CHILDREN, ANIMALS)


@pytest.fixture(scope="module")
def tables(database: Path) -> Tables:
    connection = connect(database)
    found = read_tables(connection)
    connection.close()
    return found


def harm(route: Route, severity: Severity, *parts: Part, rank: Rank = Rank.SPECIES, **more: Any) -> Held:
    given: dict[str, Any] = {
        "strength": Strength.DESCRIBED,
        "basis": Basis.PUBLISHED,
        "source": "BOOK",
        "locator": "p. 1",
    }
    claim = HazardClaim(route=route, severity=severity, parts=parts or (Part.UNSTATED,), **(given | more))
    return of(claim, rank)


def clear(*parts: Part, rank: Rank = Rank.SPECIES, **more: Any) -> Held:
    given: dict[str, Any] = {"audience": Audience.PEOPLE, "basis": Basis.PUBLISHED, "source": "BOOK"}
    return of(AllClear(parts=parts or (Part.UNSTATED,), **(given | more)), rank)


def carries(agent: str, *parts: Part, rank: Rank = Rank.SPECIES) -> Held:
    return of(Carries(agent=agent, parts=parts or (Part.UNSTATED,), basis=Basis.MEMORY), rank)


def of(claim: HazardClaim | AllClear | Carries, rank: Rank) -> Held:
    name = {Rank.SPECIES: "Planta exempli", Rank.GENUS: "Planta", Rank.FAMILY: "Plantaceae"}[rank]
    return Held(claim, name.lower().replace(" ", "-"), name, rank)


def about(
    tables: Tables,
    *held: Held,
    company: Company | None = None,
    part: Part = Part.LEAF,
    state: State = State.ANY,
    **more: Any,
) -> Assessment:
    facts = Facts(
        taxon_id="planta-exempli",
        hazards=tuple(h for h in held if isinstance(h.claim, HazardClaim)),
        all_clears=tuple(h for h in held if isinstance(h.claim, AllClear)),
        carries=tuple(h for h in held if isinstance(h.claim, Carries)),
        **more,
    )
    group = frozenset({Company.ADULTS} | ({company} if company else set()))
    return assess(facts, tables, part=part, state=state, company=group)


def codes(found: Assessment, level: Level | None = None) -> set[str]:
    return {reason.code for reason in found.reasons if level is None or reason.level is level}


def test_every_rule_has_its_own_test() -> None:
    tested = {name.split("_")[1].upper() for name in globals() if name.startswith("test_s")}
    assert set(RULES) <= tested


# -- S01: species, genus and family --------------------------------------------------------------------------


def test_s01_the_worst_of_species_and_genus_counts(tables: Tables) -> None:
    mild = harm(Route.SKIN_IRRITANT, Severity.MINOR)
    grave = harm(Route.SKIN_IRRITANT, Severity.SEVERE, rank=Rank.GENUS)
    found = about(tables, mild, grave, clear())
    assert found.level is LEAVE_OUT
    assert [h.taxon_name for h in found.reasons[0].claims] == ["Planta"]


@pytest.mark.parametrize("severity", [Severity.SEVERE, Severity.FATAL])
@pytest.mark.parametrize("route", list(Route))
def test_s01_a_family_alone_goes_no_higher_than_extra_care(tables: Tables, route: Route, severity: Severity) -> None:
    held = harm(route, severity, rank=Rank.FAMILY)
    assert {about(tables, held, company=who).level for who in (None, *EVERY_COMPANY)} == {EXTRA}


def test_s01_a_family_that_is_poisonous_and_reaches_the_skin_is_still_extra_care(tables: Tables) -> None:
    family = [harm(route, Severity.FATAL, rank=Rank.FAMILY) for route in (Route.SWALLOWED, Route.THROUGH_SKIN)]
    assert about(tables, *family, clear()).level is EXTRA


def test_s01_a_family_reach_does_not_turn_a_species_poison_into_leave_out(tables: Tables) -> None:
    """A castor plant swallowed kills; that the family's sap stings the eye says little about its leaf."""
    poisons = [harm(Route.SWALLOWED, Severity.FATAL, source=source) for source in ("ONE", "TWO")]
    eye = harm(Route.EYE, Severity.MODERATE, rank=Rank.FAMILY)
    assert about(tables, *poisons, eye).level is EXTRA
    assert about(tables, poisons[0], harm(Route.EYE, Severity.MODERATE)).level is LEAVE_OUT


def test_s01_a_family_with_urushiol_is_left_out(tables: Tables) -> None:
    family = harm(Route.SKIN_ALLERGEN, Severity.SEVERE, rank=Rank.FAMILY, agent="urushiol")
    assert about(tables, family).level is LEAVE_OUT
    assert about(tables, carries("urushiol", rank=Rank.FAMILY), clear()).level is LEAVE_OUT


def test_s01_an_all_clear_for_the_genus_covers_a_clean_genus_only(tables: Tables) -> None:
    printed = clear(rank=Rank.GENUS)
    assert about(tables, printed, genus_has_hazard=False).level is ORDINARY
    assert about(tables, printed, genus_has_hazard=True).level is NOT_ASSESSED


def test_s01_an_all_clear_for_the_species_stands_whatever_the_genus_holds(tables: Tables) -> None:
    assert about(tables, clear(), genus_has_hazard=True).level is ORDINARY


def test_s01_an_all_clear_for_the_family_or_a_parent_covers_nothing(tables: Tables) -> None:
    assert about(tables, clear(rank=Rank.FAMILY)).level is NOT_ASSESSED
    parent = replace(clear(), taxon_id="planta-altera", taxon_name="Planta altera")
    assert about(tables, parent).level is NOT_ASSESSED


# -- S02: parts and states -----------------------------------------------------------------------------------


@pytest.mark.parametrize("named", [Part.ALL, Part.UNSTATED])
@pytest.mark.parametrize("asked", list(Part))
def test_s02_all_and_unstated_count_for_every_part(tables: Tables, named: Part, asked: Part) -> None:
    assert about(tables, harm(Route.SKIN_IRRITANT, Severity.SEVERE, named), part=asked).level is LEAVE_OUT


@pytest.mark.parametrize("named", [Part.SEED, Part.FRUIT, Part.ROOT, Part.BULB, Part.BARK, Part.WOOD, Part.FLOWER])
def test_s02_a_claim_on_another_part_is_shown_and_does_not_set_the_level(tables: Tables, named: Part) -> None:
    deadly = harm(Route.THROUGH_SKIN, Severity.FATAL, named)
    found = about(tables, deadly, clear())
    assert found.level is ORDINARY
    assert found.other_parts == (deadly,)
    assert about(tables, deadly, clear(), part=named).level is LEAVE_OUT
    assert about(tables, deadly, clear(), part=named).other_parts == ()


@pytest.mark.parametrize("named", [Part.SAP, Part.HAIR, Part.THORN])
def test_s02_sap_hairs_and_thorns_meet_whoever_handles_the_leaf(tables: Tables, named: Part) -> None:
    assert about(tables, harm(Route.SKIN_IRRITANT, Severity.SEVERE, named), clear()).level is LEAVE_OUT


def test_s02_an_all_clear_reaches_no_further_than_it_says(tables: Tables) -> None:
    """A fruit that may be eaten says nothing about the leaf, nor a harmless sap about the whole leaf."""
    assert about(tables, clear(Part.FRUIT)).level is NOT_ASSESSED
    assert about(tables, clear(Part.SAP)).level is NOT_ASSESSED
    assert about(tables, clear(Part.FRUIT), part=Part.ALL).level is NOT_ASSESSED
    assert about(tables, clear(Part.FRUIT), part=Part.UNSTATED).level is NOT_ASSESSED
    assert about(tables, clear(Part.FRUIT), part=Part.FRUIT).level is ORDINARY
    assert about(tables, clear(Part.ALL), part=Part.FRUIT).level is ORDINARY


def test_s02_asking_for_all_parts_weighs_every_claim(tables: Tables) -> None:
    seed = harm(Route.THROUGH_SKIN, Severity.FATAL, Part.SEED)
    assert about(tables, seed, clear(Part.ALL), part=Part.ALL).level is LEAVE_OUT


def test_s02_a_claim_counts_for_the_state_it_names(tables: Tables) -> None:
    fresh = harm(Route.SKIN_IRRITANT, Severity.SEVERE, state=State.FRESH)
    assert about(tables, fresh, clear(), state=State.FRESH).level is LEAVE_OUT
    assert about(tables, fresh, clear(), state=State.ANY).level is LEAVE_OUT
    assert about(tables, fresh, clear(), state=State.DRIED).level is ORDINARY
    assert about(tables, fresh, clear(), state=State.DRIED).other_parts == (fresh,)


@pytest.mark.parametrize("asked", list(State))
def test_s02_every_bundle_is_wetted_so_soaked_always_counts(tables: Tables, asked: State) -> None:
    soaked = harm(Route.SKIN_IRRITANT, Severity.SEVERE, state=State.SOAKED)
    assert about(tables, soaked, clear(), state=asked).level is LEAVE_OUT


# -- S03: steps and precautions ------------------------------------------------------------------------------


def test_s03_all_five_steps_are_always_there_with_what_goes_with_every_plant(tables: Tables) -> None:
    found = about(tables)
    assert list(found.precautions) == list(Step)
    for step, text in tables.always:
        assert text in found.precautions[step]


@pytest.mark.parametrize("route", list(Route))
def test_s03_a_route_brings_the_lines_of_its_severity_and_of_the_milder_ones(tables: Tables, route: Route) -> None:
    for severity in (Severity.MINOR, Severity.MODERATE, Severity.SEVERE):
        found = about(tables, harm(route, severity))
        for its_route, step, at_least, text in tables.by_route:
            if its_route is route:
                assert (text in found.precautions[step]) == (severity.rank >= at_least.rank), (text, severity)


def test_s03_the_gravest_route_comes_first_and_nothing_is_said_twice(tables: Tables) -> None:
    two = [
        harm(Route.SWALLOWED, Severity.MODERATE, source="ONE"),
        harm(Route.SKIN_ALLERGEN, Severity.SEVERE, source="TWO"),
    ]
    lines = about(tables, *two, two[0]).precautions[Step.LAY]
    assert len(lines) == len(set(lines))
    first = {route: text for route, step, _, text in reversed(tables.by_route) if step is Step.LAY}
    assert lines.index(first[Route.SKIN_ALLERGEN]) < lines.index(first[Route.SWALLOWED])


def test_s03_company_and_vapour_bring_their_own_lines(tables: Tables) -> None:
    for who, step, text in tables.by_company:
        assert text in about(tables, company=who).precautions[step]
        assert text not in about(tables).precautions[step]
    found = about(tables, carries("cyanogenic-glycosides", Part.LEAF))
    for air, step, text in tables.by_vapour:
        assert (text in found.precautions[step]) == (air == "poison")


# -- S04: hard stops -----------------------------------------------------------------------------------------


def test_s04_urushiol_is_left_out_however_mild_the_claim(tables: Tables) -> None:
    mild = harm(Route.SKIN_ALLERGEN, Severity.MINOR, agent="urushiol")
    assert about(tables, mild, clear()).level is LEAVE_OUT
    assert about(tables, carries("urushiol", Part.LEAF), clear()).level is LEAVE_OUT
    assert "S04" in codes(about(tables, mild, clear()), LEAVE_OUT)


def test_s04_weaker_kin_are_extra_care_for_adults_and_left_out_in_company(tables: Tables) -> None:
    severe = harm(Route.SKIN_ALLERGEN, Severity.SEVERE, agent="urushiol-kin")
    for held in (severe, carries("urushiol-kin", Part.LEAF)):
        assert about(tables, held, clear()).level is EXTRA
        assert {about(tables, held, clear(), company=who).level for who in EVERY_COMPANY} == {LEAVE_OUT}


def test_s04_kin_in_the_fruit_alone_do_not_touch_the_leaf(tables: Tables) -> None:
    assert about(tables, carries("urushiol-kin", Part.FRUIT), clear()).level is ORDINARY


@pytest.mark.parametrize("route", [Route.THROUGH_SKIN, Route.SKIN_SUNLIGHT, Route.SKIN_ALLERGEN, Route.HAIRS_THORNS])
def test_s04_severe_harm_to_or_through_the_skin_is_left_out_and_moderate_is_not(tables: Tables, route: Route) -> None:
    severe = about(tables, harm(route, Severity.SEVERE), clear())
    assert severe.level is LEAVE_OUT
    assert codes(severe, LEAVE_OUT) == {"S04"}
    for severity in (Severity.MODERATE, Severity.UNGRADED):
        assert about(tables, harm(route, severity), clear()).level is EXTRA


def test_s04_stinging_hairs_are_left_out_whatever_the_grade(tables: Tables) -> None:
    nettle = harm(Route.HAIRS_THORNS, Severity.MINOR, Part.HAIR, agent="stinging-hairs")
    assert about(tables, nettle, clear()).level is LEAVE_OUT
    assert about(tables, replace(nettle, rank=Rank.FAMILY), clear()).level is EXTRA


# -- S05: poisons --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("severity", [Severity.SEVERE, Severity.FATAL])
def test_s05_a_poison_that_acts_only_when_swallowed_is_extra_care(tables: Tables, severity: Severity) -> None:
    """The castor leaf: an adult may handle it with care; with a class, children or animals it stays out."""
    castor = harm(Route.SWALLOWED, severity)
    assert about(tables, castor).level is EXTRA
    assert about(tables, castor, clear()).level is EXTRA
    assert {about(tables, castor, clear(), company=who).level for who in EVERY_COMPANY} == {LEAVE_OUT}


@pytest.mark.parametrize(
    ("route", "severity"),
    [
        (Route.THROUGH_SKIN, Severity.MINOR),
        (Route.BREATHED, Severity.MINOR),
        (Route.EYE, Severity.UNGRADED),
        (Route.EYE, Severity.MODERATE),
    ],
)
def test_s05_a_severe_poison_that_also_reaches_skin_eye_or_air_is_left_out(
    tables: Tables, route: Route, severity: Severity
) -> None:
    poison, reach = harm(Route.SWALLOWED, Severity.SEVERE), harm(route, severity)
    found = about(tables, poison, reach, clear())
    assert found.level is LEAVE_OUT
    assert codes(found, LEAVE_OUT) == {"S05"}
    assert set(found.reasons[0].claims) == {poison, reach}
    assert about(tables, harm(Route.SWALLOWED, Severity.MODERATE), reach, clear()).level.rank < LEAVE_OUT.rank


def test_s05_what_hardly_reaches_a_person_does_not_count_as_reaching(tables: Tables) -> None:
    poison = harm(Route.SWALLOWED, Severity.FATAL)
    for mild in (harm(Route.EYE, Severity.MINOR), harm(Route.SKIN_IRRITANT, Severity.MODERATE)):
        assert about(tables, poison, mild, clear()).level is EXTRA


def test_s05_a_veterinary_grade_alone_makes_no_deadly_poison_of_people(tables: Tables) -> None:
    of_animals = harm(Route.SWALLOWED, Severity.FATAL, audience=Audience.ANIMALS)
    assert about(tables, of_animals, harm(Route.EYE, Severity.MODERATE), clear()).level is EXTRA


# -- S06: steam and air --------------------------------------------------------------------------------------


def test_s06_a_cyanogenic_leaf_is_extra_care_and_left_out_of_a_class(tables: Tables) -> None:
    laurel = carries("cyanogenic-glycosides", Part.LEAF)
    assert about(tables, laurel, clear()).level is EXTRA
    assert codes(about(tables, laurel, clear()), EXTRA) == {"S06"}
    assert about(tables, laurel, clear(), company=CLASS).level is LEAVE_OUT
    assert about(tables, laurel, clear(), company=CHILDREN).level is LEAVE_OUT


def test_s06_a_cyanogenic_seed_leaves_the_leaf_alone(tables: Tables) -> None:
    assert about(tables, carries("cyanogenic-glycosides", Part.SEED), clear()).level is ORDINARY


def test_s06_its_vapour_is_not_counted_twice_as_a_poison_that_reaches_the_air(tables: Tables) -> None:
    agent = "cyanogenic-glycosides"
    laurel = [harm(Route.SWALLOWED, Severity.SEVERE, agent=agent), harm(Route.BREATHED, Severity.MODERATE, agent=agent)]
    assert about(tables, *laurel, clear()).level is EXTRA
    assert about(tables, *laurel, clear(), company=CLASS).level is LEAVE_OUT


@pytest.mark.parametrize("severity", [Severity.MODERATE, Severity.UNGRADED, Severity.SEVERE])
def test_s06_what_harms_when_breathed_is_extra_care_and_left_out_of_a_class(tables: Tables, severity: Severity) -> None:
    smoke = harm(Route.BREATHED, severity)
    assert about(tables, smoke, clear()).level is EXTRA
    assert about(tables, smoke, clear(), company=CLASS).level is LEAVE_OUT


# -- S07: listed irritants -----------------------------------------------------------------------------------


def test_s07_a_listed_irritant_without_a_grade_is_minor_until_something_described_says_more(tables: Tables) -> None:
    listed = harm(Route.SKIN_IRRITANT, Severity.UNGRADED, strength=Strength.LISTED)
    assert about(tables, listed, clear()).level is ORDINARY
    assert about(tables, listed, clear(), company=CLASS).level is ORDINARY
    described = harm(Route.SKIN_IRRITANT, Severity.UNGRADED)
    assert about(tables, described, clear()).level is EXTRA
    assert codes(about(tables, described, clear()), EXTRA) == {"S07"}


def test_s07_only_the_irritant_without_a_grade_is_softened(tables: Tables) -> None:
    graded = harm(Route.SKIN_IRRITANT, Severity.MODERATE, strength=Strength.LISTED)
    allergen = harm(Route.SKIN_ALLERGEN, Severity.UNGRADED, strength=Strength.LISTED)
    assert about(tables, graded, clear()).level is EXTRA
    assert about(tables, allergen, clear()).level is EXTRA


# -- S08: company --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("who", EVERY_COMPANY)
@pytest.mark.parametrize(
    "held",
    [
        harm(Route.SWALLOWED, Severity.SEVERE),
        harm(Route.SKIN_ALLERGEN, Severity.MODERATE),
        harm(Route.SKIN_SUNLIGHT, Severity.MODERATE),
    ],
)
def test_s08_severe_if_swallowed_allergen_and_light_burn_are_left_out_in_company(
    tables: Tables, who: Company, held: Held
) -> None:
    found = about(tables, held, clear(), company=who)
    assert found.level is LEAVE_OUT
    assert codes(found, LEAVE_OUT) == {"S08"}
    assert who.value in found.reasons[0].text
    assert about(tables, held, clear()).level is EXTRA


@pytest.mark.parametrize("who", EVERY_COMPANY)
def test_s08_thin_evidence_is_left_out_in_company_whatever_else_is_known(tables: Tables, who: Company) -> None:
    searched = (Searched(on=date(2026, 11, 1), sources=("A", "B")),)
    assert about(tables, searches=searched, company=who).level is LEAVE_OUT
    more = harm(Route.SKIN_IRRITANT, Severity.MODERATE)
    assert about(tables, more, searches=searched, company=who).level is LEAVE_OUT
    assert about(tables, more, clear(), searches=searched, company=who).level is EXTRA


@pytest.mark.parametrize("who", EVERY_COMPANY)
def test_s08_company_does_not_soften_what_nobody_has_assessed(tables: Tables, who: Company) -> None:
    family = harm(Route.SWALLOWED, Severity.MODERATE, rank=Rank.FAMILY)
    assert about(tables, family).level is NOT_ASSESSED
    assert about(tables, family, company=who).level is NOT_ASSESSED
    assert about(tables, company=who).level is NOT_ASSESSED


# -- S09: how much evidence there is -------------------------------------------------------------------------


def test_s09_no_claim_of_any_kind_is_not_assessed(tables: Tables) -> None:
    found = about(tables)
    assert found.level is NOT_ASSESSED
    assert found.strength is None
    assert not found.thin_evidence


def test_s09_a_search_that_found_nothing_is_thin_evidence(tables: Tables) -> None:
    found = about(tables, searches=(Searched(on=date(2026, 11, 1), sources=("A", "B", "C")),))
    assert (found.level, found.thin_evidence) == (EXTRA, True)
    assert "3 lists were searched on 2026-11-01" in found.reasons[0].text


@pytest.mark.parametrize(
    "held",
    [
        clear(audience=Audience.ANIMALS),
        clear(basis=Basis.PRACTICE, source=None),
        clear(basis=Basis.ACCOUNT),
        harm(Route.SWALLOWED, Severity.FATAL, Part.SEED),
        harm(Route.SWALLOWED, Severity.MINOR),
    ],
    ids=["veterinary", "practice", "account", "other part", "lesser effects only"],
)
def test_s09_thin_ground_is_extra_care(tables: Tables, held: Held) -> None:
    found = about(tables, held)
    assert (found.level, found.thin_evidence) == (EXTRA, True)
    assert about(tables, held, company=CLASS).level is LEAVE_OUT


def test_s09_only_a_published_source_about_people_counts_in_full(tables: Tables) -> None:
    found = about(tables, clear())
    assert (found.level, found.thin_evidence) == (ORDINARY, False)
    assert codes(found) == {"S09"}


def test_s09_memory_never_gives_ordinary_care_and_clears_nothing(tables: Tables) -> None:
    assert about(tables, clear(basis=Basis.MEMORY, source=None)).level is NOT_ASSESSED
    mild = harm(Route.SWALLOWED, Severity.MINOR, basis=Basis.MEMORY, strength=Strength.MEMORY)
    assert about(tables, clear(basis=Basis.MEMORY), mild, carries("tannins-phenolics")).level is EXTRA


def test_s09_other_parts_remembered_only_are_no_ground(tables: Tables) -> None:
    seed = harm(Route.SWALLOWED, Severity.FATAL, Part.SEED, basis=Basis.MEMORY, strength=Strength.MEMORY)
    assert about(tables, seed).level is NOT_ASSESSED


def test_s09_the_strength_is_that_of_the_claims_that_decide(tables: Tables) -> None:
    listed = harm(Route.SWALLOWED, Severity.SEVERE, strength=Strength.LISTED)
    mild = harm(Route.SKIN_IRRITANT, Severity.MINOR, strength=Strength.DESCRIBED)
    assert about(tables, listed, mild).strength is Strength.LISTED
    assert about(tables, clear()).strength is Strength.LISTED
    assert about(tables, clear(basis=Basis.PRACTICE)).strength is Strength.PRACTICE


# -- S10: disagreement ---------------------------------------------------------------------------------------


def test_s10_sources_that_disagree_are_both_shown_and_the_hazard_wins(tables: Tables) -> None:
    found = about(tables, harm(Route.SKIN_IRRITANT, Severity.SEVERE, source="HARM"), clear(source="CLEAR"))
    assert found.level is LEAVE_OUT
    assert len(found.contradictions) == 1
    assert "CLEAR" in found.contradictions[0]
    assert "HARM" in found.contradictions[0]


def test_s10_a_minor_effect_contradicts_no_all_clear(tables: Tables) -> None:
    assert about(tables, harm(Route.SKIN_IRRITANT, Severity.MINOR), clear()).contradictions == ()
    assert about(tables, harm(Route.SKIN_IRRITANT, Severity.SEVERE)).contradictions == ()


# -- S11: reported reactions ---------------------------------------------------------------------------------


def test_s11_a_reported_reaction_raises_a_flag_and_nothing_else(tables: Tables) -> None:
    plain, flagged = (about(tables, clear(), reactions=said) for said in ((), ("an itching rash",)))
    assert plain.review_flags == ()
    assert "an itching rash" in flagged.review_flags[0]
    for field in fields(Assessment):
        if field.name != "review_flags":
            assert getattr(plain, field.name) == getattr(flagged, field.name)


def test_s11_what_was_contributed_clears_nothing(tables: Tables) -> None:
    assert about(tables, clear(basis=Basis.CONTRIBUTED, source=None)).level is NOT_ASSESSED


# -- S12: look-alikes ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("level", list(Level))
def test_s12_a_look_alike_that_is_left_out_is_to_be_told_apart_first(tables: Tables, level: Level) -> None:
    other = LookAlike(taxon="planta-altera", tell_apart="Its leaf has hairs.", basis=Basis.MEMORY)
    neighbour = Neighbour(other, "Planta altera", level)
    found = about(tables, clear(), neighbours=(neighbour,))
    assert found.identify_first == ((neighbour,) if level is LEAVE_OUT else ())
    assert found.level is ORDINARY


def test_s12_a_look_alike_that_a_class_leaves_out_counts_too(tables: Tables) -> None:
    other = LookAlike(taxon="planta-altera", tell_apart="Its leaf has hairs.", basis=Basis.MEMORY)
    neighbour = Neighbour(other, "Planta altera", EXTRA, taught=LEAVE_OUT)
    assert about(tables, clear(), neighbours=(neighbour,)).identify_first == (neighbour,)


def test_reasons_stand_worst_first_and_name_a_rule(tables: Tables) -> None:
    held = [harm(route, severity) for route in Route for severity in Severity]
    reasons = about(tables, *held, clear(), company=CLASS).reasons
    assert [r.level.rank for r in reasons] == sorted((r.level.rank for r in reasons), reverse=True)
    assert {r.code for r in reasons} <= set(RULES)
    assert reasons == about(tables, *held, clear(), company=CLASS).reasons

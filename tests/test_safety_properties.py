"""What must hold of every level, whatever the claims: the real tables, and facts that hypothesis makes up."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from folioproof.assessment import Assessment, Facts, Held, Neighbour, Tables
from folioproof.claims import AllClear, Carries, HazardClaim, LookAlike, Searched
from folioproof.database import connect, read_tables
from folioproof.safety import assess
from folioproof.vocabulary import Audience, Basis, Company, Level, Part, Rank, Route, Severity, State, Strength

#: Those that behave each in their own way, and one of the ordinary run of agents.
AGENTS = (
    None,
    "urushiol",
    "urushiol-kin",
    "stinging-hairs",
    "cyanogenic-glycosides",
    "cardiac-glycosides",
    "tannins-phenolics",
)
#: A contributed claim is not a hazard claim: what people report goes into reactions (rule K223 sees to that).
OF_RECORDS = [basis for basis in Basis if basis is not Basis.CONTRIBUTED]
HOLDERS = [
    ("planta-exempli", "Planta exempli", Rank.SPECIES),
    ("planta-altera", "Planta altera", Rank.SPECIES),
    ("planta", "Planta", Rank.GENUS),
    ("plantaceae", "Plantaceae", Rank.FAMILY),
]

parts = st.lists(st.sampled_from(Part), min_size=1, max_size=3, unique=True).map(lambda them: tuple(sorted(them)))
holders = st.sampled_from(HOLDERS)


def held_by(claims: st.SearchStrategy) -> st.SearchStrategy[Held]:  # type: ignore[type-arg]
    return st.builds(lambda claim, holder: Held(claim, *holder), claims, holders)


hazards = held_by(
    st.builds(
        HazardClaim,
        route=st.sampled_from(Route),
        severity=st.sampled_from(Severity),
        parts=parts,
        state=st.sampled_from(State),
        agent=st.sampled_from(AGENTS),
        audience=st.sampled_from(Audience),
        strength=st.sampled_from(Strength),
        basis=st.sampled_from(OF_RECORDS),
        source=st.sampled_from(["ONE", "TWO"]),
    )
)
all_clears = held_by(
    st.builds(
        AllClear,
        audience=st.sampled_from(Audience),
        parts=parts,
        basis=st.sampled_from(Basis),
        source=st.sampled_from(["ONE", "TWO"]),
    )
)
carries = held_by(st.builds(Carries, agent=st.sampled_from(AGENTS[1:]), parts=parts, basis=st.sampled_from(OF_RECORDS)))
searches = st.just(Searched(on=date(2026, 11, 1), sources=("A", "B")))


def some(claims: st.SearchStrategy, most: int = 4) -> st.SearchStrategy:  # type: ignore[type-arg]
    return st.lists(claims, max_size=most).map(tuple)


@st.composite
def facts(draw: st.DrawFn) -> Facts:
    return with_genus(
        Facts(
            taxon_id="planta-exempli",
            hazards=draw(some(hazards)),
            all_clears=draw(some(all_clears)),
            carries=draw(some(carries, 2)),
            searches=draw(some(searches, 1)),
            genus_has_hazard=draw(st.booleans()),
        )
    )


def with_genus(about: Facts) -> Facts:
    """As the database does, tell from the claims themselves whether the genus holds something worse than minor."""
    own = (h.claim for h in about.hazards if h.rank is not Rank.FAMILY)
    worse = any(claim.severity is not Severity.MINOR and not softened(claim) for claim in own)  # type: ignore[union-attr,arg-type]
    return replace(about, genus_has_hazard=about.genus_has_hazard or worse)


def softened(claim: HazardClaim) -> bool:
    irritant = claim.route is Route.SKIN_IRRITANT and claim.severity is Severity.UNGRADED
    return irritant and claim.strength is not Strength.DESCRIBED


companies = st.sets(st.sampled_from(Company)).map(lambda them: frozenset({Company.ADULTS, *them}))
asked_parts = st.sampled_from(Part)
asked_states = st.sampled_from(State)

thorough = settings(
    max_examples=200, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)


class Rules:
    """`assess` over the real tables, whose own repr would bury a counterexample."""

    def __init__(self, tables: Tables) -> None:
        self.tables = tables

    def __call__(self, about: Facts, *, part: Part, state: State, company: frozenset[Company]) -> Assessment:
        return assess(about, self.tables, part=part, state=state, company=company)

    def __repr__(self) -> str:
        return "Rules()"


@pytest.fixture(scope="module")
def rules(database: Path) -> Rules:
    connection = connect(database)
    tables = read_tables(connection)
    connection.close()
    return Rules(tables)


def test_the_agents_of_these_properties_are_the_real_ones(rules: Rules) -> None:
    real = rules.tables.agents
    assert real["urushiol"].hard_stop
    assert real["urushiol-kin"].weak_kin
    assert real["stinging-hairs"].stings
    assert real["cyanogenic-glycosides"].poison_vapour
    assert set(AGENTS) - {None} <= set(real)


@settings(thorough, max_examples=500)
@given(facts(), hazards, asked_parts, asked_states, companies)
def test_adding_a_hazard_claim_never_lowers_a_level(
    rules: Rules, before: Facts, added: Held, part: Part, state: State, company: frozenset[Company]
) -> None:
    """From not assessed a hazard claim may lead to extra care, since now somebody has looked; never to less.

    It may also undo a genus all-clear that was too thin for a class: left out then becomes not assessed, which
    forbids as much.
    """
    after = with_genus(replace(before, hazards=(*before.hazards, added)))
    first, second = (rules(f, part=part, state=state, company=company).level for f in (before, after))
    if first is Level.NOT_ASSESSED:
        assert second is not Level.ORDINARY
    elif company == {Company.ADULTS}:
        assert second.rank >= first.rank
    else:
        assert second.rank >= min(first.rank, Level.NOT_ASSESSED.rank)


@thorough
@given(facts(), carries, asked_parts, companies)
def test_learning_what_a_plant_carries_never_lowers_a_level(
    rules: Rules, before: Facts, added: Held, part: Part, company: frozenset[Company]
) -> None:
    after = replace(before, carries=(*before.carries, added))
    first, second = (rules(f, part=part, state=State.ANY, company=company).level for f in (before, after))
    assert second.rank >= first.rank or (first is Level.NOT_ASSESSED and second is not Level.ORDINARY)


@settings(thorough, max_examples=500)
@given(facts(), asked_parts, asked_states, companies, companies)
def test_adding_company_never_lowers_a_level(
    rules: Rules, about: Facts, part: Part, state: State, some: frozenset[Company], more: frozenset[Company]
) -> None:
    first, second = (rules(about, part=part, state=state, company=who).level for who in (some, some | more))
    assert second.rank >= first.rank


@thorough
@given(asked_parts, asked_states, companies, st.booleans(), some(st.text(min_size=1), 2))
def test_no_claims_is_not_assessed_in_any_company(
    rules: Rules, part: Part, state: State, company: frozenset[Company], genus: bool, reactions: tuple[str, ...]
) -> None:
    nothing = Facts(taxon_id="planta-exempli", genus_has_hazard=genus, reactions=reactions)
    assert rules(nothing, part=part, state=state, company=company).level is Level.NOT_ASSESSED


@thorough
@given(facts(), asked_parts, asked_states, companies)
def test_memory_alone_is_never_ordinary_care(
    rules: Rules, about: Facts, part: Part, state: State, company: frozenset[Company]
) -> None:
    remembered = replace(
        about,
        searches=(),
        **{  # type: ignore[arg-type]
            kind: tuple(replace(h, claim=replace(h.claim, basis=Basis.MEMORY)) for h in getattr(about, kind))
            for kind in ("hazards", "all_clears", "carries")
        },
    )
    assert rules(remembered, part=part, state=state, company=company).level is not Level.ORDINARY


@thorough
@given(facts(), asked_parts, asked_states, companies)
def test_without_a_published_all_clear_about_people_and_the_part_there_is_no_ordinary_care(
    rules: Rules, about: Facts, part: Part, state: State, company: frozenset[Company]
) -> None:
    kept = tuple(h for h in about.all_clears if not counts_in_full(h.claim, part))
    found = rules(replace(about, all_clears=kept), part=part, state=state, company=company)
    assert found.level is not Level.ORDINARY


def counts_in_full(claim: object, part: Part) -> bool:
    assert isinstance(claim, AllClear)
    published = claim.basis is Basis.PUBLISHED and claim.audience is Audience.PEOPLE
    return published and bool({part, Part.ALL, Part.UNSTATED} & set(claim.parts))


@thorough
@given(facts(), some(st.text(min_size=1), 3), asked_parts, companies)
def test_contributed_reactions_never_change_the_level(
    rules: Rules, about: Facts, reactions: tuple[str, ...], part: Part, company: frozenset[Company]
) -> None:
    flagged = replace(about, reactions=reactions)
    plain, found = (rules(f, part=part, state=State.ANY, company=company) for f in (about, flagged))
    assert (found.level, found.reasons) == (plain.level, plain.reasons)
    assert len(found.review_flags) == len(reactions)


@thorough
@given(facts(), all_clears, asked_parts, asked_states, companies)
def test_an_all_clear_never_lowers_a_level_below_what_the_hazards_give(
    rules: Rules, about: Facts, added: Held, part: Part, state: State, company: frozenset[Company]
) -> None:
    """What hazards alone give is what is left when a full all-clear takes all doubt away."""
    full = AllClear(audience=Audience.PEOPLE, parts=(Part.ALL,), basis=Basis.PUBLISHED, source="ONE")
    sure = replace(about, all_clears=(Held(full, *HOLDERS[0]),))
    cleared = replace(about, all_clears=(*about.all_clears, added))
    floor, found = (rules(f, part=part, state=state, company=company).level for f in (sure, cleared))
    assert found.rank >= floor.rank


@thorough
@given(facts(), all_clears, asked_parts, companies)
def test_a_contributed_or_remembered_all_clear_changes_nothing(
    rules: Rules, about: Facts, added: Held, part: Part, company: frozenset[Company]
) -> None:
    for basis in (Basis.CONTRIBUTED, Basis.MEMORY):
        more = replace(about, all_clears=(*about.all_clears, replace(added, claim=replace(added.claim, basis=basis))))
        first, second = (rules(f, part=part, state=State.ANY, company=company).level for f in (about, more))
        assert first is second


@thorough
@given(facts(), hazards, st.sampled_from([p for p in Part if p not in (Part.ALL, Part.UNSTATED)]))
def test_a_claim_on_another_part_never_leaves_the_asked_part_out(
    rules: Rules, before: Facts, added: Held, part: Part
) -> None:
    """For grown-ups; a class may still be refused, because thin evidence is not enough for it."""
    others = sorted(set(Part) - rules.tables.parts[part] - {Part.ALL, Part.UNSTATED})
    elsewhere = replace(added, claim=replace(added.claim, parts=tuple(others[:2])))
    after = with_genus(replace(before, hazards=(*before.hazards, elsewhere)))
    adults = frozenset({Company.ADULTS})
    first, second = (rules(f, part=part, state=State.ANY, company=adults) for f in (before, after))
    assert second.level is not Level.LEAVE_OUT or first.level is Level.LEAVE_OUT
    assert elsewhere in second.other_parts


@thorough
@given(facts(), asked_parts, asked_states, companies)
def test_asking_without_a_part_or_state_is_never_milder(
    rules: Rules, about: Facts, part: Part, state: State, company: frozenset[Company]
) -> None:
    one = rules(about, part=part, state=state, company=company).level
    whole = rules(about, part=Part.ALL, state=State.ANY, company=company).level
    # Not assessed forbids as much as leave out does, and may become extra care once a claim counts.
    assert whole.rank >= min(one.rank, Level.NOT_ASSESSED.rank) or one is Level.NOT_ASSESSED
    assert whole is not Level.ORDINARY or one is Level.ORDINARY


@thorough
@given(facts(), hazards, asked_parts, companies)
def test_adding_a_hazard_claim_takes_no_precaution_away(
    rules: Rules, before: Facts, added: Held, part: Part, company: frozenset[Company]
) -> None:
    after = replace(before, hazards=(*before.hazards, added))
    first, second = (rules(f, part=part, state=State.ANY, company=company) for f in (before, after))
    for step, lines in first.precautions.items():
        assert set(lines) <= set(second.precautions[step])


@thorough
@given(facts(), asked_parts, companies, st.randoms(use_true_random=False))
def test_the_order_of_the_claims_does_not_matter(
    rules: Rules, about: Facts, part: Part, company: frozenset[Company], chance: object
) -> None:
    shuffled = list(about.hazards)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    turned = replace(about, hazards=tuple(shuffled), all_clears=about.all_clears[::-1])
    first, second = (rules(f, part=part, state=State.ANY, company=company).level for f in (about, turned))
    assert first is second


@thorough
@given(facts(), st.sampled_from(Level), companies)
def test_a_look_alike_changes_no_level(rules: Rules, about: Facts, level: Level, company: frozenset[Company]) -> None:
    other = LookAlike(taxon="planta-altera", tell_apart="By its hairs.", basis=Basis.MEMORY)
    more = replace(about, neighbours=(Neighbour(other, "Planta altera", level),))
    first, second = (rules(f, part=Part.LEAF, state=State.ANY, company=company) for f in (about, more))
    assert (first.level, first.reasons) == (second.level, second.reasons)

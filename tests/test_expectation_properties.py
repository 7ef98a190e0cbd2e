"""What must hold of every estimate, whatever is claimed: spread, mean, order, and probabilities."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import pytest
from hypothesis import HealthCheck, assume, event, given, settings
from hypothesis import strategies as st

from folioproof.colorimetry import Lab, difference
from folioproof.estimates import Estimate, HeldDye, Knowledge, LayerKind, Priors, Told
from folioproof.expectation import Claim, colour_claims, combine, expect, layer_kind, thinned
from folioproof.printing import ClassPrior, ColourStatement, Dye
from folioproof.vocabulary import FIBRES, TREATMENTS, Basis, Fibre, Grade, Part, Process, Rank, Treatment

CLASSES = ("condensed-tannin", "flavonol", "anthocyanin")
IRON = (Treatment.IRON, Treatment.ALUM_IRON)
SAID_BY = (Basis.PUBLISHED, Basis.ACCOUNT, Basis.PRACTICE, Basis.MEMORY)

thorough = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])

labs = st.builds(Lab, st.floats(0, 100), st.floats(-60, 60), st.floats(-60, 60))
ALUM_ON_PAPER = (Treatment.ALUM, Fibre.PAPER)
claims = st.builds(
    Claim,
    st.sampled_from(LayerKind),
    st.sampled_from(Basis),
    st.sampled_from([Rank.SPECIES, Rank.GENUS]),
    labs,
    st.floats(4, 40),
)
grades = st.none() | st.sampled_from(Grade)
asked = st.tuples(st.sampled_from(TREATMENTS), st.sampled_from(FIBRES))


@st.composite
def told(draw: st.DrawFn, treatments: type[Treatment] | list[Treatment] = Treatment) -> Told:
    basis = draw(st.sampled_from(SAID_BY))
    cited = basis in (Basis.PUBLISHED, Basis.ACCOUNT)
    source = draw(st.sampled_from(["A1", "A2", "B1"])) if cited else None
    said = ColourStatement(
        process=draw(st.sampled_from(Process)),
        part=draw(st.sampled_from([Part.LEAF, Part.ALL])),
        treatment=draw(st.sampled_from(treatments)),
        fibre=draw(st.sampled_from(Fibre)),
        strength=draw(grades),
        basis=basis,
        source=source,
    )
    lab = draw(labs)
    if draw(st.booleans()):
        said = replace(said, lab=(lab.lightness, lab.a, lab.b))
    return Told(said, lab, source[0] if source else basis, draw(st.sampled_from([Rank.SPECIES, Rank.GENUS])))


@st.composite
def dyes(draw: st.DrawFn) -> HeldDye:
    basis = draw(st.sampled_from([Basis.PUBLISHED, Basis.MEMORY]))
    source = draw(st.sampled_from(["A1", "C1"])) if basis is Basis.PUBLISHED else None
    dye = Dye(dye_class=draw(st.sampled_from(CLASSES)), parts=(Part.LEAF,), basis=basis, source=source)
    return HeldDye(dye, Rank.SPECIES)


def knowing(statement: st.SearchStrategy[Told], fewest: int = 0) -> st.SearchStrategy[Knowledge]:
    return st.builds(
        Knowledge,
        st.just("planta-exempli"),
        st.lists(dyes(), max_size=2).map(tuple),
        st.lists(statement, min_size=fewest, max_size=5).map(tuple),
    )


knowledge = knowing(told())
#: Prints and cited baths that all speak of alum; one without a source is left out as it may count for nothing.
about_alum = told([Treatment.ALUM, Treatment.NONE]).filter(lambda each: layer_kind(each) is not None)


def _priors() -> Priors:
    chance = Random(3)
    found = {}
    for name in CLASSES:
        for treatment in TREATMENTS:
            for fibre in FIBRES:
                lab = (chance.uniform(10, 90), chance.uniform(-20, 40), chance.uniform(-20, 60))
                found[name, treatment, fibre] = ClassPrior(
                    treatment=treatment,
                    fibre=fibre,
                    lab=lab,
                    spread=chance.uniform(8, 25),
                    strength=Grade.PARTIAL,
                    basis=Basis.MEMORY,
                )
    return found


PRIORS = _priors()


def estimate(known: Knowledge, question: tuple[Treatment, Fibre]) -> Estimate:
    return expect(known, PRIORS, *question)


def colours(known: Knowledge, question: tuple[Treatment, Fibre]) -> set[Lab]:
    """Every colour that the estimate rests on, those that one voice or leaf holds together among them."""
    found = colour_claims(known, PRIORS, *question, Part.LEAF)
    return {lab for claim in found for lab in claim.seen or (claim.lab,)}


# -- spread --------------------------------------------------------------------------------------------------------


@thorough
@given(st.lists(claims, min_size=1, max_size=6), claims)
def test_a_disagreeing_claim_never_shrinks_the_spread(before: list[Claim], added: Claim) -> None:
    _, spread = combine(before)
    assert spread is not None
    assume(any(difference(added.lab, claim.lab) > 2 * spread for claim in before))
    _, after = combine([*before, added])
    assert after is not None and after >= spread


def widens(before: Knowledge, after: Knowledge) -> None:
    """Where `after` knows a colour more than two spreads from one that `before` knew, it is no surer than `before`."""
    first, second = estimate(before, ALUM_ON_PAPER).spread, estimate(after, ALUM_ON_PAPER).spread
    assert first is not None and second is not None
    known = colours(before, ALUM_ON_PAPER)
    new = colours(after, ALUM_ON_PAPER) - known
    if any(difference(x, y) > 2 * first for x in new for y in known):
        event("disagrees")
        assert second >= first


@thorough
@given(knowing(about_alum, 1), about_alum)
def test_a_disagreeing_statement_never_shrinks_the_spread_not_even_of_the_same_maker(
    before: Knowledge, added: Told
) -> None:
    widens(before, replace(before, told=(*before.told, added)))


@thorough
@given(knowing(about_alum, 1), dyes())
def test_a_disagreeing_dye_class_never_shrinks_the_spread(before: Knowledge, added: HeldDye) -> None:
    widens(before, replace(before, dyes=(*before.dyes, added)))


def test_a_maker_who_changes_her_mind_towards_the_others_does_not_narrow_the_estimate() -> None:
    """The mean of her two prints lies where the others are; that the prints themselves differ still shows."""

    def print_of(lightness: float, voice: str) -> Told:
        said = ColourStatement(
            process=Process.CONTACT_PRINT, part=Part.LEAF, treatment=Treatment.ALUM, fibre=Fibre.PAPER,
            basis=Basis.ACCOUNT, source=voice,
        )  # fmt: skip
        return Told(said, Lab(lightness, 0, 0), voice, Rank.SPECIES)

    before = Knowledge("x", told=(print_of(10, "A"), print_of(50, "B")))
    after = replace(before, told=(*before.told, print_of(90, "A")))
    first, second = estimate(before, ALUM_ON_PAPER).spread, estimate(after, ALUM_ON_PAPER).spread
    assert first is not None and second is not None and second > first


@thorough
@given(claims)
def test_one_claim_is_taken_as_it_is(claim: Claim) -> None:
    lab, spread = combine([claim])
    assert spread == pytest.approx(claim.deviation)
    assert lab is not None and difference(lab, claim.lab) < 1e-6


@thorough
@given(claims, st.integers(2, 8))
def test_claims_that_agree_narrow_the_spread(claim: Claim, count: int) -> None:
    _, spread = combine([claim] * count)
    assert spread == pytest.approx(claim.deviation / math.sqrt(count), abs=1e-4)


# -- mean ----------------------------------------------------------------------------------------------------------


@thorough
@given(
    st.lists(claims, min_size=1, max_size=6),
    st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)),
)
def test_the_mean_lies_in_the_convex_hull_of_the_claims(some: list[Claim], way: tuple[float, float, float]) -> None:
    """In no direction does it lie beyond the farthest claim."""
    mean, _ = combine(some)
    assert mean is not None

    def along(lab: Lab) -> float:
        return way[0] * lab.lightness + way[1] * lab.a + way[2] * lab.b

    assert min(along(c.lab) for c in some) - 1e-9 <= along(mean) <= max(along(c.lab) for c in some) + 1e-9


@thorough
@given(knowledge, asked)
def test_the_estimate_lies_between_its_layers_but_for_iron_held_dark(
    known: Knowledge, question: tuple[Treatment, Fibre]
) -> None:
    found = estimate(known, question)
    assume(found.lab is not None)
    axes = ("lightness", "a", "b") if question[0] not in IRON else ("a", "b")
    for axis in axes:
        values = [getattr(layer.lab, axis) for layer in found.layers]
        assert min(values) - 1e-9 <= getattr(found.lab, axis) <= max(values) + 1e-9
    assert found.lab.lightness <= max(layer.lab.lightness for layer in found.layers) + 1e-9


# -- order ---------------------------------------------------------------------------------------------------------


@thorough
@given(st.lists(claims, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_the_order_of_claims_changes_nothing(some: list[Claim], chance: Random) -> None:
    turned = list(some)
    chance.shuffle(turned)
    (one, spread), (other, again) = combine(some), combine(turned)
    assert one is not None and other is not None
    assert (one.lightness, one.a, one.b) == pytest.approx((other.lightness, other.a, other.b))
    assert spread == pytest.approx(again)


@thorough
@given(knowledge, asked, st.randoms(use_true_random=False))
def test_the_order_of_statements_changes_nothing(
    known: Knowledge, question: tuple[Treatment, Fibre], chance: Random
) -> None:
    said, held = list(known.told), list(known.dyes)
    chance.shuffle(said)
    chance.shuffle(held)
    first, second = estimate(known, question), estimate(replace(known, told=tuple(said), dyes=tuple(held)), question)
    assert first.posterior == pytest.approx(second.posterior)
    assert first.spread == pytest.approx(second.spread)
    assert (first.rests_on, first.notes) == (second.rests_on, second.notes)
    for one, other in zip(first.layers, second.layers, strict=True):
        same = ("kind", "basis", "rank", "voices", "sources")
        assert [getattr(one, key) for key in same] == [getattr(other, key) for key in same]
        assert one.weight == pytest.approx(other.weight)


# -- what holds of each estimate -----------------------------------------------------------------------------------


@thorough
@given(knowledge, asked)
def test_weights_and_grades_are_shares_of_one(known: Knowledge, question: tuple[Treatment, Fibre]) -> None:
    found = estimate(known, question)
    assert sum(found.posterior) == pytest.approx(1) and all(0 < chance < 1 for chance in found.posterior)
    assert 0 <= found.strength <= 4
    assert (found.lab is None) is (found.spread is None) is (not found.layers)
    if found.layers:
        assert math.fsum(layer.weight for layer in found.layers) == pytest.approx(1)


@thorough
@given(knowledge, asked)
def test_layers_say_what_their_statements_are(known: Knowledge, question: tuple[Treatment, Fibre]) -> None:
    kinds = {layer_kind(each) for each in known.told} | {LayerKind.DYE_CLASS}
    for layer in estimate(known, question).layers:
        assert layer.kind in kinds
    for each in known.told:
        if each.statement.process is Process.DYE_BATH:
            assert layer_kind(each) in (LayerKind.DYE_BATH, None)
        else:
            assert layer_kind(each) is not LayerKind.DYE_BATH


@thorough
@given(knowledge, asked)
def test_only_the_metal_that_a_source_names_gives_a_colour(known: Knowledge, question: tuple[Treatment, Fibre]) -> None:
    """What names no metal, or another one, can be left out without a change to any colour."""
    metal = question[0] in IRON
    fitting = [
        t for t in known.told if (t.statement.treatment in IRON) is metal and t.statement.treatment in TREATMENTS
    ]
    first, second = estimate(known, question), estimate(replace(known, told=tuple(fitting)), question)
    assert first.layers == second.layers


@thorough
@given(knowledge, st.sampled_from(IRON), st.sampled_from(FIBRES))
def test_iron_without_a_cited_statement_is_no_lighter_than_alum(
    known: Knowledge, treatment: Treatment, fibre: Fibre
) -> None:
    iron, alum = estimate(known, (treatment, fibre)), estimate(known, (Treatment.ALUM, fibre))
    cited = {LayerKind.PUBLISHED_PRINT, LayerKind.ACCOUNT, LayerKind.DYE_BATH}
    if iron.lab and alum.lab and not cited & {layer.kind for layer in iron.layers}:
        assert iron.lab.lightness <= alum.lab.lightness


@thorough
@given(st.lists(st.floats(0.001, 1), min_size=5, max_size=5), st.floats(0, 1))
def test_thinning_scales_the_mean_and_keeps_the_sum(raw: list[float], share: float) -> None:
    posterior = [each / sum(raw) for each in raw]
    found = thinned(posterior, share)
    assert sum(found) == pytest.approx(1) and all(-1e-12 <= each <= 1 + 1e-12 for each in found)
    means = [sum(grade * chance for grade, chance in enumerate(each)) for each in (posterior, found)]
    assert means[1] == pytest.approx(share * means[0])

"""The estimate of a print, on plants made up for one question each."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from folioproof.colorimetry import Lab, difference
from folioproof.estimates import CAUTIONS, Contributed, Estimate, HeldDye, Knowledge, Layer, LayerKind, Priors, Told
from folioproof.expectation import BASE_RATE, combine_evenly, dyes_of, expect, likelihood, thinned
from folioproof.printing import ClassPrior, ColourStatement, Dye
from folioproof.vocabulary import FIBRES, TREATMENTS, Basis, Fibre, Grade, Part, Process, Rank, Treatment

YELLOW, GREEN, BROWN, BLACK = Lab(75, 0, 45), Lab(55, -20, 30), Lab(38, 8, 15), Lab(18, 0, 2)
METALS = (Treatment.ALUM, Treatment.IRON, Treatment.ALUM_IRON)
BASES = (Basis.PUBLISHED, Basis.ACCOUNT, Basis.PRACTICE, Basis.MEMORY)


def told(
    basis: Basis = Basis.PUBLISHED,
    lab: Lab | None = BROWN,
    *,
    treatment: Treatment = Treatment.ALUM,
    rank: Rank = Rank.SPECIES,
    voice: str | None = None,
    **more: Any,
) -> Told:
    """A contact print of a leaf on paper; the source and its voice bear one name."""
    source = voice or basis.name if basis in (Basis.PUBLISHED, Basis.ACCOUNT) else None
    said = {"process": Process.CONTACT_PRINT, "part": Part.LEAF, "fibre": Fibre.PAPER, "source": source, **more}
    return Told(
        ColourStatement(treatment=treatment, basis=basis, **said),  # type: ignore[arg-type]
        lab,
        voice or source or basis,
        rank,
    )


def estimate(*statements: Told, treatment: Treatment = Treatment.ALUM, fibre: Fibre = Fibre.PAPER) -> Estimate:
    return expect(Knowledge("planta-exempli", told=statements), {}, treatment, fibre)


def layers_of(found: Estimate) -> dict[LayerKind, Layer]:
    return {layer.kind: layer for layer in found.layers}


def dye(dye_class: str, rank: Rank = Rank.SPECIES, source: str | None = None, part: Part = Part.LEAF) -> HeldDye:
    basis = Basis.PUBLISHED if source else Basis.MEMORY
    return HeldDye(Dye(dye_class=dye_class, parts=(part,), basis=basis, source=source), rank)


def priors(**classes: Lab) -> Priors:
    """Each class gives one colour under everything on everything."""
    return {
        (name, treatment, fibre): ClassPrior(
            treatment=treatment,
            fibre=fibre,
            lab=(lab.lightness, lab.a, lab.b),
            spread=18.0,
            strength=Grade.CLEAR,
            basis=Basis.PRACTICE,
        )
        for name, lab in classes.items()
        for treatment in TREATMENTS
        for fibre in FIBRES
    }


# -- what is not known ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("treatment", TREATMENTS)
@pytest.mark.parametrize("fibre", FIBRES)
def test_an_unknown_plant_gets_the_base_rate_and_no_colour(treatment: Treatment, fibre: Fibre) -> None:
    found = estimate(treatment=treatment, fibre=fibre)
    assert (found.lab, found.spread, found.layers) == (None, None, ())
    assert found.posterior == pytest.approx(BASE_RATE)
    assert sum(found.posterior[2:]) == pytest.approx(32 / 88)
    assert "32 of 88" in found.rests_on


def test_a_statement_about_another_part_says_nothing_of_the_leaf() -> None:
    found = estimate(told(part=Part.BARK, strength=Grade.FULL))
    assert found.lab is None and found.posterior == pytest.approx(BASE_RATE)
    assert estimate(told(part=Part.ALL)).lab == BROWN


# -- layers --------------------------------------------------------------------------------------------------------


def test_every_layer_is_shown_strongest_first_and_weights_sum_to_one() -> None:
    known = Knowledge(
        "planta-exempli",
        dyes=(dye("condensed-tannin"),),
        told=(*(told(basis) for basis in BASES), told(process=Process.DYE_BATH, lab=YELLOW)),
        contributed={(Part.LEAF, Treatment.ALUM, Fibre.PAPER): Contributed(GREEN, 6.0, (0, 0, 0, 2, 0), 2, 2, 2)},
    )
    found = expect(known, priors(**{"condensed-tannin": YELLOW}), Treatment.ALUM, Fibre.PAPER)
    assert [layer.kind for layer in found.layers] == list(LayerKind)
    assert math.fsum(layer.weight for layer in found.layers) == pytest.approx(1)
    assert all(layer.weight > 0 for layer in found.layers)
    assert sum(found.posterior) == pytest.approx(1)
    assert all(each in found.rests_on for each in ("contributed prints", "a published print", "one maker's account"))


def test_the_weight_of_a_statement_follows_its_basis() -> None:
    weights = {layer.basis: layer.weight for layer in estimate(*(told(basis) for basis in BASES)).layers}
    assert all(weights[more] > weights[less] for more, less in pairwise(BASES))


def test_a_measured_colour_weighs_more_than_a_named_one() -> None:
    measured = told(lab=YELLOW, voice="INSTRUMENT")
    measured = replace(measured, statement=replace(measured.statement, lab=(75.0, 0.0, 45.0)))
    found = estimate(measured, told(voice="EYE"))
    assert found.lab is not None and found.lab.lightness > (YELLOW.lightness + BROWN.lightness) / 2


def test_what_is_near_weighs_more_than_its_neighbours() -> None:
    """Another fibre, another treatment and the genus each take weight from a statement."""
    for other in (
        told(Basis.MEMORY, YELLOW, fibre=Fibre.SILK),
        told(Basis.MEMORY, YELLOW, treatment=Treatment.NONE),
        told(Basis.MEMORY, YELLOW, rank=Rank.GENUS),
        told(Basis.MEMORY, YELLOW, rank=Rank.FAMILY),
    ):
        own = told(Basis.MEMORY, BROWN, voice="own")
        lab = estimate(own, other).lab
        assert lab is not None and BROWN.lightness < lab.lightness < (BROWN.lightness + YELLOW.lightness) / 2


def test_genus_statements_move_the_strength_less() -> None:
    species = estimate(told(strength=Grade.FULL))
    genus = estimate(told(strength=Grade.FULL, rank=Rank.GENUS))
    assert estimate().strength < genus.strength < species.strength
    assert genus.rests_on.startswith("Rests on a published print of the genus")


def test_the_genus_speaks_of_dyes_only_where_the_plant_has_no_word_of_its_own() -> None:
    both = Knowledge("x", dyes=(dye("flavonol", Rank.GENUS), dye("condensed-tannin"), dye("betalain", Rank.FAMILY)))
    assert [held.dye.dye_class for held in dyes_of(both, Part.LEAF)] == ["condensed-tannin"]
    alone = Knowledge("x", dyes=(dye("flavonol", Rank.GENUS), dye("betalain", Rank.FAMILY)))
    assert [held.dye.dye_class for held in dyes_of(alone, Part.LEAF)] == ["flavonol"]
    assert dyes_of(alone, Part.FLOWER) == ()


def test_dye_classes_lie_in_one_leaf_and_cite_all_their_sources() -> None:
    known = Knowledge("x", dyes=(dye("flavonol", source="B2000"), dye("condensed-tannin", source="A1999")))
    found = expect(known, priors(flavonol=YELLOW, **{"condensed-tannin": BROWN}), Treatment.ALUM, Fibre.SILK)
    (layer,) = found.layers
    assert layer.sources == ("A1999", "B2000") and layer.basis is Basis.PUBLISHED
    assert layer.lab == combine_evenly([YELLOW, BROWN])
    assert layer.spread > 18


# -- voices --------------------------------------------------------------------------------------------------------


def test_the_accounts_of_one_maker_count_once() -> None:
    other = told(Basis.ACCOUNT, YELLOW, voice="another maker", strength=Grade.NONE)
    one = told(Basis.ACCOUNT, BROWN, voice="a maker", strength=Grade.CLEAR)
    once, often = estimate(other, one), estimate(other, *[one] * 10)
    assert often.lab is not None and once.lab is not None
    assert difference(often.lab, once.lab) < 1e-6 and often.spread == pytest.approx(once.spread)
    assert often.posterior == pytest.approx(once.posterior)
    assert layers_of(often)[LayerKind.ACCOUNT].voices == 2
    ten = estimate(other, *(told(Basis.ACCOUNT, BROWN, voice=f"m{i}", strength=Grade.CLEAR) for i in range(10)))
    assert ten.strength > once.strength


def test_all_the_pages_of_a_maker_are_cited() -> None:
    pages = (told(Basis.ACCOUNT, voice="a maker", source=source) for source in ("PAGE2", "PAGE1"))
    (layer,) = estimate(*pages).layers
    assert layer.sources == ("PAGE1", "PAGE2") and layer.voices == 1


def test_a_maker_at_odds_with_herself_is_less_sure() -> None:
    steady = estimate(*[told(Basis.ACCOUNT, BROWN, voice="a maker")] * 2)
    torn = estimate(*(told(Basis.ACCOUNT, lab, voice="a maker") for lab in (BROWN, YELLOW)))
    assert torn.spread is not None and steady.spread is not None and torn.spread > steady.spread


def test_a_clear_account_moves_the_strength_less_than_a_clear_published_print() -> None:
    """Makers publish what came out well, so that a good account says less and a failure as much as any."""
    account, published = (estimate(told(b, strength=Grade.CLEAR)) for b in (Basis.ACCOUNT, Basis.PUBLISHED))
    assert estimate().strength < account.strength < published.strength
    for grade in (Grade.CLEAR, Grade.FULL):
        chosen, plain = (likelihood(grade, published_by_choice=choice) for choice in (True, False))
        assert chosen[grade.number] / chosen[0] < plain[grade.number] / plain[0]
    failed, plain = (likelihood(Grade.NONE, published_by_choice=choice) for choice in (True, False))
    assert failed[0] / failed[4] > plain[0] / plain[4]


@pytest.mark.parametrize("told_of", Grade)
def test_a_published_grade_becomes_likelier(told_of: Grade) -> None:
    found = estimate(told(strength=told_of))
    assert found.posterior[told_of.number] > BASE_RATE[told_of.number]
    assert sum(found.posterior) == pytest.approx(1)


# -- dye baths -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("basis", BASES)
def test_a_dye_bath_never_counts_as_a_print(basis: Basis) -> None:
    found = estimate(told(basis, process=Process.DYE_BATH, strength=Grade.FULL))
    assert {layer.kind for layer in found.layers} <= {LayerKind.DYE_BATH}
    assert found.posterior == pytest.approx(BASE_RATE)
    assert "print " not in found.rests_on.replace("no published print tells its colour", "").replace("printed", "")
    cited = basis in (Basis.PUBLISHED, Basis.ACCOUNT)
    assert bool(found.layers) is cited and ("dye bath" in found.rests_on) is cited


def test_a_print_outweighs_a_dye_bath_even_a_measured_one() -> None:
    bath = told(voice="BATH", process=Process.DYE_BATH, lab=YELLOW)
    bath = replace(bath, statement=replace(bath.statement, lab=(75.0, 0.0, 45.0)))
    for basis in (Basis.PUBLISHED, Basis.ACCOUNT):
        found = layers_of(estimate(bath, told(basis)))
        assert found.pop(LayerKind.DYE_BATH).weight < next(iter(found.values())).weight


# -- treatments ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("unnamed", [Treatment.UNSTATED, Treatment.OTHER])
@pytest.mark.parametrize("asked", TREATMENTS)
def test_an_unnamed_treatment_gives_no_colour_but_supports_strength(unnamed: Treatment, asked: Treatment) -> None:
    found = estimate(told(treatment=unnamed, strength=Grade.FULL), treatment=asked)
    assert found.lab is None and found.layers == ()
    assert estimate(treatment=asked).strength < found.strength
    named = estimate(told(treatment=asked, strength=Grade.FULL), treatment=asked)
    assert found.strength < named.strength


def test_alum_and_iron_never_lend_each_other_a_colour() -> None:
    assert estimate(told(treatment=Treatment.ALUM), treatment=Treatment.IRON).lab is None
    assert estimate(told(treatment=Treatment.IRON), treatment=Treatment.ALUM).lab is None
    assert estimate(told(treatment=Treatment.IRON), treatment=Treatment.ALUM_IRON).lab == BROWN


@pytest.mark.parametrize("iron", [Treatment.IRON, Treatment.ALUM_IRON])
@pytest.mark.parametrize("basis", [Basis.PRACTICE, Basis.MEMORY])
def test_iron_without_a_source_is_held_no_lighter_than_alum(iron: Treatment, basis: Basis) -> None:
    dark = told(Basis.PUBLISHED, BROWN)
    found = estimate(dark, told(basis, YELLOW, treatment=iron), treatment=iron)
    assert found.lab == Lab(BROWN.lightness, YELLOW.a, YELLOW.b)
    assert any(note.startswith("Held no lighter than with alum") for note in found.notes)
    cited = estimate(dark, told(Basis.ACCOUNT, YELLOW, treatment=iron), treatment=iron)
    assert cited.lab == YELLOW and not any("Held" in note for note in cited.notes)


def test_iron_that_is_darker_is_left_as_it_is() -> None:
    found = estimate(told(Basis.MEMORY, YELLOW), told(Basis.MEMORY, BLACK, treatment=Treatment.IRON))
    assert found.lab == YELLOW
    iron = estimate(
        told(Basis.MEMORY, YELLOW), told(Basis.MEMORY, BLACK, treatment=Treatment.IRON), treatment=Treatment.IRON
    )
    assert iron.lab == BLACK and not any("Held" in note for note in iron.notes)


@pytest.mark.parametrize("treatment", TREATMENTS)
@pytest.mark.parametrize("fibre", FIBRES)
def test_iron_is_shown_with_what_it_does_to_cellulose_and_alum_with_light(treatment: Treatment, fibre: Fibre) -> None:
    notes = estimate(treatment=treatment, fibre=fibre).notes
    iron = treatment in (Treatment.IRON, Treatment.ALUM_IRON)
    assert (CAUTIONS["iron on cellulose"] in notes) is (iron and fibre in (Fibre.PAPER, Fibre.PLANT_FIBRE))
    assert (CAUTIONS["alum in light"] in notes) is (treatment in (Treatment.ALUM, Treatment.ALUM_IRON))


# -- contributed prints --------------------------------------------------------------------------------------------


def test_more_printers_make_the_contributed_colour_surer() -> None:
    def known(people: int) -> Knowledge:
        got = Contributed(GREEN, 12.0, (0, 0, 0, people, 0), people, people, people)
        key = (Part.LEAF, Treatment.ALUM, Fibre.PAPER)
        return Knowledge("x", told=(told(lab=BROWN),), contributed={key: got})

    few, many = (layers_of(expect(known(n), {}, Treatment.ALUM, Fibre.PAPER)) for n in (1, 20))
    assert few[LayerKind.CONTRIBUTED].weight < many[LayerKind.CONTRIBUTED].weight
    elsewhere = expect(known(20), {}, Treatment.IRON, Fibre.PAPER)
    assert elsewhere.lab is None


# -- strength through the year -------------------------------------------------------------------------------------


def test_a_thinned_leaf_keeps_its_grades_in_full_and_loses_them_all() -> None:
    grades = (0.1, 0.2, 0.3, 0.25, 0.15)
    assert thinned(grades, 1) == pytest.approx(grades)
    assert thinned(grades, 0) == pytest.approx((1, 0, 0, 0, 0))
    assert thinned(grades, 7) == thinned(grades, 1) and thinned(grades, -1) == thinned(grades, 0)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_the_mean_of_a_thinned_leaf_scales_with_its_share(share: float) -> None:
    found = thinned(BASE_RATE, share)
    mean = sum(grade * chance for grade, chance in enumerate(BASE_RATE))
    assert sum(found) == pytest.approx(1)
    assert sum(grade * chance for grade, chance in enumerate(found)) == pytest.approx(share * mean)

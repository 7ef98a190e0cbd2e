"""The name index on small indexes made by hand: which plant a name means, and when it must not say."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from folioproof.matches import Guard, IndexedName, IndexedTaxon, Match
from folioproof.matching import HALF_EDIT, NameIndex, edit_limit
from folioproof.nomenclature import taxon_id
from folioproof.text import normalise, sound_key
from folioproof.vocabulary import GuardKind, NameKind, Status

EXACT, CONFIRM, AMBIGUOUS, GENUS, UNKNOWN = Status


def index(
    *plants: str,
    dangerous: str = "",
    guards: tuple[tuple[str, GuardKind], ...] = (),
    homonyms: tuple[tuple[str, str], ...] = (),
    alerts: tuple[tuple[str, str, str], ...] = (),
) -> NameIndex:
    """Build an index from lines "Accepted name | Author : kind name ; kind name | Author"; `dangerous` holds ids."""
    names, taxa = [], []
    for line in plants:
        own, _, others = line.partition(" : ")
        accepted, _, author = own.partition(" | ")
        here = taxon_id(accepted)
        is_genus = " " not in accepted
        taxa.append(IndexedTaxon(here, is_genus, here in dangerous.split()))
        names.append(named(accepted, NameKind.ACCEPTED, here, author))
        for other in filter(None, others.split(" ; ")):
            kind, _, rest = other.partition(" ")
            name, _, by = rest.partition(" | ")
            names.append(named(name, NameKind(kind.removesuffix("*")), here, by, shared=kind.endswith("*")))
    return NameIndex(
        names,
        taxa,
        [Guard(normalise(word), word, kind, "a warning") for word, kind in guards],
        [(normalise(word), word, each) for word, each in homonyms],
        [(normalise(name), near, each) for name, near, each in alerts],
    )


def named(name: str, kind: NameKind, here: str, author: str = "", shared: bool = False) -> IndexedName:
    language = "en" if kind is NameKind.VERNACULAR else None
    return IndexedName(normalise(name), sound_key(normalise(name)), name, kind, language, author or None, here, shared)


def hits(found: Match) -> list[str]:
    return [hit.taxon_id for hit in found.hits]


# -- published cases -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("met", "retained"),
    [
        # ICN (Shenzhen or later) Art. 60.1 Ex. 1: the original spelling is retained.
        ("Fagus sylvatica", "Fagus silvatica"),
        ("Scirpus cespitosus", "Scirpus caespitosus"),
        ("Alyxia ceylanica", "Alyxia zeylanica"),
        ("Triaspis mozambica", "Triaspis mossambica"),
        ("Amaranthus", "Amarantus"),
        # gbif/portal-feedback #6745 and CatalogueOfLife/backend #1553
        ("Cisus dicolor", "Cissus discolor"),
        ("Cissus disclor", "Cissus discolor"),
        ("Santpaulia ionantha", "Saintpaulia ionantha"),
        # gnames/gnverifier #85
        ("Quercus robu", "Quercus robur"),
        ("Zea may", "Zea mays"),
        ("Pinus pinaste", "Pinus pinaster"),
        ("Vlva lactuca", "Ulva lactuca"),
        # CatalogueOfLife/checklistbank #942
        ("Vicia fava", "Vicia faba"),
    ],
)
def test_a_published_misspelling_finds_the_name_to_confirm(met: str, retained: str) -> None:
    for written, listed in ((met, retained), (retained, met)):
        found = index(listed, "Nerium oleander", "Populus tremula").match(written)
        assert (found.status, hits(found)) == (CONFIRM, [taxon_id(listed)])
        assert 0 < found.hits[0].distance <= 3


def test_letters_without_sense_are_unknown() -> None:
    """gbif/portal-feedback #6745."""
    found = index("Fagus sylvatica", "Nerium oleander").match("Xqzwklerty Vbnmasdfgh")
    assert found == Match(UNKNOWN, (), frozenset())


def test_brunella_may_be_either_genus_or_is_prunella_where_that_is_listed() -> None:
    """gbif/gbif-api #129."""
    both = index("Prunella grandiflora", "Brunellia grandiflora")
    assert both.match("Brunella grandiflora").status is AMBIGUOUS
    assert set(hits(both.match("Brunella grandiflora"))) == {"prunella-grandiflora", "brunellia-grandiflora"}
    listed = index("Prunella grandiflora : synonym Brunella grandiflora", "Brunellia grandiflora")
    found = listed.match("Brunella grandiflora")
    assert found.status in (EXACT, AMBIGUOUS)
    assert found.hits[0].taxon_id == "prunella-grandiflora"


@pytest.mark.parametrize(
    ("one", "other"), [("Planta plantagi", "Planta plantagy"), ("Planta majorum", "Planta majoris")]
)
def test_equal_sound_counts_as_half_an_edit(one: str, other: str) -> None:
    """The pairs are cases of the tests of GlobalNamesArchitecture/taxamatch_rb."""
    found = index(one).match(other)
    assert (found.status, found.hits[0].distance, found.hits[0].kind) == (CONFIRM, HALF_EDIT, "sound")


@pytest.mark.parametrize(("one", "other"), [("Xant", "Xanthe"), ("Patella", "Abbella")])
def test_names_that_only_resemble_each_other_are_not_taken_for_one(one: str, other: str) -> None:
    """The pairs are cases of the tests of GlobalNamesArchitecture/taxamatch_rb."""
    assert index(other).match(one).status is not EXACT
    assert not [hit for hit in index(other).match(one).hits if hit.distance <= 1]


def test_clearly_different_authors_veto() -> None:
    """Linnaeus against Kurtz is a case of the tests of GlobalNamesArchitecture/taxamatch_rb."""
    lions = index("Puma concolor | Linnaeus")
    assert lions.match("Puma concolor Linnaeus").status is EXACT
    assert lions.match("Puma concolor L.").status is EXACT
    assert lions.match("Puma concolor").status is EXACT
    assert lions.match("Puma concolor Kurtz").status is CONFIRM


def test_hemlock_is_the_poison_too_though_tsuga_is_harmless() -> None:
    """Farthing (1996), Lab. Med. 27(4):260."""
    found = index(
        "Tsuga canadensis : vernacular hemlock",
        "Conium maculatum : vernacular poison hemlock",
        "Cicuta maculata : vernacular water hemlock",
        dangerous="conium-maculatum cicuta-maculata",
    ).match("hemlock")
    assert found.status is AMBIGUOUS
    assert found.radius == {"tsuga-canadensis", "conium-maculatum", "cicuta-maculata"}


@pytest.mark.parametrize(
    ("asked", "listed", "guarded"),
    [
        ("poison ash", "Fraxinus excelsior : vernacular ash", "poison"),
        ("poison dogwood", "Cornus florida : vernacular dogwood", "poison"),
        ("mad apple", "Malus domestica : vernacular apple", "mad apple"),
        ("water fennel", "Foeniculum vulgare : vernacular fennel", "water fennel"),
        ("myrtle spurge", "Myrtus communis : vernacular myrtle", "spurge"),
        ("cashew", "Cassia fistula : vernacular cashaw", "cashew"),
    ],
)
def test_a_dangerous_name_without_its_record_is_guarded(asked: str, listed: str, guarded: str) -> None:
    """WordNet 3.0, plant synsets; the dangerous record itself is not in the index."""
    kind = GuardKind.VERNACULAR if guarded == asked else GuardKind.HAZARD_WORD
    found = index(listed, guards=((guarded, kind),)).match(asked)
    assert found.status is not EXACT
    assert [guard.word for guard in found.guards] == [guarded]


# -- statuses ------------------------------------------------------------------------------------------------

MAPLES = (
    "Acer : vernacular maple",
    "Acer rubrum | L. : synonym Rufacer rubrum ; vernacular red maple ; vernacular swamp maple",
    "Acer saccharum : vernacular sugar maple ; misspelling Acer sacharum",
    "Nerium oleander : vernacular oleander",
)


@pytest.mark.parametrize(
    ("text", "status", "plant"),
    [
        ("Acer rubrum", EXACT, "acer-rubrum"),
        ("  ACER   RUBRUM ", EXACT, "acer-rubrum"),
        ("Acer rubrum L.", EXACT, "acer-rubrum"),
        ("Acer x rubrum", EXACT, "acer-rubrum"),
        ("Rufacer rubrum", EXACT, "acer-rubrum"),
        ("Acer sacharum", EXACT, "acer-saccharum"),
        ("red maple", EXACT, "acer-rubrum"),
        ("red-maple", EXACT, "acer-rubrum"),
        ("redmaple", CONFIRM, "acer-rubrum"),
        ("red maple leaf", CONFIRM, "acer-rubrum"),
        ("maple, red", CONFIRM, "acer-rubrum"),
        ("Acer rubrum 'Brandywine'", CONFIRM, "acer-rubrum"),
        ("A. rubrum", CONFIRM, "acer-rubrum"),
        ("Acer rubum", CONFIRM, "acer-rubrum"),
        ("oleandre", CONFIRM, "nerium-oleander"),
        ("Acer", GENUS, "acer"),
        ("maple", GENUS, "acer"),
        ("Acer sp.", GENUS, "acer"),
        ("Acer pseudosieboldianum", GENUS, "acer"),
        ("red", UNKNOWN, None),
        ("maple syrup", UNKNOWN, None),
        ("maple tree", UNKNOWN, None),
        ("rubrum", UNKNOWN, None),
        ("the red maple of my garden", UNKNOWN, None),
        ("", UNKNOWN, None),
    ],
)
def test_the_status_of_a_name(text: str, status: Status, plant: str | None) -> None:
    found = index(*MAPLES).match(text)
    assert (found.status, next(iter(hits(found)), None)) == (status, plant)
    assert set(hits(found)) <= found.radius


def test_every_hit_says_why() -> None:
    maples = index(*MAPLES)
    why = {text: maples.match(text).hits[0] for text in ("Acer rubrum", "Rufacer rubrum", "red maple", "Acer rubum")}
    assert {text: hit.kind for text, hit in why.items()} == {
        "Acer rubrum": "accepted",
        "Rufacer rubrum": "synonym",
        "red maple": "vernacular",
        "Acer rubum": "spelling",
    }
    assert all(hit.explanation for hit in why.values())
    assert [hit.distance for hit in why.values()] == [0, 0, 0, 1]


@pytest.mark.parametrize(("length", "limit"), [(1, 0), (3, 0), (4, 1), (7, 1), (8, 2), (12, 2), (13, 3), (100, 3)])
def test_the_limit_grows_with_the_length(length: int, limit: int) -> None:
    assert edit_limit(length) == limit


@pytest.mark.parametrize("text", ["fi", "fik", "fih"])
def test_a_slip_in_a_very_short_name_finds_nothing(text: str) -> None:
    assert index("Ficus carica : vernacular fig").match(text).status is UNKNOWN


def test_a_slip_in_a_four_letter_name_shows_the_plant_and_takes_none() -> None:
    found = index("Hedera helix : vernacular ivy ; vernacular yvie").match("yvee")
    assert (found.status, hits(found)) == (UNKNOWN, ["hedera-helix"])


def test_each_word_may_slip_only_as_far_as_its_own_length_allows() -> None:
    """Three edits are few in a long name and many in a short epithet of it."""
    assert index("Philadelphus alba").match("Philadelphus ruga").status is not CONFIRM


# -- the margin and the danger radius ------------------------------------------------------------------------


def test_a_second_plant_less_than_an_edit_behind_makes_it_ambiguous() -> None:
    two = index("Quercus alba", "Quercus alta")
    assert two.match("Quercus alma").status is AMBIGUOUS
    assert set(hits(two.match("Quercus alma"))) == {"quercus-alba", "quercus-alta"}


def test_a_second_plant_an_edit_behind_is_shown_and_weighed() -> None:
    found = index("Prunus avium", "Prunus evinum").match("Prunus aviun")
    assert found.status is CONFIRM
    assert hits(found)[0] == "prunus-avium"
    assert found.radius == {"prunus-avium", "prunus-evinum"}


def test_ties_are_not_broken_by_the_order_of_the_records() -> None:
    one, other = (index(*plants).match("Quercus alma") for plants in (PAIR, PAIR[::-1]))
    assert one == other


PAIR = ("Quercus alba", "Quercus alta")


def test_a_plant_just_beyond_the_limit_is_weighed_though_it_is_no_candidate_alone() -> None:
    found = index("Digitalis purpurea", "Digitaria purpurea").match("Digitalis purpurae")
    assert "digitaria-purpurea" in found.radius


# -- names that several plants bear --------------------------------------------------------------------------


def test_a_common_name_of_two_plants_is_ambiguous() -> None:
    found = index("Acer rubrum : vernacular red oak", "Quercus rubra : vernacular red oak").match("red oak")
    assert (found.status, set(hits(found))) == (AMBIGUOUS, {"acer-rubrum", "quercus-rubra"})


@pytest.mark.parametrize("kind", ["synonym*", "misapplied"])
def test_a_scientific_name_that_is_shared_or_misapplied_is_ambiguous(kind: str) -> None:
    found = index(f"Acer rubrum : {kind} Acer carolinianum").match("Acer carolinianum")
    assert (found.status, hits(found)) == (AMBIGUOUS, ["acer-rubrum"])


def test_a_homonym_shows_every_plant_that_is_held() -> None:
    found = index(
        "Laurus nobilis : vernacular bay laurel", "Nerium oleander", homonyms=(("rose bay", "nerium-oleander"),)
    ).match("Rose-bay")
    assert (found.status, found.hits[0].kind) == (EXACT, "shared name")
    both = index(
        "Epilobium angustifolium : vernacular rose bay",
        "Nerium oleander",
        homonyms=(("rose bay", "nerium-oleander"), ("rose bay", "not-held")),
    ).match("rose bay")
    assert (both.status, set(hits(both))) == (AMBIGUOUS, {"epilobium-angustifolium", "nerium-oleander"})


@pytest.mark.parametrize(
    ("word", "mild", "dangerous"),
    [
        ("laurel", "Laurus nobilis : vernacular laurel", "Prunus laurocerasus : vernacular cherry laurel"),
        ("ash", "Fraxinus excelsior : vernacular ash", "Toxicodendron vernix : vernacular poison ash"),
        ("ivy", "Hedera helix : vernacular ivy", "Toxicodendron radicans : vernacular poison ivy"),
        ("apple", "Malus domestica : vernacular apple", "Hippomane mancinella : vernacular beach apple"),
    ],
)
def test_the_head_noun_of_a_dangerous_name_is_ambiguous(word: str, mild: str, dangerous: str) -> None:
    danger = taxon_id(dangerous.partition(" : ")[0])
    found = index(mild, dangerous, dangerous=danger).match(word)
    assert found.status is AMBIGUOUS
    assert danger in found.radius
    assert index(mild, dangerous).match(word).status is EXACT


def test_a_name_a_slip_away_from_a_dangerous_one_warns_of_it() -> None:
    found = index(
        "Aronia arbutifolia : vernacular chokeberry",
        "Prunus virginiana : vernacular chokecherry",
        alerts=(("chokeberry", "chokecherry", "prunus-virginiana"),),
    ).match("chokeberry")
    assert (found.status, hits(found)) == (AMBIGUOUS, ["aronia-arbutifolia", "prunus-virginiana"])


# -- guards --------------------------------------------------------------------------------------------------


def test_a_hazard_word_blocks_an_exact_answer_about_a_mild_plant_only() -> None:
    words = (("bane", GuardKind.HAZARD_WORD),)
    plant = "Actaea rubra : vernacular dog's bane"
    assert index(plant, guards=words).match("dogs bane").status is AMBIGUOUS
    assert index(plant, guards=words, dangerous="actaea-rubra").match("dogs bane").status is EXACT
    assert index(plant, guards=words, dangerous="actaea-rubra").match("dogs bane").guards


def test_a_dangerous_common_name_guards_as_a_whole_only() -> None:
    guarded = index("Acer rubrum : vernacular mad apple maple", guards=(("mad apple", GuardKind.VERNACULAR),))
    assert guarded.match("mad apple maple").guards == ()
    assert guarded.match("mad apple").guards != ()


def test_a_guard_speaks_though_nothing_is_found() -> None:
    found = index("Acer rubrum", guards=(("deadly", GuardKind.HAZARD_WORD),)).match("deadly something")
    assert found.status is UNKNOWN
    assert [guard.word for guard in found.guards] == ["deadly"]


# -- genera, hybrids, initials, scripts ----------------------------------------------------------------------


def test_a_genus_takes_its_former_members_along() -> None:
    sumacs = index("Rhus", "Rhus typhina", "Toxicodendron radicans : synonym Rhus radicans")
    assert sumacs.match("Rhus").radius == {"rhus", "rhus-typhina", "toxicodendron-radicans"}
    assert sumacs.match("Rhus novissima").radius == {"rhus", "rhus-typhina", "toxicodendron-radicans"}
    assert sumacs.genus_members("rhus") == {"rhus", "rhus-typhina", "toxicodendron-radicans"}


def test_a_species_that_is_not_listed_gives_its_genus_even_without_a_genus_record() -> None:
    found = index("Acer rubrum", "Acer nigrum").match("Acer pseudosieboldianum")
    assert (found.status, found.radius) == (GENUS, {"acer-rubrum", "acer-nigrum"})


@pytest.mark.parametrize(
    "text", ["Citrus × limon", "Citrus x limon", "Citrus ×limon", "citrus limon", "CITRUS X LIMON"]
)
def test_the_hybrid_sign_may_be_written_or_left_out(text: str) -> None:
    assert index("Citrus x limon").match(text).status is EXACT


def test_a_hybrid_genus_is_found_with_and_without_its_sign() -> None:
    garden = index("x Hesperotropsis leylandii")
    assert garden.match("× Hesperotropsis leylandii").status is EXACT
    assert garden.match("Hesperotropsis leylandii").status is EXACT


def test_an_initial_that_fits_two_plants_is_ambiguous() -> None:
    two = index("Acer rubrum", "Alnus rubrum", "Quercus rubrum")
    assert set(hits(two.match("A. rubrum"))) == {"acer-rubrum", "alnus-rubrum"}
    assert two.match("A. rubrum").status is AMBIGUOUS
    assert two.match("Z. rubrum").status is UNKNOWN


@pytest.mark.parametrize("name", ["夾竹桃", "キョウチクトウ", "कनेर", "олеандр", "דפנה"])
def test_a_name_in_another_script_is_exact_and_never_near_a_latin_one(name: str) -> None:
    garden = index(f"Nerium oleander : vernacular {name}", "Acer rubrum : vernacular oleander tree")
    assert (garden.match(name).status, hits(garden.match(name))) == (EXACT, ["nerium-oleander"])
    assert index("Acer rubrum", "Ficus carica : vernacular fig").match(name).status is UNKNOWN


def test_type_ahead_gives_names_only_and_no_misspelt_one() -> None:
    found = index(*MAPLES).starting_with("acer sac")
    assert [name.name for name in found] == ["Acer saccharum"]
    assert len(index(*MAPLES).starting_with("a", limit=2)) == 2
    assert index(*MAPLES).starting_with("") == ()
    assert index(*MAPLES).starting_with("\u202e") == ()


# -- any text at all -----------------------------------------------------------------------------------------

SMALL = index(*MAPLES, "Citrus x limon", guards=(("poison", GuardKind.HAZARD_WORD),), dangerous="nerium-oleander")


@pytest.mark.parametrize(
    "text",
    [
        "\x00",
        "\x1b[31mAcer rubrum",
        "\u202eelpam der",
        "🍁",
        "🍁 maple 🍁",
        "'" * 300,
        '"' * 301,
        ", , ,",
        "Acer " * 300,
        "a" * 100_000,
        "a " * 50_000,
        "'; DROP TABLE names; --",
        "<script>alert(1)</script>",
        "\ud800",
        "..%2f..",
        "%",
    ],
)
def test_garbage_gets_an_answer(text: str) -> None:
    found = SMALL.match(text)
    assert found.status in set(Status)
    assert found.status is not EXACT or set(hits(found)) == found.radius


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80) | st.from_regex(r"[A-Z][a-z]{0,6}\.? ?[x×]? ?[a-z]{0,8} ?[('\"A-Z]?.{0,5}"))
def test_no_text_raises_and_exact_means_one_plant(text: str) -> None:
    found = SMALL.match(text)
    assert set(hits(found)) <= found.radius
    if found.status is EXACT:
        assert len(found.radius) == 1
        assert found.hits[0].distance == 0
    if found.status is CONFIRM:
        assert found.hits


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(["Acer rubrum", "red maple", "Nerium oleander"]), st.data())
def test_a_name_with_one_slip_still_weighs_its_plant(name: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(name) - 1))
    letter = data.draw(st.sampled_from("abcdefghijklmnopqrstuvwxyz"))
    typed = data.draw(st.sampled_from([name[:at] + letter + name[at + 1 :], name[:at] + name[at + 1 :]]))
    (plant,) = SMALL.match(name).radius
    assert plant in SMALL.match(typed).radius

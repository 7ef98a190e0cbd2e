"""Reading names as the codes of nomenclature write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.nomenclature import authors_differ, genus_of, initial, rotations, taxon_id, variants


def readings(text: str) -> list[tuple[str, bool]]:
    return [(variant.folded, variant.lossless) for variant in variants(text)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("red maple", [("red maple", True)]),
        ("maple, red", [("maple red", True), ("red maple", False)]),
        ("maple leaves", [("maple leaves", True), ("maple", False)]),
        ("Acer rubrum leaf", [("acer rubrum leaf", True), ("acer rubrum", False)]),
        ("Acer spp.", [("acer spp", True), ("acer", True)]),
        ("Acer sp", [("acer sp", True), ("acer", True)]),
        ("Acer palmatum 'Osakazuki'", [("acer palmatum osakazuki", True), ("acer palmatum", False)]),
        ("Acer palmatum ‘Osakazuki’", [("acer palmatum osakazuki", True), ("acer palmatum", False)]),
        ("Puma concolor Linnaeus", [("puma concolor linnaeus", True), ("puma concolor", True)]),
        ("Quercus alba L.", [("quercus alba l", True), ("quercus alba", True)]),
        ("Tsuga canadensis (L.) Carrière", [("tsuga canadensis l carriere", True), ("tsuga canadensis", True)]),
        ("", []),
        ("...", []),
    ],
)
def test_readings_come_most_literal_first_and_say_whether_they_lost_something(
    text: str, expected: list[tuple[str, bool]]
) -> None:
    assert readings(text) == expected


@pytest.mark.parametrize("name", ["potato tree", "trumpet vine", "lily bush", "spider plant", "passion flower"])
def test_tree_vine_bush_plant_and_flower_are_never_stripped(name: str) -> None:
    assert readings(name) == [(name, True)]


@pytest.mark.parametrize("name", ["angel's trumpet", "dead man's fingers", "bushman's poison"])
def test_an_apostrophe_is_no_cultivar_quote(name: str) -> None:
    assert readings(name) == [(name.replace("'", ""), True)]


def test_authors_are_kept_for_comparison() -> None:
    assert [variant.authors for variant in variants("Puma concolor Linnaeus")] == ["", "Linnaeus"]


@pytest.mark.parametrize(
    ("one", "other", "differ"),
    [
        # Linnaeus against Kurtz: a case of the tests of taxamatch_rb.
        ("Linnaeus", "Kurtz", True),
        ("L.", "Linnaeus", False),
        ("(L.) Carrière", "L.", False),
        ("Mill., 1768", "Miller", False),
        ("Thunb. ex Murray", "Murray", False),
        ("Sieb. & Zucc.", "Rehder", True),
        ("", "Kurtz", False),
        ("Linnaeus", "", False),
        ("1768", "Kurtz", False),
    ],
)
def test_only_clearly_different_authors_differ(one: str, other: str, differ: bool) -> None:
    assert authors_differ(one, other) is differ
    assert authors_differ(other, one) is differ


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("A. rubrum", ("a", "rubrum")),
        ("A.rubrum", ("a", "rubrum")),
        ("C. × limon", ("c", "limon")),
        ("A rubrum", None),
        ("Acer rubrum", None),
        ("A. r", None),
        ("", None),
    ],
)
def test_an_abbreviated_genus_is_read(text: str, found: tuple[str, str] | None) -> None:
    read = initial(text)
    assert (read and (read.letter, read.epithet)) == found


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Acer rubrum", "acer-rubrum"),
        ("Acer tataricum subsp. ginnala", "acer-tataricum-ginnala"),
        ("Citrus × limon", "citrus-x-limon"),
        ("x Hesperotropsis leylandii", "x-hesperotropsis-leylandii"),
        ("Arctostaphylos uva-ursi", "arctostaphylos-uva-ursi"),
    ],
)
def test_an_id_is_the_name_in_lower_case_with_hyphens(name: str, expected: str) -> None:
    assert taxon_id(name) == expected


def test_a_hybrid_genus_keeps_its_sign() -> None:
    assert genus_of("Acer rubrum") == "Acer"
    assert genus_of("x Hesperotropsis leylandii") == "x Hesperotropsis"


def test_a_printed_comma_gives_both_orders() -> None:
    assert rotations("Forsythia, white") == ("Forsythia, white", "white Forsythia")
    assert rotations("red maple") == ("red maple",)
    assert rotations("a, b, c") == ("a, b, c",)
    assert rotations("maple,") == ("maple,",)


@given(st.text(max_size=80))
def test_no_text_raises(text: str) -> None:
    found = variants(text)
    assert len({variant.folded for variant in found}) == len(found)
    initial(text)
    rotations(text)
    authors_differ(text, "L.")

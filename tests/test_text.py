"""Folding names: what becomes equal, and what must never."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.text import Folded, joined, normalise, sound_key, visible


@pytest.mark.parametrize(
    ("typed", "folded"),
    [
        ("Citrus × limon", "citrus limon"),
        ("citrus x limon", "citrus limon"),
        ("CITRUS LIMON", "citrus limon"),
        ("× Hesperotropsis leylandii", "hesperotropsis leylandii"),
        ("x Hesperotropsis", "hesperotropsis"),
        ("érable", "erable"),
        ("Cœur-de-Marie", "coeur de marie"),
        ("Kælderhals", "kaelderhals"),
        ("rødløn", "rodlon"),
        ("Weißdorn", "weissdorn"),
        ("ağı", "agi"),
        ("angel's trumpet", "angels trumpet"),
        ("angel’s trumpet", "angels trumpet"),
        ("Rose-bay", "rose bay"),
        ("  red\t maple\n", "red maple"),
        ("Pueraria montana var. lobata", "pueraria montana lobata"),
        ("Acer tataricum subsp. ginnala", "acer tataricum ginnala"),
        ("夾竹桃", "夾竹桃"),
        ("red\u200bmaple", "redmaple"),
        ("red\u202emaple", "redmaple"),
        ("", ""),
        ("?!", ""),
    ],
)
def test_a_name_is_folded(typed: str, folded: str) -> None:
    assert normalise(typed) == folded


@pytest.mark.parametrize("name", ["x", "var", "f", "Ulmus x", "Ulmus f", "Var rubra", "Forma x"])
def test_neither_hybrid_sign_nor_rank_mark_eats_a_word_at_an_end(name: str) -> None:
    assert normalise(name) == name.lower()


def test_a_rank_mark_goes_only_after_two_words() -> None:
    assert normalise("Rosa f. alba") == "rosa f alba"
    assert normalise("Rosa gallica f. alba") == "rosa gallica alba"


@pytest.mark.parametrize(("one", "other"), [("カエデ", "カエテ"), ("कनेर", "कनर"), ("がく", "かく")])
def test_marks_that_are_letters_in_all_but_name_are_kept(one: str, other: str) -> None:
    assert normalise(one) != normalise(other)


@given(st.text(max_size=60))
def test_folding_is_the_same_twice_and_in_every_normal_form(text: str) -> None:
    folded = normalise(text)
    assert normalise(unicodedata.normalize("NFC", text)) == normalise(unicodedata.normalize("NFD", text))
    assert folded == " ".join(folded.split())
    assert not any(unicodedata.category(char)[0] in "CPSZ" for char in folded.replace(" ", ""))


def test_joined_drops_the_spaces() -> None:
    assert joined(normalise("Black-berry")) == joined(normalise("blackberry"))


@pytest.mark.parametrize(
    ("one", "other"),
    # The first two and the last two are cases of the tests of taxamatch_rb; the rest follow the same rules.
    [
        ("Xantholeuca plantagi", "Xantholeuca plantagy"),
        ("Planta majorum", "Planta majoris"),
        ("Ptelea", "Telea"),
        ("Rhus", "Rus"),
        ("Fagus silvatica", "Fagus sylvatica"),
    ],
)
def test_names_that_sound_alike_share_a_key(one: str, other: str) -> None:
    assert sound_key(normalise(one)) == sound_key(normalise(other))


@pytest.mark.parametrize(("one", "other"), [("Xant", "Xanthe"), ("Patella", "Abbella"), ("Nerium", "Acer")])
def test_names_that_do_not_sound_alike_share_none(one: str, other: str) -> None:
    assert sound_key(normalise(one)) != sound_key(normalise(other))


@given(st.text(max_size=60))
def test_every_folded_name_has_a_key(text: str) -> None:
    sound_key(normalise(text))
    sound_key(Folded(text))


def test_what_is_echoed_is_one_line_without_hidden_characters() -> None:
    assert visible("a\nb\x1b[31m\u202ec\u200b\td") == "a b[31mc d"


@given(st.text())
def test_what_is_echoed_can_do_no_harm(text: str) -> None:
    shown = visible(text)
    assert shown.isprintable() or not any(unicodedata.category(char)[0] == "C" for char in shown)
    assert "\n" not in shown
    assert shown == shown.strip()

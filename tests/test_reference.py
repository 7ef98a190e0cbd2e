"""The public library: the same answer from every thread, and ordinary care for exact names only."""

from __future__ import annotations

import dataclasses
import random
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from folioproof import Reference
from folioproof.finding import RefusedInputError
from folioproof.vocabulary import Company, Level, Part, State, Status

NAMES = ["oleander", "maple", "fig", "xqzw", "Rhus radicans", "A. rubrum", "eucaliptus", "hemlock", "", "夾竹桃"]


def test_threads_share_one_reference(database: Path) -> None:
    with Reference.open(database) as shared:
        alone = [shared.check(name) for name in NAMES]
    with Reference.open(database) as shared, ThreadPoolExecutor(8) as pool:
        for _ in range(5):
            assert list(pool.map(shared.check, NAMES)) == alone


def test_answers_are_frozen(reference: Reference) -> None:
    answer = reference.check("oak")
    with pytest.raises(dataclasses.FrozenInstanceError):
        answer.level = Level.ORDINARY  # type: ignore[misc]


@pytest.mark.parametrize(("field", "value"), [("part", "nose"), ("state", "frozen"), ("company", ["ghosts"])])
def test_unknown_terms_are_refused_in_one_line(reference: Reference, field: str, value: object) -> None:
    with pytest.raises(RefusedInputError) as caught:
        reference.check("oak", **{field: value})  # type: ignore[arg-type]
    assert "write one of" in str(caught.value) and "\n" not in str(caught.value)


def test_an_unknown_id_is_refused(reference: Reference) -> None:
    with pytest.raises(RefusedInputError):
        reference.plant("no-such-plant")
    with pytest.raises(RefusedInputError):
        reference.plant("x\n" * 500)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_any_text_gets_an_answer_and_nonsense_is_never_ordinary(reference: Reference, text: str) -> None:
    answer = reference.check(text)
    assert answer.level in set(Level)
    if answer.status is not Status.EXACT:
        assert answer.level is not Level.ORDINARY


def test_only_exact_may_carry_ordinary_care(reference: Reference, database: Path) -> None:
    connection = sqlite3.connect(database)
    names = [row[0] for row in connection.execute("SELECT name FROM names WHERE length(name) > 4 ORDER BY id")]
    connection.close()
    rng = random.Random(7)
    for name in rng.sample(names, 400):
        at = rng.randrange(len(name))
        answer = reference.find(name[:at] + rng.choice("aeiou") + name[at + 1 :])
        assert answer.status is Status.EXACT or answer.level is not Level.ORDINARY, name


def test_more_company_is_never_milder_on_real_plants(reference: Reference) -> None:
    for name in ("fig", "ginkgo", "Acer saccharum", "Prunus laurocerasus", "Carpinus betulus", "ivy"):
        alone = reference.check(name).level.rank
        for company in Company:
            assert reference.check(name, company=company).level.rank >= alone


def test_every_part_state_and_company_has_an_answer(reference: Reference) -> None:
    for part in Part:
        for state in State:
            assert reference.check("oleander", part=part, state=state, company=list(Company)).level in set(Level)


def test_a_genus_page_shows_the_worst_of_its_species(reference: Reference) -> None:
    plant = reference.plant("ficus")
    assert plant.assessment.level is Level.LEAVE_OUT
    assert plant.members[0].level is Level.LEAVE_OUT


def test_look_alikes_at_leave_out_come_first(reference: Reference) -> None:
    answer = reference.check("Rhus typhina")
    assert any(n.look_alike.taxon == "toxicodendron-vernix" for n in answer.identify_first)

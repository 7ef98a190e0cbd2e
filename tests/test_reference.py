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

ADULTS_ONLY = "SELECT taxon_id, level FROM levels WHERE company = 'adults'"
NAMES = ["oleander", "maple", "fig", "xqzw", "Rhus radicans", "A. rubrum", "eucaliptus", "hemlock", "", "夾竹桃"]


def test_threads_share_one_reference(database: Path) -> None:
    with Reference.open(database) as shared:
        alone = [shared.check(name) for name in NAMES]
    with Reference.open(database) as shared, ThreadPoolExecutor(8) as pool:
        for _ in range(5):
            assert list(pool.map(shared.check, NAMES)) == alone


def test_threads_that_ask_different_things_at_once_get_what_each_would_get_alone(database: Path) -> None:
    """Eight threads with the questions in eight orders, on a reference that has answered nothing yet."""

    def all_of(shared: Reference, turn: int) -> list[object]:
        order = NAMES[turn:] + NAMES[:turn]
        asked = [(shared.find(name), shared.check(name, company="class")) for name in order]
        pages = [shared.plant(each) for each in ("acer", "nerium-oleander", "rosaceae")]
        return [*asked[len(NAMES) - turn :], *asked[: len(NAMES) - turn], *pages, shared.starting_with("ace")]

    with Reference.open(database) as alone:
        expected = all_of(alone, 0)
    with Reference.open(database) as shared, ThreadPoolExecutor(8) as pool:
        for answers in pool.map(all_of, [shared] * 8, range(8)):
            assert answers == expected


def test_answers_are_frozen(reference: Reference) -> None:
    answers = (
        reference.check("oak"),
        reference.find("oak"),
        reference.plant("nerium-oleander"),
        reference.find("oak").candidates[0],
        reference.find("oak").candidates[0].match,
        reference.check("oleander").reasons[0],
        reference.check("oleander").sources[0],
        reference.plant("nerium-oleander").assessment,
        reference.plant("nerium-oleander").hazards[0].claim,
    )
    for answer in answers:
        first = dataclasses.fields(answer)[0].name  # type: ignore[arg-type]
        with pytest.raises((dataclasses.FrozenInstanceError, TypeError, AttributeError)):
            setattr(answer, first, None)
        assert getattr(answer, first) is not None


def test_what_a_caller_does_to_one_answer_shows_in_no_other(reference: Reference) -> None:
    first, page = reference.check("oleander"), reference.plant("nerium-oleander")
    kept = dict(first.precautions)
    first.precautions.clear()
    page.assessment.precautions.clear()
    assert reference.check("oleander").precautions == kept
    assert reference.plant("nerium-oleander").assessment.precautions == kept


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


@pytest.mark.parametrize("bad", ["", "\ud800", "a\x00b", "\u202e", "'; --", "x\n" * 500, "🍁" * 100_000])
def test_an_id_that_is_none_is_refused_in_one_short_line(reference: Reference, bad: str) -> None:
    with pytest.raises(RefusedInputError, match=r"^there is no plant with the id ") as caught:
        reference.plant(bad)
    assert str(caught.value).isprintable() and len(str(caught.value)) < 200


@pytest.mark.parametrize("text", ["a" * 100_000, "\x00", "\ud800", "\u202emaple", "🍁", "<b>maple</b>", "'; --", ""])
def test_garbage_gets_an_answer_that_is_no_permission(reference: Reference, text: str) -> None:
    answer = reference.check(text)
    assert answer.query == text
    assert answer.level in (Level.NOT_ASSESSED, Level.LEAVE_OUT, Level.EXTRA)
    assert answer.precautions and answer.cautions and answer.reasons
    assert reference.find(text).level is answer.level


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


@pytest.fixture(scope="module")
def real_names(database: Path) -> list[tuple[str, str]]:
    connection = sqlite3.connect(database)
    found = connection.execute("SELECT name, taxon_id FROM names ORDER BY id").fetchall()
    connection.close()
    return found


@settings(max_examples=300, deadline=None, derandomize=True)
@given(st.data())
def test_a_real_name_with_slips_carries_ordinary_care_only_when_it_is_exact(
    reference: Reference, real_names: list[tuple[str, str]], data: st.DataObject
) -> None:
    name, _ = data.draw(st.sampled_from(real_names))
    for _ in range(data.draw(st.integers(0, 3))):
        at = data.draw(st.integers(0, len(name)))
        drop = data.draw(st.integers(0, 2))
        name = name[:at] + data.draw(st.text("abcdeilmnorstuxé -'×.", max_size=2)) + name[at + drop :]
    for company in ("adults", "class"):
        answer = reference.check(name, company=company)
        assert answer.status is Status.EXACT or answer.level is not Level.ORDINARY


def test_a_misspelt_name_of_a_plant_to_leave_out_is_never_ordinary_care(
    reference: Reference, real_names: list[tuple[str, str]], database: Path
) -> None:
    connection = sqlite3.connect(database)
    levels = dict(connection.execute(ADULTS_ONLY).fetchall())
    connection.close()
    left_out = [name for name, plant in real_names if levels[plant] == Level.LEAVE_OUT and len(name) > 3]
    rng = random.Random(11)
    wrong = []
    for name in rng.choices(left_out, k=500):
        at = rng.randrange(len(name) - 1)
        swapped = name[:at] + name[at + 1] + name[at] + name[at + 2 :]
        typed = rng.choice([name[:at] + name[at + 1 :], name[: at + 1] + name[at:], swapped])
        if reference.check(typed).level is Level.ORDINARY:
            wrong.append(typed)
    assert wrong == []


def test_a_family_carries_the_worst_of_its_plants(reference: Reference, database: Path) -> None:
    connection = sqlite3.connect(database)
    sql = "SELECT taxon_id, level, family_id FROM levels JOIN taxa ON id = taxon_id WHERE company = 'adults'"
    members = connection.execute(sql).fetchall()
    connection.close()
    for family in ("Anacardiaceae", "Apocynaceae", "Euphorbiaceae", "Rosaceae"):
        worst = max(Level(level).rank for _, level, its in members if its == family.lower())
        assert reference.check(family).level.rank >= worst, family
        assert reference.find(family).candidates[0].level.rank >= worst, family


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


def test_no_genus_or_family_reads_ordinary_on_its_page_or_in_a_table(reference: Reference, database: Path) -> None:
    connection = sqlite3.connect(database)
    groups = "SELECT taxon_id, level FROM levels JOIN taxa ON id = taxon_id AND rank IN ('genus', 'family')"
    rows = connection.execute(f"{groups} WHERE company = 'adults' ORDER BY taxon_id").fetchall()
    connection.close()
    assert len(rows) > 900
    assert [taxon for taxon, level in rows if level == Level.ORDINARY] == []
    sample = random.Random(11).sample([taxon for taxon, _ in rows], 150)
    assert [taxon for taxon in sample if reference.plant(taxon).assessment.level is Level.ORDINARY] == []

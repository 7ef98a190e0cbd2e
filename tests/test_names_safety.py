"""No query about a dangerous plant may come back safer than the plant: the fast, exact part of the measurements."""

from __future__ import annotations

import random
import sqlite3
import sys
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.matching import NameIndex
from folioproof.store import Shelf
from folioproof.vocabulary import Level, Status

sys.path.insert(0, str(Path(__file__).parent / "benchmarks"))
from typos import misspell

SEED = 20261125


@pytest.fixture(scope="module")
def levels(database: Path) -> dict[str, Level]:
    connection = sqlite3.connect(database)
    rows = connection.execute("SELECT taxon_id, own_level FROM levels WHERE company = 'adults'").fetchall()
    connection.close()
    return {taxon: Level(level) for taxon, level in rows}


@pytest.fixture(scope="module")
def names(database: Path) -> list[tuple[str, str]]:
    connection = sqlite3.connect(database)
    found = connection.execute("SELECT folded, taxon_id FROM names ORDER BY id").fetchall()
    connection.close()
    return found


def test_misspelt_names_of_hazardous_plants_never_read_ordinary(
    reference: Reference, names: list[tuple[str, str]], levels: dict[str, Level]
) -> None:
    rng = random.Random(SEED)
    hazardous = sorted({f for f, t in names if levels[t] in (Level.EXTRA, Level.LEAVE_OUT) and len(f) > 2})
    queries = [misspell(rng.choice(hazardous), rng) for _ in range(1500)]
    assert [q for q in queries if reference.find(q).level is Level.ORDINARY] == []


def test_every_name_of_a_hazardous_plant_gives_its_level_or_a_worse_one(
    reference: Reference, names: list[tuple[str, str]], levels: dict[str, Level]
) -> None:
    milder = []
    for folded, taxon in names:
        if levels[taxon] is Level.LEAVE_OUT:
            found = reference.find(folded)
            if found.level.rank < levels[taxon].rank or taxon not in {c.id for c in found.candidates}:
                milder.append((folded, taxon, found.level))
    assert milder == []


def test_every_homonym_shows_every_plant_and_the_worst_first(database: Path, reference: Reference) -> None:
    connection = sqlite3.connect(database)
    rows = connection.execute("SELECT word, json_group_array(taxon_id) FROM homonyms GROUP BY word").fetchall()
    connection.close()
    assert len(rows) >= 70
    import json

    for word, taxa in rows:
        found = reference.find(word)
        shown = [candidate.id for candidate in found.candidates]
        assert set(json.loads(taxa)) <= set(shown), word
        assert found.level is not Level.ORDINARY, word
        danger = [c.level in (Level.LEAVE_OUT, Level.EXTRA) for c in found.candidates]
        assert danger == sorted(danger, reverse=True), word
        if Level.LEAVE_OUT in {c.level for c in found.candidates}:
            assert found.candidates[0].level is Level.LEAVE_OUT, word


def test_a_removed_record_leaves_no_ordinary_answer_for_its_names(
    database: Path, levels: dict[str, Level], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each leave-out plant is taken out of the index in turn, as if no curator had ever met it."""
    full: list[object] = []

    class Recorder(NameIndex):
        def __init__(self, *parts: object) -> None:
            full.extend(list(part) for part in parts)  # type: ignore[call-overload]
            super().__init__(*full)  # type: ignore[arg-type]

    monkeypatch.setattr("folioproof.store.NameIndex", Recorder)
    shelf = Shelf(database)
    shelf.name_index()
    shelf.close()
    all_names, taxa, guards, homonyms, alerts = full
    wrong = []
    for removed in sorted(t for t, level in levels.items() if level is Level.LEAVE_OUT):
        kept = [n for n in all_names if n.taxon_id != removed]  # type: ignore[attr-defined]
        index = NameIndex(
            kept,
            taxa,  # type: ignore[arg-type]
            guards,  # type: ignore[arg-type]
            [h for h in homonyms if h[2] != removed],  # type: ignore[attr-defined]
            [a for a in alerts if a[2] != removed],  # type: ignore[attr-defined]
        )
        for name in (n for n in all_names if n.taxon_id == removed):  # type: ignore[attr-defined]
            match = index.match(name.name)
            ordinary = all(levels[each] is Level.ORDINARY for each in match.radius)
            if match.status is Status.EXACT and ordinary and match.radius:
                wrong.append((removed, name.name, sorted(match.radius)))
    assert wrong == []

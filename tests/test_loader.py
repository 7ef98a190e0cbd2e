"""The database: whole or not at all, the same bytes twice, strict, indexed, searchable."""

from __future__ import annotations

import shutil
import sqlite3
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from folioproof import __version__, loader
from folioproof.corpus_files import content_hash, data_root, metadata_file
from folioproof.database import connect, read_facts
from folioproof.finding import FindingsError, RefusedInputError
from folioproof.loader import build
from folioproof.schema import SCHEMA_VERSION, TABLES
from folioproof.text import FOLDING_VERSION

sys.path.insert(0, str(Path(__file__).parent / "checks"))
from bundles import lay_out

CHECKS = Path(__file__).parent / "checks"


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A corpus of a few records that passes every rule."""
    root = tmp_path / "small"
    lay_out(CHECKS / "base.yml", root)
    return root


@pytest.fixture
def rows(database: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(database)
    yield connection
    connection.close()


def test_two_builds_give_the_same_bytes(database: Path, tmp_path: Path) -> None:
    build(data_root(), tmp_path / "again.db")
    assert (tmp_path / "again.db").read_bytes() == database.read_bytes()


def test_a_failed_build_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    broken = tmp_path / "data"
    shutil.copytree(data_root() / "vocabularies", broken / "vocabularies")
    (broken / "plants" / "Acer").mkdir(parents=True)
    (broken / "plants" / "Acer" / "rubrum.yml").write_text("id: acer-rubrum\nscientific_name: NO\nrank: species\n")
    target = tmp_path / "out" / "reference.db"
    target.parent.mkdir()
    target.write_text("the old one")
    with pytest.raises(FindingsError) as caught:
        build(broken, target)
    assert caught.value.findings and "\n" not in str(caught.value)
    assert target.read_text() == "the old one"
    assert [path.name for path in target.parent.iterdir()] == ["reference.db"]


def test_a_build_that_breaks_off_half_way_leaves_the_old_file_and_nothing_else(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "out" / "reference.db"
    build(small, target)
    before = target.read_bytes()
    seen: list[str] = []

    def broken(*_: object) -> None:
        seen.extend(path.suffix for path in target.parent.iterdir())
        raise KeyboardInterrupt

    monkeypatch.setattr(loader, "_levels", broken)
    with pytest.raises(KeyboardInterrupt):
        build(small, target)
    assert ".part" in seen
    assert target.read_bytes() == before
    assert [path.name for path in target.parent.iterdir()] == ["reference.db"]


@pytest.mark.parametrize("kind", ["guards", "vocabularies"])
def test_without_guards_or_tables_nothing_is_built(small: Path, tmp_path: Path, kind: str) -> None:
    shutil.rmtree(small / kind)
    with pytest.raises(RefusedInputError, match=r"^\S+: there are no [^\n]+$"):
        build(small, tmp_path / "out.db")
    assert not (tmp_path / "out.db").exists()


def test_a_key_that_stands_twice_is_refused_in_one_line(small: Path, tmp_path: Path) -> None:
    words = small / "guards" / "homonyms.yml"
    words.write_text(
        "id: homonyms\nbasis: memory\nhomonyms:\n  - {word: Hedge, taxa: [acer]}\n  - {word: hedge, taxa: [acer]}\n"
    )
    with pytest.raises(RefusedInputError, match=r"^\S+: two records hold the same key [^\n]+$"):
        build(small, tmp_path / "out.db")
    assert [path.name for path in tmp_path.iterdir()] == ["small"]


def test_a_folder_that_cannot_be_written_is_refused_in_one_line(small: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(RefusedInputError, match=r"^\S+: the database cannot be written there \([^\n]+\)$"):
        build(small, tmp_path / "file" / "out.db")


def test_progress_is_told_from_nothing_to_all(small: Path, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    build(small, tmp_path / "out.db", lambda stage, done, total: told.append((done, total)))
    assert told[0][0] == 0
    assert told[-1][0] == told[-1][1]
    assert told == sorted(told)


def test_a_subspecies_is_held_to_the_claims_of_its_species_genus_and_family(small: Path, tmp_path: Path) -> None:
    lines = "id: acer-rubrum-minus\nscientific_name: Acer rubrum subsp. minus\nrank: subspecies\n"
    (small / "plants" / "Acer" / "rubrum-minus.yml").write_text(lines)
    build(small, tmp_path / "out.db")
    connection = connect(tmp_path / "out.db")
    assert [held.taxon_id for held in read_facts(connection, "acer-rubrum-minus").hazards] == ["acer-rubrum"]
    assert [held.taxon_id for held in read_facts(connection, "acer-saccharum").hazards] == []
    connection.close()


def test_tables_are_strict_and_whole(rows: sqlite3.Connection) -> None:
    strict = {row[1]: row[5] for row in rows.execute("PRAGMA table_list") if row[0] == "main" and row[2] == "table"}
    assert all(strict[table] == 1 for table in TABLES)
    assert rows.execute("PRAGMA foreign_key_check").fetchall() == []
    assert rows.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
    assert rows.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert rows.execute("PRAGMA freelist_count").fetchone()[0] == 0


def test_every_reference_of_the_schema_is_a_foreign_key(rows: sqlite3.Connection) -> None:
    for table, spec in TABLES.items():
        keys = {(row[3], row[2], row[4]) for row in rows.execute(f'PRAGMA foreign_key_list("{table}")')}
        assert keys == set(spec.references), table


def test_every_facet_of_the_pages_has_an_index(rows: sqlite3.Connection) -> None:
    described = yaml.safe_load(metadata_file().read_text(encoding="utf-8"))
    (tables,) = (each["tables"] for each in described["databases"].values())
    facets = [(table, facet) for table, about in tables.items() for facet in about.get("facets", ())]
    assert len(facets) > 10
    views = {row[0] for row in rows.execute("SELECT name FROM sqlite_master WHERE type = 'view'")}
    for table, facet in facets:
        first = set()
        for index in rows.execute(f'PRAGMA index_list("{table}")').fetchall():
            first.add(rows.execute(f'PRAGMA index_info("{index[1]}")').fetchone()[2])
        assert table in views or facet in first, f"{table}.{facet}"


def test_lookup_columns_are_indexed(rows: sqlite3.Connection) -> None:
    for table, spec in TABLES.items():
        indexed = set()
        for index in rows.execute(f'PRAGMA index_list("{table}")').fetchall():
            indexed.add(tuple(row[2] for row in rows.execute(f'PRAGMA index_info("{index[1]}")')))
        assert set(spec.indexes) <= indexed, table


def test_text_search_drops_diacritics(rows: sqlite3.Connection) -> None:
    plain, marked = (
        rows.execute("SELECT name FROM names_fts WHERE names_fts MATCH ?", (word,)).fetchall()
        for word in ("erable", "érable")
    )
    assert plain == marked
    assert any("érable" in row[0] for row in plain)


def test_the_file_says_what_it_was_built_from(rows: sqlite3.Connection) -> None:
    about = dict(rows.execute("SELECT key, value FROM build").fetchall())
    assert about["content_sha256"] == content_hash(data_root())
    assert about["generator"] == f"folioproof {__version__}"
    assert about["schema_version"] == str(SCHEMA_VERSION)
    assert about["folding_version"] == str(FOLDING_VERSION)
    assert int(about["taxa"]) > 2100


@pytest.mark.parametrize("view", ["plant_levels", "claims_with_sources", "all_names"])
def test_views_answer(rows: sqlite3.Connection, view: str) -> None:
    assert rows.execute(f"SELECT count(*) FROM (SELECT * FROM {view} LIMIT 50)").fetchone()[0] == 50


def test_care_never_stands_without_its_warning_column(rows: sqlite3.Connection) -> None:
    names = [row[1] for row in rows.execute("PRAGMA table_info(all_names)")]
    assert "needs_confirmation" in names and "level_if_this_plant" in names
    assert "read_before_use" in [row[1] for row in rows.execute("PRAGMA table_info(plant_levels)")]

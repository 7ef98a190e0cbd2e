"""The database: whole or not at all, the same bytes twice, strict, indexed, searchable."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest

from folioproof.corpus_files import content_hash, data_root
from folioproof.finding import FindingsError
from folioproof.loader import build
from folioproof.schema import TABLES


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


def test_tables_are_strict_and_whole(rows: sqlite3.Connection) -> None:
    strict = {row[1]: row[5] for row in rows.execute("PRAGMA table_list") if row[0] == "main" and row[2] == "table"}
    assert all(strict[table] == 1 for table in TABLES)
    assert rows.execute("PRAGMA foreign_key_check").fetchall() == []
    assert rows.execute("PRAGMA journal_mode").fetchone()[0] == "delete"
    assert rows.execute("PRAGMA integrity_check").fetchone()[0] == "ok"


def test_lookup_columns_are_indexed(rows: sqlite3.Connection) -> None:
    for table, spec in TABLES.items():
        indexed = set()
        for index in rows.execute(f'PRAGMA index_list("{table}")').fetchall():
            indexed.add(tuple(row[2] for row in rows.execute(f'PRAGMA index_info("{index[1]}")')))
        assert set(spec.indexes) <= indexed, table


def test_text_search_drops_diacritics(rows: sqlite3.Connection) -> None:
    found = rows.execute("SELECT name FROM names_fts WHERE names_fts MATCH 'erable'").fetchall()
    assert any("érable" in row[0] for row in found)


def test_the_file_says_what_it_was_built_from(rows: sqlite3.Connection) -> None:
    about = dict(rows.execute("SELECT key, value FROM build").fetchall())
    assert about["content_sha256"] == content_hash(data_root())
    assert about["generator"].startswith("folioproof ")
    assert int(about["taxa"]) > 2100


@pytest.mark.parametrize("view", ["plant_levels", "claims_with_sources", "all_names"])
def test_views_answer(rows: sqlite3.Connection, view: str) -> None:
    assert rows.execute(f"SELECT count(*) FROM (SELECT * FROM {view} LIMIT 50)").fetchone()[0] == 50


def test_care_never_stands_without_its_warning_column(rows: sqlite3.Connection) -> None:
    names = [row[1] for row in rows.execute("PRAGMA table_info(all_names)")]
    assert "needs_confirmation" in names and "level_if_this_plant" in names
    assert "read_before_use" in [row[1] for row in rows.execute("PRAGMA table_info(plant_levels)")]

"""`folioproof changes` tells what differs between two files, as text and as JSON, and never with a traceback."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from folioproof.cli import main


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["changes", *map(str, arguments)])


@pytest.fixture(scope="module")
def old(database: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("old") / "old.db"
    shutil.copy(database, path)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE levels SET level = 'extra care' WHERE taxon_id = 'toxicodendron-radicans'")
        connection.execute(
            "UPDATE levels SET level = 'leave out' WHERE taxon_id = 'acer-campestre' AND company = 'class'"
        )
        connection.execute("DELETE FROM colours WHERE id IN (SELECT id FROM colours WHERE basis = 'account' LIMIT 2)")
        connection.execute("UPDATE estimates SET strength = 9, lab_l = 99, lab_a = 60 WHERE lab_l IS NOT NULL")
        connection.execute("UPDATE build SET value = 'abcdef0123456789' WHERE key = 'content_sha256'")
    return path


def test_text_groups_companies_and_puts_more_care_first(old: Path, database: Path) -> None:
    result = run(old, database)
    assert result.exit_code == 0, result.output
    text = result.output
    assert text.startswith("From data version abcdef012345 to ")
    assert "  Toxicodendron radicans (adults, class, children, animals): extra care -> leave out" in text
    assert text.index("ask for more care: 1") < text.index("Toxicodendron") < text.index("ask for less care: 1")
    assert "  Acer campestre (class): leave out -> " in text
    assert "  colour statement, account: 2 added, 0 removed" in text
    assert "more; --json has them all" in text


def test_json_is_one_object_a_line_and_complete(old: Path, database: Path) -> None:
    result = run(old, database, "--json")
    assert result.exit_code == 0
    objects = [json.loads(line) for line in result.output.splitlines()]
    assert objects[0]["kind"] == "files" and objects[0]["old"] == "abcdef012345"
    kinds = {each["kind"] for each in objects}
    assert kinds == {"files", "level", "claims", "estimate"}
    ivy = [each for each in objects if each["kind"] == "level" and each["id"] == "toxicodendron-radicans"]
    assert len(ivy) == 4 and all(each["graver"] and each["reason"] and each["sources"] for each in ivy)
    with closing(sqlite3.connect(database)) as connection:
        (moved,) = connection.execute("SELECT count(*) FROM estimates WHERE lab_l IS NOT NULL").fetchone()
    assert sum(each["kind"] == "estimate" for each in objects) == moved


def test_the_same_file_twice_says_that_nothing_changed(database: Path) -> None:
    result = run(database, database)
    assert result.exit_code == 0
    assert "more care: 0" in result.output and "Claims: none added, none removed" in result.output
    assert run(database, database, "--json").output.count("\n") == 1


@pytest.mark.parametrize("content", [b"", b"no database at all" * 50, None])
def test_a_file_that_is_not_ours_gives_one_line(database: Path, tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "other.db"
    if content is not None:
        path.write_bytes(content)
    for arguments in ((path, database), (database, path)):
        result = run(*arguments)
        assert result.exit_code == 1
        assert result.output.count("\n") == 1 and str(path) in result.output

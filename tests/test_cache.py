"""The database in the cache folder: built once, built anew when the records or the program changed."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from folioproof import Reference, cache
from folioproof.finding import RefusedInputError


class Builder:
    """Stands in for the real build, which takes seconds: writes a database with a build table and counts."""

    def __init__(self) -> None:
        self.built = 0

    def __call__(self, root: Path, target: Path, progress: object = None, shared: object = None) -> dict[str, str]:
        self.built += 1
        target.parent.mkdir(parents=True, exist_ok=True)
        target.unlink(missing_ok=True)
        connection = sqlite3.connect(target)
        connection.execute("CREATE TABLE build (key TEXT, value TEXT)")
        connection.execute("INSERT INTO build VALUES ('generator', 'test')")
        connection.commit()
        connection.close()
        return {"generator": "test"}


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    root = tmp_path / "data"
    (root / "plants").mkdir(parents=True)
    (root / "plants" / "a.yml").write_text("id: a\n")
    monkeypatch.setenv("FOLIOPROOF_DATA", str(root))
    monkeypatch.setenv("FOLIOPROOF_CACHE", str(tmp_path / "cache"))
    return root


@pytest.fixture
def builder(data: Path, monkeypatch: pytest.MonkeyPatch) -> Builder:
    stand_in = Builder()
    monkeypatch.setattr("folioproof.loader.build", stand_in)
    return stand_in


def test_the_folder_is_the_named_one(data: Path, tmp_path: Path) -> None:
    assert cache.cache_folder() == tmp_path / "cache"


def test_without_a_name_it_is_the_users_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("FOLIOPROOF_CACHE", raising=False)
    assert cache.cache_folder().name == "folioproof"


def test_it_is_built_on_first_use_and_then_kept(builder: Builder, tmp_path: Path) -> None:
    assert cache.ready_database() == cache.ready_database() == tmp_path / "cache" / "reference.db"
    assert builder.built == 1


@pytest.mark.parametrize("change", ["edited", "added", "removed"])
def test_it_is_built_anew_when_the_records_changed(builder: Builder, data: Path, change: str) -> None:
    (data / "plants" / "b.yml").write_text("id: b\n")
    cache.ready_database()
    if change == "edited":
        (data / "plants" / "a.yml").write_text("id: other\n")
    elif change == "added":
        (data / "plants" / "c.yml").write_text("id: c\n")
    else:
        (data / "plants" / "b.yml").unlink()
    cache.ready_database()
    assert builder.built == 2


@pytest.mark.parametrize("name", ["__version__", "SCHEMA_VERSION", "FOLDING_VERSION"])
def test_it_is_built_anew_when_the_program_changed(
    builder: Builder, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    cache.ready_database()
    monkeypatch.setattr(cache, name, "another")
    cache.ready_database()
    assert builder.built == 2


@pytest.mark.parametrize("content", [b"", b"no database at all" * 100, None])
def test_it_is_built_anew_when_the_file_is_spoilt(builder: Builder, content: bytes | None) -> None:
    path = cache.ready_database()
    path.unlink()
    if content is not None:
        path.write_bytes(content)
    cache.ready_database()
    assert builder.built == 2


def test_rebuild_builds_whatever_the_state(builder: Builder) -> None:
    cache.ready_database()
    assert cache.rebuild() == {"generator": "test"}
    assert builder.built == 2
    cache.ready_database()
    assert builder.built == 2


def test_it_is_built_anew_when_an_outcome_is_added(
    builder: Builder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shared = tmp_path / "elsewhere"
    (shared / "outcomes").mkdir(parents=True)
    monkeypatch.setenv("FOLIOPROOF_SHARED", str(shared))
    cache.ready_database()
    (shared / "template.yml").write_text("id:\n")
    cache.ready_database()
    assert builder.built == 1
    (shared / "outcomes" / "a.yml").write_text("id: a\n")
    cache.ready_database()
    assert builder.built == 2
    monkeypatch.setenv("FOLIOPROOF_SHARED", str(tmp_path / "none"))
    with pytest.raises(RefusedInputError, match=r"^FOLIOPROOF_SHARED: there is no folder \S+none$"):
        cache.ready_database()


def test_a_build_that_fails_leaves_no_stamp(builder: Builder, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> dict[str, str]:
        raise RefusedInputError("no room")

    with monkeypatch.context() as patch:
        patch.setattr("folioproof.loader.build", broken)
        with pytest.raises(RefusedInputError, match="no room"):
            cache.ready_database()
    cache.ready_database()
    assert builder.built == 1


def test_a_cache_that_is_a_file_is_refused_in_one_line(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("FOLIOPROOF_CACHE", str(tmp_path / "file"))
    monkeypatch.delenv("FOLIOPROOF_DATA")
    with pytest.raises(RefusedInputError, match=r"^\S+reference\.db: the database cannot be written there \(.+\)$"):
        cache.ready_database()


@pytest.mark.parametrize("content", [b"", b"no database at all" * 100])
def test_a_file_that_is_no_database_of_ours_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "other.db"
    path.write_bytes(content)
    with pytest.raises(RefusedInputError, match=r"^[^\n]+: this is not a folioproof database; build one anew$"):
        Reference.open(path)


def test_a_missing_file_and_an_older_database_say_what_to_run(tmp_path: Path) -> None:
    with pytest.raises(RefusedInputError, match=r"^[^\n]+ run `folioproof build -o [^\n]+`$"):
        Reference.open(tmp_path / "none.db")
    Builder()(tmp_path, tmp_path / "old.db")
    with pytest.raises(RefusedInputError, match=r"^[^\n]+: built by another version; run `folioproof build -o "):
        Reference.open(tmp_path / "old.db")
    with pytest.raises(RefusedInputError, match=r"^[^\n]+ there is no database"):
        Reference.open(tmp_path)

"""Starting the pages: what is read, what is refused, and what is left beside the file."""

from __future__ import annotations

import json
import shutil
import socket
import sqlite3
from pathlib import Path

import pytest

from folioproof.finding import RefusedInputError
from folioproof.serving import DATABASE_NAME, make_datasette, serve


def test_the_tables_have_one_name_whatever_the_file_is_called(database: Path, tmp_path: Path) -> None:
    copy = tmp_path / "of mine (2).db"
    shutil.copy(database, copy)
    shown = make_datasette(copy).databases
    assert DATABASE_NAME in shown and not shown[DATABASE_NAME].is_mutable


def test_counts_are_taken_anew_and_left_beside_the_file(database: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.db"
    shutil.copy(database, copy)
    beside = tmp_path / "copy.inspect.json"
    beside.write_text('{"reference": {"tables": {"taxa": {"count": 9999}}}}', encoding="utf-8")
    inspected = make_datasette(copy).inspect_data[DATABASE_NAME]
    with sqlite3.connect(database) as connection:
        (taxa,) = connection.execute("SELECT count(*) FROM taxa").fetchone()
    connection.close()
    assert inspected["tables"]["taxa"]["count"] == taxa
    assert json.loads(beside.read_text(encoding="utf-8"))[DATABASE_NAME] == inspected


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RefusedInputError, match="there is no database"):
        make_datasette(tmp_path / "none.db")


def test_a_file_of_another_kind_is_refused(tmp_path: Path) -> None:
    garbage = tmp_path / "garbage.db"
    garbage.write_bytes(b"not a database at all" * 100)
    with pytest.raises(RefusedInputError, match="not a database"):
        make_datasette(garbage)
    foreign = tmp_path / "foreign.db"
    with sqlite3.connect(foreign) as connection:
        connection.execute("CREATE TABLE t (a)")
    connection.close()
    with pytest.raises(RefusedInputError, match="not a folioproof database"):
        make_datasette(foreign)


def test_a_port_in_use_is_refused_in_one_line(database: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(RefusedInputError, match=f"127.0.0.1:{port} cannot be used") as refused:
            serve(database, "127.0.0.1", port)
    assert "\n" not in str(refused.value)
    assert str(refused.value).count("(") == 1


@pytest.mark.parametrize("host", ["no.such.host.invalid", "256.1.1.1", "a" * 300, "192.0.2.1", "::z"])
def test_a_host_that_is_not_ours_is_refused(database: Path, host: str) -> None:
    with pytest.raises(RefusedInputError, match="cannot be used"):
        serve(database, host, 8642)

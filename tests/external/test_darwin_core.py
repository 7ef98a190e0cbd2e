"""The export speaks Darwin Core: every column and every annotated key is a term of the published lists.

Source: Darwin Core, Biodiversity Information Standards (TDWG), repository tdwg/dwc; the files are named in
data/darwin_core_terms.tsv. Licence addresses: the recommended values that the term license gives as examples.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from folioproof.outcome_record import OutcomeRecord, Result

Rows = Callable[[str], list[dict[str, str]]]


@pytest.fixture
def connection(database: Path) -> Iterator[sqlite3.Connection]:
    opened = sqlite3.connect(database)
    yield opened
    opened.close()


@pytest.fixture
def terms(rows: Rows) -> dict[str, set[str]]:
    listed = rows("darwin_core_terms")
    assert len(listed) > 100
    return {table: {row["term"] for row in listed if row["table"] == table} for table in ("occurrence", "measurement")}


def columns(connection: sqlite3.Connection, view: str) -> list[str]:
    return [column[0] for column in connection.execute(f"SELECT * FROM {view} LIMIT 0").description]


def test_every_column_of_the_export_is_a_term(connection: sqlite3.Connection, terms: dict[str, set[str]]) -> None:
    found = columns(connection, "darwin_core")
    assert set(found) <= terms["occurrence"]
    assert {"occurrenceID", "basisOfRecord", "eventDate", "scientificName", "license", "recordedBy"} <= set(found)


def test_every_column_of_the_measurements_is_a_term(connection: sqlite3.Connection, terms: dict[str, set[str]]) -> None:
    assert set(columns(connection, "darwin_core_measurements")) <= terms["measurement"] | {"occurrenceID"}


def test_every_key_that_names_a_term_names_one_and_it_is_exported(
    connection: sqlite3.Connection, terms: dict[str, set[str]]
) -> None:
    exported = columns(connection, "darwin_core")
    named = []
    for model in (OutcomeRecord, Result):
        for field in model.model_fields.values():
            if isinstance(field.json_schema_extra, dict):
                named += str(field.json_schema_extra["darwin_core"]).split(", ")
    assert len(named) > 10
    for term in set(named) - {"measurementOrFact"}:
        assert term in terms["occurrence"] and term in exported

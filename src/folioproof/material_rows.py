"""From the records of materials to rows of the database."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from .corpus import Corpus
from .materials import agree
from .records import MaterialRecord

Row = dict[str, Any]

#: Lists of a record -> the kind under which a table holds their entries.
_RANGES = {"working_range": "working", "heat_limit": "heat limit"}
_ADVICE = {"precautions": "precaution", "do_not": "do not", "disposal": "disposal"}


def material_tables(corpus: Corpus) -> Iterator[tuple[str, list[Row]]]:
    """Yield the tables of the materials with their rows, referenced tables first."""
    records = [entry.record for entry in corpus.materials]
    yield "ghs_statements", [_cited(each) for entry in corpus.ghs for each in entry.record.statements]
    yield "materials", [_material_row(record) for record in records]
    yield "material_cas", _numbered({"material_id": r.id, **_cited(each)} for r in records for each in r.cas)
    yield "material_ghs", _numbered({"material_id": r.id, **_cited(each)} for r in records for each in r.ghs)
    yield "material_ranges", _numbered(row for record in records for row in _listed(record, _RANGES))
    yield "material_advice", _numbered(row for record in records for row in _listed(record, _ADVICE))


def _material_row(record: MaterialRecord) -> Row:
    row = {key: getattr(record, key) for key in ("id", "name", "kind", "also_called", "formula", "note")}
    return row | {"sources_agree": agree(record.ghs)}


def _listed(record: MaterialRecord, lists: dict[str, str]) -> Iterator[Row]:
    for key, kind in lists.items():
        for each in getattr(record, key):
            yield {"material_id": record.id, "kind": kind, **_cited(each)}


def _cited(said: Any) -> Row:
    row: Row = said.model_dump()
    return row | {"source_id": row.pop("source")}


def _numbered(rows: Iterator[Row]) -> list[Row]:
    return [{"id": number, **row} for number, row in enumerate(rows, start=1)]

"""The generated schema is current, and records refuse what they do not know."""

from __future__ import annotations

import json

import pytest
from pydantic import ValidationError

from folioproof.corpus_files import data_root
from folioproof.records import TaxonRecord, schemas


@pytest.mark.parametrize("name", sorted(schemas()))
def test_schema_in_data_is_current(name: str) -> None:
    written = (data_root() / "schema" / name).read_text(encoding="utf-8")
    assert written == json.dumps(schemas()[name], indent=2, sort_keys=True) + "\n", "run `folioproof lint --schema`"


def test_no_schema_is_left_over() -> None:
    assert {path.name for path in (data_root() / "schema").iterdir()} == set(schemas())


def test_records_are_frozen_and_strict() -> None:
    record = TaxonRecord.model_validate({"id": "acer", "scientific_name": "Acer", "rank": "genus"})
    with pytest.raises(ValidationError):
        record.id = "other"  # type: ignore[misc]
    with pytest.raises(ValidationError):
        TaxonRecord.model_validate({"id": "acer", "scientific_name": "Acer", "rank": "genus", "colour": "red"})
    with pytest.raises(ValidationError):
        TaxonRecord.model_validate(
            {
                "id": "acer",
                "scientific_name": "Acer",
                "rank": "genus",
                "carries": [{"agent": "juglone", "parts": ["leaf"], "basis": "memory", "dose": 1}],
            }
        )

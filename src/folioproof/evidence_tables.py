"""The tables of contributed evidence: counts of grades and sums of colours, which can be added up in any order."""

from __future__ import annotations

from .table_spec import OF_TAXON, TableSpec

_KEY: dict[str, type] = {"taxon_id": str, "part": str, "treatment": str, "fibre": str, "country": str, "region": str}

EVIDENCE_TABLES: dict[str, TableSpec] = {
    "evidence_counts": TableSpec(
        {**_KEY, "month": int, "contributor": str, "n0": int, "n1": int, "n2": int, "n3": int, "n4": int},
        (*_KEY, "month", "contributor"),
        (OF_TAXON,),
    ),
    "evidence_blocks": TableSpec(
        {
            **_KEY, "contributor": str, "block": int, "n": int, "sum_l": float, "sum_a": float, "sum_b": float,
        },
        (*_KEY, "contributor", "block"),
        (OF_TAXON, ("block", "colour_names", "number")),
    ),
}  # fmt: skip

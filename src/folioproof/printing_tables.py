"""The tables of dyes, colours, seasons and estimates."""

from __future__ import annotations

from .table_spec import CLAIM, CLAIM_OPTIONAL, OF_SOURCE, OF_TAXON, TableSpec

_LAB: dict[str, type] = {"lab_l": float, "lab_a": float, "lab_b": float}
_OF_CLASS = ("dye_class_id", "dye_classes", "id")

PRINTING_TABLES: dict[str, TableSpec] = {
    "colour_names": TableSpec({"number": int, "name": str, "hex": str, **_LAB}, "number", indexes=(("name",),)),
    "colour_words": TableSpec({"word": str, "name": str}, "word"),
    "continents": TableSpec({"code": str, "country": str}, ("code", "country"), indexes=(("country",),)),
    "dye_classes": TableSpec({"id": str, "name": str, "nature": str}, "id"),
    "class_priors": TableSpec(
        {
            "id": int, "dye_class_id": str, "treatment": str, "fibre": str, **_LAB, "spread": float,
            "strength": str, **CLAIM, "note": str,
        },
        "id",
        (_OF_CLASS, OF_SOURCE),
        (("dye_class_id",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "printing": TableSpec(
        {"taxon_id": str, "habit": str, "climate": str, "leaf_shape": str, "grows_in": str},
        "taxon_id",
        (OF_TAXON,),
        (("habit",), ("climate",), ("leaf_shape",)),
        frozenset({"habit", "climate", "leaf_shape"}),
    ),
    "dyes": TableSpec(
        {"id": int, "taxon_id": str, "dye_class_id": str, "parts": str, "compound": str, **CLAIM},
        "id",
        (OF_TAXON, _OF_CLASS, OF_SOURCE),
        (("taxon_id",), ("dye_class_id",), ("basis",), ("source_id",)),
        CLAIM_OPTIONAL | {"compound"},
    ),
    "colours": TableSpec(
        {
            "id": int, "taxon_id": str, "process": str, "part": str, "treatment": str, "with_what": str, "fibre": str,
            "strength": str, "clarity": str, "words": str, "reads_as": str, **_LAB, "measured": int, "side": str,
            "stage": str, "state": str, "month": int, **CLAIM, "note": str,
        },
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("process",), ("treatment",), ("fibre",), ("strength",), ("basis",), ("source_id",)),
        CLAIM_OPTIONAL
        | {"with_what", "strength", "clarity", "words", "reads_as", "side", "stage", "month", *_LAB},
    ),
    "leaf_stages": TableSpec(
        {"id": int, "taxon_id": str, "stage": str, "share": float, **CLAIM, "note": str},
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("stage",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "handling": TableSpec(
        {"id": int, "taxon_id": str, "needs": str, **CLAIM, "note": str},
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("needs",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "lightfastness": TableSpec(
        {"id": int, "taxon_id": str, "treatment": str, "fibre": str, "scale": str, "grade": str, **CLAIM},
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("scale",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "local_notes": TableSpec(
        {"id": int, "taxon_id": str, "rule": str, "regions": str, **CLAIM},
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("rule",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "estimates": TableSpec(
        {
            "taxon_id": str, "part": str, "treatment": str, "fibre": str, **_LAB, "hex": str, "name": str,
            "spread": float, "strength": float, "grade": str, "p_none": float, "p_trace": float, "p_partial": float,
            "p_clear": float, "p_full": float, "best_layer": str, "layers": int, "rests_on": str,
        },
        ("taxon_id", "part", "treatment", "fibre"),
        (OF_TAXON,),
        (("treatment",), ("fibre",), ("grade",), ("best_layer",), ("name",)),
        frozenset({*_LAB, "hex", "name", "spread", "best_layer"}),
    ),
}  # fmt: skip

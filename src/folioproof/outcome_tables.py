"""The tables of contributed outcomes, and the views that give them in the terms of Darwin Core."""

from __future__ import annotations

from .table_spec import OF_TAXON, TableSpec

_OPTIONAL = frozenset(
    {
        "latitude", "longitude", "substrate", "temperature_c", "minutes", "transferred", "bleed", "edge_width_mm",
        "lab_l", "lab_a", "lab_b", "lab_spread", "colour_name", "block", "photo", "light_scale", "light_grade",
        "light_hours", "reaction_note", "review_note", "reviewed_on", "note",
    }
)  # fmt: skip

OUTCOME_TABLES: dict[str, TableSpec] = {
    "outcomes": TableSpec(
        {
            "id": str, "taxon_id": str, "part": str, "stage": str, "side": str, "state": str, "date": str, "year": int,
            "month": int, "region": str, "country": str, "latitude": float, "longitude": float, "treatment": str,
            "fibre": str, "substrate": str, "method": str, "temperature_c": float, "minutes": float, "grade": int,
            "strength": str, "clarity": str, "transferred": float, "bleed": float, "edge_width_mm": float,
            "lab_l": float, "lab_a": float, "lab_b": float, "lab_spread": float, "colour_name": str, "block": int,
            "colour_basis": str, "photo": str, "light_scale": str, "light_grade": str, "light_hours": float,
            "contributor": str, "licence": str, "reaction": str, "reaction_note": str, "review_flag": int,
            "review_note": str, "reviewed_on": str, "invented": int, "note": str, "name_as_given": str,
        },
        "id",
        (OF_TAXON, ("block", "colour_names", "number"), ("substrate", "materials", "id")),
        (
            ("taxon_id",), ("treatment",), ("fibre",), ("strength",), ("country",), ("region",), ("contributor",),
            ("licence",), ("reaction",), ("review_flag",), ("block",), ("substrate",),
        ),
        _OPTIONAL,
    ),
    "outcome_materials": TableSpec(
        {"id": int, "outcome_id": str, "material_id": str, "strength": float, "unit": str, "applied_to": str},
        "id",
        (("outcome_id", "outcomes", "id"), ("material_id", "materials", "id")),
        (("outcome_id",), ("material_id",), ("applied_to",)),
        frozenset({"material_id", "strength", "unit"}),
    ),
}  # fmt: skip

# A tenth of a degree is 11.1 km of latitude; the furthest corner of such a cell is 7.9 km from its middle.
_UNCERTAINTY_M = 7900

_DARWIN_CORE = f"""
    SELECT outcomes.id AS occurrenceID, 'HumanObservation' AS basisOfRecord,
        CASE WHEN outcomes.invented THEN 'invented for a demonstration' ELSE 'folioproof outcomes' END AS datasetName,
        outcomes.contributor AS recordedBy,
        CASE outcomes.licence WHEN 'CC0-1.0' THEN 'http://creativecommons.org/publicdomain/zero/1.0/legalcode'
            ELSE 'http://creativecommons.org/licenses/by/4.0/legalcode' END AS license,
        outcomes.date AS eventDate, outcomes.year AS year, outcomes.month AS month,
        outcomes.country AS countryCode, outcomes.region AS stateProvince,
        outcomes.latitude AS decimalLatitude, outcomes.longitude AS decimalLongitude,
        iif(outcomes.latitude IS NULL, NULL, 'EPSG:4326') AS geodeticDatum,
        iif(outcomes.latitude IS NULL, NULL, {_UNCERTAINTY_M}) AS coordinateUncertaintyInMeters,
        iif(outcomes.latitude IS NULL, NULL, '0.1 degree') AS dataGeneralizations,
        outcomes.taxon_id AS taxonID, taxa.scientific_name AS scientificName, taxa.rank AS taxonRank,
        outcomes.name_as_given AS verbatimIdentification, nullif(outcomes.stage, 'unknown') AS lifeStage,
        outcomes.part || ', ' || outcomes.state || iif(outcomes.side = 'unknown', '', ', ' || outcomes.side || ' face')
            || coalesce('. ' || outcomes.note, '') AS occurrenceRemarks,
        'contact print: ' || outcomes.method || ' on ' || outcomes.fibre || ', treatment ' || outcomes.treatment
            || iif(outcomes.temperature_c IS NULL, '', printf(', %g degrees C', outcomes.temperature_c))
            || iif(outcomes.minutes IS NULL, '', printf(', %g minutes', outcomes.minutes)) AS samplingProtocol,
        outcomes.photo AS associatedMedia
    FROM outcomes JOIN taxa ON taxa.id = outcomes.taxon_id"""  # noqa: S608 - a number of ours

#: What is measured -> the SQL of its value, its unit, and how it was come by.
_MEASURED = {
    "strength of print": ("strength", "NULL", "'five grades by eye'"),
    "clarity of print": ("nullif(clarity, 'unknown')", "NULL", "'by eye'"),
    "share of the shape transferred": ("transferred", "NULL", "NULL"),
    "bleed beyond the edge": ("bleed", "'share of the area of the shape'", "NULL"),
    "width of the edge": ("edge_width_mm", "'mm'", "NULL"),
    "CIELAB L* (D65, 2 degrees)": ("lab_l", "NULL", "colour_basis"),
    "CIELAB a* (D65, 2 degrees)": ("lab_a", "NULL", "colour_basis"),
    "CIELAB b* (D65, 2 degrees)": ("lab_b", "NULL", "colour_basis"),
    "ISCC-NBS colour name": ("colour_name", "NULL", "colour_basis"),
    "lightfastness": ("light_grade", "NULL", "light_scale"),
}


def _measurements() -> str:
    rows = (
        f"SELECT id AS occurrenceID, '{kind}' AS measurementType, {value} AS measurementValue, "  # noqa: S608
        f"{unit} AS measurementUnit, {method} AS measurementMethod FROM outcomes WHERE {value} IS NOT NULL"
        for kind, (value, unit, method) in _MEASURED.items()
    )
    return " UNION ALL ".join(rows)


OUTCOME_VIEWS = {"darwin_core": _DARWIN_CORE, "darwin_core_measurements": _measurements()}

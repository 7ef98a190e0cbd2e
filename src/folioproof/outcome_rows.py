"""From contributed outcomes to rows of the database, and back to what a new outcome may point to."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any

from .colorimetry import ColourNames, Lab, fold, from_hex
from .corpus import Corpus
from .outcome_record import UNKNOWN, OutcomeRecord, Result, latest_day
from .outcome_rules import Known
from .printing_rows import colour_names
from .vocabulary import ColourBasis, MaterialKind, Rank

Row = dict[str, Any]
_SAME = (
    "id", "part", "stage", "side", "state", "region", "country", "treatment", "fibre", "substrate", "method", "minutes",
    "contributor", "licence", "reaction", "reaction_note", "invented", "note", "name_as_given",
)  # fmt: skip
_OF_RESULT = ("strength", "clarity", "transferred", "bleed", "edge_width_mm", "lab_spread", "colour_basis", "photo")


def outcome_rows(corpus: Corpus) -> Iterator[tuple[str, list[Row]]]:
    """Yield the tables of the outcomes with their rows, in the order of the ids."""
    names = colour_names(corpus)
    records = sorted((entry.record for entry in corpus.outcomes), key=lambda record: record.id)
    yield "outcomes", [_outcome_row(record, names) for record in records]
    used = (
        {
            "outcome_id": record.id,
            "material_id": None if mordant.material == UNKNOWN else mordant.material,
            "strength": None if mordant.strength == UNKNOWN else mordant.strength,
            "unit": mordant.unit,
            "applied_to": mordant.where,
        }
        for record in records
        for mordant in record.mordants
    )
    yield "outcome_materials", [{"id": number, **row} for number, row in enumerate(used, start=1)]


def _outcome_row(record: OutcomeRecord, names: ColourNames) -> Row:
    latitude, longitude = record.coordinates or (None, None)
    light, review = record.lightfastness, record.review
    return {
        **{key: getattr(record, key) for key in _SAME},
        **{key: getattr(record.result, key) for key in _OF_RESULT},
        **_colour(record.result, names),
        "taxon_id": record.taxon,
        "date": record.date.isoformat(),
        "year": record.date.year,
        "month": record.date.month,
        "latitude": latitude,
        "longitude": longitude,
        "temperature_c": round(record.temperature.celsius, 1) if record.temperature else None,
        "grade": record.result.strength.number,
        "light_scale": light.scale if light else None,
        "light_grade": light.grade if light else None,
        "light_hours": light.hours if light else None,
        "review_flag": record.is_flagged,
        "review_note": review.note if review else None,
        "reviewed_on": review.on.isoformat() if review else None,
    }


def colour_of(result: Result, names: ColourNames) -> Lab | None:
    """Return the colour of a print in CIELAB, by the key that its basis names."""
    if result.colour_basis is ColourBasis.HEX and result.hex:
        return from_hex(result.hex)
    if result.colour_basis is ColourBasis.COLOUR_NAME and result.colour_name:
        found = names.find(result.colour_name)
        return found.lab if found else None
    return Lab(*result.lab) if result.lab and result.colour_basis is not ColourBasis.NONE else None


def _colour(result: Result, names: ColourNames) -> Row:
    lab = colour_of(result, names)
    if lab is None:
        return dict.fromkeys(("lab_l", "lab_a", "lab_b", "colour_name", "block"))
    nearest = names.nearest(lab)
    coordinates = {f"lab_{key}": round(v, 2) for key, v in zip("lab", (lab.lightness, lab.a, lab.b), strict=True)}
    return {**coordinates, "colour_name": nearest.name, "block": nearest.number}


def read_known(connection: sqlite3.Connection) -> Known:
    """Return what an outcome may point to, as the built file has it."""
    return Known(
        ranks={row["id"]: Rank(row["rank"]) for row in connection.execute("SELECT id, rank FROM taxa")},
        materials={
            row["id"]: MaterialKind(row["kind"]) for row in connection.execute("SELECT id, kind FROM materials")
        },
        colours=frozenset(fold(row["name"]) for row in connection.execute("SELECT name FROM colour_names")),
        today=latest_day(),
    )

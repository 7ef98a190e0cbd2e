"""From the records of dyes, colours and seasons to rows of the database, the estimates among them."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Any

from .colorimetry import ColourName, ColourNames, Lab, to_hex
from .corpus import Corpus
from .database_printing import read_knowledge, read_priors
from .estimates import Estimate
from .expectation import dyes_of, expect
from .printing import Printing
from .vocabulary import FIBRES, TREATMENTS, Part

Row = dict[str, Any]
_LAB = ("lab_l", "lab_a", "lab_b")


def colour_names(corpus: Corpus) -> ColourNames:
    """Return the standard names that the records were read with."""
    named = (each for entry in corpus.colour_names for each in entry.record.names)
    return ColourNames([ColourName(n.number, n.name, Lab(*n.lab), n.hex) for n in named])


def printing_rows(corpus: Corpus) -> Iterator[tuple[str, list[Row]]]:
    """Yield the tables of colour and season with their rows, referenced tables first."""
    names = colour_names(corpus)
    yield from _shared_rows(corpus, names)
    blocks = [(e.record.id, e.record.printing) for e in corpus.taxa if e.record.printing is not None]
    keys = ("habit", "climate", "leaf_shape", "grows_in")
    yield "printing", [{"taxon_id": taxon, **{k: getattr(block, k) for k in keys}} for taxon, block in blocks]
    dyes = ({"taxon_id": t, **_cited(d), "dye_class_id": d.dye_class} for t, block in blocks for d in block.dyes)
    yield "dyes", _numbered(dyes)
    yield "colours", _numbered(_colour_rows(blocks, names))
    for table, key in (
        ("leaf_stages", "stages"),
        ("handling", "handling"),
        ("lightfastness", "lightfastness"),
        ("local_notes", "local_notes"),
    ):
        yield table, _numbered({"taxon_id": t, **_cited(each)} for t, block in blocks for each in getattr(block, key))


def _shared_rows(corpus: Corpus, names: ColourNames) -> Iterator[tuple[str, list[Row]]]:
    """Yield the tables that belong to no one plant: colour names and words, continents, dye classes."""
    yield (
        "colour_names",
        [
            {"number": n.number, "name": n.name, "hex": n.hex, **_lab((n.lab.lightness, n.lab.a, n.lab.b))}
            for n in names.names
        ],
    )
    words = (each for entry in corpus.colour_words for each in entry.record.words)
    yield "colour_words", [{"word": each.word, "name": each.name} for each in words]
    yield (
        "continents",
        [
            {"code": code, "country": country}
            for entry in corpus.continents
            for code, countries in entry.record.continents.items()
            for country in countries
        ],
    )
    yield "dye_classes", [{k: getattr(e.record, k) for k in ("id", "name", "nature")} for e in corpus.dye_classes]
    yield (
        "class_priors",
        _numbered(
            {"dye_class_id": e.record.id, **_cited(prior), **_lab(prior.lab)}
            for e in corpus.dye_classes
            for prior in e.record.priors
        ),
    )


def _colour_rows(blocks: list[tuple[str, Printing]], names: ColourNames) -> Iterator[Row]:
    for taxon, block in blocks:
        for said in block.colours:
            read = names.find(said.reads_as) if said.reads_as else None
            lab = said.lab or ((read.lab.lightness, read.lab.a, read.lab.b) if read else None)
            yield {"taxon_id": taxon, **_cited(said), **_lab(lab), "measured": said.lab is not None}


def _cited(claim: Any) -> Row:
    row = {field: getattr(claim, field) for field in claim.__dataclass_fields__}
    return row | {"source_id": row.pop("source")}


def _lab(lab: tuple[float, float, float] | None) -> Row:
    return dict(zip(_LAB, lab or (None, None, None), strict=True))


def _numbered(rows: Iterator[Row]) -> list[Row]:
    return [{"id": number, **row} for number, row in enumerate(rows, start=1)]


def estimate_rows(connection: sqlite3.Connection, names: ColourNames) -> Iterator[Row]:
    """Yield the estimate of every plant that has a printing record, by the same rule that answers a question."""
    priors = read_priors(connection)
    for (taxon,) in connection.execute("SELECT taxon_id FROM printing ORDER BY taxon_id").fetchall():
        known = read_knowledge(connection, taxon)
        parts = [Part.LEAF]
        if dyes_of(known, Part.FLOWER) or any(told.statement.part is Part.FLOWER for told in known.told):
            parts.append(Part.FLOWER)
        for part in parts:
            for treatment in TREATMENTS:
                for fibre in FIBRES:
                    yield _estimate_row(taxon, expect(known, priors, treatment, fibre, part), names)


def _estimate_row(taxon: str, found: Estimate, names: ColourNames) -> Row:
    lab = found.lab
    return {
        "taxon_id": taxon,
        "part": found.part,
        "treatment": found.treatment,
        "fibre": found.fibre,
        **_lab((round(lab.lightness, 2), round(lab.a, 2), round(lab.b, 2)) if lab else None),
        "hex": to_hex(lab) if lab else None,
        "name": names.nearest(lab).name if lab else None,
        "spread": round(found.spread, 2) if found.spread is not None else None,
        "strength": round(found.strength, 3),
        "grade": found.grade,
        **dict(
            zip(
                ("p_none", "p_trace", "p_partial", "p_clear", "p_full"),
                [round(p, 4) for p in found.posterior],
                strict=True,
            )
        ),
        "best_layer": found.layers[0].kind if found.layers else None,
        "layers": len(found.layers),
        "rests_on": found.rests_on,
    }

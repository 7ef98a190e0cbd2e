"""Reading contributed evidence back from the built SQLite file, by plain SQL on a read-only connection."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from .estimates import Contributed
from .evidence import CountRow, Evidence, contributed, evidence
from .evidence_colour import BlockRow
from .evidence_season import MonthEvidence, monthly
from .expectation import strength
from .finding import RefusedInputError
from .vocabulary import Fibre, Part, Treatment

Key = tuple[Part, Treatment, Fibre]

_OF_KEY = "taxon_id = ? AND part = ? AND treatment = ? AND fibre = ?"


def read_contributed(connection: sqlite3.Connection, taxon_id: str) -> dict[Key, Contributed]:
    """Return what contributed prints of the whole world add to the estimates of one plant."""
    counts: dict[Key, list[CountRow]] = defaultdict(list)
    for row in connection.execute("SELECT * FROM evidence_counts WHERE taxon_id = ?", (taxon_id,)):
        counts[_key(row)].append(_count_row(row))
    if not counts:
        return {}
    blocks: dict[Key, list[BlockRow]] = defaultdict(list)
    for row in connection.execute("SELECT * FROM evidence_blocks WHERE taxon_id = ?", (taxon_id,)):
        blocks[_key(row)].append(_block_row(row))
    found = ((key, contributed(rows, blocks[key])) for key, rows in counts.items())
    return {key: layer for key, layer in found if layer is not None}


def evidence_of(
    connection: sqlite3.Connection,
    taxon_id: str,
    part: Part,
    treatment: Treatment,
    fibre: Fibre,
    country: str | None = None,
    region: str | None = None,
    month: int | None = None,
) -> Evidence | None:
    """Return what contributed prints say of a place, and of a month there; None without a print anywhere.

    What the record itself expects is where the numbers start from. A month is refused without a place, since it is
    summer on one half of the earth and winter on the other.
    """
    if month is not None and country is None and region is None:
        raise RefusedInputError("a month says nothing without a country or a region")
    key = (taxon_id, part.value, treatment.value, fibre.value)
    counts = connection.execute(f"SELECT * FROM evidence_counts WHERE {_OF_KEY}", key).fetchall()  # noqa: S608
    if not counts:
        return None
    blocks = connection.execute(f"SELECT * FROM evidence_blocks WHERE {_OF_KEY}", key).fetchall()  # noqa: S608
    prior = _record_expects(connection, taxon_id, part, treatment, fibre)
    return evidence(map(_count_row, counts), prior, map(_block_row, blocks), country, region, month)


def months_of(
    connection: sqlite3.Connection, taxon_id: str, part: Part, country: str, region: str | None = None
) -> tuple[MonthEvidence, ...]:
    """Return the months in which a part was printed at a place, whatever the treatment and fibre."""
    sql = "SELECT * FROM evidence_counts WHERE taxon_id = ? AND part = ? AND country = ?"
    return monthly(_rows(connection.execute(sql, (taxon_id, part.value, country))), country, region)


def _record_expects(
    connection: sqlite3.Connection, taxon_id: str, part: Part, treatment: Treatment, fibre: Fibre
) -> tuple[float, ...]:
    # What is known of a plant is read with its contributed prints, by `read_contributed` above.
    from .database_printing import read_knowledge, read_priors

    known = replace(read_knowledge(connection, taxon_id), contributed={})
    return strength(known, read_priors(connection), treatment, fibre, part)


def _rows(rows: Iterable[sqlite3.Row]) -> list[CountRow]:
    return [_count_row(row) for row in rows]


def _key(row: sqlite3.Row) -> Key:
    return Part(row["part"]), Treatment(row["treatment"]), Fibre(row["fibre"])


def _count_row(row: sqlite3.Row) -> CountRow:
    counts = (row["n0"], row["n1"], row["n2"], row["n3"], row["n4"])
    return CountRow(row["country"], row["region"], row["month"], row["contributor"], counts)


def _block_row(row: sqlite3.Row) -> BlockRow:
    keys = ("country", "region", "contributor", "block", "n", "sum_l", "sum_a", "sum_b")
    return BlockRow(*(row[key] for key in keys))

"""Reading contributed evidence back from the built SQLite file, by plain SQL on a read-only connection."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from .estimates import Contributed
from .evidence import CountRow, Evidence, contributed, evidence
from .evidence_colour import BlockRow
from .evidence_season import MonthEvidence, monthly
from .expectation import strength
from .finding import RefusedInputError
from .vocabulary import Fibre, Part, Treatment

Key = tuple[Part, Treatment, Fibre]

_OF_KEY = "taxon_id = ? AND part = ? AND treatment = ? AND fibre = ?"
#: The columns of `CountRow` and `BlockRow`, in their order.
_COUNTS = "country, region, month, contributor, n0, n1, n2, n3, n4"
_BLOCKS = "country, region, contributor, block, n, sum_l, sum_a, sum_b"


def read_contributed(connection: sqlite3.Connection, taxon_id: str) -> dict[Key, Contributed]:
    """Return what contributed prints of the whole world add to the estimates of one plant."""
    sql = f"SELECT part, treatment, fibre, {_COUNTS} FROM evidence_counts WHERE taxon_id = ?"  # noqa: S608
    counts: dict[tuple[str, str, str], list[CountRow]] = defaultdict(list)
    for part, treatment, fibre, *rest in connection.execute(sql, (taxon_id,)):
        counts[part, treatment, fibre].append(_count_row(rest))
    if not counts:
        return {}
    sql = f"SELECT part, treatment, fibre, {_BLOCKS} FROM evidence_blocks WHERE taxon_id = ?"  # noqa: S608
    blocks: dict[tuple[str, str, str], list[BlockRow]] = defaultdict(list)
    for part, treatment, fibre, *rest in connection.execute(sql, (taxon_id,)):
        blocks[part, treatment, fibre].append(BlockRow(*rest))
    found = ((key, contributed(rows, blocks[key])) for key, rows in counts.items())
    return {(Part(p), Treatment(t), Fibre(f)): layer for (p, t, f), layer in found if layer is not None}


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
    sql = f"SELECT {_COUNTS} FROM evidence_counts WHERE {_OF_KEY}"  # noqa: S608
    counts = [_count_row(row) for row in connection.execute(sql, key)]
    if not counts:
        return None
    sql = f"SELECT {_BLOCKS} FROM evidence_blocks WHERE {_OF_KEY}"  # noqa: S608
    blocks = [BlockRow(*row) for row in connection.execute(sql, key)]
    prior = _record_expects(connection, taxon_id, part, treatment, fibre)
    return evidence(counts, prior, blocks, country, region, month)


def months_of(
    connection: sqlite3.Connection, taxon_id: str, part: Part, country: str, region: str | None = None
) -> tuple[MonthEvidence, ...]:
    """Return the months in which a part was printed at a place, whatever the treatment and fibre."""
    sql = f"SELECT {_COUNTS} FROM evidence_counts WHERE taxon_id = ? AND part = ? AND country = ?"  # noqa: S608
    rows = [_count_row(row) for row in connection.execute(sql, (taxon_id, part.value, country))]
    return monthly(rows, country, region)


def _record_expects(
    connection: sqlite3.Connection, taxon_id: str, part: Part, treatment: Treatment, fibre: Fibre
) -> tuple[float, ...]:
    # What is known of a plant is read with its contributed prints, by `read_contributed` above.
    from .database_printing import read_knowledge, read_priors

    known = replace(read_knowledge(connection, taxon_id), contributed={})
    return strength(known, read_priors(connection), treatment, fibre, part)


def _count_row(row: Sequence[Any]) -> CountRow:
    country, region, month, contributor, *counts = row
    none, trace, partial, clear, full = counts
    return CountRow(country, region, month, contributor, (none, trace, partial, clear, full))

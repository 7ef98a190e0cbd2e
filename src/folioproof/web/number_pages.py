"""How good the records are, in numbers, and what changed in them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import asdict
from itertools import groupby
from typing import Any

from ..tallies import Days, Number, Tally
from ..vocabulary import Basis
from .asked import Answer, Asked
from .handling import with_json


def numbers(asked: Asked) -> Answer:
    """Show how many claims rest on what, how much is covered, and what is missing."""
    found = asked.desk.reading.tally()
    values = {"tally": found, "claims": claims_table(found), "bases": [each.value for each in Basis]}
    return Answer("numbers", values, numbers_json(found))


def claims_table(found: Tally) -> list[dict[str, Any]]:
    """Return one row for each kind of claim, with its counts by basis."""
    table = []
    for (claim, name), rows in groupby(found.claims, key=lambda row: (row["claim"], row["in_table"])):
        counts = {row["basis"]: row["claims"] for row in rows}
        table.append({"claim": claim, "table": name, "counts": counts, "total": sum(counts.values())})
    return sorted(table, key=lambda row: -row["total"])


def numbers_json(found: Tally) -> dict[str, Any]:
    """Return the numbers as plain JSON values."""

    def plain(each: Number | Days) -> dict[str, Any]:
        return asdict(each)

    lists = {key: list(map(plain, getattr(found, key))) for key in ("layers", "coverage", "missing", "days")}
    rows = ("claims", "strengths", "source_kinds", "top_sources", "levels", "families")
    return {**{key: getattr(found, key) for key in rows}, **lists}


def changes(asked: Asked) -> Answer:
    """List what changed in the records, the rules and the program, newest first, by day."""
    found = [row | {"plants": json.loads(row["plants"])} for row in asked.desk.reading.changes()]
    by_day = [(day, list(rows)) for day, rows in groupby(found, key=lambda row: row["changed_on"])]
    return Answer("changes", {"by_day": by_day, "count": len(found)}, {"changes": found})


Route = tuple[str, Callable[[Asked], Answer]]

#: Address pattern -> page; the table of routes wraps each in its request handler.
PAGES: tuple[Route, ...] = ((with_json("numbers"), numbers), (with_json("changes"), changes))

"""Which plants must be left out, for a company and a region: the commonest first, each with its reason."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from .assessment import Reason
from .finding import RefusedInputError
from .text import visible
from .vocabulary import Company, Level

if TYPE_CHECKING:
    from .reference import Reference

#: Rules that speak of what a plant does, not of who is in the room or how little is known.
_OF_HARM = ("S04", "S05", "S06", "S07")
_MOST_TAKEN_FOR = 3
#: A printing record counts as so many names and sources: what printmakers use is met at their tables. Our own choice.
PRINTING_COUNTS = 20


class Ground(StrEnum):
    """Why a plant stands on the list; in this order."""

    EVERYONE = "left out by everyone"
    COMPANY = "left out in this company, for what it does"
    THIN = "left out in this company, for want of evidence"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One plant that is left out, and what its place on the list rests on. `grows_here` is None where unknown."""

    id: str
    scientific_name: str
    common_name: str | None
    family: str
    ground: Ground
    grows_here: bool | None
    voices: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """One plant of the list as it is shown."""

    standing: Standing
    reason: str
    taken_for: tuple[str, ...]


# `voices`: how many names and sources speak of a plant, which says how common it is.
_PLANTS = """
    SELECT taxa.id, taxa.scientific_name, taxa.common_name, family.scientific_name AS family,
        adults.level AS adults_level, adults.thin_evidence, printing.grows_in,
        (SELECT count(*) FROM names WHERE names.taxon_id = taxa.id)
            + (SELECT count(DISTINCT source_id) FROM hazards WHERE hazards.taxon_id = taxa.id)
            + (SELECT count(DISTINCT source_id) FROM names JOIN name_sources ON name_id = names.id
                WHERE names.taxon_id = taxa.id) AS voices,
        (SELECT json_group_array(DISTINCT country.value) FROM names, json_each(names.regions) AS country
            WHERE names.taxon_id = taxa.id AND names.regions <> '[]') AS named_in
    FROM taxa JOIN levels AS adults ON adults.taxon_id = taxa.id AND adults.company = 'adults'
    LEFT JOIN printing ON printing.taxon_id = taxa.id LEFT JOIN taxa AS family ON family.id = taxa.family_id
    WHERE taxa.rank NOT IN ('genus', 'family')"""

_TAKEN_FOR = """
    SELECT DISTINCT pair.own, coalesce(taxa.common_name, taxa.scientific_name) AS name
    FROM (SELECT taxon_id AS own, other_id AS other FROM look_alikes
        UNION SELECT other_id, taxon_id FROM look_alikes) AS pair
    JOIN taxa ON taxa.id = pair.other WHERE pair.own IN (SELECT value FROM json_each(?)) ORDER BY pair.own, name"""


def left_out(
    reference: Reference,
    company: frozenset[Company],
    regions: frozenset[str] = frozenset(),
    family: str | None = None,
) -> list[Standing]:
    """Return every plant that is left out in this company, the commonest of each ground first.

    `regions` are codes of botanical continents: plants that are recorded for other regions only are not listed, and
    those of which nothing is recorded come last. Raises RefusedInputError for an unknown family.
    """
    store = reference.prints.store
    levels, countries = store.levels(company), _countries(reference, regions)
    rows = [row for row in reference.prints.shelf.rows(_PLANTS) if levels[row["id"]] is Level.LEAVE_OUT]
    if family is not None:
        rows = _of_family(reference, rows, family)
    found = [_standing(row, regions, countries) for row in rows]
    grounds = list(Ground)
    return sorted(
        (each for each in found if each.grows_here is not False),
        key=lambda s: (grounds.index(s.ground), s.grows_here is None, -s.voices, s.scientific_name),
    )


def described(reference: Reference, company: frozenset[Company], plants: Sequence[Standing]) -> list[LeftOut]:
    """Return these plants with the reason for each and what it is taken for."""
    others: dict[str, list[str]] = {}
    for row in reference.prints.shelf.rows(_TAKEN_FOR, json.dumps([each.id for each in plants])):
        others.setdefault(row["own"], []).append(row["name"])
    return [
        LeftOut(
            standing=each,
            reason=plain_reason(reference.assess(each.id, company).reasons, Level.LEAVE_OUT),
            taken_for=tuple(others.get(each.id, ())[:_MOST_TAKEN_FOR]),
        )
        for each in plants
    ]


def plain_reason(reasons: Sequence[Reason], level: Level) -> str:
    """Return in one sentence why the level is what it is: what the plant does before who is in the room."""
    deciding = [each for each in reasons if each.level is level and not each.code.startswith("N")]
    own = [each for each in deciding if each.code != "S08"]
    if own:
        return own[0].text
    weighed = [held for each in deciding for held in each.claims]
    harm = [each for each in reasons if each.code in _OF_HARM]
    meant = [each for each in harm if any(held in weighed for held in each.claims)]
    thin = [each for each in reasons if each.code == "S09"]
    for each in (*meant, *thin, *harm, *deciding, *reasons):
        return each.text
    return "nobody has assessed it: leave it out until someone has"


def _standing(row: sqlite3.Row, regions: frozenset[str], countries: frozenset[str]) -> Standing:
    if row["adults_level"] == Level.LEAVE_OUT:
        ground = Ground.EVERYONE
    else:
        ground = Ground.THIN if row["thin_evidence"] else Ground.COMPANY
    return Standing(
        id=row["id"],
        scientific_name=row["scientific_name"],
        common_name=row["common_name"],
        family=row["family"] or "family not stated",
        ground=ground,
        grows_here=_grows(row, regions, countries) if regions else None,
        voices=row["voices"] + (PRINTING_COUNTS if row["grows_in"] is not None else 0),
    )


def _grows(row: sqlite3.Row, regions: frozenset[str], countries: frozenset[str]) -> bool | None:
    """A name used in a region speaks for it, but names used elsewhere do not speak against it."""
    grows_in = json.loads(row["grows_in"] or "[]")
    if regions & set(grows_in) or countries & set(json.loads(row["named_in"])):
        return True
    return False if grows_in else None


def _countries(reference: Reference, regions: frozenset[str]) -> frozenset[str]:
    sql = "SELECT country FROM continents WHERE code IN (SELECT value FROM json_each(?))"
    return frozenset(row[0] for row in reference.prints.shelf.rows(sql, json.dumps(sorted(regions))))


def _of_family(reference: Reference, rows: Iterable[sqlite3.Row], family: str) -> list[Any]:
    known = {row[0] for row in reference.prints.shelf.rows("SELECT scientific_name FROM taxa WHERE rank = 'family'")}
    wanted = family.strip().capitalize()
    if wanted not in known:
        raise RefusedInputError(f"family: {visible(family)[:40]!r} is not in the records; write one such as Rosaceae")
    return [row for row in rows if row["family"] == wanted]

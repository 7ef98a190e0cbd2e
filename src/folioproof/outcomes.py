"""What others got: contributed prints of a plant, by place and month, and what a curator is to look at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from .database_evidence import evidence_of, months_of
from .evidence import Evidence
from .evidence_season import MonthEvidence, moved_strip
from .phenology import MonthStrength
from .places import Place
from .print_answers import Swatch
from .prints import Prints
from .vocabulary import FIBRES, TREATMENTS, Fibre, Part, Treatment

Row = dict[str, Any]

_LATEST = """SELECT id, date, region, treatment, fibre, strength, clarity, stage, method, minutes, colour_name,
    contributor, licence, reaction, note, invented
    FROM outcomes WHERE taxon_id = ?1 AND part = ?2 {near} ORDER BY date DESC, id LIMIT {most}"""
_TALLY = """SELECT region, country, count(*) AS prints, count(DISTINCT contributor) AS people,
    count(DISTINCT taxon_id) AS plants, min(date) AS first, max(date) AS last FROM outcomes
    GROUP BY region ORDER BY prints DESC, region"""
_FLAGGED = """SELECT outcomes.id, taxon_id, scientific_name, date, region, reaction, reaction_note, contributor,
    invented FROM outcomes JOIN taxa ON taxa.id = taxon_id WHERE review_flag ORDER BY date DESC, outcomes.id"""
_CLEARED = """SELECT outcomes.id, taxon_id, scientific_name, reaction, review_note, reviewed_on, invented
    FROM outcomes JOIN taxa ON taxa.id = taxon_id WHERE reviewed_on IS NOT NULL AND NOT review_flag
    ORDER BY reviewed_on DESC, outcomes.id"""
_COUNTS = """SELECT count(*) AS prints, count(DISTINCT contributor) AS people, count(DISTINCT taxon_id) AS plants,
    coalesce(sum(invented), 0) AS invented FROM outcomes"""


@dataclass(frozen=True, slots=True)
class Got:
    """What prints under one treatment on one fibre came to, with the colour as it is shown."""

    treatment: Treatment
    fibre: Fibre
    evidence: Evidence
    swatch: Swatch | None


@dataclass(frozen=True, slots=True)
class Others:
    """What others got with one part of a plant: by treatment and fibre, by month, and the latest prints one by one."""

    prints: int
    people: int
    got: tuple[Got, ...]
    months: tuple[MonthEvidence, ...]
    latest: tuple[Row, ...]
    disagreements: tuple[str, ...]


def others_got(prints: Prints, taxon_id: str, part: Part, place: Place | None, most: int = 12) -> Others | None:
    """Return what contributed prints say, near `place` where somebody printed there; None without a print."""
    total = prints.shelf.rows(
        "SELECT count(*), count(DISTINCT contributor) FROM outcomes WHERE taxon_id = ? AND part = ?",
        taxon_id,
        part.value,
    )[0]
    if not total[0]:
        return None
    country = place.country if place else None
    region = place.subdivision if place else None
    got = tuple(_got(prints, taxon_id, part, country, region))
    return Others(
        prints=total[0],
        people=total[1],
        got=got,
        months=_months(prints, taxon_id, part, country, region),
        latest=_latest(prints, taxon_id, part, country, most),
        disagreements=tuple(_disagreements(got)),
    )


def _got(prints: Prints, taxon_id: str, part: Part, country: str | None, region: str | None) -> list[Got]:
    found = []
    for treatment in TREATMENTS:
        for fibre in FIBRES:
            seen = prints.shelf.reading(
                lambda c, t=treatment, f=fibre: evidence_of(c, taxon_id, part, t, f, country, region)  # type: ignore[misc]
            )
            if seen is not None:
                colour = seen.colour
                swatch = prints.swatch(colour.lab, colour.spread) if colour else None
                found.append(Got(treatment, fibre, seen, swatch))
    return found


def _months(
    prints: Prints, taxon_id: str, part: Part, country: str | None, region: str | None
) -> tuple[MonthEvidence, ...]:
    if country is None:
        return ()
    return prints.shelf.reading(lambda connection: months_of(connection, taxon_id, part, country, region))


def _latest(prints: Prints, taxon_id: str, part: Part, country: str | None, most: int) -> tuple[Row, ...]:
    here = _LATEST.format(near="AND country = ?3", most=most)
    rows = prints.shelf.rows(here, taxon_id, part.value, country) if country else []
    return tuple(
        dict(row) for row in rows or prints.shelf.rows(_LATEST.format(near="", most=most), taxon_id, part.value)
    )


def _disagreements(got: tuple[Got, ...]) -> Iterator[str]:
    """Yield where prints and record differ beyond the interval; one printmaker alone never says so."""
    for each in got:
        if each.evidence.disagrees and each.evidence.people > 1:
            metal = "No metal" if each.treatment is Treatment.NONE else each.treatment.capitalize()
            yield f"{metal} on {each.fibre}: {each.evidence.words[1]}"


def moved(months: tuple[MonthStrength, ...], others: Others | None) -> tuple[MonthStrength, ...]:
    """Return the year of a plant, moved by what was printed near in each month."""
    return moved_strip(months, others.months) if others and months else months


def tallies(prints: Prints) -> tuple[Row, list[Row]]:
    """Return how many prints, people and plants there are, and the same by region."""
    return dict(prints.shelf.rows(_COUNTS)[0]), [dict(row) for row in prints.shelf.rows(_TALLY)]


def to_review(prints: Prints) -> tuple[list[Row], list[Row]]:
    """Return the prints whose flag waits for a curator, and those that a curator has cleared with a dated note."""
    return [dict(row) for row in prints.shelf.rows(_FLAGGED)], [dict(row) for row in prints.shelf.rows(_CLEARED)]

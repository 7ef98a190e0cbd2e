"""Two built files side by side: which levels, plants, claims and estimates differ.

A file of an older shape is read as far as it goes.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from .colorimetry import Lab, difference
from .database import build_facts, connect, read_facts, read_tables
from .finding import RefusedInputError
from .safety import assess
from .schema import SCHEMA_VERSION
from .tally_views import CLAIM_TABLES
from .vocabulary import Company, Level, Part, State

#: A colour has moved when it is further off than this by CIEDE2000, a strength when it is more than a grade off.
COLOUR_MOVED, STRENGTH_MOVED = 5.0, 1.0

#: Columns that number or fold a row and say nothing of their own.
_NOT_SAID = {"id", "folded", "sound"}
_ESTIMATE = ("taxon_id", "part", "treatment", "fibre", "lab_l", "lab_a", "lab_b", "name", "strength")

LevelKey = tuple[str, str]
EstimateKey = tuple[str, str, str, str]


@dataclass(frozen=True, slots=True)
class PlantLevel:
    """A level as a file holds it, with its first reason."""

    level: str
    reason: str


@dataclass(frozen=True, slots=True)
class Expected:
    """An estimate as a file holds it."""

    lab: Lab | None
    name: str | None
    strength: float


@dataclass(frozen=True, slots=True)
class Held:
    """What one file holds, as far as it is compared; `claims` by table: what is said, and on what basis."""

    version: str
    names: dict[str, str]
    levels: dict[LevelKey, PlantLevel]
    columns: dict[str, tuple[str, ...]] = field(default_factory=dict)
    claims: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    estimates: dict[EstimateKey, Expected] | None = None


@dataclass(frozen=True, slots=True)
class LevelChange:
    """A plant whose level differs in one company, with why it is what it is now, and who says so if that is known."""

    taxon_id: str
    name: str
    company: str
    old: str
    new: str
    reason: str
    sources: tuple[str, ...] = ()

    @property
    def is_graver(self) -> bool:
        """Whether the new level asks for more care than the old one did; a word not known here counts as grave."""
        return _rank(self.new) > _rank(self.old)


@dataclass(frozen=True, slots=True)
class ClaimChange:
    """How many claims of one kind and basis were added and removed; one that was reworded counts as both."""

    claim: str
    table: str
    basis: str
    added: int
    removed: int


@dataclass(frozen=True, slots=True)
class EstimateChange:
    """An estimate that moved; `apart` is the CIEDE2000 difference where both files give a colour."""

    taxon_id: str
    name: str
    part: str
    treatment: str
    fibre: str
    old_colour: str | None
    new_colour: str | None
    apart: float | None
    old_strength: float
    new_strength: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Everything that differs, sorted; `not_compared` names the tables that one of the files lacks."""

    old_version: str
    new_version: str
    levels: tuple[LevelChange, ...]
    new_plants: tuple[tuple[str, str], ...]
    gone_plants: tuple[tuple[str, str], ...]
    claims: tuple[ClaimChange, ...]
    estimates: tuple[EstimateChange, ...]
    not_compared: tuple[str, ...]


def compare_files(old: Path, new: Path) -> Comparison:
    """Compare two built files; raises RefusedInputError for a file that is missing or not one of ours."""
    before, after = read_held(old), read_held(new)
    found = compare(before, after)
    cited = _sources(new, found.levels)
    levels = (replace(each, sources=cited.get((each.taxon_id, each.company), ())) for each in found.levels)
    return replace(found, levels=tuple(levels))


# -- pure ------------------------------------------------------------------------------------------------------------


def compare(old: Held, new: Held) -> Comparison:
    """Compare what two files hold, as far as both hold it."""
    names = {**old.names, **new.names}
    return Comparison(
        old_version=old.version,
        new_version=new.version,
        levels=tuple(_level_changes(old, new, names)),
        new_plants=_only_in(new.names, old.names),
        gone_plants=_only_in(old.names, new.names),
        claims=tuple(_claim_changes(old, new)),
        estimates=tuple(_estimate_changes(old, new, names)),
        not_compared=tuple(_not_compared(old, new)),
    )


def _rank(level: str) -> int:
    return Level(level).rank if level in set(Level) else len(Level)


def _only_in(these: dict[str, str], those: dict[str, str]) -> tuple[tuple[str, str], ...]:
    return tuple(sorted(((each, these[each]) for each in these.keys() - those.keys()), key=lambda pair: pair[1]))


def _level_changes(old: Held, new: Held, names: dict[str, str]) -> Iterator[LevelChange]:
    """Yield the levels that differ, those that rose first: they are what a reader must not miss."""
    order = {company.value: i for i, company in enumerate(Company)}
    found = [
        LevelChange(taxon, names.get(taxon, taxon), company, old.levels[taxon, company].level, now.level, now.reason)
        for (taxon, company), now in new.levels.items()
        if (taxon, company) in old.levels and old.levels[taxon, company].level != now.level
    ]
    yield from sorted(found, key=lambda c: (not c.is_graver, c.name, order.get(c.company, len(order)), c.company))


def _claim_changes(old: Held, new: Held) -> Iterator[ClaimChange]:
    for table, word in CLAIM_TABLES.items():
        if table not in old.columns or table not in new.columns:
            continue
        shared = [column for column in new.columns[table] if column in old.columns[table]]
        before, after = _said(old.claims[table], shared), _said(new.claims[table], shared)
        added, removed = _by_basis(after - before), _by_basis(before - after)
        for basis in sorted(added.keys() | removed.keys()):
            yield ClaimChange(word, table, basis, added[basis], removed[basis])


def _said(rows: Iterable[dict[str, Any]], columns: list[str]) -> Counter[tuple[Any, ...]]:
    return Counter((row["basis"], *(row[column] for column in columns)) for row in rows)


def _by_basis(said: Counter[tuple[Any, ...]]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for row, times in said.items():
        counts[row[0]] += times
    return counts


def _estimate_changes(old: Held, new: Held, names: dict[str, str]) -> Iterator[EstimateChange]:
    both = (old.estimates or {}).keys() & (new.estimates or {}).keys()
    found = []
    for key in both:
        before, after = (old.estimates or {})[key], (new.estimates or {})[key]
        if before == after:
            continue
        apart = difference(before.lab, after.lab) if before.lab and after.lab else None
        colour_moved = apart > COLOUR_MOVED if apart is not None else before.lab != after.lab
        if colour_moved or abs(after.strength - before.strength) > STRENGTH_MOVED:
            taxon, part, treatment, fibre = key
            colours, strengths = (before.name, after.name), (before.strength, after.strength)
            found.append(EstimateChange(taxon, names[taxon], part, treatment, fibre, *colours, apart, *strengths))
    yield from sorted(found, key=lambda e: (e.name, e.part, e.treatment, e.fibre))


def _not_compared(old: Held, new: Held) -> Iterator[str]:
    yield from (table for table in CLAIM_TABLES if table not in old.columns or table not in new.columns)
    if old.estimates is None or new.estimates is None:
        yield "estimates"


# -- reading ---------------------------------------------------------------------------------------------------------


def read_held(path: Path) -> Held:
    """Read what is compared from one built file, whatever version built it."""
    if not path.is_file():
        raise RefusedInputError(f"{path}: there is no such file")
    try:
        connection = connect(path)
        try:
            return _held(connection)
        finally:
            connection.close()
    except (sqlite3.Error, ValueError, TypeError):
        raise RefusedInputError(f"{path}: this is not a folioproof database") from None


def _held(connection: sqlite3.Connection) -> Held:
    facts = build_facts(connection)
    names = dict(connection.execute("SELECT id, scientific_name FROM taxa").fetchall())
    why = "reason" if "reason" in _columns(connection, "levels") else "''"
    levels = {
        (str(taxon), str(company)): PlantLevel(str(level), str(reason))
        for taxon, company, level, reason in connection.execute(f"SELECT taxon_id, company, level, {why} FROM levels")  # noqa: S608
    }
    columns: dict[str, tuple[str, ...]] = {}
    claims: dict[str, list[dict[str, Any]]] = {}
    for table in CLAIM_TABLES:
        has = _columns(connection, table)
        if {"taxon_id", "basis"} <= has:
            columns[table] = tuple(sorted(has - _NOT_SAID))
            claims[table] = [dict(row) for row in connection.execute(f"SELECT * FROM {table}")]  # noqa: S608
    version = facts.get("content_sha256", "unknown")[:12]
    return Held(version, names, levels, columns, claims, _estimates(connection))


def _columns(connection: sqlite3.Connection, table: str) -> set[str]:
    return {row[1] for row in connection.execute(f'PRAGMA table_info("{table}")')}


def _estimates(connection: sqlite3.Connection) -> dict[EstimateKey, Expected] | None:
    if not set(_ESTIMATE) <= _columns(connection, "estimates"):
        return None
    found = {}
    for row in connection.execute(f"SELECT {', '.join(_ESTIMATE)} FROM estimates"):  # noqa: S608 - columns of ours
        taxon, part, treatment, fibre, light, a, b, name, strength = row
        lab = None if light is None else Lab(float(light), float(a), float(b))
        found[taxon, part, treatment, fibre] = Expected(lab, name, float(strength))
    return found


def _sources(path: Path, changes: Iterable[LevelChange]) -> dict[LevelKey, tuple[str, ...]]:
    """Return the sources behind some levels of a file; none where its shape, or a group's worst member, hides them."""
    connection = connect(path)
    try:
        if build_facts(connection).get("schema_version") != str(SCHEMA_VERSION):
            return {}
        tables = read_tables(connection)
        found = {}
        for change in changes:
            facts = read_facts(connection, change.taxon_id)
            who = frozenset({Company.ADULTS, Company(change.company)})
            answer = assess(facts, tables, part=Part.LEAF, state=State.ANY, company=who)
            if answer.level == change.new:
                deciding = [held for r in answer.reasons if r.level is answer.level for held in r.claims]
                cited = {held.claim.source for held in deciding if held.claim.source}
                searched = {source for search in facts.searches for source in search.sources}
                found[change.taxon_id, change.company] = tuple(sorted(cited or searched))
        return found
    finally:
        connection.close()

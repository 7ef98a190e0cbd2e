"""Reading facts back from the built SQLite file, by plain SQL on a read-only connection."""

from __future__ import annotations

import json
import sqlite3
from collections import defaultdict
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

from .assessment import Facts, Held, Neighbour, Tables
from .claims import Agent, AirFact, AllClear, Carries, HazardClaim, HeatFact, LookAlike, Searched
from .vocabulary import (
    AirEffect,
    Audience,
    Basis,
    Company,
    HeatEffect,
    Level,
    Part,
    Rank,
    Route,
    Severity,
    State,
    Step,
    Strength,
)


def connect(path: Path) -> sqlite3.Connection:
    """Open the built file read-only; may be used from several threads, one statement at a time."""
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro&immutable=1", uri=True, check_same_thread=False)
    connection.row_factory = sqlite3.Row
    return connection


def build_facts(connection: sqlite3.Connection) -> dict[str, str]:
    """Return the build table: versions, hashes and counts."""
    return dict(connection.execute("SELECT key, value FROM build").fetchall())


def _parts(text: str) -> tuple[Part, ...]:
    return tuple(map(Part, json.loads(text)))


def read_agents(connection: sqlite3.Connection) -> dict[str, Agent]:
    """Return every agent by id."""
    return {row["id"]: _agent(row) for row in connection.execute("SELECT * FROM agents ORDER BY id")}


def _agent(row: sqlite3.Row) -> Agent:
    def basis(text: str | None) -> Basis | None:
        return Basis(text) if text else None

    heat = HeatFact(
        value=HeatEffect(row["heat"]),
        basis=basis(row["heat_basis"]),
        source=row["heat_source_id"],
        locator=row["heat_locator"],
        note=row["heat_note"],
    )
    air = AirFact(
        value=AirEffect(row["air"]),
        basis=basis(row["air_basis"]),
        source=row["air_source_id"],
        locator=row["air_locator"],
        note=row["air_note"],
    )
    flags = {key: bool(row[key]) for key in ("hard_stop", "weak_kin", "poison_vapour", "stings")}
    return Agent(id=row["id"], name=row["name"], nature=row["nature"], heat=heat, air=air, **flags)


def read_tables(connection: sqlite3.Connection) -> Tables:
    """Return the vocabularies that the safety rules read."""
    reach: dict[str, dict[str, set[str]]] = {"part": defaultdict(set), "state": defaultdict(set)}
    for row in connection.execute("SELECT kind, asked, counts FROM reach"):
        reach[row["kind"]][row["asked"]].add(row["counts"])
    exposures = connection.execute("SELECT route, severity, adults, company FROM exposures")
    precautions = connection.execute("SELECT * FROM precautions ORDER BY id").fetchall()

    def of(kind: str) -> list[sqlite3.Row]:
        return [row for row in precautions if row["kind"] == kind]

    return Tables(
        parts={Part(asked): frozenset(map(Part, counts)) for asked, counts in reach["part"].items()},
        states={State(asked): frozenset(map(State, counts)) for asked, counts in reach["state"].items()},
        levels={
            (Route(row["route"]), Severity(row["severity"])): (Level(row["adults"]), Level(row["company"]))
            for row in exposures
        },
        always=tuple((Step(row["step"]), row["text"]) for row in of("always")),
        by_route=tuple(
            (Route(row["subject"]), Step(row["step"]), Severity(row["at_least"]), row["text"]) for row in of("route")
        ),
        by_vapour=tuple((row["subject"], Step(row["step"]), row["text"]) for row in of("vapour")),
        by_company=tuple((Company(row["subject"]), Step(row["step"]), row["text"]) for row in of("company")),
        agents=read_agents(connection),
    )


def _hazard(row: sqlite3.Row) -> HazardClaim:
    return HazardClaim(
        route=Route(row["route"]),
        severity=Severity(row["severity"]),
        parts=_parts(row["parts"]),
        state=State(row["state"]),
        agent=row["agent_id"],
        audience=Audience(row["audience"]),
        strength=Strength(row["strength"]),
        basis=Basis(row["basis"]),
        source=row["source_id"],
        locator=row["locator"],
        as_published=row["as_published"],
        onset=row["onset"],
        note=row["note"],
    )


def _all_clear(row: sqlite3.Row) -> AllClear:
    return AllClear(
        audience=Audience(row["audience"]),
        parts=_parts(row["parts"]),
        apart_from=tuple(map(Route, json.loads(row["apart_from"]))),
        basis=Basis(row["basis"]),
        source=row["source_id"],
        locator=row["locator"],
        as_published=row["as_published"],
        note=row["note"],
    )


def _carries(row: sqlite3.Row) -> Carries:
    return Carries(
        agent=row["agent_id"],
        parts=_parts(row["parts"]),
        basis=Basis(row["basis"]),
        source=row["source_id"],
        locator=row["locator"],
    )


_READERS: dict[str, Callable[[sqlite3.Row], HazardClaim | AllClear | Carries]] = {
    "hazards": _hazard,
    "all_clears": _all_clear,
    "carries": _carries,
}

#: A taxon, its genus, family, parents, and the species of a subspecies: whose claims count for it.
HOLDERS = """
    WITH holders(id) AS (
        SELECT ?1 UNION SELECT genus_id FROM taxa WHERE id = ?1 UNION SELECT family_id FROM taxa WHERE id = ?1
        UNION SELECT parent_id FROM taxon_parents WHERE taxon_id = ?1
        UNION SELECT species.id FROM taxa AS own JOIN taxa AS species ON own.id LIKE species.id || '-%'
            WHERE own.id = ?1 AND own.rank IN ('subspecies', 'variety') AND species.rank = 'species'
    )"""


def _held(connection: sqlite3.Connection, table: str, taxon_id: str) -> tuple[Held, ...]:
    sql = f"""{HOLDERS} SELECT claim.*, taxa.id AS holder_id, taxa.scientific_name, taxa.rank FROM {table} AS claim
        JOIN holders ON holders.id = claim.taxon_id JOIN taxa ON taxa.id = claim.taxon_id
        ORDER BY claim.taxon_id <> ?1, claim.id"""  # noqa: S608 - the table name is one of ours
    read = _READERS[table]
    return tuple(
        Held(read(row), row["holder_id"], row["scientific_name"], Rank(row["rank"]))
        for row in connection.execute(sql, (taxon_id,))
    )


_GENUS_HAZARD = """
    SELECT EXISTS (SELECT 1 FROM taxa AS sibling JOIN hazards ON hazards.taxon_id = sibling.id
        WHERE (sibling.genus_id = ?1 OR sibling.id = ?1)
            AND hazards.audience = 'people' AND hazards.severity <> 'minor'
            AND NOT (hazards.severity = 'ungraded' AND hazards.route = 'skin irritant'
                AND hazards.strength <> 'described'))"""


def read_facts(connection: sqlite3.Connection, taxon_id: str) -> Facts:
    """Return everything the safety rules may know about one taxon."""
    genus = connection.execute("SELECT coalesce(genus_id, id) FROM taxa WHERE id = ?", (taxon_id,)).fetchone()
    searches = connection.execute("SELECT * FROM searches WHERE taxon_id = ? ORDER BY searched_on", (taxon_id,))
    return Facts(
        taxon_id=taxon_id,
        hazards=_held(connection, "hazards", taxon_id),
        all_clears=_held(connection, "all_clears", taxon_id),
        carries=_held(connection, "carries", taxon_id),
        searches=tuple(
            Searched(
                on=date.fromisoformat(row["searched_on"]),
                sources=tuple(json.loads(row["sources"])),
                note=row["note"],
            )
            for row in searches
        ),
        neighbours=_neighbours(connection, taxon_id),
        genus_has_hazard=bool(connection.execute(_GENUS_HAZARD, (genus[0],)).fetchone()[0]),
        reactions=_reactions(connection, taxon_id),
    )


def _reactions(connection: sqlite3.Connection, taxon_id: str) -> tuple[str, ...]:
    """Return what makers reported and no curator has cleared, oldest first, each in a few words."""
    sql = f"""{HOLDERS} SELECT reaction, reaction_note, date FROM outcomes JOIN holders ON holders.id = taxon_id
        WHERE review_flag ORDER BY date, outcomes.id"""  # noqa: S608 - HOLDERS is ours
    return tuple(
        f"{'print' if row['reaction'] == 'none' else row['reaction']} of {row['date']}"
        + (f": {row['reaction_note']}" if row["reaction_note"] else "")
        for row in connection.execute(sql, (taxon_id,))
    )


def _neighbours(connection: sqlite3.Connection, taxon_id: str) -> tuple[Neighbour, ...]:
    """Return look-alikes with their levels; none while the levels table is still being filled."""
    sql = """SELECT look_alikes.*, taxa.scientific_name, adults.level AS level, taught.level AS taught FROM look_alikes
        JOIN taxa ON taxa.id = look_alikes.other_id
        JOIN levels AS adults ON adults.taxon_id = other_id AND adults.company = 'adults'
        JOIN levels AS taught ON taught.taxon_id = other_id AND taught.company = 'class'
        WHERE look_alikes.taxon_id = ? ORDER BY other_id"""
    return tuple(
        Neighbour(_look_alike(row), row["scientific_name"], Level(row["level"]), Level(row["taught"]))
        for row in connection.execute(sql, (taxon_id,))
    )


def _look_alike(row: sqlite3.Row) -> LookAlike:
    return LookAlike(
        taxon=row["other_id"],
        tell_apart=row["tell_apart"],
        basis=Basis(row["basis"]),
        source=row["source_id"],
        locator=row["locator"],
    )


def rows(connection: sqlite3.Connection, sql: str, *values: Any) -> list[dict[str, Any]]:
    """Run one SELECT and return its rows as dictionaries."""
    return [dict(row) for row in connection.execute(sql, values)]

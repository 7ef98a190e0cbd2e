"""Reading dyes, colours and seasons back from the built SQLite file, by plain SQL on a read-only connection."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from .colorimetry import Lab
from .database import HOLDERS
from .database_evidence import read_contributed
from .estimates import HeldDye, Knowledge, Priors, Told
from .printing import ClassPrior, ColourStatement, Dye, HandlingNote, Lightfastness, LocalNote, StageStrength
from .vocabulary import (
    Basis,
    Clarity,
    Fibre,
    Grade,
    Handling,
    LeafSide,
    LightScale,
    LocalRule,
    Part,
    Process,
    Rank,
    Stage,
    State,
    Treatment,
)


def read_priors(connection: sqlite3.Connection) -> Priors:
    """Return what each dye class gives under each treatment on each fibre."""
    return {
        (row["dye_class_id"], Treatment(row["treatment"]), Fibre(row["fibre"])): ClassPrior(
            treatment=Treatment(row["treatment"]),
            fibre=Fibre(row["fibre"]),
            lab=(row["lab_l"], row["lab_a"], row["lab_b"]),
            spread=row["spread"],
            strength=Grade(row["strength"]),
            note=row["note"],
            **_cited(row),
        )
        for row in connection.execute("SELECT * FROM class_priors ORDER BY id")
    }


def read_knowledge(connection: sqlite3.Connection, taxon_id: str) -> Knowledge:
    """Return what an estimate may know about one taxon: its own record, its genus's and its family's.

    Contributed prints count for the very taxon only.
    """
    return Knowledge(
        taxon_id=taxon_id,
        dyes=tuple(HeldDye(_dye(row), Rank(row["rank"])) for row in _held(connection, "dyes", taxon_id)),
        told=tuple(_told(row) for row in _held(connection, "colours", taxon_id)),
        contributed=read_contributed(connection, taxon_id),
    )


def _held(connection: sqlite3.Connection, table: str, taxon_id: str) -> list[sqlite3.Row]:
    sql = f"""{HOLDERS} SELECT claim.*, taxa.rank, sources.maker FROM {table} AS claim
        JOIN holders ON holders.id = claim.taxon_id JOIN taxa ON taxa.id = claim.taxon_id
        LEFT JOIN sources ON sources.id = claim.source_id
        ORDER BY claim.taxon_id <> ?1, claim.id"""  # noqa: S608 - the table name is one of ours
    return connection.execute(sql, (taxon_id,)).fetchall()


def _cited(row: sqlite3.Row) -> dict[str, Any]:
    return {"basis": Basis(row["basis"]), "source": row["source_id"], "locator": row["locator"]}


def _dye(row: sqlite3.Row) -> Dye:
    parts = tuple(map(Part, json.loads(row["parts"])))
    return Dye(dye_class=row["dye_class_id"], parts=parts, compound=row["compound"], **_cited(row))


def _told(row: sqlite3.Row) -> Told:
    """Return a statement with its colour. A maker is one voice, a paper is one, and so is the craft as a whole."""
    coordinates = (row["lab_l"], row["lab_a"], row["lab_b"])
    known = row["lab_l"] is not None
    statement = ColourStatement(
        process=Process(row["process"]),
        part=Part(row["part"]),
        treatment=Treatment(row["treatment"]),
        with_what=row["with_what"],
        fibre=Fibre(row["fibre"]),
        strength=Grade(row["strength"]) if row["strength"] else None,
        clarity=Clarity(row["clarity"]) if row["clarity"] else None,
        words=row["words"],
        reads_as=row["reads_as"],
        lab=coordinates if row["measured"] else None,
        side=LeafSide(row["side"]) if row["side"] else None,
        stage=Stage(row["stage"]) if row["stage"] else None,
        state=State(row["state"]),
        month=row["month"],
        note=row["note"],
        **_cited(row),
    )
    voice = row["maker"] or row["source_id"] or row["basis"]
    return Told(statement, Lab(*coordinates) if known else None, voice, Rank(row["rank"]))


def read_stages(connection: sqlite3.Connection, taxon_id: str) -> tuple[StageStrength, ...]:
    """Return what the record says about strength by leaf stage."""
    return tuple(
        StageStrength(stage=Stage(row["stage"]), share=row["share"], note=row["note"], **_cited(row))
        for row in connection.execute("SELECT * FROM leaf_stages WHERE taxon_id = ? ORDER BY id", (taxon_id,))
    )


def read_handling(connection: sqlite3.Connection, taxon_id: str) -> tuple[HandlingNote, ...]:
    """Return what the leaf asks of the hand."""
    return tuple(
        HandlingNote(needs=Handling(row["needs"]), note=row["note"], **_cited(row))
        for row in connection.execute("SELECT * FROM handling WHERE taxon_id = ? ORDER BY id", (taxon_id,))
    )


def read_lightfastness(connection: sqlite3.Connection, taxon_id: str) -> tuple[Lightfastness, ...]:
    """Return what tests of lightfastness found, each on its scale."""
    return tuple(
        Lightfastness(
            treatment=Treatment(row["treatment"]),
            fibre=Fibre(row["fibre"]),
            scale=LightScale(row["scale"]),
            grade=row["grade"],
            **_cited(row),
        )
        for row in connection.execute("SELECT * FROM lightfastness WHERE taxon_id = ? ORDER BY id", (taxon_id,))
    )


def read_local_notes(connection: sqlite3.Connection, taxon_id: str) -> tuple[LocalNote, ...]:
    """Return where a rule is known to limit picking or carrying the plant."""
    return tuple(
        LocalNote(rule=LocalRule(row["rule"]), regions=tuple(json.loads(row["regions"])), **_cited(row))
        for row in connection.execute("SELECT * FROM local_notes WHERE taxon_id = ? ORDER BY id", (taxon_id,))
    )

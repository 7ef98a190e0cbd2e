"""From records to the SQLite file: built beside the old one and moved into place whole, or not at all."""

from __future__ import annotations

import gc
import json
import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import Enum
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from . import __version__
from .bulk_outcomes import load_outcomes
from .checks import check_corpus
from .claims import AllClear, Carries, HazardClaim, LookAlike, TaxonName
from .confusion import confusable_pairs, danger
from .corpus import Corpus, load
from .corpus_files import content_hash
from .database import read_facts, read_tables
from .evidence_sql import fill_evidence
from .finding import FindingsError, RefusedInputError
from .material_rows import material_tables
from .nomenclature import genus_of, rotations, taxon_id
from .outcome_rows import outcome_rows
from .printing_rows import colour_names, estimate_rows, printing_rows
from .records import AgentRecord, PrecautionRecord, TaxonRecord
from .safety import assess
from .schema import SCHEMA_VERSION, TABLES, VIEWS
from .text import FOLDING_VERSION, normalise, sound_key
from .vocabulary import Company, Level, NameKind, Part, Rank, State, worst

Row = dict[str, Any]
Progress = Callable[[str, int, int], None]

#: Without the tables no level is reached, and without the guards a dangerous name could look mild.
_INDISPENSABLE = ("taxa", "agents", "terms", "reach", "exposures", "precautions", "guards", "homonyms")


def build(
    root: Path, target: Path, progress: Progress | None = None, *, shared: Path | None = None, bulk: Path | None = None
) -> dict[str, str]:
    """Build from the records below `root`, the outcomes below `shared` and those in `bulk`; return the build table.

    Raises FindingsError when the records do not pass the checks; `target` is then left as it was. Two builds of the
    same records give the same bytes. `progress` is called with a stage, the work done and the work there is.
    """
    with _collector_paused():
        return _build(root, shared, bulk, target, progress or (lambda stage, done, total: None))


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Hold the cyclic garbage collector: a build makes millions of values and no cycles, and it would walk them all."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _build(root: Path, shared: Path | None, bulk: Path | None, target: Path, say: Progress) -> dict[str, str]:
    say("reading records", 0, 4)
    corpus = load(root, shared)
    say("checking records", 1, 4)
    findings = check_corpus(corpus)
    if findings:
        raise FindingsError(tuple(findings))
    if missing := [kind for kind in _INDISPENSABLE if not getattr(corpus, kind)]:
        raise RefusedInputError(f"{root}: there are no {' and no '.join(missing)}; no level can be reached without")
    say("filling tables", 2, 4)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    except OSError as error:
        raise RefusedInputError(f"{target}: the database cannot be written there ({error.strerror})") from None
    os.close(handle)
    part = Path(name)
    try:
        facts = _fill(part, corpus, bulk, say)
        part.chmod(0o644)
        part.replace(target)
    except sqlite3.IntegrityError as error:
        raise RefusedInputError(f"{root}: two records hold the same key ({error})") from None
    finally:
        part.unlink(missing_ok=True)
    say("done", 4, 4)
    return facts


def _fill(path: Path, corpus: Corpus, bulk: Path | None, say: Progress) -> dict[str, str]:
    connection = sqlite3.connect(path, isolation_level=None)
    connection.row_factory = sqlite3.Row
    db = Database(connection)
    try:
        for order in ("PRAGMA journal_mode = delete", "PRAGMA synchronous = off", "BEGIN"):
            db.execute(order)
        _create(db)
        for table, rows in _rows(corpus):
            _insert(db, table, rows)
        if bulk is not None:
            load_outcomes(connection, bulk, colour_names(corpus), say)
        fill_evidence(connection)
        say("reaching levels", 3, 4)
        _insert(db, "estimates", list(estimate_rows(connection, colour_names(corpus))))
        _insert(db, "levels", _with_worst_members(connection, list(_levels(connection))))
        _insert(db, "confusable_names", list(confusable_pairs(*_name_rows(connection))))
        facts = _build_facts(connection, corpus)
        _insert(db, "build", [{"key": key, "value": value} for key, value in facts.items()])
        db.execute("COMMIT")
        _finish(db)
    finally:
        connection.close()
    return facts


def _create(db: Database) -> None:
    for name, spec in TABLES.items():
        table = db.table(name)
        table.create(
            spec.columns,
            pk=spec.key,
            foreign_keys=list(spec.references) or None,
            not_null=set(spec.columns) - spec.optional,
            strict=True,
        )
        for columns in spec.indexes:
            table.create_index(columns)
    for name, sql in VIEWS.items():
        db.create_view(name, sql)


def _insert(db: Database, table: str, rows: list[Row]) -> None:
    """Insert plain rows; sqlite-utils' own insert inspects types row by row, which is slow for 40,000 names."""
    columns = list(TABLES[table].columns)
    marks = ", ".join("?" for _ in columns)
    quoted = ", ".join(f'"{column}"' for column in columns)
    statement = f'INSERT INTO "{table}" ({quoted}) VALUES ({marks})'  # noqa: S608 - our own table and columns
    db.conn.executemany(statement, ([_plain(row.get(column)) for column in columns] for row in rows))


def _plain(value: Any) -> Any:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple | list):
        return json.dumps(list(value), ensure_ascii=False)
    return value


def _finish(db: Database) -> None:
    db.table("names").enable_fts(["name"], tokenize="unicode61 remove_diacritics 2")
    broken = list(db.execute("PRAGMA foreign_key_check").fetchall())
    if broken:
        raise RefusedInputError(f"{len(broken)} rows point to nothing, the first in table {broken[0][0]}")
    db.execute("ANALYZE")
    db.execute("VACUUM")


# -- rows ---------------------------------------------------------------------------------------------------------


def _rows(corpus: Corpus) -> Iterator[tuple[str, list[Row]]]:
    """Yield table by table, referenced tables first."""
    yield "terms", list(_term_rows(corpus))
    yield "sources", [e.record.model_dump() for e in corpus.sources]
    yield "agents", [_agent_row(e.record) for e in corpus.agents]
    order = {Rank.FAMILY: 0, Rank.GENUS: 1}
    records = sorted((e.record for e in corpus.taxa), key=lambda r: (order.get(r.rank, 2), r.id))
    families = {r.id: r.family for r in records if r.rank is Rank.GENUS}
    yield "taxa", [_taxon_row(record, families) for record in records]
    yield "taxon_parents", [{"taxon_id": r.id, "parent_id": p} for r in records for p in r.parents]
    yield "names", (names := list(_names(records)))
    yield "name_sources", [{"name_id": n["id"], "source_id": s} for n in names for s in n["sources"]]
    yield "hazards", _numbered(_claim_row(r.id, c) for r in records for c in r.hazards)
    yield "all_clears", _numbered(_claim_row(r.id, c) for r in records for c in r.all_clears)
    yield "carries", _numbered(_claim_row(r.id, c) for r in records for c in r.carries)
    yield "look_alikes", [_claim_row(r.id, c) for r in records for c in r.look_alikes]
    searches = ({"taxon_id": r.id, "searched_on": s.on.isoformat(), "sources": s.sources, "note": s.note}
                for r in records for s in r.searches)  # fmt: skip
    yield "searches", _numbered(searches)
    yield from _table_rows(corpus)
    yield from material_tables(corpus)
    yield from printing_rows(corpus)
    yield from outcome_rows(corpus)


def _table_rows(corpus: Corpus) -> Iterator[tuple[str, list[Row]]]:
    reach = corpus.reach[0].record
    yield (
        "reach",
        [
            {"kind": kind, "asked": asked, "counts": each}
            for kind, table in (("part", reach.parts), ("state", reach.states))
            for asked, counts in table.items()
            for each in counts
        ],
    )
    yield "exposures", [e.model_dump() for e in corpus.exposures[0].record.exposures]
    yield "precautions", _numbered(_precaution_rows(corpus.precautions[0].record))
    lines = (line for entry in corpus.helplines for line in entry.record.lines)
    yield "helplines", _numbered({**line.model_dump(), "source_id": line.source} for line in lines)
    yield (
        "guards",
        _numbered(
            {"folded": normalise(w.word), "word": w.word, "kind": e.record.kind, "means": w.means, "why": e.record.why}
            for e in corpus.guards
            for w in e.record.words
        ),
    )
    yield (
        "homonyms",
        [
            {"folded": normalise(h.word), "word": h.word, "taxon_id": each}
            for e in corpus.homonyms
            for h in e.record.homonyms
            for each in h.taxa
        ],
    )
    asked = ((entry.record.basis, each) for entry in corpus.class_questions for each in entry.record.questions)
    yield "class_questions", [{"position": i, "basis": b, **q.model_dump()} for i, (b, q) in enumerate(asked, start=1)]
    changes = (change for entry in corpus.changes for change in entry.record.changes)
    yield "changes", _numbered({"changed_on": c.on.isoformat(), **c.model_dump()} for c in changes)
    facts = (fact for entry in corpus.process for fact in entry.record.facts)
    yield "process_facts", [{**f.model_dump(), "source_id": f.source} for f in facts]


def _precaution_rows(table: PrecautionRecord) -> list[Row]:
    return [
        *({"kind": "always", "step": p.step, "text": p.text} for p in table.always),
        *(
            {"kind": "route", "subject": p.route, "step": p.step, "at_least": p.at_least, "text": p.text}
            for p in table.by_route
        ),
        *({"kind": "vapour", "subject": p.air, "step": p.step, "text": p.text} for p in table.by_vapour),
        *({"kind": "company", "subject": p.company, "step": p.step, "text": p.text} for p in table.by_company),
    ]


def _numbered(rows: Iterator[Row] | list[Row] | Any) -> list[Row]:
    return [{"id": number, **row} for number, row in enumerate(rows, start=1)]


def _term_rows(corpus: Corpus) -> Iterator[Row]:
    for entry in corpus.terms:
        for vocabulary, terms in entry.record.vocabularies.items():
            for position, (term, definition) in enumerate(terms.items()):
                yield {"vocabulary": vocabulary, "term": term, "position": position, "definition": definition}


def _agent_row(record: AgentRecord) -> Row:
    row = record.model_dump(exclude={"heat", "air"})
    for key, fact in (("heat", record.heat), ("air", record.air)):
        row |= {
            key: fact.value,
            f"{key}_basis": fact.basis,
            f"{key}_source_id": fact.source,
            f"{key}_locator": fact.locator,
            f"{key}_note": fact.note,
        }
    return row


def _taxon_row(record: TaxonRecord, families: dict[str, str | None]) -> Row:
    genus = None if record.rank in (Rank.FAMILY, Rank.GENUS) else taxon_id(genus_of(record.scientific_name))
    family = record.family if genus is None else families[genus]
    return {
        "id": record.id,
        "scientific_name": record.scientific_name,
        "authorship": record.authorship,
        "rank": record.rank,
        "genus_id": genus,
        "family_id": family,
        "common_name": _common_name(record),
        "note": record.note,
    }


def _common_name(record: TaxonRecord) -> str | None:
    """Return one English name: the one that most sources print, then the one that most of the others are made of."""
    english = [n for n in record.names if n.language == "en" and "," not in n.name]

    def place(name: TaxonName) -> tuple[int, int, int, str]:
        made_of_it = sum(name.name.lower() in other.name.lower() for other in english)
        return -len(name.sources), -made_of_it, len(name.name), name.name

    best = min(english, key=place, default=None)
    return best.name if best else None


def _names(records: list[TaxonRecord]) -> Iterator[Row]:
    number = 0
    for record in records:
        own: Row = {"name": record.scientific_name, "kind": NameKind.ACCEPTED, "authorship": record.authorship}
        printed: list[Row] = [
            {
                "name": spelling, "kind": n.kind, "language": n.language, "regions": n.regions,
                "authorship": n.authorship, "shared": n.shared, "basis": n.basis, "sources": n.sources,
            }
            for n in record.names
            for spelling in rotations(n.name)
        ]  # fmt: skip
        for row in [own | {"basis": "memory", "sources": (), "regions": ()}, *printed]:
            number += 1
            folded = normalise(row["name"])
            yield {
                "id": number,
                "taxon_id": record.id,
                "shared": False,
                **row,
                "folded": folded,
                "sound": sound_key(folded),
            }


def _claim_row(owner: str, claim: HazardClaim | AllClear | Carries | LookAlike) -> Row:
    row = {field: getattr(claim, field) for field in claim.__dataclass_fields__}
    row["taxon_id"], row["source_id"], row["agent_id"] = owner, row.get("source"), row.get("agent")
    if isinstance(claim, LookAlike):
        row["other_id"] = claim.taxon
    return row


def _levels(connection: sqlite3.Connection) -> Iterator[Row]:
    """Yield the level of every leaf in each company, by the same rules that answer a question."""
    tables = read_tables(connection)
    for (each,) in connection.execute("SELECT id FROM taxa ORDER BY id").fetchall():
        facts = read_facts(connection, each)
        for company in Company:
            found = assess(facts, tables, part=Part.LEAF, state=State.ANY, company=frozenset({Company.ADULTS, company}))
            yield {
                "taxon_id": each,
                "company": company,
                "level": found.level,
                "own_level": found.level,
                "strength": found.strength,
                "thin_evidence": found.thin_evidence,
                "reason": found.reasons[0].text,
                "rule": found.reasons[0].code,
            }


def _with_worst_members(connection: sqlite3.Connection, rows: list[Row]) -> list[Row]:
    """Give a genus or family the worst level of its species: a table that is taken away must not make one look mild.

    Ordinary care is for a plant that is named exactly, so a mild genus reads not assessed, as the look-up answers.
    """
    taxa = connection.execute("SELECT id, genus_id, family_id, rank FROM taxa").fetchall()
    groups = {row["id"] for row in taxa if row["rank"] in (Rank.GENUS, Rank.FAMILY)}
    holders = {row["id"]: (row["id"], row["genus_id"], row["family_id"]) for row in taxa}
    held: dict[tuple[str, Company], list[Level]] = {}
    for row in rows:
        for holder in holders[row["taxon_id"]]:
            held.setdefault((holder, row["company"]), []).append(row["own_level"])
    raised = {"rule": "N04", "reason": "the worst of its species counts"}
    for i, row in enumerate(rows):
        if row["taxon_id"] in groups:
            level = worst(held[row["taxon_id"], row["company"]])
            level = Level.NOT_ASSESSED if level is Level.ORDINARY else level
            if level is not row["own_level"]:
                rows[i] = row | raised | {"level": level}
    return rows


def _name_rows(connection: sqlite3.Connection) -> tuple[list[tuple[str, str, str, str]], dict[str, int]]:
    names = connection.execute("SELECT folded, sound, name, taxon_id FROM names ORDER BY id").fetchall()
    sql = """SELECT adults.taxon_id, adults.own_level, taught.own_level FROM levels AS adults
        JOIN levels AS taught ON taught.taxon_id = adults.taxon_id AND taught.company = 'class'
        WHERE adults.company = 'adults'"""
    dangers = {taxon: danger(Level(adults), Level(taught)) for taxon, adults, taught in connection.execute(sql)}
    return [tuple(row) for row in names], dangers


def _build_facts(connection: sqlite3.Connection, corpus: Corpus) -> dict[str, str]:
    def count(table: str) -> str:
        return str(connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0])  # noqa: S608

    return {
        "generator": f"folioproof {__version__}",
        "schema_version": str(SCHEMA_VERSION),
        "folding_version": str(FOLDING_VERSION),
        "content_sha256": content_hash(corpus.root, corpus.shared),
        **{
            table: count(table) for table in ("taxa", "names", "hazards", "all_clears", "sources", "agents", "outcomes")
        },
    }

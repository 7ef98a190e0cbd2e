"""The open database as the reference uses it: rows read once and kept, names put into their index."""

from __future__ import annotations

import json
import sqlite3
import threading
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, TypeVar

from .answers import Source
from .assessment import Facts, Tables
from .claims import TaxonName
from .database import connect, read_facts, read_tables
from .finding import RefusedInputError
from .matches import Guard, IndexedName, IndexedTaxon
from .matching import NameIndex
from .schema import SCHEMA_VERSION
from .text import FOLDING_VERSION, Folded
from .vocabulary import Basis, GuardKind, Level, NameKind, Rank

T = TypeVar("T")


class Shelf:
    """One built file, open for reading. May be shared between threads: each reading holds the lock."""

    def __init__(self, path: Path) -> None:
        """Open `path`; raises RefusedInputError when it is missing, no database of ours, or of another shape."""
        if not path.is_file():
            raise RefusedInputError(f"{path}: there is no database; run `folioproof build -o {path}`")
        self._lock = threading.RLock()
        self._connection = connect(path)
        try:
            known = dict(self._connection.execute("SELECT key, value FROM build").fetchall())
        except sqlite3.DatabaseError:
            self._connection.close()
            raise RefusedInputError(f"{path}: this is not a folioproof database; build one anew") from None
        versions = (known.get("schema_version"), known.get("folding_version"))
        if versions != (str(SCHEMA_VERSION), str(FOLDING_VERSION)):
            self._connection.close()
            raise RefusedInputError(f"{path}: built by another version; run `folioproof build -o {path}`")
        self.build = known
        self.tables = cache(self._tables)
        self.taxon = lru_cache(maxsize=8192)(self._taxon)

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def _tables(self) -> Tables:
        with self._lock:
            return read_tables(self._connection)

    def facts(self, taxon_id: str) -> Facts:
        """Return what the safety rules may know about a taxon."""
        with self._lock:
            return read_facts(self._connection, taxon_id)

    def _taxon(self, taxon_id: str) -> dict[str, Any] | None:
        sql = """SELECT taxa.*, family.scientific_name AS family FROM taxa
            LEFT JOIN taxa AS family ON family.id = taxa.family_id WHERE taxa.id = ?"""
        row = next(iter(self.rows(sql, taxon_id.encode(errors="replace").decode())), None)
        return dict(row) if row else None

    def rows(self, sql: str, *values: str) -> list[sqlite3.Row]:
        """Run one SELECT under the lock and return its rows."""
        with self._lock:
            return self._connection.execute(sql, values).fetchall()

    def reading(self, read: Callable[[sqlite3.Connection], T]) -> T:
        """Call `read` with the connection, under the lock."""
        with self._lock:
            return read(self._connection)

    def member_ids(self, taxon_id: str, rank: Rank) -> list[str]:
        """Return the ids of the species of a genus, or of the genera of a family."""
        column = {Rank.GENUS: "genus_id", Rank.FAMILY: "family_id"}.get(rank)
        if column is None:
            return []
        only = "AND rank = 'genus'" if rank is Rank.FAMILY else ""
        sql = f"SELECT id FROM taxa WHERE {column} = ? {only} ORDER BY id"  # noqa: S608 - column is one of two words
        return [row[0] for row in self.rows(sql, taxon_id)]

    def names_of(self, taxon_id: str) -> tuple[TaxonName, ...]:
        """Return the names of one taxon, the accepted one first."""
        sql = """SELECT names.*, json_group_array(source_id) FILTER (WHERE source_id IS NOT NULL) AS sources
            FROM names LEFT JOIN name_sources ON name_id = names.id WHERE taxon_id = ?
            GROUP BY names.id ORDER BY names.id"""
        return tuple(
            TaxonName(
                name=row["name"],
                kind=NameKind(row["kind"]),
                language=row["language"],
                regions=tuple(json.loads(row["regions"])),
                authorship=row["authorship"],
                shared=bool(row["shared"]),
                basis=Basis(row["basis"]),
                sources=tuple(json.loads(row["sources"])),
            )
            for row in self.rows(sql, taxon_id)
        )

    def sources(self, ids: Iterable[str]) -> tuple[Source, ...]:
        """Return the named sources, sorted by id."""
        wanted = json.dumps(sorted(set(ids)))
        sql = "SELECT id, citation, url, read FROM sources WHERE id IN (SELECT value FROM json_each(?)) ORDER BY id"
        return tuple(Source(*row) for row in self.rows(sql, wanted))

    def name_index(self) -> NameIndex:
        """Return the index of all names, from the forms computed when the file was built."""
        with self._lock:
            return self._name_index(self._connection.execute)

    def _name_index(self, run: Callable[[str], Iterable[Any]]) -> NameIndex:
        kinds = {kind.value: kind for kind in NameKind}
        names = (
            IndexedName(Folded(f), s, name, kinds[kind], language, authors, taxon, bool(shared))
            for f, s, name, kind, language, authors, taxon, shared in run(
                "SELECT folded, sound, name, kind, language, authorship, taxon_id, shared FROM names ORDER BY id"
            )
        )
        taxa = (
            IndexedTaxon(each, rank == Rank.GENUS, level == Level.LEAVE_OUT)
            for each, rank, level in run(
                "SELECT id, rank, own_level FROM taxa JOIN levels ON taxon_id = id AND company = 'class'"
            )
        )
        guards = (
            Guard(Folded(f), word, GuardKind(kind), means)
            for f, word, kind, means in run("SELECT folded, word, kind, means FROM guards ORDER BY id")
        )
        homonyms = run("SELECT folded, word, taxon_id FROM homonyms ORDER BY folded, taxon_id")
        alerts = run("SELECT folded, near_name, near_taxon_id FROM confusable_names WHERE edits <= 1 ORDER BY id")
        return NameIndex(names, taxa, guards, map(tuple, homonyms), map(tuple, alerts))

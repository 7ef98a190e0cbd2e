"""How a table of the built file is described."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TableSpec:
    """One table: columns with SQLite types, key, references, and the columns to index."""

    columns: dict[str, type]
    key: str | tuple[str, ...]
    references: tuple[tuple[str, str, str], ...] = ()
    indexes: tuple[tuple[str, ...], ...] = ()
    optional: frozenset[str] = frozenset()


#: The columns of everything that has a basis and may cite a source.
CLAIM: dict[str, type] = {"basis": str, "source_id": str, "locator": str}
CLAIM_OPTIONAL = frozenset({"source_id", "locator", "as_published", "onset", "note", "agent_id"})
OF_TAXON = ("taxon_id", "taxa", "id")
OF_SOURCE = ("source_id", "sources", "id")

"""What the name index is given and what it answers, as plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from .text import Folded
from .vocabulary import GuardKind, NameKind, Status


class IndexedName(NamedTuple):
    """A name as the index holds it: all forms were computed when the database was built."""

    folded: Folded
    sound: str
    name: str
    kind: NameKind
    language: str | None
    authorship: str | None
    taxon_id: str
    shared: bool = False


@dataclass(frozen=True, slots=True)
class IndexedTaxon:
    """What the index knows of a taxon: its genus, and whether a beginner must never be led to something milder."""

    taxon_id: str
    is_genus: bool
    dangerous: bool


@dataclass(frozen=True, slots=True)
class Guard:
    """A word that blocks an ordinary answer."""

    folded: Folded
    word: str
    kind: GuardKind
    means: str


@dataclass(frozen=True, slots=True)
class Hit:
    """One plant that the query may mean, and why."""

    taxon_id: str
    kind: str
    name: str
    distance: float
    explanation: str
    language: str | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """What a query may mean. `hits` are shown, best first; `radius` are all taxa whose level must be weighed."""

    status: Status
    hits: tuple[Hit, ...]
    radius: frozenset[str]
    guards: tuple[Guard, ...] = ()

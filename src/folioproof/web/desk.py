"""What the pages ask: the reference and the lists of one built file, opened once for each Datasette."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from ..finding import RefusedInputError
from ..reading import Reading
from ..reference import Reference

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette


@dataclass(frozen=True, slots=True)
class Desk:
    """One built file, open."""

    path: Path
    reference: Reference
    reading: Reading
    build: dict[str, str]

    @property
    def data_version(self) -> str:
        """The first twelve digits of the content hash: what a citation names."""
        return self.build["content_sha256"][:12]

    def database_name(self, datasette: Datasette) -> str:
        """Return the name under which Datasette shows the file's tables."""
        return next(name for name, db in datasette.databases.items() if db.path and Path(db.path) == self.path)


_DESKS: WeakKeyDictionary[Datasette, Desk | None] = WeakKeyDictionary()


def desk_of(datasette: Datasette) -> Desk | None:
    """Return the desk of this Datasette, or None when it serves no file of ours."""
    if datasette not in _DESKS:
        _DESKS[datasette] = _open(datasette)
    return _DESKS[datasette]


def _open(datasette: Datasette) -> Desk | None:
    for database in datasette.databases.values():
        if database.path is None or database.is_mutable:
            continue
        path = Path(database.path)
        try:
            reference = Reference(path)
        except RefusedInputError:
            continue
        reading = Reading(path)
        return Desk(path, reference, reading, reading.build())
    return None

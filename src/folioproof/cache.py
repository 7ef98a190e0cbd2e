"""The database in the user's cache folder: built on first use, built anew when the records changed."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path

from . import __version__
from .finding import RefusedInputError
from .schema import SCHEMA_VERSION
from .text import FOLDING_VERSION

Progress = Callable[[str, int, int], None]


def cache_folder() -> Path:
    """Return the folder for built databases; FOLIOPROOF_CACHE names another one."""
    if named := os.environ.get("FOLIOPROOF_CACHE"):
        return Path(named)
    from platformdirs import user_cache_path

    return user_cache_path("folioproof")


def _stamp_file(target: Path) -> Path:
    return target.with_suffix(".stamp")


def ready_database(progress: Progress | None = None) -> Path:
    """Return the path of a database that is in step with the records, building it if need be.

    Raises FindingsError when the records do not pass, RefusedInputError when the cache cannot be written.
    """
    from .corpus_files import data_root, stamp

    root = data_root()
    wanted = f"{__version__} {SCHEMA_VERSION} {FOLDING_VERSION} {root} {stamp(root)}"
    target = cache_folder() / "reference.db"
    if _is_current(target, wanted):
        return target
    from .loader import build

    build(root, target, progress)
    try:
        _stamp_file(target).write_text(wanted, encoding="utf-8")
    except OSError as error:
        raise RefusedInputError(f"{target.parent}: cannot be written ({error.strerror})") from None
    return target


def _is_current(target: Path, wanted: str) -> bool:
    try:
        if _stamp_file(target).read_text(encoding="utf-8") != wanted:
            return False
        connection = sqlite3.connect(f"{target.resolve().as_uri()}?mode=ro", uri=True)
        try:
            return connection.execute("SELECT count(*) FROM build").fetchone()[0] > 0
        finally:
            connection.close()
    except (OSError, sqlite3.Error):
        return False

"""The database in the user's cache folder: built on first use, built anew when the records changed."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable
from pathlib import Path

from . import __version__
from .corpus_files import data_root, shared_root, stamp
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
    root, shared = data_root(), shared_root()
    wanted = wanted_stamp(root, shared)
    target = cache_folder() / "reference.db"
    if not is_current(target, wanted):
        build_cached(root, shared, target, wanted, progress)
    return target


def rebuild(progress: Progress | None = None) -> dict[str, str]:
    """Build the cached database anew, whatever its state; return its build table. Raises as `ready_database`."""
    root, shared = data_root(), shared_root()
    return build_cached(root, shared, cache_folder() / "reference.db", wanted_stamp(root, shared), progress)


def build_cached(
    root: Path, shared: Path | None, target: Path, wanted: str, progress: Progress | None
) -> dict[str, str]:
    """Build `target` and leave beside it what it was built from; return its build table."""
    from .loader import build

    facts = build(root, target, progress, shared=shared)
    try:
        _stamp_file(target).write_text(wanted, encoding="utf-8")
    except OSError as error:
        raise RefusedInputError(f"{target.parent}: cannot be written ({error.strerror})") from None
    return facts


def wanted_stamp(root: Path, shared: Path | None) -> str:
    """Return what a database built from these records by this program is stamped with."""
    return f"{__version__} {SCHEMA_VERSION} {FOLDING_VERSION} {root} {shared} {stamp(root, shared)}"


def is_current(target: Path, wanted: str) -> bool:
    """Say whether `target` is whole and stamped with `wanted`."""
    try:
        if _stamp_file(target).read_text(encoding="utf-8") != wanted:
            return False
        connection = sqlite3.connect(f"{target.resolve().as_uri()}?mode=ro", uri=True)
        try:
            return bool(connection.execute("SELECT count(*) FROM build").fetchone()[0])
        finally:
            connection.close()
    except (OSError, sqlite3.Error):
        return False

"""Where the record files are, and whether they have changed. Light to import: nothing is parsed here."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from pathlib import Path

from .finding import RefusedInputError


def data_root() -> Path:
    """Return the folder of the records: the one inside the installed package, or the checkout's data/.

    FOLIOPROOF_DATA names another folder.
    """
    if named := os.environ.get("FOLIOPROOF_DATA"):
        root = Path(named)
        if not (root / "plants").is_dir():
            raise RefusedInputError(f"FOLIOPROOF_DATA: there is no folder {root / 'plants'}")
        return root
    here = Path(__file__).resolve().parent
    for root in (here / "_bundle" / "data", here.parent.parent / "data"):
        if (root / "plants").is_dir():
            return root
    raise RefusedInputError("the plant records are missing from this installation; install folioproof again")


def shared_root() -> Path | None:
    """Return the folder of contributed outcomes: the checkout's shared/, or None where folioproof is installed alone.

    FOLIOPROOF_SHARED names another folder.
    """
    if named := os.environ.get("FOLIOPROOF_SHARED"):
        root = Path(named)
        if not root.is_dir():
            raise RefusedInputError(f"FOLIOPROOF_SHARED: there is no folder {root}")
        return root
    root = Path(__file__).resolve().parent.parent.parent / "shared"
    return root if is_collection(root) else None


def is_collection(shared: Path) -> bool:
    """Say whether a folder of outcomes is the real collection, which stands beside data/ in a checkout."""
    shared = shared.resolve()
    return shared.name == "shared" and shared.is_dir() and (shared.parent / "data" / "plants").is_dir()


def metadata_file() -> Path:
    """Return Datasette's metadata.yml, which travels with the records."""
    here = Path(__file__).resolve().parent
    bundled = here / "_bundle" / "metadata.yml"
    return bundled if bundled.is_file() else here.parent.parent / "metadata.yml"


def record_files(root: Path) -> list[Path]:
    """Return every YAML file below `root`, sorted, so that each reading meets them in the same order."""
    return sorted(Path(folder, name) for folder, _, names in os.walk(root) for name in names if _is_yaml(name))


def _is_yaml(name: str) -> bool:
    return name.endswith((".yml", ".yaml")) and not name.startswith(".")


def shared_files(shared: Path) -> list[Path]:
    """Return every YAML file below `shared` but the template, sorted."""
    return [path for path in record_files(shared) if path != shared / "template.yml"]


def stamp(root: Path, shared: Path | None = None) -> str:
    """Return a quick fingerprint of the files' names, sizes and times: has anything been touched?"""
    digest = hashlib.sha256()
    for name, path in _named_files(root, shared):
        status = path.stat()
        digest.update(f"{name}\0{status.st_size}\0{status.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def content_hash(root: Path, shared: Path | None = None) -> str:
    """Return the SHA-256 of all record files, contributed ones too, names and contents: the version of the data."""
    digest = hashlib.sha256()
    for name, path in _named_files(root, shared):
        digest.update(f"{name}\0".encode())
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()


def _named_files(root: Path, shared: Path | None) -> Iterator[tuple[str, Path]]:
    for path in record_files(root):
        yield path.relative_to(root).as_posix(), path
    if shared is not None:
        for path in shared_files(shared):
            yield f"shared/{path.relative_to(shared).as_posix()}", path

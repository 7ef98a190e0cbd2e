"""Where the record files are, and whether they have changed. Light to import: nothing is parsed here."""

from __future__ import annotations

import hashlib
import os
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


def stamp(root: Path) -> str:
    """Return a quick fingerprint of the files' names, sizes and times: has anything been touched?"""
    digest = hashlib.sha256()
    for path in record_files(root):
        status = path.stat()
        digest.update(f"{path.relative_to(root)}\0{status.st_size}\0{status.st_mtime_ns}\n".encode())
    return digest.hexdigest()


def content_hash(root: Path) -> str:
    """Return the SHA-256 of all record files, names and contents: the version of the data."""
    digest = hashlib.sha256()
    for path in record_files(root):
        digest.update(f"{path.relative_to(root).as_posix()}\0".encode())
        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()

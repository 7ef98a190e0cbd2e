"""Fixtures that many tests share: the real records, built once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.corpus_files import data_root
from folioproof.loader import build


@pytest.fixture(scope="session")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("built") / "reference.db"
    build(data_root(), path)
    return path


@pytest.fixture(scope="session")
def reference(database: Path) -> Iterator[Reference]:
    with Reference.open(database) as opened:
        yield opened

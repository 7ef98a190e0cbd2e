"""Fixtures that many tests share: the real records and the invented demonstration, each built once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.corpus_files import data_root
from folioproof.demo import write_demo
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


@pytest.fixture(scope="session")
def demo_database(reference: Reference, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("demo")
    write_demo(reference.prints, folder / "shared" / "outcomes")
    build(data_root(), folder / "demo.db", shared=folder / "shared")
    return folder / "demo.db"

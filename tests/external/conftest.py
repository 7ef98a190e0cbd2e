"""Published lists as test cases, one for each row of a file in data/; its first lines name the source."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.answers import Plant
from folioproof.text import normalise

Row = dict[str, str]

_DATA = Path(__file__).with_name("data")


def pytest_configure(config: pytest.Config) -> None:
    config.addinivalue_line("markers", "published(name): runs once for each row of data/<name>.tsv, as `row`")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    for mark in metafunc.definition.iter_markers("published"):
        rows = _rows(mark.args[0])
        metafunc.parametrize("row", rows, ids=["-".join(list(row.values())[:2]) for row in rows])


def _rows(name: str) -> list[Row]:
    lines = (_DATA / f"{name}.tsv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader((line for line in lines if not line.startswith("#")), delimiter="\t"))


@pytest.fixture(scope="session")
def rows() -> Callable[[str], list[Row]]:
    """Return the rows of one list, for a test about the list as a whole."""
    return _rows


@pytest.fixture(scope="session")
def record(reference: Reference) -> Callable[[str], Plant]:
    """Return the record of the very taxon that a list prints: the genus for "Acer spp.", not a species."""

    def found(printed: str) -> Plant:
        folded = normalise(printed.removesuffix(" spp."))
        plants = [reference.plant(candidate.id) for candidate in reference.find(printed).candidates]
        for plant in sorted(plants, key=lambda plant: normalise(plant.scientific_name) != folded):
            if folded in {normalise(plant.scientific_name), *(normalise(name.name) for name in plant.names)}:
                return plant
        raise AssertionError(f"{printed}: no record has this name")

    return found

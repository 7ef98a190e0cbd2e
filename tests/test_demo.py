"""The invented demonstration: big enough, the same each time, and said to be invented everywhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.corpus import load
from folioproof.corpus_files import data_root
from folioproof.demo import MAKERS, PLANTS, PRINTS, demo_records, write_demo
from folioproof.outcome_record import OutcomeRecord
from folioproof.vocabulary import Treatment


@pytest.fixture(scope="module")
def records(reference: Reference) -> list[OutcomeRecord]:
    return list(demo_records(reference.prints))


def test_there_are_enough_prints_of_enough_plants(records: list[OutcomeRecord]) -> None:
    assert len(records) == PRINTS >= 400
    assert {record.taxon for record in records} == set(PLANTS) and len(PLANTS) >= 40
    assert {record.contributor for record in records} == set(MAKERS)
    assert {record.treatment for record in records} >= {Treatment.ALUM, Treatment.IRON}
    assert any(record.result.strength == "none" for record in records)


def test_every_record_says_that_it_is_invented(records: list[OutcomeRecord]) -> None:
    assert all(record.invented for record in records)


def test_the_same_records_give_the_same_demonstration(records: list[OutcomeRecord], reference: Reference) -> None:
    assert list(demo_records(reference.prints)) == records


def test_one_printmaker_reports_a_reaction(records: list[OutcomeRecord]) -> None:
    flagged = {record.taxon for record in records if record.is_flagged}
    assert flagged == {"tanacetum-vulgare"}


def test_the_files_pass_the_checks_of_contributed_outcomes(reference: Reference, tmp_path: Path) -> None:
    from folioproof.checks import check_corpus

    paths = write_demo(reference.prints, tmp_path / "outcomes")
    corpus = load(data_root(), tmp_path)
    assert len(corpus.outcomes) == len(paths) == PRINTS
    assert not [finding for finding in check_corpus(corpus) if tmp_path in finding.path.parents]

"""What is read once from the built file and kept: levels, shares by stage, estimates; from every thread alike."""

from __future__ import annotations

import sqlite3
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from folioproof import Reference
from folioproof.print_store import PrintShelf
from folioproof.vocabulary import FIBRES, TREATMENTS, Company, Fibre, Level, Part, Treatment, worst


@pytest.fixture(scope="module")
def shelf(reference: Reference) -> PrintShelf:
    return reference.prints.store


def test_levels_are_the_worst_of_those_in_the_room(shelf: PrintShelf) -> None:
    alone = {who: shelf.levels(frozenset({who})) for who in Company}
    together = shelf.levels(frozenset(Company))
    assert together == {plant: worst([alone[who][plant] for who in Company]) for plant in together}
    assert together["nerium-oleander"] is Level.LEAVE_OUT


def test_levels_are_those_that_an_assessment_gives(reference: Reference, shelf: PrintShelf) -> None:
    """Lists read levels from a table; a question works them out. For every plant that may be listed they agree."""
    for company in (frozenset({Company.ADULTS}), frozenset({Company.ADULTS, Company.CLASS})):
        levels = shelf.levels(company)
        listed = {row.taxon_id for row in shelf.estimates(Treatment.ALUM, Fibre.PAPER, Part.LEAF)}
        different = {plant for plant in listed if reference.assess(plant, company).level is not levels[plant]}
        assert not different


def test_estimates_are_of_plants_and_not_of_genera(shelf: PrintShelf, database: Path) -> None:
    with sqlite3.connect(database) as connection:
        plants = {
            row[0]
            for row in connection.execute(
                "SELECT taxon_id FROM printing JOIN taxa ON taxa.id = taxon_id WHERE rank NOT IN ('genus', 'family')"
            )
        }
    for fibre in FIBRES:
        rows = shelf.estimates(Treatment.IRON, fibre, Part.LEAF)
        assert {row.taxon_id for row in rows} == plants and len(rows) == len(plants)
    assert len(shelf.estimates(None, Fibre.PAPER, Part.LEAF)) == len(plants) * len(TREATMENTS)


def test_sources_that_differ_about_a_stage_meet_in_the_middle(shelf: PrintShelf, database: Path) -> None:
    with sqlite3.connect(database) as connection:
        said = connection.execute("SELECT taxon_id, stage, min(share), max(share) FROM leaf_stages GROUP BY 1, 2")
        for plant, stage, least, most in said:
            assert least <= shelf.shares()[plant][stage] <= most


def test_growth_and_continents_are_read_for_every_plant(shelf: PrintShelf) -> None:
    assert all(code in "123456789" for growth in shelf.growth().values() for code in growth.grows_in)
    assert shelf.continents("PT") and shelf.continents("NZ") and not shelf.continents("PT") & shelf.continents("NZ")
    assert shelf.continents("??") == frozenset()


def test_threads_that_ask_at_once_get_what_each_would_get_alone(database: Path) -> None:
    def ask(shared: Reference, turn: int) -> list[object]:
        prints = shared.prints
        questions = [
            lambda: prints.expect("walnut", near="Europe/Lisbon", on="2026-10-15"),
            lambda: prints.gather("-36.8,174.7", "2026-04-10", company="class"),
            lambda: prints.like("#6c7b38"),
            lambda: prints.swap("castor bean"),
            lambda: prints.calendar("Acer rubrum", "PT", 2026),
        ]
        turned = [*range(turn % 5, 5), *range(turn % 5)]
        answers = {at: questions[at]() for at in turned}
        return [answers[at] for at in range(5)]

    with Reference.open(database) as alone:
        expected = ask(alone, 0)
    with Reference.open(database) as shared, ThreadPoolExecutor(8) as pool:
        assert all(answers == expected for answers in pool.map(ask, [shared] * 8, range(8)))

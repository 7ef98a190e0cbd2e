"""Lists by season and colour: no plant to leave out stands on any of them, and every plant is listed or counted."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from folioproof import Reference
from folioproof.colorimetry import difference
from folioproof.gathering import WANTED_WITHIN
from folioproof.print_answers import Gathering
from folioproof.prints import Prints
from folioproof.terms import company_of
from folioproof.vocabulary import TREATMENTS, Company, Fibre, Grade, Level, Part, Status, Treatment

USABLE = (Level.ORDINARY, Level.EXTRA)
LISBON, AUCKLAND = "Europe/Lisbon", "-36.8,174.7"
PLACES = (LISBON, AUCKLAND, "Asia/Singapore", "US", "CA-ON", "64.1,-21.9", "0,-160")


@pytest.fixture(scope="session")
def prints(reference: Reference) -> Prints:
    return reference.prints


# -- gather --------------------------------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(PLACES),
    st.dates(date(1900, 1, 1), date(2100, 12, 31)),
    st.sampled_from(TREATMENTS),
    st.sampled_from([Fibre.PAPER, Fibre.WOOL]),
    st.sets(st.sampled_from(Company)),
    st.sampled_from([(), ("khaki",), ("olive", "#6c7b38"), ("black",)]),
    st.sampled_from([1, 7, 1000]),
)
def test_gather_never_lists_a_plant_to_leave_out(
    reference: Reference,
    near: str,
    day: date,
    treatment: Treatment,
    fibre: Fibre,
    company: set[Company],
    wants: tuple[str, ...],
    limit: int,
) -> None:
    found = reference.prints.gather(near, day, treatment, fibre, company, wants, limit)
    assert len(found.plants) <= limit
    for row in found.plants:
        level = reference.assess(row.plant.id, company_of(company)).level
        assert level in USABLE and row.level is level, row.plant
        assert row.season.in_season and row.grows_here is not False
        assert (row.treatment, row.fibre, row.part) == (treatment, fibre, Part.LEAF)
        assert (row.wanted is None) is (not wants)
        if row.wanted:
            assert row.wanted[0] in wants and row.wanted[1] <= WANTED_WITHIN


def test_plants_of_a_list_are_usable_by_their_names_too(reference: Reference) -> None:
    for company in ("adults", "class", "children"):
        for row in reference.prints.gather(AUCKLAND, "2026-04-10", company=company, limit=1000).plants:
            answer = reference.check(row.plant.scientific_name, company=company)
            assert answer.status is not Status.EXACT or answer.level in USABLE, row.plant


def test_more_company_never_adds_a_plant(prints: Prints) -> None:
    listed = [
        {row.plant.id for row in prints.gather(LISBON, "2026-10-15", company=company, limit=1000).plants}
        for company in (("adults",), ("class",), ("class", "children", "animals"))
    ]
    assert listed[0] >= listed[1] >= listed[2] and len(listed[0]) > len(listed[1]) > 0


@pytest.mark.parametrize("near", PLACES)
@pytest.mark.parametrize("company", ["adults", "class"])
def test_every_plant_is_listed_or_counted(prints: Prints, near: str, company: str) -> None:
    found = prints.gather(near, "2026-04-10", company=company, limit=5)
    levels, growth, here = (
        prints.store.levels(company_of(company)),
        prints.store.growth(),
        prints.continents_at(found.place),
    )

    def elsewhere(plant: str) -> bool:
        grows = growth[plant].grows_in
        return bool(grows and here and not grows & here)

    rows = prints.store.estimates(Treatment.ALUM, Fibre.PAPER, Part.LEAF)
    unusable = [row for row in rows if levels[row.taxon_id] not in USABLE]
    assert found.left_out == sum(not elsewhere(row.taxon_id) for row in unusable)
    assert found.elsewhere == sum(elsewhere(row.taxon_id) for row in rows if row not in unusable)
    listed = len(found.plants) + found.more
    assert listed + found.out_of_season + found.elsewhere == len(rows) - len(unusable)


def test_the_limit_cuts_the_list_and_nothing_else(prints: Prints) -> None:
    few, all_of_them = (prints.gather(AUCKLAND, "2026-04-10", limit=limit) for limit in (5, 1000))
    assert few.plants == all_of_them.plants[:5] and all_of_them.more == 0
    assert few.more == len(all_of_them.plants) - 5


def test_the_strongest_now_come_first_or_the_nearest_to_what_is_wanted(prints: Prints) -> None:
    strengths = [row.strength_now for row in prints.gather(LISBON, "2026-06-01", limit=1000).plants]
    assert strengths == sorted(strengths, reverse=True) and strengths[0] > 2
    wanted = prints.gather(LISBON, "2026-06-01", "iron", wants=["olive", "black"], limit=1000).plants
    distances = [row.wanted[1] for row in wanted if row.wanted]
    assert len(distances) == len(wanted) > 0 and distances == sorted(distances)
    olive, black = prints.colour("olive"), prints.colour("black")
    for row in wanted:
        assert row.swatch and row.wanted
        apart = min(difference(row.swatch.lab, olive), difference(row.swatch.lab, black))
        assert row.wanted[1] == pytest.approx(apart)


def test_what_is_listed_carries_precautions_and_its_look_alikes(prints: Prints) -> None:
    rows = prints.gather("US", "2026-06-01", limit=1000).plants
    assert all(dict(row.precautions).get("pick") for row in rows)
    assert any(row.identify_first for row in rows) and any(row.local_notes for row in rows)


def test_nothing_in_season_is_said_in_words(prints: Prints) -> None:
    found = prints.gather(LISBON, "2026-06-01", "alum", wants=["#00ff00"])
    assert found.plants == () and any(note.startswith("Nothing fits") for note in found.notes)


def test_seasons_turn_south_of_the_equator(prints: Prints) -> None:
    def maples(found: Gathering) -> set[str]:
        return {row.plant.id for row in found.plants if row.plant.id.startswith("acer-")}

    north, south = (prints.gather(near, "2026-01-15", limit=1000) for near in (LISBON, AUCKLAND))
    assert not maples(north) and maples(south)


# -- like ----------------------------------------------------------------------------------------------------------


def test_a_colour_may_be_written_four_ways(prints: Prints) -> None:
    by_hex = prints.like("#6C7B38")
    assert by_hex.name.name == "light olive"
    short = ",".join(f"{value:.3f}" for value in (by_hex.lab.lightness, by_hex.lab.a, by_hex.lab.b))
    by_lab = prints.like(short)
    assert [row.plant.id for row in by_lab.found] == [row.plant.id for row in by_hex.found]
    assert difference(by_lab.lab, by_hex.lab) < 0.01
    by_name = prints.like("Light Olive")
    assert by_name.lab == by_name.name.lab and by_name.name.name == "light olive"
    assert prints.like("khaki").found and prints.like("grey").name.name == "medium gray"


@pytest.mark.parametrize("colour", ["#6c7b38", "black", "light yellowish brown", "vivid blue", "50,0,0"])
@pytest.mark.parametrize("company", ["adults", "class"])
def test_like_gives_usable_plants_nearest_first(reference: Reference, colour: str, company: str) -> None:
    found = reference.prints.like(colour, company=company, limit=50)
    distances = [row.distance for row in found.found]
    assert distances == sorted(distances) and len(distances) == 50
    for row in found.found:
        assert reference.assess(row.plant.id, company_of(company)).level in USABLE
        assert row.grade is not Grade.NONE
        assert row.distance == pytest.approx(difference(found.lab, row.swatch.lab))
    assert bool(found.notes) is (distances[0] > WANTED_WITHIN)


def test_like_keeps_to_the_treatment_asked(prints: Prints) -> None:
    assert {row.treatment for row in prints.like("black", "alum").found} == {Treatment.ALUM}
    assert {row.treatment for row in prints.like("black", limit=100).found} <= set(TREATMENTS)
    assert len(prints.like("black", limit=3).found) == 3


# -- swap ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["castor bean", "silver birch", "walnut", "ginkgo", "Rhus typhina", "Cotinus"])
@pytest.mark.parametrize("company", ["adults", "class", "children"])
def test_a_stand_in_is_usable_and_another_plant(reference: Reference, name: str, company: str) -> None:
    found = reference.prints.swap(name, "iron", company=company, limit=1000)
    assert found.plant is not None
    for row in found.found:
        assert row.plant.id != found.plant.id
        assert reference.assess(row.plant.id, company_of(company)).level in USABLE
        assert row.treatment is Treatment.IRON and found.swatch is not None
        assert row.distance == pytest.approx(difference(found.swatch.lab, row.swatch.lab))
    costs = [row.distance + (0 if row.same_shape else 10) for row in found.found]
    assert costs == sorted(costs)
    assert bool(found.found) is (found.swatch is not None)
    assert bool(found.notes) or found.status is Status.EXACT


def test_stand_ins_are_in_season_where_asked(prints: Prints) -> None:
    found = prints.swap("castor bean", near=LISBON, on="2026-01-15", limit=1000).found
    assert found and all(row.season and row.season.in_season for row in found)
    anywhere = prints.swap("castor bean", limit=1000).found
    assert all(row.season is None for row in anywhere) and len(anywhere) > len(found)


def test_nothing_stands_in_for_what_is_not_known(prints: Prints) -> None:
    unknown = prints.swap("xqzw")
    assert (unknown.status, unknown.plant, unknown.found) == (Status.UNKNOWN, None, ())
    colourless = prints.swap("Nerium oleander")
    assert colourless.plant and colourless.swatch is None and colourless.found == ()
    assert unknown.notes and colourless.notes

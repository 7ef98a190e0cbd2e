"""Places and the calendar of leaves against what was published; each source stands beside its check.

What sources say of compounds in leaves by season stands in data/leaf_seasons.tsv. They contradict each other, plant by
plant, so what is checked is that each direction can be told and is followed.
"""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path

import pytest

from folioproof.phenology import (
    BBCH,
    EUROPE_PER_DEGREE,
    HOPKINS_PER_DEGREE,
    HOPKINS_PER_DEGREE_EAST,
    Calendar,
    calendar,
    season_now,
    strength_on,
)
from folioproof.places import Place, read_place
from folioproof.vocabulary import Climate, LeafHabit, Stage

YEAR = 2026
DATA = Path(__file__).parent / "data" / "leaf_seasons.tsv"
SHARES = {"falls": (1.0, 0.5), "holds": (1.0, 1.0), "rises": (0.5, 1.0)}


def rows() -> list[dict[str, str]]:
    lines = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines, delimiter="\t"))


def tree_at(place: Place) -> Calendar:
    return calendar(LeafHabit.DECIDUOUS, Climate.TEMPERATE, place, YEAR)


def at(latitude: float, longitude: float) -> Calendar:
    return tree_at(Place("here", latitude, longitude, None, None, "coordinates"))


def begins(found: Calendar, stage: Stage) -> date:
    return next(span.start for span in found.spans if span.stage is stage and span.start != date(YEAR, 1, 1))


def some_day(found: Calendar, stage: Stage) -> date:
    span = next(span for span in found.spans if span.stage is stage)
    return span.start + (span.end - span.start) / 2


# HOPKINS1918: four days for each degree of latitude and each five degrees of longitude, later north and east in spring.
def test_hopkins_rule_as_printed() -> None:
    assert HOPKINS_PER_DEGREE == 4
    assert HOPKINS_PER_DEGREE_EAST * 5 == 4
    spring, autumn = Stage.EMERGING, Stage.TURNING
    assert begins(at(43.5, -72.2), spring) - begins(at(42.5, -72.2), spring) == timedelta(days=4)
    assert begins(at(42.5, -72.2), spring) - begins(at(42.5, -77.2), spring) == timedelta(days=4)
    assert begins(at(42.5, -72.2), autumn) - begins(at(43.5, -72.2), autumn) == timedelta(days=4)
    assert begins(at(42.5, -77.2), autumn) - begins(at(42.5, -72.2), autumn) == timedelta(days=4)
    assert any("4 days for each 120 m (400 ft)" in note for note in at(42.5, -72.2).notes)


# RICHARDSON2019: 65 deciduous sites follow the rule, 18 evergreen ones do not.
def test_evergreens_do_not_follow_it() -> None:
    places = [Place("here", latitude, -72.2, None, None, "coordinates") for latitude in (35.0, 60.0)]
    south, north = (calendar(LeafHabit.EVERGREEN, Climate.TEMPERATE, place, YEAR) for place in places)
    assert south == north


# HARVARD2006: leaf-out at the end of the first week of May 2006 was about two days later than the mean of 16 years;
# trees stand between 335 and 365 m. HARVARD_SITE: 42.5 N, 72 W. The calendar is for sea level.
def test_leaf_out_at_harvard_forest() -> None:
    at_height = begins(at(42.5, -72.0), Stage.EMERGING) + timedelta(days=4 * 350 / 120)
    assert abs((at_height - date(YEAR, 5, 5)).days) <= 2


# AUTUMN_NE2014: colours of southern New England are at their best in mid to late October.
def test_autumn_colour_in_southern_new_england() -> None:
    assert {at(42.0, -72.0).stage_on(date(YEAR, 10, day)) for day in (15, 20, 25)} == {Stage.TURNING}


# CHMIELEWSKI2002: mean growing season of Europe's phenological gardens, from 24 April, 188 days long.
def test_the_growing_season_of_europe() -> None:
    found = at(50.0, 10.0)
    assert begins(found, Stage.EMERGING) == date(YEAR, 4, 24)
    assert abs((some_day(found, Stage.TURNING) - begins(found, Stage.EMERGING)).days - 188) <= 1


# SPRINGMAP_EU: spring moves north at 44 km a day; between 15 and 25 April in large parts of Central Europe.
def test_the_march_of_spring_in_europe() -> None:
    assert pytest.approx(111) == EUROPE_PER_DEGREE * 44
    assert date(YEAR, 4, 15) <= begins(at(49.0, 10.0), Stage.EMERGING) <= date(YEAR, 4, 25)


# HOFFMANN1876 found 3 3/4 days for each degree in Central Europe: ours is lower, Hopkins' is higher.
def test_the_older_figure_for_europe_lies_between() -> None:
    assert EUROPE_PER_DEGREE < 3.75 < HOPKINS_PER_DEGREE


# NATCAL2017: oaks in the United Kingdom become bare from the beginning of November to the end of December.
def test_oaks_in_britain_are_not_bare_before_november() -> None:
    assert begins(tree_at(read_place("Europe/London")), Stage.FALLEN) >= date(YEAR, 11, 1)


# TOKYO_GINKGO2016: budding of ginkgo in Tokyo on 6 April was one day earlier than usual.
def test_spring_in_tokyo_is_within_two_weeks() -> None:
    found = tree_at(read_place("Asia/Tokyo"))
    assert abs((begins(found, Stage.EMERGING) - date(YEAR, 4, 7)).days) <= 14
    assert found.sure == "rough"


# SAMBE2000: about 19 days from leaf emergence to full size, in five species. HUBBARD2022: ten days to 90 %.
@pytest.mark.parametrize("place", ["Europe/Berlin", "America/New_York"])
def test_leaves_take_about_three_weeks_to_full_size(place: str) -> None:
    found = tree_at(read_place(place))
    assert 10 <= (begins(found, Stage.FULL_LEAF) - begins(found, Stage.EMERGING)).days <= 21


# BBCH2001, table 1: 1 leaf development, 3 shoot development, 9 senescence.
def test_stages_stand_on_growth_stages_of_the_scale() -> None:
    assert BBCH[Stage.EMERGING] == (1,)
    assert 3 in BBCH[Stage.FULL_LEAF]
    assert BBCH[Stage.TURNING] == BBCH[Stage.FALLEN] == (9,)
    assert {stage for stages in BBCH.values() for stage in stages} <= set(range(10))


# HUMBOLDT_COSMOS: Paris lies at 48 degrees 50 minutes north. The meridian of Greenwich is 0 by definition.
def test_coordinates_of_two_cities() -> None:
    assert abs(read_place("Europe/Paris").latitude - (48 + 50 / 60)) <= 0.1
    assert abs(read_place("Europe/London").longitude) <= 0.2


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row['scientific_name']}: {row['compound']}")
def test_each_direction_is_followed(row: dict[str, str]) -> None:
    found = tree_at(read_place("Europe/Berlin"))
    earlier, later = Stage(row["earlier"]), Stage(row["later"])
    first, second = SHARES[row["direction"]]
    by_stage = dict.fromkeys(Stage, 0.5) | {earlier: first, later: second}
    change = strength_on(some_day(found, later), found, by_stage) - strength_on(
        some_day(found, earlier), found, by_stage
    )
    assert {"falls": change < 0, "holds": change == 0, "rises": change > 0}[row["direction"]]


def test_published_directions_contradict_any_single_curve() -> None:
    """Both directions stand for the same two stages, even within one species."""
    found: dict[tuple[str, str], set[str]] = {}
    for row in rows():
        found.setdefault((row["earlier"], row["later"]), set()).add(row["direction"])
    assert {"falls", "rises"} <= found["emerging", "late"]
    assert {"falls", "holds", "rises"} <= found["full leaf", "late"]
    oak = {row["direction"] for row in rows() if row["scientific_name"] == "Quercus robur"}
    assert oak == {"falls", "rises"}


# Common practice, no source: leaves of some deciduous street trees picked up at leaf fall print far weaker than a week
# or two before.
def test_leaves_picked_up_at_leaf_fall_print_far_weaker() -> None:
    found = tree_at(read_place("Europe/Berlin"))
    fall = begins(found, Stage.FALLEN)
    before, after = (season_now(day, found, {}) for day in (fall - timedelta(days=10), fall))
    assert after.strength <= before.strength / 2
    assert (before.in_season, after.in_season) == (True, False)
    assert after.basis == "common practice"

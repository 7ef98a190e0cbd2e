"""The calendar of leaf stages: whole years, the right way round, and open about what it does not know."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.phenology import (
    BBCH,
    COLD,
    DEFAULT_STRENGTH,
    IN_SEASON,
    MOST_DAYS,
    SUBTROPIC,
    TROPIC,
    Calendar,
    calendar,
    season_now,
    strength_on,
    strip,
)
from folioproof.places import Place, read_place
from folioproof.vocabulary import Climate, LeafHabit, Stage

DECIDUOUS, TEMPERATE = LeafHabit.DECIDUOUS, Climate.TEMPERATE
EUROPE, AMERICA = 10.0, -72.2
HABITS = st.sampled_from([*LeafHabit, None])
CLIMATES = st.sampled_from([*Climate, None])
YEARS = st.integers(1900, 2100)
SHARES = st.dictionaries(st.sampled_from(list(Stage)), st.floats(0, 1), max_size=6)
PLACES = st.builds(
    lambda latitude, longitude: spot(round(latitude, 1), round(longitude, 1)),
    st.floats(-90, 90),
    st.floats(-180, 180),
)


def spot(latitude: float, longitude: float, spread: float = 0.0) -> Place:
    return Place("here", latitude, longitude, None, None, "coordinates", spread)


def tree(latitude: float, longitude: float = EUROPE, year: int = 2026) -> Calendar:
    return calendar(DECIDUOUS, TEMPERATE, spot(latitude, longitude), year)


def begins(found: Calendar, stage: Stage) -> date:
    """Return the day on which a stage begins, not the 1 January that it may only run on over."""
    (start,) = [
        span.start for span in found.spans if span.stage is stage and (span.start.month, span.start.day) != (1, 1)
    ]
    return start


@given(HABITS, CLIMATES, PLACES, YEARS)
def test_the_spans_cover_the_year_without_gap_or_overlap(
    habit: LeafHabit | None, climate: Climate | None, place: Place, year: int
) -> None:
    found = calendar(habit, climate, place, year)
    assert found.spans[0].start == date(year, 1, 1)
    assert found.spans[-1].end == date(year, 12, 31)
    assert all(span.start <= span.end for span in found.spans)
    pairs = zip(found.spans, found.spans[1:], strict=False)
    assert all(before.end + timedelta(days=1) == after.start for before, after in pairs)
    assert sum(count for month in found.months for _, count in month) == (date(year + 1, 1, 1) - date(year, 1, 1)).days
    assert found.rule
    assert found.sure in ("fair", "rough", "not known")


@given(PLACES, YEARS)
def test_the_stages_follow_each_other_in_the_order_of_the_year(place: Place, year: int) -> None:
    stages = [span.stage for span in calendar(DECIDUOUS, TEMPERATE, place, year).spans]
    order = list(Stage)[:5]
    if len(stages) > 1:
        following = [order[(order.index(stage) + 1) % 5] for stage in stages[:-1]]
        assert stages[1:] == following
        assert set(stages) == set(order)


@given(st.floats(30, 65), YEARS)
def test_the_south_is_the_north_half_a_year_on(latitude: float, year: int) -> None:
    north, south = tree(latitude, year=year), tree(-latitude, year=year)
    for stage in list(Stage)[:5]:
        apart = abs((begins(north, stage) - begins(south, stage)).days)
        assert abs(apart - 182.5) <= 2
    assert "south of the equator" in south.rule
    assert south.sure == "rough"


@given(st.sampled_from([LeafHabit.EVERGREEN, LeafHabit.SEMI_EVERGREEN]), CLIMATES, PLACES, PLACES, YEARS)
def test_evergreens_are_the_same_everywhere(
    habit: LeafHabit, climate: Climate | None, here: Place, there: Place, year: int
) -> None:
    found = calendar(habit, climate, here, year)
    assert [span.stage for span in found.spans] == [Stage.EVERGREEN]
    assert found == calendar(habit, climate, there, year)


@given(st.sampled_from([EUROPE, AMERICA, 140.0]), st.floats(30, 64), st.floats(0.1, 30))
def test_further_north_spring_is_later_and_autumn_earlier(longitude: float, latitude: float, more: float) -> None:
    near, far = tree(latitude, longitude), tree(min(COLD, latitude + more), longitude)
    for stage in (Stage.EMERGING, Stage.FULL_LEAF):
        assert begins(far, stage) >= begins(near, stage)
    for stage in (Stage.LATE, Stage.TURNING, Stage.FALLEN):
        assert begins(far, stage) <= begins(near, stage)


def test_ten_degrees_north_are_seen_in_the_dates() -> None:
    assert begins(tree(60), Stage.EMERGING) - begins(tree(50), Stage.EMERGING) == timedelta(days=25)
    assert begins(tree(50), Stage.FALLEN) - begins(tree(60), Stage.FALLEN) == timedelta(days=25)


def test_longitude_counts_in_north_america_only() -> None:
    west, east = tree(42.5, -92.2), tree(42.5, -72.2)
    assert begins(east, Stage.EMERGING) - begins(west, Stage.EMERGING) == timedelta(days=16)
    assert begins(west, Stage.TURNING) - begins(east, Stage.TURNING) == timedelta(days=16)
    assert tree(50, -5).spans == tree(50, 25).spans
    assert tree(40, 100).spans == tree(40, 140).spans


def test_a_country_tells_north_america_as_its_coordinates_do() -> None:
    named = Place("here", 45.0, -100.0, "CA", None, "time zone")
    assert calendar(DECIDUOUS, TEMPERATE, named, 2026).spans == tree(45, -100).spans


@given(PLACES)
def test_a_shift_that_is_cut_short_says_so(place: Place) -> None:
    found = calendar(DECIDUOUS, TEMPERATE, place, 2026)
    if found.sure == "not known":
        return
    cut = [note for note in found.notes if f"no more than {MOST_DAYS} are applied" in note]
    if cut:
        assert found.sure == "rough"
        assert f"spring {MOST_DAYS} days" in found.rule
    assert any("sea level" in note for note in found.notes)


def test_a_shift_is_cut_short_on_the_pacific_coast() -> None:
    found = calendar(DECIDUOUS, TEMPERATE, read_place("America/Los_Angeles"), 2026)
    assert "the rule asks for 70 days; no more than 45 are applied" in found.notes


@pytest.mark.parametrize("latitude", [0, 23.4, -23.4])
def test_no_dates_are_claimed_in_the_tropics(latitude: float) -> None:
    found = tree(latitude)
    assert [span.stage for span in found.spans] == [Stage.FULL_LEAF]
    assert found.sure == "not known"
    assert abs(latitude) < TROPIC


def test_no_dates_are_claimed_for_a_plant_of_the_tropics_or_of_unknown_habit() -> None:
    assert calendar(DECIDUOUS, Climate.TROPICAL, spot(50, 10), 2026).sure == "not known"
    assert calendar(None, TEMPERATE, spot(50, 10), 2026).sure == "not known"


@pytest.mark.parametrize(("latitude", "kept"), [(24, SUBTROPIC), (80, COLD), (-70, -COLD)])
def test_past_the_limits_the_nearer_limit_is_kept_and_said(latitude: float, kept: float) -> None:
    found = tree(latitude)
    assert found.spans == tree(kept).spans
    assert found.sure == "rough"
    assert any("outside 30 to 65 degrees" in note for note in found.notes)


@pytest.mark.parametrize(
    ("habit", "climate", "place", "said"),
    [
        (DECIDUOUS, None, spot(50, 10), "home climate of the plant is not known"),
        (DECIDUOUS, Climate.SUBTROPICAL, spot(50, 10), "this one is subtropical"),
        (DECIDUOUS, Climate.MEDITERRANEAN, spot(50, 10), "this one is mediterranean"),
        (LeafHabit.HERBACEOUS, TEMPERATE, spot(50, 10), "those of trees"),
        (DECIDUOUS, TEMPERATE, spot(50, 10, spread=12), "reaches 12 degrees from north to south"),
    ],
)
def test_what_makes_a_calendar_rough_is_said(
    habit: LeafHabit, climate: Climate | None, place: Place, said: str
) -> None:
    found = calendar(habit, climate, place, 2026)
    assert found.sure == "rough"
    assert any(said in note for note in found.notes)


def test_a_temperate_tree_near_the_base_is_fair() -> None:
    assert tree(51.5, 0).sure == "fair"
    assert tree(40.7, -74).sure == "fair"


@given(HABITS, CLIMATES, PLACES, YEARS, SHARES)
def test_a_strip_is_the_mean_of_its_days(
    habit: LeafHabit | None, climate: Climate | None, place: Place, year: int, by_stage: dict[Stage, float]
) -> None:
    found = calendar(habit, climate, place, year)
    cells = strip(found, by_stage)
    assert [cell.month for cell in cells] == list(range(1, 13))
    days = [date(year, 3, 1) + timedelta(days=i) for i in range(31)]
    mean = sum(strength_on(day, found, by_stage) for day in days) / 31
    assert cells[2].strength == pytest.approx(mean)
    stages = [found.stage_on(day) for day in days]
    assert stages.count(cells[2].stage) == max(stages.count(stage) for stage in stages)
    assert all(0 <= cell.strength <= 1 for cell in cells)


@given(HABITS, PLACES, st.dates(date(2026, 1, 1), date(2026, 12, 31)), SHARES)
def test_until_is_the_last_day_in_season(
    habit: LeafHabit | None, place: Place, day: date, by_stage: dict[Stage, float]
) -> None:
    found = calendar(habit, TEMPERATE, place, 2026)
    now = season_now(day, found, by_stage)
    assert now.in_season == (now.strength >= IN_SEASON)
    if now.until is None:
        whole = [strength_on(span.start, found, by_stage) >= IN_SEASON for span in found.spans]
        assert not now.in_season or all(whole)
        return
    assert now.in_season
    assert day <= now.until < day + timedelta(days=366)
    after = now.until + timedelta(days=1)
    assert season_now(after, calendar(habit, TEMPERATE, place, after.year), by_stage).in_season is False
    run = [day + timedelta(days=i) for i in range((now.until - day).days + 1)]
    calendars = {year: calendar(habit, TEMPERATE, place, year) for year in (2026, 2027)}
    assert all(strength_on(each, calendars[each.year], by_stage) >= IN_SEASON for each in run)


def test_the_season_of_a_southern_summer_runs_over_the_new_year() -> None:
    now = season_now(date(2026, 12, 1), tree(-37.8, 145), {Stage.TURNING: 0.1})
    assert now.until is not None
    assert now.until.year == 2027


def test_a_day_out_of_season_has_no_end_of_season() -> None:
    now = season_now(date(2026, 1, 10), tree(50), {})
    assert (now.stage, now.in_season, now.until) == (Stage.FALLEN, False, None)


def test_an_evergreen_is_in_season_all_year() -> None:
    found = calendar(LeafHabit.EVERGREEN, Climate.MEDITERRANEAN, spot(38, -9), 2026)
    now = season_now(date(2026, 1, 10), found, {})
    assert (now.stage, now.in_season, now.until, now.strength) == (Stage.EVERGREEN, True, None, 1.0)


def test_strength_is_a_share_of_the_best_stage() -> None:
    by_stage = dict.fromkeys(Stage, 0.4) | {Stage.TURNING: 0.8}
    assert strength_on(date(2026, 6, 20), tree(50), by_stage) == 0.5
    assert strength_on(date(2026, 11, 1), tree(50), by_stage) == 1.0
    assert strength_on(date(2026, 6, 20), tree(50), dict.fromkeys(Stage, 0.0)) == 0.0


def test_a_stage_without_a_record_is_filled_by_common_practice_and_says_so() -> None:
    summer = date(2026, 6, 20)
    assert season_now(summer, tree(50), {}).basis == "common practice"
    assert season_now(summer, tree(50), {Stage.FULL_LEAF: 1.0}).basis == "record"
    assert season_now(summer, tree(50), {Stage.LATE: 1.0}).basis == "common practice"


def test_a_day_of_another_year_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="not in the calendar of 2026"):
        strength_on(date(2027, 1, 1), tree(50), {})


def test_the_tables_are_complete() -> None:
    assert set(DEFAULT_STRENGTH) == set(LeafHabit)
    assert set(BBCH) == set(Stage)
    assert all(0 <= share <= 1 for table in DEFAULT_STRENGTH.values() for share in table.values())
    assert all(max(table.values()) == 1 for table in DEFAULT_STRENGTH.values())


def test_a_leap_year_keeps_the_dates() -> None:
    for stage in list(Stage)[:5]:
        common, leap = begins(tree(50, year=2023), stage), begins(tree(50, year=2024), stage)
        assert (common.month, common.day) == (leap.month, leap.day)


def test_a_calendar_is_made_once() -> None:
    assert tree(50) is tree(50)

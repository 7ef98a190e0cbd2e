"""Places and dates as people write them: what is read, and what is refused in one line that says what to write."""

from __future__ import annotations

import re
import subprocess
import sys
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.finding import FolioproofError
from folioproof.places import NEAR_KM, WIDE_DEGREES, nearest_zone, read_date, read_place


def test_coordinates_are_rounded_to_a_tenth_of_a_degree() -> None:
    place = read_place(" 38.7223, -9.1393 ")
    assert (place.latitude, place.longitude, place.name) == (38.7, -9.1, "38.7,-9.1")
    assert place.how == "coordinates"


@pytest.mark.parametrize(
    ("text", "where"), [("−33.9,151.2", (-33.9, 151.2)), ("+5,-0.04", (5.0, 0.0)), ("90,180", (90.0, 180.0))]
)
def test_signs_and_edges_are_read(text: str, where: tuple[float, float]) -> None:
    place = read_place(text)
    assert (place.latitude, place.longitude) == where
    assert "-0" not in place.name.split(",")


@given(st.floats(-90, 90), st.floats(-180, 180))
def test_any_point_on_earth_is_a_place_within_a_twentieth_of_a_degree(latitude: float, longitude: float) -> None:
    place = read_place(f"{latitude:.6f},{longitude:.6f}")
    assert abs(place.latitude - latitude) < 0.0501
    assert abs(place.longitude - longitude) < 0.0501


def test_coordinates_get_a_country_only_where_every_city_nearby_agrees() -> None:
    assert read_place("-33.9,151.2").country == "AU"
    assert read_place("48.6,7.8").country is None  # Strasbourg: the nearest zones are in other countries
    assert "no time-zone city" in read_place("-48,-130").note


def test_the_nearest_zone_is_a_city_and_how_far_it_is() -> None:
    found = nearest_zone(38.7, -9.1)
    assert found is not None
    zone, distance = found
    assert (zone.name, zone.country) == ("Europe/Lisbon", "PT")
    assert distance < 10
    assert nearest_zone(-48, -130) is None
    assert NEAR_KM == 500


@pytest.mark.parametrize("text", ["Europe/Lisbon", "europe/lisbon", " EUROPE/LISBON "])
def test_a_time_zone_is_read_in_any_case(text: str) -> None:
    place = read_place(text)
    assert (place.name, place.latitude, place.longitude, place.country) == ("Europe/Lisbon", 38.7, -9.1, "PT")
    assert (place.how, place.note) == ("time zone", "")


def test_blanks_stand_for_underscores() -> None:
    assert read_place("america/new york").name == "America/New_York"


def test_an_old_name_of_a_zone_says_whose_coordinates_it_takes() -> None:
    place = read_place("US/Pacific")
    assert (place.name, place.country, place.latitude) == ("US/Pacific", "US", 34.1)
    assert "America/Los_Angeles" in place.note


def test_an_old_name_never_leads_to_another_country() -> None:
    """The tz database links Iceland to Abidjan, and Jan Mayen to Berlin, since their clocks agree."""
    for text in ("Iceland", "Atlantic/Jan_Mayen", "Africa/Timbuktu"):
        with pytest.raises(FolioproofError):
            read_place(text)
    assert read_place("Atlantic/Reykjavik").country == "IS"


@pytest.mark.parametrize(("code", "name"), [("PT", "Portugal"), ("prt", "Portugal"), ("GB", "United Kingdom")])
def test_country_codes_of_two_and_three_letters(code: str, name: str) -> None:
    place = read_place(code)
    assert (place.name, place.how, place.subdivision) == (name, "country", None)


def test_a_small_country_is_the_mean_of_its_cities() -> None:
    place = read_place("DE")  # Berlin and Busingen
    assert (place.latitude, place.longitude) == (50.1, 11.0)
    assert not place.is_wide
    assert place.note == ""


@pytest.mark.parametrize("code", ["US", "CL", "AU", "RU", "BR"])
def test_a_tall_country_answers_and_says_that_it_is_rough(code: str) -> None:
    place = read_place(code)
    assert place.is_wide
    assert place.spread_degrees > WIDE_DEGREES
    assert f"{place.spread_degrees:g} degrees" in place.note


def test_a_country_on_both_sides_of_180_degrees_stays_there() -> None:
    assert abs(read_place("KI").longitude) > 150
    assert abs(read_place("NZ").longitude) > 170


def test_a_region_falls_back_to_its_country_and_says_so() -> None:
    region, country = read_place("pt-11"), read_place("PT")
    assert (region.name, region.subdivision, region.country) == ("Lisboa, Portugal", "PT-11", "PT")
    assert (region.latitude, region.spread_degrees) == (country.latitude, country.spread_degrees)
    assert region.how == "region"
    assert "Portugal as a whole" in region.note


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no place is given. Write latitude,longitude"),
        ("91,0", "latitude 91 is not between -90 and 90. Latitude comes first: write 0,91"),
        ("151.2,-33.9", "write -33.9,151.2 if the two were swapped"),
        ("200,200", "Write latitude,longitude in decimal degrees"),
        ("0,181", "longitude 181 is not between -180 and 180"),
        ("52,5 13,4", "'52,5 13,4' has decimal commas. Write decimal points: 52.5,13.4."),
        ("52,5,13,4", "Write decimal points: 52.5,13.4."),
        ("52.5 13.4", "is not latitude,longitude in decimal degrees"),
        ("52.5N,13.4E", "is not latitude,longitude in decimal degrees"),
        ("1e2,4", "is not latitude,longitude in decimal degrees"),
        ("Europe/Lisbonn", "Write Europe/Lisbon"),
        ("Lisbon", "Write Europe/Lisbon."),
        ("Germany", "Write DE for that country"),
        ("UK", "Write GB for the United Kingdom"),
        ("XX", "'XX' is not a place that is known here"),
        ("CET", "'CET' is not a place that is known here"),
        ("PT-99", "PT-99 is not an ISO 3166-2 code. Write PT for Portugal"),
        ("XX-1", "XX-1 is not an ISO 3166-2 code"),
        ("BV", "Bouvet Island has no time-zone city"),
    ],
)
def test_what_cannot_be_read_is_refused_in_one_line(text: str, said: str) -> None:
    with pytest.raises(FolioproofError, match=re.escape(said)) as caught:
        read_place(text)
    assert "\n" not in str(caught.value)
    assert "Write" in str(caught.value) or "write" in str(caught.value)


@given(st.text(max_size=30))
def test_no_text_brings_anything_but_a_place_or_a_clear_refusal(text: str) -> None:
    try:
        place = read_place(text)
    except FolioproofError as error:
        assert len(str(error).splitlines()) == 1
    else:
        assert -90 <= place.latitude <= 90


@given(st.dates(date(1900, 1, 1), date(2100, 12, 31)))
def test_every_date_in_iso_form_is_read(day: date) -> None:
    assert read_date(f" {day.isoformat()} ") == day


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no date is given. Write year-month-day, such as 2026-05-09."),
        ("2026-02-30", "2026-02-30 does not exist. Write a day from 01 to 28 for 2026-02."),
        ("2024-02-30", "Write a day from 01 to 29 for 2024-02."),
        ("2026-12-32", "Write a day from 01 to 31 for 2026-12."),
        ("2026-13-01", "2026-13-01 has no month 13"),
        ("2026-00-10", "has no month 00"),
        ("1500-01-01", "Write a year from 1900 to 2100"),
        ("28/02/2026", "'28/02/2026' is not an ISO 8601 date"),
        ("2026-2-3", "is not an ISO 8601 date"),
        ("20260203", "Write year-month-day"),
        ("2026-05-09T10:00", "is not an ISO 8601 date"),
        ("today", "is not an ISO 8601 date"),
    ],
)
def test_a_date_that_cannot_be_read_is_refused_in_one_line(text: str, said: str) -> None:
    with pytest.raises(FolioproofError, match=re.escape(said)):
        read_date(text)


def test_the_last_day_of_every_month_is_read_and_the_next_refused() -> None:
    for month in range(1, 13):
        last = date(2024 + month // 12, month % 12 + 1, 1) - timedelta(days=1)
        assert read_date(last.isoformat()) == last
        with pytest.raises(FolioproofError):
            read_date(f"2024-{month:02}-{last.day + 1}")


def test_the_lists_of_the_world_are_only_loaded_when_a_place_is_read() -> None:
    program = "import sys, folioproof.places; print({'pycountry', 'rapidfuzz', 'tzdata'} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"

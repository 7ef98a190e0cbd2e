"""The working figures of heat, barriers and vapours against what was published, each beside its source."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import NamedTuple

import pytest


class Fact(NamedTuple):
    """One row of the table of process facts."""

    id: str
    item: str
    fact: str
    low: float | None
    high: float | None
    unit: str | None
    basis: str
    source_id: str | None
    locator: str | None


@pytest.fixture(scope="module")
def facts(database: Path) -> list[Fact]:
    query = "SELECT id, item, fact, low, high, unit, basis, source_id, locator FROM process_facts"
    with sqlite3.connect(database) as connection:
        return [Fact(*row) for row in connection.execute(query)]


def about(facts: list[Fact], item: str, words: str) -> Fact:
    """Return the one fact about an item that begins with the given words."""
    (found,) = [each for each in facts if each.item == item and each.fact.startswith(words)]
    return found


def test_every_number_has_its_unit(facts: list[Fact]) -> None:
    bare = [each.id for each in facts if (each.low is not None or each.high is not None) and not each.unit]
    assert not bare


def test_every_fact_has_its_source_or_says_that_it_has_none(facts: list[Fact]) -> None:
    published = [each for each in facts if each.basis == "published"]
    assert not [each.id for each in published if not (each.source_id and each.locator)]
    rest = [each for each in facts if each.basis != "published"]
    assert not [(each.id, each.basis) for each in rest if each.basis not in ("common practice", "memory")]
    assert not [(each.id, each.source_id) for each in rest if each.source_id]


def test_temperatures_are_in_degrees_celsius(facts: list[Fact]) -> None:
    """Care-label dots, ISO 3758: 110, 150 and 200 degrees Celsius."""
    dots = about(facts, "iron settings", "one, two, three dots")
    assert (dots.low, dots.high, dots.unit, dots.source_id) == (110, 200, "degC", "ISO3758")
    assert not [each.id for each in facts if each.unit in ("C", "F", "degF", "K", "deg")]


def test_ptfe_sheet_gives_off_fumes_from_300_degrees(facts: list[Fact]) -> None:
    """StatPearls, polymer fume fever: symptoms 4-8 h after breathing what PTFE gives off at 300-450 C."""
    fumes = about(facts, "PTFE sheet", "polymer fume fever")
    assert (fumes.low, fumes.high, fumes.unit) == (300, 450, "degC")
    assert (fumes.basis, fumes.source_id) == ("published", "STATPEARLS_PFF")


def test_ptfe_sheet_starts_to_spoil_at_260_degrees(facts: list[Fact]) -> None:
    """No page was found for the figure: the record must say that it rests on memory or on common practice."""
    limit = about(facts, "PTFE sheet", "start of deterioration")
    assert (limit.low, limit.unit) == (260, "degC")
    assert limit.basis in ("common practice", "memory")


def test_a_press_stays_under_the_limit_of_the_ptfe_sheet(facts: list[Fact]) -> None:
    """Common practice, no source: reported presses run at 150-175 degrees Celsius."""
    limit = about(facts, "PTFE sheet", "start of deterioration").low
    presses = [each for each in facts if each.item.startswith("heat press") and each.unit == "degC"]
    assert presses
    for press in presses:
        assert press.basis == "common practice"
        assert press.low is not None
        assert press.high is not None
        assert limit is not None
        assert 140 <= press.low <= press.high <= limit - 60


@pytest.mark.parametrize(
    ("words", "low", "high", "unit", "source"),
    [
        # NIOSH, Immediately Dangerous to Life or Health, hydrogen cyanide.
        pytest.param("boiling point", 25.6, 25.6, "degC", "IDLH_HCN", id="boils at 25.6 C"),
        pytest.param("NIOSH REL", 4.7, 4.7, "ppm", "IDLH_HCN", id="recommended limit"),
        pytest.param("OSHA PEL", 10, 10, "ppm", "IDLH_HCN", id="US legal limit"),
        pytest.param("IDLH", 50, 50, "ppm", "IDLH_HCN", id="dangerous to life"),
        # NIOSH, comments on the 1988 permissible limits, hydrogen cyanide.
        pytest.param("effects", 18, 36, "ppm", "PEL88_HCN", id="slight symptoms"),
    ],
)
def test_limits_of_hydrogen_cyanide(
    facts: list[Fact], words: str, low: float, high: float, unit: str, source: str
) -> None:
    found = about(facts, "hydrogen cyanide", words)
    assert (found.low, found.high, found.unit, found.source_id) == (low, high, unit, source)


def test_the_nose_is_no_warning_of_hydrogen_cyanide(facts: list[Fact]) -> None:
    """ATSDR, hydrogen cyanide: 20-40 % of people cannot smell it, and the nose tires."""
    assert about(facts, "hydrogen cyanide", "smell is no warning").source_id == "ATSDR_HCN"


def test_the_laurel_sum_is_a_worst_case_and_adds_up(facts: list[Fact]) -> None:
    """NIOSH limit 5 mg/m3 in a shut room of 30 m3 over 1.5 % prunasin (27.0 of 295.3 g/mol is cyanide)."""
    leaf = "Prunus laurocerasus leaf"
    per_gram = about(facts, leaf, "possible HCN per gram")
    mass = about(facts, leaf, "leaf mass that could reach the REL")
    expected = 0.015 * 27.0 / 295.3 * 1000
    assert per_gram.low == pytest.approx(expected, rel=0.05)
    assert mass.low == pytest.approx(5 * 30 / expected, rel=0.05)


def test_a_sum_is_not_shown_as_a_measurement(database: Path) -> None:
    """Common practice, no source: a figure that was worked out says that it is the worst that could be."""
    query = "SELECT fact || ' ' || coalesce(for_printing, '') FROM process_facts WHERE id IN ('h036', 'h037')"
    with sqlite3.connect(database) as connection:
        texts = [text for (text,) in connection.execute(query)]
    assert texts
    assert all(any(word in text for word in ("worst case", "upper bound", "if all")) for text in texts)


def test_light_that_burns_passes_the_window(facts: list[Fact]) -> None:
    """Medical reference on furanocoumarins: ultraviolet of 320-400 nm, which window glass lets through."""
    light = about(facts, "furanocoumarins", "light needed")
    assert (light.low, light.high, light.unit, light.source_id) == (320, 400, "nm", "FURANO_UVA")


def test_fifty_micrograms_of_urushiol_give_a_rash(facts: list[Fact]) -> None:
    """NIOSH (2016), Poisonous Plants, types of exposure: 80-90 % of adults."""
    dose = about(facts, "urushiol", "reacting dose")
    assert (dose.low, dose.unit, dose.source_id) == (50, "microgram", "NIOSH_PLANTS")

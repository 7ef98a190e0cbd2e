"""Colour and season asked of the library, over the real records."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from folioproof import Reference
from folioproof.colorimetry import Sight, difference, seen_by
from folioproof.finding import RefusedInputError
from folioproof.prints import HARD_TO_TELL, Prints
from folioproof.vocabulary import TREATMENTS, Fibre, Level, Part, Stage, Status, Treatment

LISBON, AUCKLAND, SINGAPORE = "Europe/Lisbon", "-36.8,174.7", "Asia/Singapore"


@pytest.fixture(scope="session")
def prints(reference: Reference) -> Prints:
    return reference.prints


# -- expect --------------------------------------------------------------------------------------------------------


def test_an_exact_name_gets_one_answer_a_treatment(prints: Prints) -> None:
    answers = prints.expect("Betula pendula")
    assert [each.treatment for each in answers] == list(TREATMENTS)
    assert {each.status for each in answers} == {Status.EXACT}
    assert {each.plant.id for each in answers if each.plant} == {"betula-pendula"}
    for each in answers:
        assert each.estimate is not None and each.swatch is not None
        assert each.swatch.lab == each.estimate.lab and each.swatch.spread == each.estimate.spread
        assert each.season is None and each.season_grades is None
        cited = {source for layer in each.estimate.layers for source in layer.sources}
        assert cited <= {source.id for source in each.sources} and all(s.citation for s in each.sources)
    assert len(prints.expect("Betula pendula", "iron")) == 1


def test_an_ambiguous_name_gets_every_plant_the_more_dangerous_first(prints: Prints) -> None:
    answers = prints.expect("walnut", Treatment.IRON)
    assert {each.status for each in answers} == {Status.AMBIGUOUS} and len(answers) > 1
    named = [each.plant.id for each in answers if each.plant]
    assert named == [candidate.id for candidate in answers[0].candidates][: len(named)]
    assert {"juglans-regia", "juglans-nigra"} <= set(named)
    ranks = [each.level.rank for each in answers]
    assert ranks == sorted(ranks, reverse=True)


@pytest.mark.parametrize("name", ["xqzw", "", "\ud800", "🍁", "x" * 100_000])
def test_an_unknown_name_gets_one_answer_and_no_colour(prints: Prints, name: str) -> None:
    (answer,) = prints.expect(name, near=LISBON, on="2026-06-01")
    assert answer.status is Status.UNKNOWN and answer.query == name
    assert (answer.plant, answer.estimate, answer.swatch, answer.season) == (None, None, None, None)
    assert answer.level not in (Level.ORDINARY, Level.EXTRA)


def test_a_plant_without_a_record_of_prints_gets_the_base_rate(prints: Prints) -> None:
    (answer,) = prints.expect("Nerium oleander", "alum")
    assert answer.level is Level.LEAVE_OUT and answer.estimate is not None
    assert answer.swatch is None and "32 of 88" in answer.estimate.rests_on


def test_the_season_of_the_place_is_laid_over_the_strength(prints: Prints) -> None:
    (summer,), (winter,), (south,) = (
        prints.expect("Acer saccharum", "alum", near=near, on=on)
        for near, on in ((LISBON, "2026-07-01"), (LISBON, date(2026, 1, 15)), (AUCKLAND, "2026-01-15"))
    )
    assert summer.season and winter.season and south.season
    assert summer.season.stage is Stage.FULL_LEAF is south.season.stage and winter.season.stage is Stage.FALLEN
    assert summer.season.in_season and not winter.season.in_season
    for answer in (summer, winter, south):
        assert answer.season_grades and answer.estimate and answer.season
        assert sum(answer.season_grades) == pytest.approx(1)
        mean = sum(grade * chance for grade, chance in enumerate(answer.season_grades))
        assert mean == pytest.approx(answer.estimate.strength * answer.season.strength)
    assert summer.swatch == winter.swatch


def test_an_evergreen_has_no_season(prints: Prints) -> None:
    answers = [prints.expect("Eucalyptus cinerea", "iron", near=LISBON, on=f"2026-{m:02}-01")[0] for m in range(1, 13)]
    assert len({each.season_grades for each in answers}) == 1
    assert all(each.season and each.season.in_season and each.season.until is None for each in answers)


def test_a_place_without_a_day_means_today(prints: Prints) -> None:
    (answer,) = prints.expect("Acer rubrum", "alum", near=LISBON)
    assert answer.on == date.today() and answer.season is not None


# -- palette -------------------------------------------------------------------------------------------------------


def test_a_plant_twice_on_a_sheet_is_hard_to_tell_apart_for_everyone(prints: Prints) -> None:
    found = prints.palette(["Acer rubrum", "Juglans nigra", "Acer rubrum"], "iron")
    same = [pair for pair in found.confusions if (pair.first, pair.second) == (0, 2)]
    assert [(pair.distance, pair.sight) for pair in same] == [(0.0, "ordinary")]


def test_colours_that_some_eyes_cannot_tell_apart_are_named_for_them(
    prints: Prints, pair_of: Callable[..., str]
) -> None:
    names = pair_of()
    found = prints.palette(names, "alum")
    assert found.confusions and all(each.distance < HARD_TO_TELL for each in found.confusions)
    assert "ordinary" not in {each.sight for each in found.confusions}
    for each in found.confusions:
        labs = [found.colours[i].swatch for i in (each.first, each.second)]
        x, y = (seen_by(swatch.lab, Sight(each.sight)) for swatch in labs if swatch)
        assert each.distance == pytest.approx(difference(x, y))


@pytest.fixture
def pair_of(prints: Prints) -> Callable[[], tuple[str, str]]:
    """Find two plants whose colours ordinary eyes tell apart and eyes without one kind of cone do not."""

    def found() -> tuple[str, str]:
        rows = {row.name: row for row in prints.store.estimates(Treatment.ALUM, Fibre.PAPER, Part.LEAF) if row.lab}
        for one, other in combinations(rows.values(), 2):
            assert one.lab and other.lab
            if difference(one.lab, other.lab) < HARD_TO_TELL + 1:
                continue
            for sight in (Sight.PROTAN, Sight.DEUTAN, Sight.TRITAN):
                if difference(seen_by(one.lab, sight), seen_by(other.lab, sight)) < HARD_TO_TELL - 1:
                    return one.scientific_name, other.scientific_name
        raise AssertionError("no such pair")

    return found


def test_a_sheet_says_which_names_are_not_sure(prints: Prints) -> None:
    found = prints.palette(["Acer rubrum", "walnut", "xqzw", "Nerium oleander"])
    assert [each.status for each in found.colours] == [Status.EXACT, Status.AMBIGUOUS, Status.UNKNOWN, Status.EXACT]
    assert [note.split(":")[0] for note in found.notes] == ["walnut", "xqzw", "Nerium oleander"]
    assert prints.palette([]).colours == ()


# -- calendar ------------------------------------------------------------------------------------------------------


def test_a_calendar_has_twelve_months_and_the_rule_that_set_them(prints: Prints) -> None:
    found = prints.calendar("Betula pendula", LISBON, 2026)
    assert [each.month for each in found.months] == list(range(1, 13))
    assert all(0 <= each.strength <= 1 for each in found.months)
    assert max(each.strength for each in found.months) > 0.9
    assert found.calendar and "march of spring" in found.calendar.rule and found.calendar.sure in ("fair", "rough")
    assert found.basis == ("record" if found.stages else "common practice")
    assert {stage.source for stage in found.stages if stage.source} == {source.id for source in found.sources}


def test_a_calendar_turns_with_the_hemisphere_and_not_for_evergreens(prints: Prints) -> None:
    north, south = (prints.calendar("Acer rubrum", near, 2026).months for near in (LISBON, AUCKLAND))
    assert north[6].strength > north[0].strength and south[0].strength > south[6].strength
    evergreen = prints.calendar("Eucalyptus cinerea", LISBON, 2026)
    assert {(each.stage, each.strength) for each in evergreen.months} == {(Stage.EVERGREEN, 1.0)}
    tropics = prints.calendar("Acer rubrum", SINGAPORE, 2026)
    assert tropics.calendar and tropics.calendar.sure == "not known"


def test_a_calendar_of_no_plant_is_empty(prints: Prints) -> None:
    found = prints.calendar("xqzw", LISBON, 2026)
    assert (found.status, found.plant, found.calendar, found.months) == (Status.UNKNOWN, None, None, ())


# -- what is refused -----------------------------------------------------------------------------------------------

REFUSED: dict[str, tuple[str, Callable[[Prints], object]]] = {
    "latitude": ("latitude 91", lambda p: p.expect("oak", near="91,0")),
    "longitude": ("longitude 181", lambda p: p.gather("0,181")),
    "30 February": ("does not exist", lambda p: p.gather(LISBON, "2026-02-30")),
    "no date": ("not an ISO 8601 date", lambda p: p.expect("oak", near=LISBON, on="tomorrow")),
    "long date": ("ten characters", lambda p: p.expect("oak", near=LISBON, on="2" * 9999)),
    "date without place": ("without a place", lambda p: p.expect("oak", on="2026-05-09")),
    "swap without place": ("without a place", lambda p: p.swap("oak", on="2026-05-09")),
    "place": ("not a place that is known", lambda p: p.calendar("oak", "Atlantis")),
    "no place": ("no place is given", lambda p: p.gather("  ")),
    "long place": ("of 9999 letters", lambda p: p.gather("x" * 9999)),
    "long latitude": ("of 402 letters", lambda p: p.gather("1" * 400 + ",2")),
    "year": ("out of range", lambda p: p.calendar("oak", LISBON, 1500)),
    "hex": ("is not #rrggbb", lambda p: p.like("#12345")),
    "no hash": ("has no #", lambda p: p.like("6c7b38")),
    "lightness": ("L is 120", lambda p: p.like("120,0,0")),
    "no such surface": ("no print or leaf can have", lambda p: p.like("50,120,-120")),
    "Hunter": ("Hunter", lambda p: p.like("Hunter 40,1,2")),
    "nonsense": ("no known colour name", lambda p: p.gather(LISBON, wants=["qwertz"])),
    "misspelt": ("did you mean", lambda p: p.like("modrate olive")),
    "no colour": ("nothing was written", lambda p: p.like(" ")),
    "not a number": ("is not three CIELAB numbers", lambda p: p.like("nan,0,0")),
    "fibre": ("write one of paper", lambda p: p.expect("oak", fibre="felt")),
    "unstated fibre": ("write one of paper", lambda p: p.palette(["oak"], fibre="unstated")),
    "treatment": ("write one of none, alum, iron", lambda p: p.swap("oak", "tin")),
    "unstated treatment": ("write one of none, alum, iron", lambda p: p.like("black", "unstated")),
    "part": ("write one of", lambda p: p.expect("oak", part="nose")),
    "company": ("write one of adults", lambda p: p.gather(LISBON, company=["ghosts"])),
    "limit": ("write 1 or more", lambda p: p.gather(LISBON, limit=0)),
    "like limit": ("write 1 or more", lambda p: p.like("black", limit=-1)),
    "swap limit": ("write 1 or more", lambda p: p.swap("oak", limit=-1)),
}


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_is_refused_in_one_clear_line(prints: Prints, case: str) -> None:
    words, ask = REFUSED[case]
    with pytest.raises(RefusedInputError) as caught:
        ask(prints)
    assert words in str(caught.value)
    assert str(caught.value).isprintable() and len(str(caught.value)) < 250


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=30), st.text(max_size=30), st.text(max_size=30))
def test_any_text_is_answered_or_refused(prints: Prints, place: str, day: str, colour: str) -> None:
    for ask in (
        lambda: prints.expect(colour, "iron", near=place, on=day),
        lambda: prints.like(colour, "alum", limit=1),
        lambda: prints.gather(place, day, wants=[colour], limit=1),
    ):
        try:
            ask()
        except RefusedInputError as error:
            assert "\n" not in str(error)

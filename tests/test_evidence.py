"""Contributed evidence: what it must never do, whatever people print."""

from __future__ import annotations

import ast
import dataclasses
import importlib.util
import random
import sys
from itertools import pairwise
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from folioproof import safety
from folioproof.assessment import Facts
from folioproof.colorimetry import Lab, difference
from folioproof.estimates import Knowledge
from folioproof.evidence import CountRow, Evidence, contributed, evidence, weighed
from folioproof.evidence_colour import BlockRow, ColourEvidence, colour_evidence, geometric_median
from folioproof.evidence_season import STRIP_IS_WORTH, MonthEvidence, monthly, moved_strip
from folioproof.expectation import BASE_RATE, expect
from folioproof.intervals import SAME_PERSON, beta_interval, effective, passed_down
from folioproof.phenology import MonthStrength
from folioproof.vocabulary import Fibre, Part, Stage, Treatment

SOURCE = Path(safety.__file__).parent


def printed(
    *counts: int, who: str = "mira", region: str = "NZ-AUK", month: int = 4, country: str | None = None
) -> CountRow:
    none, trace, partial, clear, full = counts
    return CountRow(country or region[:2], region, month, who, (none, trace, partial, clear, full))


def asked(rows: list[CountRow], country: str | None = None, region: str | None = None) -> Evidence:
    found = evidence(rows, BASE_RATE, country=country, region=region)
    assert found is not None
    return found


def coloured(lab: Lab, block: int, who: str = "mira", number: int = 1, region: str = "NZ-AUK") -> BlockRow:
    sums = (number * lab.lightness, number * lab.a, number * lab.b)
    return BlockRow(region[:2], region, who, block, number, *sums)


def colour_of(rows: list[BlockRow], country: str | None = None, region: str | None = None) -> ColourEvidence:
    found = colour_evidence(rows, country, region)
    assert found is not None
    return found


ROWS = st.builds(
    CountRow,
    country=st.just("NZ"),
    region=st.sampled_from(["NZ-AUK", "NZ-WGN", "NZ-OTA"]),
    month=st.integers(1, 12),
    contributor=st.sampled_from(["mira", "jo", "ana", "tui"]),
    counts=st.tuples(*[st.integers(0, 6)] * 5).filter(any),
) | st.builds(
    CountRow,
    country=st.just("PT"),
    region=st.sampled_from(["PT-11", "PT-13"]),
    month=st.integers(1, 12),
    contributor=st.sampled_from(["rui", "eva", "mira"]),
    counts=st.tuples(*[st.integers(0, 6)] * 5).filter(any),
)
BLOCKS = st.builds(
    coloured,
    st.builds(Lab, st.floats(10, 95), st.floats(-30, 40), st.floats(-20, 60)),
    st.integers(1, 267),
    st.sampled_from(["mira", "jo", "ana", "rui"]),
    st.integers(1, 5),
    st.sampled_from(["NZ-AUK", "NZ-WGN", "PT-11"]),
)


# -- grades ----------------------------------------------------------------------------------------------------------


@given(
    st.lists(ROWS, min_size=1, max_size=20),
    st.randoms(),
    st.sampled_from([(None, None), ("NZ", None), ("NZ", "NZ-AUK")]),
)
@settings(deadline=None)
def test_the_order_of_the_rows_changes_nothing(
    rows: list[CountRow], rng: random.Random, place: tuple[str | None, str | None]
) -> None:
    shuffled = rng.sample(rows, len(rows))
    assert asked(rows, *place) == asked(shuffled, *place)
    assert contributed(rows) == contributed(shuffled)
    assert monthly(rows, "NZ") == monthly(shuffled, "NZ")


@given(st.lists(ROWS, min_size=1, max_size=20))
@settings(deadline=None)
def test_rates_lie_in_their_intervals_and_every_grade_keeps_a_chance(rows: list[CountRow]) -> None:
    for place in ((None, None), ("NZ", None), ("NZ", "NZ-AUK"), ("PT", "PT-11")):
        found = asked(rows, *place)
        assert sum(found.grades) == pytest.approx(1)
        assert all(each > 0 for each in found.grades)
        assert 0 <= found.clear.low < found.clear.mean < found.clear.high <= 1
        assert found.clear.mean <= found.at_all.mean
        assert found.effective <= found.prints + 1e-9


@given(st.lists(ROWS, min_size=1, max_size=15), st.booleans())
@settings(deadline=None)
def test_a_print_that_agrees_never_widens_the_interval(rows: list[CountRow], more: bool) -> None:
    region = [row for row in rows if row.region == "NZ-AUK"] or [printed(0, 0, 0, 1, 0)]
    before = asked(region, "NZ", "NZ-AUK")
    agreeing = printed(0, 0, 0, 1, 0, who="new") if before.clear.mean >= 0.5 else printed(1, 0, 0, 0, 0, who="new")
    after = asked([*region, agreeing], "NZ", "NZ-AUK")
    assert after.clear.high - after.clear.low <= before.clear.high - before.clear.low + 1e-9


@pytest.mark.parametrize("place", [(None, None), ("NZ", None), ("NZ", "NZ-AUK")])
@pytest.mark.parametrize("counts", [(0, 0, 0, 0, 1), (1, 0, 0, 0, 0)])
def test_fifty_prints_of_one_person_move_less_than_one_of_fifty_people(
    place: tuple[str | None, str | None], counts: tuple[int, ...]
) -> None:
    others = [printed(1, 0, 1, 1, 0, who="ana"), printed(0, 1, 1, 1, 0, who="jo", region="NZ-WGN")]
    before = asked(others, *place)
    one = asked([*others, printed(*(50 * each for each in counts), who="busy")], *place)
    many = asked([*others, *(printed(*counts, who=f"p{i}") for i in range(50))], *place)
    assert abs(one.clear.mean - before.clear.mean) < abs(many.clear.mean - before.clear.mean)
    assert one.clear.high - one.clear.low > many.clear.high - many.clear.low
    layer_of_one = contributed([*others, printed(*(50 * each for each in counts), who="busy")])
    layer_of_many = contributed([*others, *(printed(*counts, who=f"p{i}") for i in range(50))])
    assert layer_of_one is not None and layer_of_many is not None
    assert sum(layer_of_one.counts) < sum(layer_of_many.counts)


def test_one_person_in_fifty_regions_is_still_one_person() -> None:
    rows = [printed(0, 0, 0, 0, 1, who="busy", region=f"US-{i:02}") for i in range(50)]
    assert sum(weighed(rows)) <= 1 / SAME_PERSON
    spread = [printed(0, 0, 0, 0, 1, who=f"p{i}", region=f"US-{i:02}") for i in range(50)]
    assert sum(weighed(spread)) > 3 * sum(weighed(rows))


@given(st.lists(ROWS, min_size=1, max_size=15))
@settings(deadline=None)
def test_a_region_without_prints_equals_its_country_and_a_country_the_world(rows: list[CountRow]) -> None:
    assert asked(rows, "NZ", "NZ-CAN") == asked(rows, "NZ")
    assert asked(rows, "FR", "FR-IDF") == asked(rows)
    assert evidence(rows, BASE_RATE, region="NZ-CAN") == evidence(rows, BASE_RATE, country="NZ", region="NZ-CAN")


def test_the_answer_says_of_which_place_and_month_it_speaks() -> None:
    rows = [printed(0, 0, 0, 1, 0, month=4), printed(0, 0, 0, 1, 0, who="jo", region="NZ-WGN", month=9)]
    found = evidence(rows, BASE_RATE, country="NZ", region="NZ-AUK", month=4)
    assert found is not None and (found.region, found.month, found.prints) == ("NZ-AUK", 4, 1)
    found = evidence(rows, BASE_RATE, country="NZ", region="NZ-AUK", month=7)
    assert found is not None and (found.region, found.month, found.prints) == ("NZ-AUK", None, 1)
    found = evidence(rows, BASE_RATE, country="NZ", region="NZ-CAN", month=9)
    assert found is not None and (found.region, found.month, found.prints) == (None, 9, 1)


def test_near_prints_weigh_more_than_far_ones() -> None:
    here = [printed(0, 0, 0, 0, 1, who=f"n{i}") for i in range(5)]
    there = [printed(1, 0, 0, 0, 0, who=f"w{i}", region="NZ-WGN") for i in range(5)]
    abroad = [printed(1, 0, 0, 0, 0, who=f"p{i}", region="PT-11") for i in range(5)]
    world, country, region = (asked(here + there + abroad, *place) for place in ((), ("NZ",), ("NZ", "NZ-AUK")))
    assert world.clear.mean < country.clear.mean < region.clear.mean


def test_nothing_printed_is_no_evidence() -> None:
    assert evidence([], BASE_RATE) is None
    assert contributed([]) is None
    assert colour_evidence([]) is None
    assert monthly([], "NZ") == ()


def test_few_prints_stay_near_the_record_and_many_leave_it() -> None:
    expected = (0.02, 0.03, 0.05, 0.4, 0.5)
    one = evidence([printed(1, 0, 0, 0, 0)], expected)
    assert one is not None and one.clear.mean > 0.6 and not one.disagrees
    many = evidence([printed(1, 0, 0, 0, 0, who=f"p{i}") for i in range(12)], expected)
    assert many is not None and many.clear.mean < 0.4 and many.disagrees
    assert any("differs from the record" in line for line in many.words)


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([printed(0, 0, 0, 9, 0)], "One person's word so far."),
        ([printed(0, 0, 0, 9, 0), printed(0, 0, 0, 0, 1, who="jo")], "People agree: it prints clearly."),
        ([printed(3, 0, 0, 0, 0), printed(0, 1, 0, 0, 0, who="jo")], "People agree: it does not print clearly."),
        (
            [printed(0, 0, 0, 1, 0, who="a"), printed(0, 0, 0, 1, 0, who="b"), printed(1, 0, 0, 0, 0, who="c")],
            "Most find that it prints clearly.",
        ),
        ([printed(0, 0, 0, 2, 0), printed(2, 0, 0, 0, 0, who="jo")], "People differ on whether it prints clearly."),
    ],
)
def test_agreement_is_said_in_words(rows: list[CountRow], said: str) -> None:
    assert asked(rows).agreement == said


# -- the formula -----------------------------------------------------------------------------------------------------


@given(st.floats(1, 1e6), st.floats(0, 1))
@settings(deadline=None)
def test_prints_that_share_something_are_worth_no_more_than_their_number(number: float, alike: float) -> None:
    assert 1 <= effective(number, alike) <= number + 1e-9
    assert effective(number + 1, alike) >= effective(number, alike) - 1e-9
    if alike > 0:
        assert effective(number, alike) <= 1 / alike + 1e-9


def test_each_further_print_of_a_person_weighs_less() -> None:
    steps = [effective(n + 1, SAME_PERSON) - effective(n, SAME_PERSON) for n in range(50)]
    assert steps[0] == 1
    assert all(later < earlier for earlier, later in pairwise(steps))


def test_what_is_passed_down_keeps_its_mean_and_its_variance_grows_as_the_law_says() -> None:
    alpha, alike = (3.0, 1.0, 2.0, 1.0, 1.0), 0.1
    passed = passed_down(alpha, alike)
    total, kept = sum(alpha), sum(passed)
    assert [each / kept for each in passed] == pytest.approx([each / total for each in alpha])
    share = alpha[0] / total
    within = alike * (share - share**2) * total / (total + 1)
    assert share * (1 - share) / (kept + 1) == pytest.approx(share * (1 - share) / (total + 1) + within)


def test_an_empty_side_of_a_rate_is_at_its_end() -> None:
    assert beta_interval(0, 3) == (0, 0)
    assert beta_interval(3, 0) == (1, 1)


# -- colour ----------------------------------------------------------------------------------------------------------


@given(st.lists(BLOCKS, min_size=1, max_size=20), st.randoms())
@settings(max_examples=50, deadline=None)
def test_the_order_of_the_colours_changes_nothing(rows: list[BlockRow], rng: random.Random) -> None:
    shuffled = rng.sample(rows, len(rows))
    for place in ((None, None), ("NZ", None), ("NZ", "NZ-AUK")):
        assert colour_evidence(rows, *place) == colour_evidence(shuffled, *place)


@given(st.integers(0, 10_000), st.builds(Lab, st.floats(0, 100), st.floats(-80, 80), st.floats(-80, 80)))
@settings(max_examples=50, deadline=None)
def test_a_wild_record_hardly_moves_the_centre(seed: int, wild: Lab) -> None:
    rng = random.Random(seed)
    ten = [
        coloured(Lab(50 + rng.gauss(0, 4), 8 + rng.gauss(0, 3), 25 + rng.gauss(0, 4)), 1 + i, who=f"p{i}")
        for i in range(10)
    ]
    before = colour_of(ten)
    after = colour_of([*ten, coloured(wild, 200, who="wild")])
    assert difference(before.lab, after.lab) < 2
    assert after.groups == ()


def test_one_persons_many_wild_records_do_not_take_the_centre() -> None:
    ten = [coloured(Lab(50 + i, 8, 25), 1 + i, who=f"p{i}") for i in range(10)]
    after = colour_of([*ten, coloured(Lab(90, -40, -40), 200, who="wild", number=100)])
    assert difference(colour_of(ten).lab, after.lab) < 4


def test_agreeing_colours_narrow_and_others_widen() -> None:
    agreeing = [coloured(Lab(50, 8, 25), 77, who=f"p{i}") for i in range(12)]
    spreads = [colour_of(agreeing[:n]).spread for n in range(1, 13)]
    assert all(later < earlier for earlier, later in pairwise(spreads))
    for count in range(1, 6):
        fewer = [*agreeing, *(coloured(Lab(60, -20, 40), 117, who=f"q{i}") for i in range(count - 1))]
        more = [*fewer, coloured(Lab(60, -20, 40), 117, who="one more")]
        assert colour_of(more).spread > colour_of(fewer).spread


def test_two_kinds_of_colour_are_said_and_not_averaged() -> None:
    brown, green = Lab(45, 12, 30), Lab(55, -20, 25)
    rows = [coloured(brown, 77, who=f"p{i}") for i in range(6)] + [coloured(green, 120, who=f"q{i}") for i in range(4)]
    found = colour_of(rows)
    assert [round(group.share, 2) for group in found.groups] == [0.6, 0.4]
    assert [group.people for group in found.groups] == [6, 4]
    assert difference(found.lab, brown) < 0.01
    assert found.spread >= difference(brown, green) / 2
    assert "Two kinds of colour" in found.words[0]
    of_one_person = [*rows[:6], coloured(green, 120, who="q", number=9)]
    assert colour_of(of_one_person).groups == ()


def test_near_colours_weigh_more_than_far_ones() -> None:
    here = [coloured(Lab(45, 12, 30), 77, who=f"p{i}") for i in range(30)]
    far = [coloured(Lab(55, 5, 25), 79, who=f"q{i}", region="PT-11") for i in range(60)]
    at_home, abroad = colour_of(here + far, "NZ", "NZ-AUK"), colour_of(here + far, "PT", "PT-11")
    assert difference(at_home.lab, Lab(45, 12, 30)) < 0.01
    assert difference(abroad.lab, Lab(55, 5, 25)) < 0.01
    assert colour_of(here + far, "NZ", "NZ-WGN") == colour_of(here + far, "NZ")


def test_the_geometric_median_of_a_line_and_of_a_triangle() -> None:
    line = [(0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (9.0, 0.0, 0.0)]
    assert geometric_median(line, [1, 1, 1]) == (1, 0, 0)
    assert geometric_median(line, [1, 1, 5]) == (9, 0, 0)
    # The Fermat point of a triangle without an angle of 120 degrees sees every side under 120 degrees.
    triangle = [(-1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
    assert geometric_median(triangle, [1, 1, 1]) == pytest.approx((0, 3**-0.5, 0), abs=1e-3)


# -- season ----------------------------------------------------------------------------------------------------------

STRIP = tuple(MonthStrength(m, Stage.FULL_LEAF, share) for m, share in enumerate([0.2] * 3 + [0.6] * 3 + [1.0] * 6, 1))


def month_of(number: int, strength: float, worth: float = 20) -> MonthEvidence:
    return MonthEvidence(number, 30, 20, worth, strength)


def test_prints_as_the_strip_expects_leave_it_alone() -> None:
    months = [month_of(cell.month, 0.7 * cell.strength) for cell in STRIP]
    assert [cell.strength for cell in moved_strip(STRIP, months)] == pytest.approx([cell.strength for cell in STRIP])


def test_a_weak_plant_or_a_single_month_says_nothing_of_the_shape_of_the_year() -> None:
    assert moved_strip(STRIP, []) == STRIP
    assert [c.strength for c in moved_strip(STRIP, [month_of(2, 0.15)])] == pytest.approx([c.strength for c in STRIP])
    assert moved_strip(STRIP, [month_of(4, 0.0), month_of(7, 0.0)]) == STRIP


def test_local_prints_move_their_months() -> None:
    months = [month_of(2, 0.8), month_of(8, 0.8)]
    moved = {cell.month: cell.strength for cell in moved_strip(STRIP, months)}
    assert moved[2] > 0.5 and moved[8] <= 1 and moved[1] == pytest.approx(0.2)
    little = {cell.month: cell.strength for cell in moved_strip(STRIP, [month_of(2, 0.8, 1), month_of(8, 0.8)])}
    assert 0.2 < little[2] < moved[2]
    assert all(0 <= share <= 1 for share in moved.values())
    assert STRIP_IS_WORTH > 0


def test_months_stay_in_their_country_and_near_ones_weigh_more() -> None:
    rows = [printed(0, 0, 0, 0, 1, who=f"p{i}", month=1) for i in range(6)]
    rows += [printed(4, 0, 0, 0, 0, who="rui", region="PT-11", month=1)]
    (january,) = monthly(rows, "NZ", "NZ-AUK")
    assert (january.month, january.prints, january.people, january.strength) == (1, 6, 6, 1)
    rows += [printed(1, 0, 0, 0, 0, who=f"w{i}", region="NZ-WGN", month=1) for i in range(6)]
    (in_auckland,) = monthly(rows, "NZ", "NZ-AUK")
    (in_wellington,) = monthly(rows, "NZ", "NZ-WGN")
    assert in_auckland.strength > 0.5 > in_wellington.strength
    assert monthly(rows, "FR") == ()


# -- estimates and levels --------------------------------------------------------------------------------------------


def test_contributed_prints_become_a_layer_of_the_estimate() -> None:
    key = (Part.LEAF, Treatment.ALUM, Fibre.PAPER)
    rows = [printed(0, 0, 0, 0, 2, who=f"p{i}") for i in range(5)]
    layer = contributed(rows, [coloured(Lab(50, 8, 25), 77, who=f"p{i}") for i in range(5)])
    assert layer is not None and (layer.prints, layer.people) == (10, 5)
    found = expect(Knowledge("x", contributed={key: layer}), {}, Treatment.ALUM, Fibre.PAPER)
    assert found.lab is not None and difference(found.lab, Lab(50, 8, 25)) < 0.01
    assert found.strength > expect(Knowledge("x"), {}, Treatment.ALUM, Fibre.PAPER).strength


def test_the_rules_of_safety_read_nothing_of_outcomes() -> None:
    """A level has no input from what people printed: neither a value of theirs nor a module that holds it."""
    told = {field.name for field in dataclasses.fields(Facts)}
    assert not {name for name in told if "outcome" in name or "evidence" in name or "contribut" in name}
    for name in ("safety", "assessment"):
        tree = ast.parse((SOURCE / f"{name}.py").read_text(encoding="utf-8"))
        imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert not {m for m in imported if m and ("evidence" in m or "outcome" in m or "estimate" in m)}


def test_what_a_person_felt_is_no_input_of_the_statistics() -> None:
    assert not {*CountRow._fields, *BlockRow._fields} & {"reaction", "reaction_note", "review_flag"}
    assert "reaction" not in (SOURCE / "evidence_sql.py").read_text(encoding="utf-8")


# -- coverage --------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made_worlds() -> ModuleType:
    path = Path(__file__).parent / "benchmarks" / "evidence_coverage.py"
    spec = importlib.util.spec_from_file_location("evidence_coverage", path)
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    # A dataclass looks its own module up by name.
    sys.modules["evidence_coverage"] = module
    spec.loader.exec_module(module)
    return module


def test_nine_intervals_of_ten_hold_the_truth(made_worlds: ModuleType) -> None:
    """Over worlds of every kind the benchmark knows; the benchmark has the table, scene by scene."""
    found = [made_worlds.coverage(scene, 50, seed) for seed, scene in enumerate(made_worlds.SCENES)]
    shares = [share for scene in found for share, _ in scene.values()]
    assert 0.87 <= sum(shares) / len(shares) <= 0.93

"""Colours as numbers: reading, naming, showing, and how others see them."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.colorimetry import (
    ColourName,
    ColourNames,
    Lab,
    Sight,
    chroma,
    difference,
    fold,
    from_hex,
    hue,
    in_gamut,
    read_colour,
    seen_by,
    to_hex,
)
from folioproof.corpus import validate
from folioproof.corpus_files import data_root
from folioproof.finding import FolioproofError
from folioproof.records import ColourNameRecord, ColourWordRecord, Record
from folioproof.yaml_reader import read

labs = st.builds(Lab, st.floats(0, 100), st.floats(-128, 127), st.floats(-128, 127))
hexes = st.integers(0, 0xFFFFFF).map("#{:06x}".format)


def stored(name: str, model: type[Record]) -> Record:
    document, findings = read(data_root() / "colour-names" / f"{name}.yml")
    assert document is not None
    record, more = validate(document, model)
    assert record is not None, more
    assert findings == []
    return record


@pytest.fixture(scope="module")
def names() -> ColourNames:
    record = stored("iscc-nbs", ColourNameRecord)
    assert isinstance(record, ColourNameRecord)
    return ColourNames([ColourName(each.number, each.name, Lab(*each.lab), each.hex) for each in record.names])


@pytest.fixture(scope="module")
def words() -> dict[str, str]:
    record = stored("words", ColourWordRecord)
    assert isinstance(record, ColourWordRecord)
    assert [each.word for each in record.words] == sorted({each.word for each in record.words})
    return {each.word: each.name for each in record.words}


def refusal(text: str, names: ColourNames, words: dict[str, str] | None = None) -> str:
    with pytest.raises(FolioproofError) as caught:
        read_colour(text, names, words)
    said = str(caught.value)
    assert said.isprintable()
    return said


def test_the_names_are_numbered_as_in_the_standard_and_told_apart(names: ColourNames) -> None:
    assert [each.number for each in names.names] == list(range(1, 268))
    assert len({each.name for each in names.names}) == len({each.hex for each in names.names}) == 267


def test_the_stored_colour_of_a_name_is_that_of_its_hex(names: ColourNames) -> None:
    for each in names.names:
        exact = from_hex(each.hex)
        apart = [abs(x - y) for x, y in zip(vars_of(each.lab), vars_of(exact), strict=True)]
        assert max(apart) <= 0.005 + 1e-9, each
        assert to_hex(each.lab) == each.hex


def vars_of(lab: Lab) -> tuple[float, float, float]:
    return lab.lightness, lab.a, lab.b


def test_every_name_is_found_by_its_own_colour_and_in_any_spelling(names: ColourNames) -> None:
    for each in names.names:
        assert names.nearest(each.lab) == each
        assert names.find(each.name.upper().replace(" ", "-").replace("GRAY", "Grey")) == each
    assert names.find("no such colour") is None


@given(lab=labs)
def test_the_nearest_name_is_the_nearest_of_all(names: ColourNames, lab: Lab) -> None:
    asked = Lab(round(lab.lightness, 2), round(lab.a, 2), round(lab.b, 2))
    found = names.nearest(lab)
    assert found == min(names.names, key=lambda each: (difference(asked, each.lab), each.number))


def test_every_word_leads_to_a_standard_name(names: ColourNames, words: dict[str, str]) -> None:
    assert [word for word, name in words.items() if names.find(name) is None] == []
    shadowed = [word for word in words if names.find(word) is not None]
    assert shadowed == [], "a standard name wins over a word, so that such a line would never be read"
    assert len({fold(word) for word in words}) == len(words)


@pytest.mark.parametrize(
    ("text", "colour"),
    [
        ("#6c7b38", "#6c7b38"),
        (" #6C7B38 ", "#6c7b38"),
        ("#fa0", "#ffaa00"),
        ("Light Olive", "#867e36"),
        ("dark-greyish-olive", "#363527"),
        ("grey-green", "#5e716a"),
        ("olive", "#665d1e"),
    ],
)
def test_a_colour_is_read(names: ColourNames, words: dict[str, str], text: str, colour: str) -> None:
    assert to_hex(read_colour(text, names, words)) == colour


@pytest.mark.parametrize("text", ["49.06,-16.47,34.37", " 49.06 , -16.47 , +34.37 ", "49.06, −16.47, 34.37"])
def test_lab_is_read(names: ColourNames, text: str) -> None:
    assert read_colour(text, names) == Lab(49.06, -16.47, 34.37)


def test_a_colour_that_no_screen_shows_is_read_when_a_surface_can_have_it(names: ColourNames) -> None:
    saffron = read_colour("72.8,22,99.7", names)
    assert not in_gamut(saffron)
    for text in ("0,0,0", "100,0,0", "95,2,-11"):
        read_colour(text, names)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "nothing was written"),
        ("\u200b", "nothing was written"),
        ("#12", "not #rrggbb"),
        ("#6c7b3g", "not #rrggbb"),
        ("6c7b38", "write #6c7b38"),
        ("49,06,-16,47,34,37", "not three CIELAB numbers"),
        ("49.06,-16.47", "not three CIELAB numbers"),
        ("1e1,0,0", "not three CIELAB numbers"),
        ("٤٩,1,2", "not three CIELAB numbers"),
        ("101,0,0", "write 0 (black) to 100 (white)"),
        ("-1,0,0", "write 0 (black) to 100 (white)"),
        ("50,200,0", "a is 200"),
        ("50,0,-129", "b is -129"),
        ("10,0,100", "no print or leaf"),
        ("100,60,0", "no print or leaf"),
        ("Hunter 30.2,4.1,7.7", "Hunter"),
        ("olvie", "did you mean olive?"),
        ("strong olive gren", "did you mean strong olive green"),
        ("qqqq", "no known colour name; write #rrggbb"),
        ("\u202eeulb", "no known colour name"),
        ("x" * 5000, "no known colour name"),
    ],
)
def test_what_is_no_colour_is_refused_in_one_line(
    names: ColourNames, words: dict[str, str], text: str, said: str
) -> None:
    message = refusal(text, names, words)
    assert said in message
    assert len(message) < 200


@given(text=st.text(max_size=40))
def test_any_text_is_read_or_refused(names: ColourNames, words: dict[str, str], text: str) -> None:
    try:
        read_colour(text, names, words)
    except FolioproofError as error:
        assert str(error).isprintable()


def test_words_are_known_only_when_given(names: ColourNames) -> None:
    assert "no known colour name" in refusal("rust", names)


@given(text=hexes)
def test_a_hex_comes_back_and_can_be_shown(text: str) -> None:
    lab = from_hex(text)
    assert to_hex(lab) == text
    assert in_gamut(lab)


@given(lab=labs)
def test_what_is_shown_can_be_shown(lab: Lab) -> None:
    shown = to_hex(lab)
    assert re.fullmatch("#[0-9a-f]{6}", shown)
    assert in_gamut(from_hex(shown))


def test_what_cannot_be_shown_keeps_its_lightness_and_hue_better_than_its_chroma() -> None:
    asked = Lab(53.3, -99.6, 16.7)
    shown = from_hex(to_hex(asked))
    assert abs(shown.lightness - asked.lightness) < 8
    assert abs(hue(shown) - hue(asked)) < 15
    assert chroma(shown) < 0.6 * chroma(asked)


@given(x=labs, y=labs)
def test_a_difference_is_the_same_both_ways_and_never_below_what_lightness_gives(x: Lab, y: Lab) -> None:
    apart = difference(x, y)
    assert apart == pytest.approx(difference(y, x), abs=1e-6)
    assert apart >= abs(x.lightness - y.lightness) / 1.75 - 1e-9
    assert difference(x, x) == 0


@pytest.mark.parametrize(
    ("lab", "degrees"),
    [(Lab(50, 10, 0), 0), (Lab(50, 0, 10), 90), (Lab(50, -10, 0), 180), (Lab(50, 0, -10), 270), (Lab(50, 0, 0), 0)],
)
def test_hue_and_chroma(lab: Lab, degrees: float) -> None:
    assert hue(lab) == pytest.approx(degrees)
    assert chroma(lab) == pytest.approx(abs(lab.a) + abs(lab.b))


def test_a_list_has_one_decimal_and_no_minus_zero() -> None:
    assert str(Lab(49.056, -0.04, 34.36).as_list()) == "[49.1, 0.0, 34.4]"


def test_ordinary_sight_changes_nothing_and_gray_stays_gray() -> None:
    lab = from_hex("#884422")
    assert seen_by(lab, Sight.ORDINARY) is lab
    for sight in Sight:
        assert chroma(seen_by(from_hex("#848482"), sight)) < 2


@given(lab=labs, sight=st.sampled_from(Sight))
def test_what_anyone_sees_can_be_shown_unless_it_is_the_colour_itself(lab: Lab, sight: Sight) -> None:
    assert sight is Sight.ORDINARY or in_gamut(seen_by(lab, sight))


@pytest.mark.parametrize("sight", [Sight.PROTAN, Sight.DEUTAN])
def test_red_and_green_of_one_lightness_come_together_without_one_cone(sight: Sight) -> None:
    brick, moss = Lab(50, 40, 30), Lab(50, -35, 30)
    assert difference(seen_by(brick, sight), seen_by(moss, sight)) < difference(brick, moss) / 2
    assert difference(seen_by(brick, Sight.TRITAN), seen_by(moss, Sight.TRITAN)) > 30


def test_the_module_starts_without_the_library_of_colours() -> None:
    code = "import sys, folioproof.colorimetry; print('coloraide' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"

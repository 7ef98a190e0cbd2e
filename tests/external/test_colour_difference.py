"""Colour arithmetic against what was published, and against a second library, each beside its source."""

from __future__ import annotations

import statistics
import warnings
from collections.abc import Callable
from random import Random
from types import ModuleType
from typing import Any

import pytest

from folioproof.colorimetry import ColourName, ColourNames, Lab, difference, from_hex
from folioproof.corpus import validate
from folioproof.corpus_files import data_root
from folioproof.records import ColourNameRecord
from folioproof.yaml_reader import read

Row = dict[str, str]

#: Published by both: where the hues lie exactly 180 degrees apart, the last bit of the sum decides.
OPPOSITE_HUES = {"14": ("4.8045", "4.7461")}


@pytest.fixture(scope="module")
def science() -> ModuleType:
    """Return colour-science, which warns when it is imported that its plots have no library here."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour


@pytest.fixture(scope="module")
def names() -> ColourNames:
    document, _ = read(data_root() / "colour-names" / "iscc-nbs.yml")
    assert document is not None
    record, _ = validate(document, ColourNameRecord)
    assert record is not None
    return ColourNames([ColourName(each.number, each.name, Lab(*each.lab), each.hex) for each in record.names])


@pytest.mark.published("ciede2000_pairs")
def test_published_pairs(row: Row) -> None:
    """Sharma, Wu and Dalal (2005), table 1, both ways round; four decimals are printed."""
    x, y = (Lab(float(row[f"L{n}"]), float(row[f"a{n}"]), float(row[f"b{n}"])) for n in (1, 2))
    printed = [float(value) for value in OPPOSITE_HUES.get(row["pair"], (row["difference"],))]
    for found in (difference(x, y), difference(y, x)):
        assert min(abs(found - value) for value in printed) < 1e-4


def test_all_34_pairs_are_there(rows: Callable[[str], list[Row]]) -> None:
    assert [row["pair"] for row in rows("ciede2000_pairs")] == [str(n) for n in range(1, 35)]


def test_random_pairs_agree_with_a_second_library(science: Any) -> None:
    """colour-science 0.4, delta_E by CIE 2000."""
    random = Random(2911)
    pairs = [
        [(random.uniform(0, 100), random.uniform(-100, 100), random.uniform(-100, 100)) for _ in "xy"]
        for _ in range(500)
    ]
    expected = science.delta_E([x for x, _ in pairs], [y for _, y in pairs], method="CIE 2000")
    for (x, y), value in zip(pairs, expected, strict=True):
        assert difference(Lab(*x), Lab(*y)) == pytest.approx(value, abs=1e-6)


def test_hexes_become_lab_as_in_a_second_library(science: Any) -> None:
    """colour-science 0.4; it rounds the sRGB matrix to four decimals as IEC 61966-2-1 prints it, hence 0.03."""
    white = science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]["D65"]
    random = Random(440)
    for _ in range(200):
        text = f"#{random.randrange(1 << 24):06x}"
        rgb = [int(text[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        expected = science.XYZ_to_Lab(science.sRGB_to_XYZ(rgb), white)
        found = from_hex(text)
        assert (found.lightness, found.a, found.b) == pytest.approx(tuple(expected), abs=0.03), text


@pytest.mark.parametrize(
    ("text", "lab"),
    [
        ("#6c7b38", Lab(49.06, -16.47, 34.37)),
        ("#484d0a", Lab(31.13, -11.16, 35.57)),
        ("#6a6620", Lab(42.26, -7.80, 38.51)),
        ("#b9a685", Lab(68.95, 1.76, 19.64)),
    ],
)
def test_the_measured_fern_prints(text: str, lab: Lab) -> None:
    """JIMT article 4363, fern on cotton with alum, iron and lime: the printed hexes, and L, a, b worked out before."""
    found = from_hex(text)
    assert (found.lightness, found.a, found.b) == pytest.approx((lab.lightness, lab.a, lab.b), abs=0.01)


def test_iron_against_alum_on_the_measured_fern() -> None:
    """The same article: CIEDE2000 between the alum and the iron print."""
    assert difference(from_hex("#6c7b38"), from_hex("#484d0a")) == pytest.approx(16.2, abs=0.05)


@pytest.mark.parametrize(
    ("text", "name", "apart"), [("#6c7b38", "light olive", 7.9), ("#484d0a", "strong olive green", 3.2)]
)
def test_the_names_of_the_measured_fern(names: ColourNames, text: str, name: str, apart: float) -> None:
    """The nearest ISCC-NBS names, worked out from the hexes of color-name-lists 3.33.2."""
    lab = from_hex(text)
    found = names.nearest(lab)
    assert found.name == name
    assert difference(lab, found.lab) == pytest.approx(apart, abs=0.05)


def test_numbers_and_names_are_those_of_the_standard(names: ColourNames, rows: Callable[[str], list[Row]]) -> None:
    """Kelly (1958), RP 2911: number and name of each of the 267 blocks."""
    printed = [(int(row["number"]), row["name"]) for row in rows("iscc_nbs_centroids")]
    assert [(each.number, each.name) for each in names.names] == printed


def test_the_colour_of_a_name_is_near_the_centroid_of_its_block(
    science: Any, names: ColourNames, rows: Callable[[str], list[Row]]
) -> None:
    """Kelly (1958), RP 2911: Munsell centroids, by the renotation in colour-science, from illuminant C to D65.

    Vivid blocks reach far outside sRGB, so that single names may be up to 15 off; half are within 2. Grays and blacks
    of value below 1 are left out: the renotation does not hold them.
    """
    apart = {}
    for row, name in zip(rows("iscc_nbs_centroids"), names.names, strict=True):
        value = float(row["munsell"].split()[1].split("/")[0])
        if row["munsell"].startswith("N") or value < 1:
            continue
        apart[name.name] = difference(name.lab, centroid(science, row["munsell"]))
    assert len(apart) == 261
    assert statistics.median(apart.values()) < 2
    assert {name: round(value, 1) for name, value in apart.items() if value > 15} == {}


def centroid(science: Any, munsell: str) -> Lab:
    whites = science.CCS_ILLUMINANTS["CIE 1931 2 Degree Standard Observer"]
    c, d65 = (science.xy_to_XYZ(whites[name]) for name in ("C", "D65"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        seen_under_c = science.xyY_to_XYZ(science.munsell_colour_to_xyY(munsell))
    adapted = science.chromatic_adaptation(seen_under_c, c, d65, method="Von Kries", transform="Bradford")
    return Lab(*map(float, science.XYZ_to_Lab(adapted, whites["D65"])))

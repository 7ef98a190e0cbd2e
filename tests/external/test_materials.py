"""Materials against what was published: CAS check digits, GHS statements, classifications, each beside its source."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from folioproof.checks.materials import check_digit


@pytest.fixture(scope="module")
def rows(database: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(database)
    connection.row_factory = sqlite3.Row
    yield connection
    connection.close()


def said(rows: sqlite3.Connection, material: str, source: str | None = None) -> list[dict[str, Any]]:
    """Return what the sources, or one of them, say of a material."""
    sql = "SELECT * FROM material_ghs WHERE material_id = ? AND (source_id = ? OR ? IS NULL) ORDER BY id"
    found = [dict(row) for row in rows.execute(sql, (material, source, source))]
    return [row | {key: json.loads(row[key]) for key in ("classes", "statements", "pictograms")} for row in found]


#: Numbers of common substances, and one with two digits changed about. Common knowledge of chemists, no source.
@pytest.mark.parametrize(
    ("number", "holds"), [("7732-18-5", True), ("64-17-5", True), ("58-08-2", True), ("7723-18-5", False)]
)
def test_the_check_digit_finds_a_slip(number: str, holds: bool) -> None:
    assert (check_digit(number) == int(number[-1])) is holds


def test_every_cas_number_has_its_check_digit(rows: sqlite3.Connection) -> None:
    """CAS Registry Numbers end in the sum of digit times place, counted from the right, modulo 10."""
    numbers = [row[0] for row in rows.execute("SELECT number FROM material_cas")]
    assert len(numbers) >= 18
    for number in numbers:
        digits = [int(digit) for digit in number if digit != "-"]
        last = digits.pop()
        assert sum(i * digit for i, digit in enumerate(digits[::-1], 1)) % 10 == last, number


#: Wording as read in: the H-code list of safety-data-sheet.org; CLP Annex I, tables 3.1.3 and 3.8.4; CLP Annex VI,
#: 1.2.3; EPA, GHS label elements; ILO/WHO card 1416; ECHA brief profile 100.028.867.
WORDING = {
    "H226": "Flammable liquid and vapour",
    "H290": "May be corrosive to metals",
    "H301": "Toxic if swallowed",
    "H302": "Harmful if swallowed",
    "H312": "Harmful in contact with skin",
    "H314": "Causes severe skin burns and eye damage",
    "H315": "Causes skin irritation",
    "H317": "May cause an allergic skin reaction",
    "H318": "Causes serious eye damage",
    "H319": "Causes serious eye irritation",
    "H320": "Causes eye irritation",
    "H335": "May cause respiratory irritation",
    "H360": "May damage fertility or the unborn child",
    "H361": "Suspected of damaging fertility or the unborn child",
    "H400": "Very toxic to aquatic life",
    "H410": "Very toxic to aquatic life with long lasting effects",
    "H412": "Harmful to aquatic life with long lasting effects",
}


def test_statements_are_worded_as_the_ghs_words_them(rows: sqlite3.Connection) -> None:
    found = {row["code"]: (row["text"], row["basis"]) for row in rows.execute("SELECT * FROM ghs_statements")}
    assert {code: text for code, (text, _) in found.items() if code in WORDING} == WORDING
    assert {code for code, (_, basis) in found.items() if basis != "published"} == set(found) - set(WORDING)


def test_exactly_the_statements_in_use_are_worded(rows: sqlite3.Connection) -> None:
    used = {code for row in rows.execute("SELECT statements FROM material_ghs") for code in json.loads(row[0])}
    assert used == {row[0] for row in rows.execute("SELECT code FROM ghs_statements")}


def test_iron_sulfate_is_harmonised_as_harmful_and_irritating(rows: sqlite3.Connection) -> None:
    """GisChem 916 (BG RCI, BGHM), after CLP Annex VI: Acute Tox. 4 (oral), Skin Irrit. 2, Eye Irrit. 2; Warning."""
    (found,) = said(rows, "ferrous-sulfate", "GISCHEM916")
    assert found["statements"] == ["H302", "H315", "H319"]
    assert (found["signal_word"], found["pictograms"]) == ("Warning", ["GHS07"])
    assert "Annex VI" in found["scheme"]


def test_copper_sulfate_damages_eyes_and_water(rows: sqlite3.Connection) -> None:
    """ILO/WHO (2023), ICSC 1416: harmful if swallowed, serious eye damage, very toxic to aquatic life; Danger."""
    (found,) = said(rows, "copper-sulfate", "ICSC1416")
    assert found["statements"] == ["H302", "H318", "H410"]
    assert (found["signal_word"], found["pictograms"]) == ("Danger", ["GHS05", "GHS07", "GHS09"])


def test_the_card_of_the_anhydrous_copper_salt_differs(rows: sqlite3.Connection) -> None:
    """ILO/WHO (2023), ICSC 0751: Warning; causes skin and eye irritation, where ICSC 1416 has serious eye damage."""
    (found,) = said(rows, "copper-sulfate", "ICSC0751")
    assert (found["form"], found["signal_word"]) == ("anhydrous", "Warning")
    assert "H318" not in found["statements"]


def test_aluminium_sulfate_is_not_potash_alum(rows: sqlite3.Connection) -> None:
    """ECHA, C&L inventory, EC 233-135-0: serious eye damage. Supplier sheets of potash alum: irritation at most."""
    assert any("H318" in each["statements"] for each in said(rows, "aluminium-sulfate", "ECHA_CL_ALSULF"))
    assert not any("H318" in each["statements"] for each in said(rows, "potash-alum"))


def test_three_sheets_of_potash_alum_give_three_answers(rows: sqlite3.Connection) -> None:
    """Supplier sheets of 2013 (USA) and 2018 (Australia), and a dictionary with the older risk phrases."""
    found = {each["source_id"]: (each["signal_word"], each["statements"]) for each in said(rows, "potash-alum")}
    assert found["SDS_ALUM_US"] == ("Warning", ["H302", "H315", "H319", "H335"])
    assert found["SDS_ALUM_AU"] == ("none", [])
    assert found["CHEMDICT_ALUM"] == (None, [])
    (agree,) = rows.execute("SELECT sources_agree FROM materials WHERE id = 'potash-alum'").fetchone()
    assert agree == 0


def test_one_grade_of_aluminium_acetate_may_harm_the_unborn(rows: sqlite3.Connection) -> None:
    """A supplier's page and sheet (2022) of CAS 7360-44-3: H360 in the summary, H361 in section 2."""
    found = [each["statements"] for each in said(rows, "aluminium-acetate-dibasic", "SDS_ALAC_7360")]
    assert found == [["H360"], ["H361"]]


def test_the_stricter_stands_first(rows: sqlite3.Connection) -> None:
    """CLP Annex I, table 3.1.3: Danger is the signal word of the graver categories, Warning of the milder."""
    order = {"Danger": 0, "Warning": 1, "none": 2}
    for (material,) in rows.execute("SELECT id FROM materials").fetchall():
        words = [order[each["signal_word"]] for each in said(rows, material) if each["signal_word"]]
        assert words == sorted(words), material


def test_fume_fever_and_cold_mordant_have_their_temperatures(rows: sqlite3.Connection) -> None:
    """StatPearls, polymer fume fever: 300-450 C. Common practice, no source: the cold mordant at 40 C at most."""
    sql = "SELECT low, high, unit, basis FROM material_ranges WHERE material_id = ? AND kind = 'heat limit'"
    assert (300, 450, "degC", "published") in [tuple(row) for row in rows.execute(sql, ("ptfe-sheet",))]
    assert [tuple(row) for row in rows.execute(sql, ("aluminium-triformate",))] == [
        (None, 40, "degC", "common practice")
    ]


def test_every_fact_cites_a_source_or_says_that_it_has_none(rows: sqlite3.Connection) -> None:
    for table in ("material_cas", "material_ghs", "material_ranges", "material_advice", "ghs_statements"):
        for row in rows.execute(f"SELECT basis, source_id, locator FROM {table}"):
            assert (row["basis"] == "published") == bool(row["source_id"] and row["locator"]), table
            assert row["basis"] in ("published", "common practice", "memory"), table

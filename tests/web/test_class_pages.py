"""What to leave out, and the class sheet: dangerous plants first, nothing usable that is not named exactly."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from folioproof.class_sheet import class_sheet
from folioproof.leaving_out import Ground, described, left_out
from folioproof.reading import Reading
from folioproof.serving import make_datasette
from folioproof.sheet_materials import degrees, side_by_side
from folioproof.vocabulary import Company, Level

CLASS = frozenset({Company.ADULTS, Company.CLASS})


@pytest.fixture(scope="module")
def pages(database: Path) -> Any:
    return make_datasette(database).client


@pytest.fixture(scope="module")
def reading(database: Path) -> Any:
    opened = Reading(database)
    yield opened
    opened.close()


async def text_of(pages: Any, path: str, status: int = 200, **parameters: Any) -> str:
    response = await pages.get(path, params=parameters or None)
    assert response.status_code == status, path
    assert len(response.text) < 100_000
    return str(response.text)


def between(text: str, start: str, end: str) -> str:
    return re.sub(r"<[^>]+>", "", text.split(start)[1].split(end)[0])


# -- what to leave out ---------------------------------------------------------------------------------------------


def test_every_plant_that_a_class_leaves_out_is_on_the_list(reference: Any) -> None:
    found = left_out(reference, CLASS)
    species = {each.id for each in found}
    levels = reference.prints.store.levels(CLASS)
    groups = {row[0] for row in reference.prints.shelf.rows("SELECT id FROM taxa WHERE rank IN ('genus', 'family')")}
    assert species == {taxon for taxon, level in levels.items() if level is Level.LEAVE_OUT} - groups
    assert {"nerium-oleander", "toxicodendron-radicans", "conium-maculatum"} <= species


def test_those_left_out_by_everyone_come_first_then_the_commonest(reference: Any) -> None:
    found = left_out(reference, CLASS)
    order = [list(Ground).index(each.ground) for each in found]
    assert order == sorted(order)
    company = [each for each in found if each.ground is Ground.COMPANY]
    assert [each.voices for each in company] == sorted((each.voices for each in company), reverse=True)
    first = [each.id for each in company[:60]]
    assert "conium-maculatum" in first and "ginkgo-biloba" in first
    alone = left_out(reference, frozenset({Company.ADULTS}))
    assert {each.ground for each in alone} == {Ground.EVERYONE}
    assert [each.id for each in alone] == [each.id for each in found if each.ground is Ground.EVERYONE]


def test_a_region_leaves_off_only_what_is_recorded_elsewhere(reference: Any) -> None:
    everywhere = {each.id for each in left_out(reference, CLASS)}
    growth = reference.prints.store.growth()
    for region in "1257":
        found = left_out(reference, CLASS, frozenset({region}))
        assert all(each.grows_here is not False for each in found)
        for gone in everywhere - {each.id for each in found}:
            assert growth[gone].grows_in and region not in growth[gone].grows_in


def test_each_reason_speaks_of_the_plant(reference: Any) -> None:
    shown = described(reference, CLASS, left_out(reference, CLASS)[:300])
    for each in shown:
        assert each.reason and "in this company" not in each.reason and "people were asked" not in each.reason
    by_id = {each.standing.id: each for each in shown}
    assert "urushiol" in by_id["toxicodendron-radicans"].reason
    assert by_id["nerium-oleander"].taken_for
    assert all(len(set(each.taken_for)) == len(each.taken_for) for each in shown)


async def test_the_page_says_how_it_chose_and_that_absence_is_no_all_clear(pages: Any) -> None:
    text = await text_of(pages, "/leave-out")
    for phrase in ("Nerium oleander", "not thereby fit for use", "a class", "more on the page", "printing record"):
        assert phrase in text
    assert text.index("by everyone") < text.index("in this company, for what it does")
    text = await text_of(pages, "/leave-out", region="5", by="family")
    assert "Australasia" in text and "<h3>Apocynaceae</h3>" in text and "nothing is recorded" in text


async def test_every_page_of_the_list_together_holds_each_plant_once(pages: Any, reference: Any) -> None:
    listed: list[str] = []
    last = 1
    for page in range(1, 100):
        answer = json.loads(await text_of(pages, "/leave-out.json", page=page))
        listed += [each["id"] for each in answer["plants"]]
        last = answer["last"]
        if page == last:
            break
    assert sorted(listed) == sorted(each.id for each in left_out(reference, CLASS))
    await text_of(pages, "/leave-out", 400, page=last + 1)


async def test_near_and_family_narrow_the_list(pages: Any) -> None:
    answer = json.loads(await text_of(pages, "/leave-out.json", near="Pacific/Auckland", family="anacardiaceae"))
    assert answer["regions"] == ["Australasia"]
    assert {each["family"] for each in answer["plants"]} == {"Anacardiaceae"}
    assert "No plant in the records is left out" in await text_of(
        pages, "/leave-out", family="Hamamelidaceae", company="adults"
    )


# -- the class sheet -----------------------------------------------------------------------------------------------


async def test_a_plant_that_is_left_out_never_stands_on_the_table(pages: Any) -> None:
    text = await text_of(
        pages, "/class-sheet", names="Acer rubrum\nNerium oleander\noak\ncastr bean\nxqzw", material="potash-alum"
    )
    away = between(text, 'id="away-title"', "</section>")
    table = between(text, 'id="plants-title"', "</section>")
    for name in ("Nerium oleander", "oak", "castr bean", "Ricinus communis", "xqzw", "No record has this name"):
        assert name in away
    assert "Acer rubrum" in table and "extra care" in table
    for name in ("Nerium", "oak", "Ricinus", "castr"):
        assert name not in table


async def test_only_an_exact_name_puts_a_plant_on_the_table(reference: Any, reading: Reading) -> None:
    names = ["Acer rubrum", "acer rubrum", "maple", "Acer", "acer rubum", "Liquidambar styraciflua", "fig", "hornbeam"]
    sheet = class_sheet(reference, reading, names)
    assert [plant.scientific_name for plant in sheet.plants] == ["Acer rubrum", "Liquidambar styraciflua"]
    assert {each.query for each in sheet.unnamed} == {"maple", "Acer", "acer rubum", "fig", "hornbeam"}
    assert all(plant.level in (Level.ORDINARY, Level.EXTRA) for plant in sheet.plants)


def test_company_moves_plants_off_the_table(reference: Any, reading: Reading) -> None:
    adults = class_sheet(reference, reading, ["Ginkgo biloba"], company=Company.ADULTS)
    taught = class_sheet(reference, reading, ["Ginkgo biloba"])
    assert [plant.id for plant in adults.plants] == ["ginkgo-biloba"] and not adults.left_out
    assert [each.query for each in taught.left_out] == ["Ginkgo biloba"] and not taught.plants


async def test_the_sheet_has_every_part_that_a_teacher_hands_out(pages: Any) -> None:
    text = await text_of(
        pages, "/class-sheet", names="Liquidambar styraciflua\r\nQuercus robur", near="Europe/London",
        on="2027-06-10", material=["potash-alum", "ferrous-sulfate", "wool-felt"],
    )  # fmt: skip
    for phrase in (
        "Identify first.", "Ask before class", "Not without advice first", "allergic to latex", "pregnant",
        "H317 May cause an allergic skin reaction", "Warning", "go by the stricter", "Waste: local rules first",
        "88 °C (190 °F)", "United Kingdom: check locally", ">111<", "2027-06-10", "licensed advice come first",
        "data version", "full leaf",
    ):  # fmt: skip
        assert phrase in text, phrase
    assert text.index("REACH, EU") < text.index("CLP Annex VI")
    assert " style=" not in text and "<script>" not in text


async def test_the_address_that_is_shared_shows_the_same_sheet(pages: Any) -> None:
    text = await text_of(pages, "/class-sheet", names="Acer rubrum\noleander", company="children", on="2027-01-02")
    shared = re.search(r'href="(/class-sheet\?[^"]+)">Address', text)
    assert shared
    again = await text_of(pages, shared[1].replace("&amp;", "&"))
    assert between(again, "<article", "</article>") == between(text, "<article", "</article>")


async def test_without_names_there_is_a_form_and_json_says_what_is_missing(pages: Any) -> None:
    text = await text_of(pages, "/class-sheet")
    assert "<article" not in text and 'value="ferrous-sulfate"' in text
    assert "write one or more" in await text_of(pages, "/class-sheet.json", 400)
    answer = json.loads(await text_of(pages, "/class-sheet.json", name="Acer rubrum", country="nz"))
    assert answer["plants"][0]["id"] == "acer-rubrum" and answer["help_lines"][0]["number"] == "0800 764 766"
    assert len(answer["ask_before_class"]) >= 10


def test_a_country_without_a_line_asks_for_one(reference: Any, reading: Reading) -> None:
    sheet = class_sheet(reference, reading, ["Acer rubrum"], country="PT")
    assert sheet.country == "Portugal" and sheet.help_lines == ()


def test_no_statement_of_any_source_is_lost_side_by_side(reading: Reading) -> None:
    for row in reading.materials():
        rows = reading.material(row["id"])["ghs"]  # type: ignore[index]
        said = side_by_side(rows)
        assert len(said) <= 3
        assert {code for each in said for code, _ in each.statements} == {c for r in rows for c in r["statements"]}
        if any(r["signal_word"] == "Danger" for r in rows):
            assert any(each.signal_word == "Danger" for each in said)


def test_temperatures_name_both_units() -> None:
    assert degrees(88, 88) == "88 °C (190 °F)"
    assert degrees(150, 160) == "150 to 160 °C (302 to 320 °F)"
    assert degrees(65, None) == "from 65 °C (149 °F)"
    assert degrees(None, 40) == "up to 40 °C (104 °F)"


@pytest.mark.parametrize(
    "query",
    [
        "region=10", "region=%3Cb%3E", "by=luck", "family=Nopeaceae", "near=nowhere%00", "page=0", "page=9999",
        "near=x&near=y", "company=ghosts", f"near={'x' * 500}", f"family={'x' * 5000}", "region=1&region=2",
    ],
)  # fmt: skip
async def test_hostile_parameters_of_the_list_get_a_page_with_400(pages: Any, query: str) -> None:
    for path in ("/leave-out", "/leave-out.json"):
        text = await text_of(pages, f"{path}?{query}", 400)
        assert "<b>" not in text.split("<main")[-1].split("</main")[0] or path.endswith(".json")


@pytest.mark.parametrize(
    "query",
    [
        "name=oak&material=nope", "name=oak&material=%3Cscript%3E", "name=oak&country=XX", "name=oak&on=2027-02-30",
        "name=oak&country=%F0%9F%8D%81", "name=oak&on=tomorrow", "name=oak&near=%3Cimg%3E", "name=oak&company=ghosts",
        "names=a&names=b", f"names={'x' * 7000}", "&".join(f"name=n{i}" for i in range(41)),
        "names=" + "%0A".join(f"n{i}" for i in range(41)), "&".join(f"material=m{i}" for i in range(31)),
    ],
)  # fmt: skip
async def test_hostile_parameters_of_the_sheet_get_a_page_with_400(pages: Any, query: str) -> None:
    for path in ("/class-sheet", "/class-sheet.json"):
        text = await text_of(pages, f"{path}?{query}", 400)
        if not path.endswith(".json"):
            assert "<script>" not in text and "<img>" not in text


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", '"><img src=x>', "\u202eevil\x00", "'; DROP TABLE taxa"])
async def test_hostile_names_are_never_echoed_raw(pages: Any, name: str) -> None:
    text = await text_of(pages, "/class-sheet", names=name)
    assert "<script>alert" not in text and "<img src" not in text and "\u202e" not in text
    assert "None of the plants asked about is on the table." in text

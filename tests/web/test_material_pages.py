"""The pages about materials: what differs stands side by side, the stricter first; nothing reads as an all-clear."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from folioproof.reading import Reading
from folioproof.serving import make_datasette
from folioproof.web.render import figure


@pytest.fixture(scope="module")
def pages(database: Path) -> Any:
    return make_datasette(database).client


@pytest.fixture(scope="module")
def ids(database: Path) -> list[str]:
    reading = Reading(database)
    found = [row["id"] for row in reading.materials()]
    reading.close()
    return found


async def text_of(pages: Any, path: str) -> str:
    response = await pages.get(path)
    assert response.status_code == 200, path
    return str(response.text)


async def test_every_material_has_its_page_with_the_waste_caution(pages: Any, ids: list[str]) -> None:
    listed = await text_of(pages, "/materials")
    assert len(ids) >= 30
    for each in ids:
        text = await text_of(pages, f"/material/{each}")
        assert f'href="/material/{each}"' in listed
        assert "Read the data sheet of the exact product; local rules come first." in text
        assert "Waste: local rules first" in text
        assert len(text) < 100_000


async def test_sources_that_differ_stand_side_by_side_the_stricter_first(pages: Any) -> None:
    text = await text_of(pages, "/material/copper-sulfate")
    assert "The sources differ." in text
    danger, toxic, warning = (text.index(words) for words in ("H318 Causes", "H301 Toxic", "H320 Causes"))
    assert danger < toxic < warning
    alum = await text_of(pages, "/material/potash-alum")
    assert alum.index("H335 May cause respiratory irritation") < alum.index("Not classified as hazardous")


async def test_one_source_is_not_said_to_differ(pages: Any) -> None:
    assert "The sources differ." not in await text_of(pages, "/material/citric-acid")


async def test_nothing_found_is_no_all_clear(pages: Any) -> None:
    text = await text_of(pages, "/material/aluminium-acetate-basic")
    assert "No classification was found. That is not an all-clear." in text
    listed = await text_of(pages, "/materials")
    row = re.search(r'<a href="/material/aluminium-acetate-basic">.*?</tr>', listed, re.DOTALL)
    assert row and "none found" in row[0]


async def test_both_grades_of_aluminium_acetate_say_which_they_are(pages: Any) -> None:
    for each, number in (("basic", "142-03-0"), ("dibasic", "7360-44-3")):
        assert number in await text_of(pages, f"/material/aluminium-acetate-{each}")


async def test_every_figure_shows_its_unit_and_what_it_rests_on(pages: Any) -> None:
    text = await text_of(pages, "/material/ptfe-sheet")
    assert "300 to 450 °C" in text and "from 280 °C" in text
    rows = re.findall(r'<td data-label="Rests on"><span>(.*?)</span></td>', text)
    assert rows and all("note" in row or "memory" in row or "common practice" in row for row in rows)


async def test_the_same_is_there_as_json(pages: Any) -> None:
    found = json.loads(await text_of(pages, "/material/ferrous-sulfate.json"))
    assert found["sources_agree"] == 0
    assert found["ghs"][0]["worded"]["H317"] == "May cause an allergic skin reaction"
    assert {each["unit"] for each in found["working"]} >= {"min"}
    listed = json.loads(await text_of(pages, "/materials.json"))["materials"]
    assert {"id", "kind", "numbers", "strictest", "sources_agree"} <= set(listed[0])


async def test_a_source_names_the_materials_that_cite_it(pages: Any) -> None:
    assert 'href="/material/copper-sulfate"' in await text_of(pages, "/source/ICSC1416")


async def test_the_list_is_reached_from_every_page(pages: Any) -> None:
    assert 'href="/materials">Materials</a>' in await text_of(pages, "/how")


@pytest.mark.parametrize(
    ("low", "high", "unit", "shown"),
    [
        (88.0, 88.0, "degC", "88 °C"),
        (150.0, 155.0, "degC", "150 to 155 °C"),
        (65.0, None, "degC", "from 65 °C"),
        (None, 40.0, "degC", "up to 40 °C"),
        (6.25, 6.25, "% of dry weight of fibre", "6.25 % of the dry weight of the fibre"),
    ],
)
def test_a_figure_is_written_with_its_unit(low: float | None, high: float | None, unit: str, shown: str) -> None:
    assert figure(low, high, unit) == shown

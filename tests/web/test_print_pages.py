"""The pages about colour and season, asked in process."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from folioproof import Reference
from folioproof.serving import make_datasette


@pytest.fixture(scope="module")
def pages(database: Path) -> Any:
    return make_datasette(database).client


SMOKE = [
    ("/gather", "What shall I gather?"),
    ("/gather?near=-36.8,174.7&on=2026-04-10&company=class", "ordinary care"),
    ("/gather?near=NZ&wants=olive&wants=%236c7b38&treatment=iron&fibre=silk", "olive"),
    ("/by-colour", "What leaves give"),
    ("/by-colour?colour=olive&treatment=iron", "moderate olive"),
    ("/by-colour?colour=50,-10,30", "CIEDE2000"),
    ("/instead?q=smoke+tree", "Cotinus"),
    ("/instead", "Instead of which plant?"),
    ("/together?names=walnut%0Abirch", "Juglans regia"),
    ("/together?name=Betula+pendula&name=Betula+pendula&treatment=iron", "hard to tell apart"),
    ("/in-season?near=Europe/Lisbon", "In season near Europe/Lisbon"),
    ("/in-season", "where you are"),
    ("/how-colours", "32 of 88"),
    ("/plant/betula-pendula", "What it prints"),
    ("/plant/betula-pendula?near=Europe/Lisbon&on=2026-06-01", "full leaf"),
    ("/plant/betula-pendula?part=flower", "What it prints"),
]


@pytest.mark.parametrize(("path", "phrase"), SMOKE)
async def test_every_page_answers_with_its_phrase(pages: Any, path: str, phrase: str) -> None:
    response = await pages.get(path)
    assert response.status_code == 200
    assert phrase.lower() in response.text.lower()
    assert len(response.content) < 100_000


REFUSED = [
    ("/gather?near=91,0", "latitude"),
    ("/gather?near=Europe/Lissabon", "Europe/Lisbon"),
    ("/gather?near=NZ&on=2026-02-30", "2026-02-30"),
    ("/gather?near=NZ&treatment=copper", "alum + iron"),
    ("/gather?near=NZ&fibre=nylon", "plant fibre"),
    ("/gather?near=NZ&wants=colourless", "colour"),
    ("/gather?near=NZ&company=ghosts", "company"),
    ("/gather?near=NZ" + "&wants=olive" * 6, "at most 5"),
    ("/gather?near=NZ&near=AU", "once"),
    ("/by-colour?colour=%23zzzzzz", "colour"),
    ("/by-colour?colour=200,0,0", "0"),
    ("/instead?q=birch&treatment=tin", "alum"),
    ("/together?" + "&name=birch" * 25, "at most 24"),
    ("/plant/betula-pendula?near=Atlantis", "Atlantis"),
    ("/in-season?near=%00", ""),
    ("/gather.json", "near"),
    ("/by-colour.json", "colour"),
    ("/instead.json", "q"),
    ("/together.json", "name"),
]


@pytest.mark.parametrize(("path", "word"), REFUSED)
async def test_what_cannot_be_meant_is_refused_with_help(pages: Any, path: str, word: str) -> None:
    response = await pages.get(path)
    assert response.status_code == 400
    assert word in response.text


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "'; DROP TABLE taxa; --"]
)
@pytest.mark.parametrize("place", ["near", "on", "wants", "colour", "q", "names", "treatment", "fibre"])
@pytest.mark.parametrize("page", ["/gather", "/by-colour", "/instead", "/together", "/in-season", "/plant/acer-rubrum"])
async def test_hostile_text_is_never_echoed_raw(pages: Any, page: str, place: str, text: str) -> None:
    base = {} if place == "near" else {"near": "NZ"}
    response = await pages.get(page, params=base | {place: text})
    assert response.status_code in (200, 400)
    assert "<script>alert" not in response.text and "<img src=x" not in response.text


async def test_the_page_and_the_library_give_the_same_colours(pages: Any, reference: Reference) -> None:
    answer = json.loads((await pages.get("/plant/juglans-nigra.json?near=NZ&on=2026-01-15")).text)["printing"]
    cell = next(c for c in answer["expected"] if (c["treatment"], c["fibre"]) == ("iron", "paper"))
    own = reference.prints.expect("Juglans nigra", "iron", "paper", near="NZ", on="2026-01-15")[0]
    assert own.swatch is not None and own.season is not None
    assert cell["hex"] == own.swatch.hex and cell["name"] == own.swatch.name
    assert answer["season"]["stage"] == own.season.stage


async def test_no_plant_that_is_left_out_is_ever_offered(pages: Any, reference: Reference) -> None:
    for path in ("/gather.json?near=US&on=2026-07-01&company=class", "/by-colour.json?colour=olive&company=class"):
        answer = json.loads((await pages.get(path)).text)
        rows = answer.get("plants") or answer["found"]
        assert rows
        for row in rows:
            level = reference.plant(row["plant"]["id"], company="class").assessment.level
            assert level in ("ordinary care", "extra care"), row["plant"]["id"]


async def test_a_shared_address_shows_the_same_list(pages: Any) -> None:
    page = (await pages.get("/gather?near=Europe/Lisbon&company=class&wants=olive")).text
    shared = re.search(r'href="(/gather\?[^"]+)">Address of this list', page)
    assert shared is not None
    address = shared[1].replace("&amp;", "&")
    assert re.search(r"on=\d{4}-\d{2}-\d{2}", address) and "company=class" in address and "wants=olive" in address
    again = (await pages.get(address)).text
    assert re.findall(r'<h3><a href="(/plant/[^"?]+)', page) == re.findall(r'<h3><a href="(/plant/[^"?]+)', again)


async def test_a_swatch_never_stands_without_its_name(pages: Any) -> None:
    page = (await pages.get("/by-colour?colour=olive")).text
    for block in re.findall(r"<li><svg class=\"blot\".*?</li>", page, re.DOTALL):
        assert re.search(r"<b>[a-z -]+</b>", block)

"""The pages about contributed prints, asked in process on the invented demonstration."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from folioproof import Reference
from folioproof.serving import make_datasette

INVENTED = "are invented"


@pytest.fixture(scope="module")
def pages(demo_database: Path) -> Any:
    return make_datasette(demo_database).client


@pytest.mark.parametrize(
    "path", ["/", "/plant/acer-palmatum", "/contribute", "/review", "/gather?near=NZ-OTA", "/look-up?q=maple", "/nope"]
)
async def test_every_page_says_that_the_prints_are_invented(pages: Any, path: str) -> None:
    assert INVENTED in (await pages.get(path)).text


async def test_the_real_records_say_no_such_thing(database: Path) -> None:
    pages = make_datasette(database).client
    for path in ("/", "/contribute", "/plant/acer-palmatum"):
        response = await pages.get(path)
        assert response.status_code == 200 and INVENTED not in response.text


async def test_a_plant_shows_what_others_got_near_and_far(pages: Any) -> None:
    page = (await pages.get("/plant/acer-palmatum?near=NZ-OTA")).text
    assert "What others got" in page and "NZ-OTA" in page and "CC0-1.0" in page
    far = json.loads((await pages.get("/plant/acer-palmatum.json?near=FI")).text)["printing"]["others"]
    assert far["prints"] > 20 and {each["country"] for each in far["by_treatment"]} == {None}
    near = json.loads((await pages.get("/plant/acer-palmatum.json?near=NZ-OTA")).text)["printing"]["others"]
    assert any(each["region"] == "NZ-OTA" for each in near["by_treatment"])
    for each in near["by_treatment"]:
        assert 0 <= each["clear"]["low"] <= each["clear"]["mean"] <= each["clear"]["high"] <= 1


async def test_contributed_prints_are_a_layer_of_the_estimate(demo_database: Path, reference: Reference) -> None:
    with Reference.open(demo_database) as alive:
        found = alive.prints.expect("Acer palmatum", "alum", "paper")[0]
        before = reference.prints.expect("Acer palmatum", "alum", "paper")[0]
    assert found.estimate is not None and before.estimate is not None
    assert found.estimate.layers[0].kind == "contributed prints"
    assert found.estimate.posterior != before.estimate.posterior


async def test_prints_that_differ_from_the_record_are_said_to(pages: Any) -> None:
    page = (await pages.get("/plant/liquidambar-styraciflua")).text
    assert "This differs from the record" in page


async def test_a_reaction_raises_a_flag_and_no_level(pages: Any, reference: Reference) -> None:
    assert "Tanacetum vulgare" in (await pages.get("/review")).text
    answer = json.loads((await pages.get("/plant/tanacetum-vulgare.json")).text)
    assert answer["level"] == reference.plant("tanacetum-vulgare").assessment.level
    assert "Up for review" in (await pages.get("/plant/tanacetum-vulgare")).text


async def test_the_monthly_prints_move_the_year(pages: Any, reference: Reference) -> None:
    path = "/plant/liquidambar-styraciflua.json?near=NZ-OTA&on=2026-01-10"
    moved = json.loads((await pages.get(path)).text)["printing"]["months"]
    still = reference.prints.calendar("Liquidambar styraciflua", "NZ-OTA", 2026).months
    assert [each["month"] for each in moved] == list(range(1, 13))
    assert [each["share"] for each in moved] != [round(each.strength, 2) for each in still]


async def test_how_to_contribute_shows_the_template_and_the_regions(pages: Any) -> None:
    page = (await pages.get("/contribute")).text
    assert "folioproof record" in page and "occurrenceID" in page and "NZ-OTA" in page

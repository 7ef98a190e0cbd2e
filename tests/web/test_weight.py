"""Light pages that stand still: their size, their compression, and how far anything on them moves while they load."""

from __future__ import annotations

import gzip
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

import folioproof.web
from folioproof.serving import make_datasette
from folioproof.web.render import asset_version

STATIC = Path(folioproof.web.__file__).parent / "static"
MOST_HTML = 100_000
MOST_STYLE_AND_SCRIPT = 40_000
MOST_SHIFT = 0.02
WATCH = """window.shift = 0; new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) window.shift += entry.value;
}).observe({ type: 'layout-shift', buffered: true })"""


@pytest.fixture(scope="module")
def pages(demo_database: Path) -> Any:
    return make_datasette(demo_database).client


async def test_every_page_is_small(pages: Any, own_page: str) -> None:
    assert len((await pages.get(own_page)).content) < MOST_HTML


async def test_every_page_of_datasette_is_small(pages: Any, raw_page: str) -> None:
    assert len((await pages.get(raw_page)).content) < MOST_HTML


def test_style_and_script_are_small(record_property: Callable[[str, object], None]) -> None:
    total = sum(path.stat().st_size for path in STATIC.iterdir())
    record_property("bytes of style and script", total)
    assert total < MOST_STYLE_AND_SCRIPT


async def test_a_browser_that_takes_gzip_gets_the_same_page_smaller(demo_database: Path) -> None:
    transport = httpx.ASGITransport(app=make_datasette(demo_database).app())
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        for path in ("/plant/acer-palmatum", "/plant/acer-palmatum.json", "/reference/taxa"):
            plain = await client.get(path, headers={"accept-encoding": "identity"})
            async with client.stream("GET", path, headers={"accept-encoding": "gzip"}) as response:
                raw = b"".join([chunk async for chunk in response.aiter_raw()])
            assert response.headers["content-encoding"] == "gzip" and response.headers["vary"] == "accept-encoding"
            assert int(response.headers["content-length"]) == len(raw) < len(plain.content) / 3
            assert gzip.decompress(raw) == plain.content
            assert "content-encoding" not in plain.headers


async def test_what_is_small_big_or_no_text_is_sent_as_it_is(demo_database: Path) -> None:
    transport = httpx.ASGITransport(app=make_datasette(demo_database).app())
    async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
        for path in ("/suggest.json?q=oleander", "/reference/hazards.csv?_size=5", "/robots.txt"):
            assert "content-encoding" not in (await client.get(path)).headers
        head = await client.head("/plant/acer-palmatum")
        assert head.status_code == 200 and "content-encoding" not in head.headers


def test_an_asset_has_an_address_of_its_own_for_each_version() -> None:
    assert re.fullmatch(r"[0-9a-f]{6,}", asset_version("tables.js"))


@pytest.mark.browser
@pytest.mark.parametrize(("width", "height"), [(390, 844), (390, 2400), (768, 1024), (1280, 900), (1280, 1600)])
def test_nothing_moves_while_a_page_loads(browser: Any, demo_address: str, width: int, height: int) -> None:
    context = browser.new_context(viewport={"width": width, "height": height}, timezone_id="Pacific/Auckland")
    page = context.new_page()
    page.add_init_script(WATCH)
    for path in ("/", "/plant/acer-palmatum", "/gather?near=Europe/Lisbon"):
        page.goto(demo_address + path)
        if path == "/":
            page.wait_for_selector("#in-season .swatches")
        page.wait_for_timeout(400)
        assert page.evaluate("window.shift") < MOST_SHIFT, path
    context.close()

"""WCAG 2.2 at level AA, as far as axe can measure it: every type of page, light and dark, on a phone and on a desk."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from folioproof import Reference
from folioproof.pack import Packer, write_pack

axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="axe is not installed (the extra `test`)")
pytestmark = pytest.mark.browser

REQUIRED = {"wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"}
ADVISED = {"best-practice"}
#: Each scheme and each width on every page; the two other pairs were measured by hand and gave nothing more.
VIEWS = (("light", 390), ("dark", 1280))
Report = Callable[[str, object], None]


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(timezone_id="Europe/Lisbon")
    opened = context.new_page()
    opened.set_default_timeout(120_000)
    yield opened
    context.close()


def broken(page: Any, report: Report) -> list[str]:
    """Return what the page breaks of WCAG, in each scheme and width; what axe only advises goes into the report."""
    required, advised = [], []
    options = {"runOnly": {"type": "tag", "values": sorted(REQUIRED | ADVISED)}, "resultTypes": ["violations"]}
    for scheme, width in VIEWS:
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 900})
        for each in axe.Axe().run(page, options=options).response["violations"]:
            where = "; ".join(str(node["target"][0]) for node in each["nodes"][:5])
            line = f"{each['id']} ({scheme}, {width}): {where}"
            (required if REQUIRED & set(each["tags"]) else advised).append(line)
    report("advice", advised)
    return required


def unfolded(page: Any, url: str) -> None:
    """Open a page and every fold on it, so that nothing is passed over."""
    page.goto(url)
    if page.locator("#in-season").count():
        page.wait_for_selector("#in-season .swatches")
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


def test_our_pages(page: Any, demo_address: str, own_page: str, record_property: Report) -> None:
    unfolded(page, demo_address + own_page)
    assert broken(page, record_property) == []


def test_pages_of_datasette(page: Any, demo_address: str, raw_page: str, record_property: Report) -> None:
    unfolded(page, demo_address + raw_page)
    assert broken(page, record_property) == []


def test_the_list_of_names_while_it_is_open(page: Any, demo_address: str, record_property: Report) -> None:
    page.goto(demo_address + "/look-up")
    page.focus("#q")
    page.keyboard.type("oak")
    page.wait_for_selector("#names-list li")
    page.keyboard.press("ArrowDown")
    assert broken(page, record_property) == []


@pytest.mark.parametrize("name", ["", "Nerium oleander", "hemlock", "castr bean", "Acer palmatum", "xqzwv"])
def test_the_field_pack(page: Any, field_file: Path, name: str, record_property: Report) -> None:
    page.goto(field_file.as_uri())
    page.wait_for_selector("#gather-list li")
    if name:
        page.fill("#q", name)
        page.press("#q", "Enter")
        page.wait_for_selector("#answer .verdict")
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    assert broken(page, record_property) == []


@pytest.fixture(scope="module")
def field_file(reference: Reference, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("pack") / "field.html"
    write_pack(Packer(reference).pack("Europe/London", "2026-05-09", made=date.today()), path)
    return path

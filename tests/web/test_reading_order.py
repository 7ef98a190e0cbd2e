"""A verdict by keyboard and by ear: headings, labels, the order of focus, and nothing that moves."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

pytestmark = pytest.mark.browser

UNNAMED = """[...document.querySelectorAll('input:not([type=hidden]), select, textarea, button')]
    .filter((each) => !(each.labels?.length || each.ariaLabel || each.innerText.trim() || each.type === 'submit'))
    .map((each) => each.outerHTML)"""
HEADINGS = "[...document.querySelectorAll('h1, h2, h3, h4, h5, h6')].map((each) => Number(each.tagName[1]))"
#: Where the focus is in the order of the document, what it is on, and whether it is seen to be there.
FOCUSED = """() => {
    const all = [...document.querySelectorAll('*')], at = document.activeElement, look = getComputedStyle(at);
    const seen = look.outlineStyle === 'solid' && parseFloat(look.outlineWidth) >= 2;
    return [all.indexOf(at), at.outerHTML.slice(0, 90), seen];
}"""


@pytest.fixture(scope="module")
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(timezone_id="Europe/Lisbon", viewport={"width": 1280, "height": 900})
    yield context.new_page()
    context.close()


def test_one_heading_at_the_top_and_no_step_left_out_below(page: Any, demo_address: str, own_page: str) -> None:
    page.goto(demo_address + own_page)
    levels = page.evaluate(HEADINGS)
    assert levels.count(1) == 1 and levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels)), levels


def test_every_control_has_a_name_and_no_id_stands_twice(page: Any, demo_address: str, own_page: str) -> None:
    page.goto(demo_address + own_page)
    assert page.evaluate(UNNAMED) == []
    ids = page.evaluate("[...document.querySelectorAll('[id]')].map((each) => each.id)")
    assert len(ids) == len(set(ids))


def test_controls_of_datasette_have_names(page: Any, demo_address: str, raw_page: str) -> None:
    page.goto(demo_address + raw_page)
    assert page.evaluate(UNNAMED) == []


def test_the_page_has_its_landmarks_and_language(page: Any, demo_address: str, own_page: str) -> None:
    page.goto(demo_address + own_page)
    for selector in ("header", "nav[aria-label]", "main", "footer"):
        assert page.locator(f"body > {selector}, header > {selector}").count() == 1, selector
    assert page.get_attribute("html", "lang") == "en" and page.title()


@pytest.mark.parametrize(
    "path",
    ["/", "/look-up?q=hemlock", "/plant/nerium-oleander", "/gather?near=Europe/Lisbon", "/by-colour", "/class-sheet"],
)
def test_focus_follows_the_document_and_is_seen(page: Any, demo_address: str, path: str) -> None:
    page.goto(demo_address + path)
    if path == "/":
        page.wait_for_selector("#in-season .swatches")
    last = -1
    for _ in range(40):
        page.keyboard.press("Tab")
        place, what, seen = page.evaluate(FOCUSED)
        if what.startswith("<body"):  # the end of the page
            break
        assert place > last, what
        assert seen or 'class="skip"' in what, what
        last = place
    assert last > 0


def test_a_verdict_is_reached_and_read_by_keyboard_alone(page: Any, demo_address: str) -> None:
    page.goto(demo_address + "/")
    while page.evaluate("document.activeElement.id") != "q":
        page.keyboard.press("Tab")
    page.keyboard.type("nerium ole")
    page.wait_for_selector("#names-list li >> text=/^nerium oleander$/i")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.wait_for_url("**/look-up?**")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    assert page.inner_text(".verdict .word") == "Leave out"
    headings = [text.partition(":")[0] for text in page.locator("main h2").all_inner_texts()]
    expected = ["Why", "Should it reach the table all the same", "Sources"]
    assert [text for text in headings if text in expected] == expected
    text = page.inner_text("main")
    assert text.index("Leave out") < text.index("Why")
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


def test_a_fold_opens_by_keyboard(page: Any, demo_address: str) -> None:
    page.goto(demo_address + "/plant/nerium-oleander")
    page.focus(".reasons summary >> nth=0")
    assert not page.is_visible(".reasons .claims >> nth=0")
    page.keyboard.press("Enter")
    assert page.is_visible(".reasons .claims >> nth=0")


def test_nothing_moves(page: Any, demo_address: str, own_page: str) -> None:
    page.goto(demo_address + own_page)
    assert page.evaluate("document.getAnimations().length") == 0
    assert page.evaluate("getComputedStyle(document.documentElement).scrollBehavior") == "auto"


def test_enlarged_four_times_no_page_scrolls_sideways(browser: Any, demo_address: str, every_page: list[str]) -> None:
    """WCAG 1.4.10: 320 CSS pixels are a desk's window of 1280 at four times its size."""
    page = browser.new_page(viewport={"width": 320, "height": 700})
    for path in every_page:
        page.goto(demo_address + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, path
    page.close()

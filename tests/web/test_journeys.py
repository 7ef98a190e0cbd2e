"""What a reader does from the first question to the end, in a real browser, with and without its scripts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

pytestmark = pytest.mark.browser

NAMES = "[...document.querySelectorAll('.gathering h3')].map((each) => each.innerText)"


@pytest.fixture
def page(browser: Any) -> Iterator[Any]:
    context = browser.new_context(timezone_id="Europe/Lisbon")
    yield context.new_page()
    context.close()


@pytest.fixture
def plain(browser: Any) -> Iterator[Any]:
    """A page in a browser that runs no script at all."""
    context = browser.new_context(java_script_enabled=False)
    yield context.new_page()
    context.close()


def asked(page: Any, address: str, name: str) -> str:
    page.goto(address + "/")
    page.fill("#q", name)
    page.press("#q", "Escape")
    page.press("#q", "Enter")
    page.wait_for_url("**/look-up?**")
    return str(page.inner_text("main"))


def test_a_slip_of_the_pen_is_never_taken_for_the_name(page: Any, address: str) -> None:
    text = asked(page, address, "castr bean")
    assert "Ricinus communis" in text and "Ordinary care" not in page.inner_text(".verdict")
    page.click("main a:has-text('Ricinus communis') >> nth=0")
    assert page.inner_text("h1").startswith("Ricinus communis")


@pytest.mark.parametrize(
    ("name", "dangerous", "mild"),
    [("hemlock", "Conium maculatum", "Tsuga canadensis"), ("laurel", "Prunus laurocerasus", "Laurus nobilis")],
)
def test_a_name_of_two_plants_shows_both_the_dangerous_one_first(
    page: Any, address: str, name: str, dangerous: str, mild: str
) -> None:
    text = asked(page, address, name)
    assert "may mean more than one plant" in text
    listed = text.split("It may mean any of these")[1]
    assert 0 <= listed.index(dangerous) < listed.index(mild)
    assert page.inner_text(".verdict .word") != "Ordinary care"


def test_a_list_to_gather_is_the_same_for_whom_it_is_shared_with(page: Any, browser: Any, address: str) -> None:
    page.goto(address + "/gather")
    assert page.input_value("#near") == "Europe/Lisbon"
    page.fill("#near", "-36.8,174.7")
    page.fill("#on", "2026-04-10")
    page.check("input[value=class]")
    page.fill("#wants", "#bdb35f")
    page.click("text=List them")
    page.wait_for_selector(".gathering")
    mine = page.evaluate(NAMES)
    shared = page.get_attribute("a:has-text('Address of this list')", "href")
    context = browser.new_context(timezone_id="America/New_York")
    other = context.new_page()
    other.goto(address + shared)
    assert len(mine) > 5 and other.evaluate(NAMES) == mine
    assert other.input_value("#near") == "-36.8,174.7"
    context.close()


def test_the_season_is_that_of_the_browsers_own_time_zone_until_another_is_written(page: Any, address: str) -> None:
    page.goto(address + "/")
    page.wait_for_selector("#season-title:has-text('near Europe/Lisbon')")
    assert page.locator("#in-season .swatches li").count() == 6
    page.fill("#near", "Pacific/Auckland")
    page.press("#near", "Enter")
    page.wait_for_url("**near=Pacific*")
    assert page.inner_text("#season-title") == "In season near Pacific/Auckland"
    page.wait_for_timeout(300)
    assert page.input_value("#near") == "Pacific/Auckland"


def test_a_browser_that_hides_its_time_zone_is_asked_for_a_place(browser: Any, address: str) -> None:
    context = browser.new_context(timezone_id="UTC")
    page = context.new_page()
    page.goto(address + "/")
    assert "settled" in (page.get_attribute("#in-season", "class") or "")
    assert page.input_value("#near") == "" and page.locator("#in-season .swatches").count() == 0
    context.close()


def test_gathering_without_a_script(plain: Any, address: str) -> None:
    plain.goto(address + "/gather")
    plain.fill("#near", "NZ")
    plain.fill("#on", "2026-04-10")
    plain.select_option("#treatment", "iron")
    plain.check("input[value=children]")
    plain.click("text=List them")
    text = plain.inner_text("main")
    assert "iron on paper" in text and "children" in text and plain.locator(".gathering > li").count() > 5
    plain.click("text=At each step >> nth=0")
    assert plain.is_visible(".gathering details li >> nth=0")


def test_by_colour_and_instead_without_a_script(plain: Any, address: str) -> None:
    plain.goto(address + "/by-colour")
    plain.fill("#colour", "#6c7b38")
    plain.click("text=Find plants")
    assert plain.locator(".swatches li").count() > 5
    plain.click(".gamut-table a >> nth=0")
    assert "Nearest to" in plain.inner_text("main")
    plain.goto(address + "/instead")
    plain.fill("#q", "smoke tree")
    plain.press("#q", "Enter")
    assert "leave out" in plain.inner_text("main") and plain.locator(".swatches li").count() > 5


def test_the_class_sheet_and_the_leave_out_list_without_a_script(plain: Any, address: str) -> None:
    plain.goto(address + "/class-sheet")
    plain.fill("#names", "Acer rubrum\nNerium oleander")
    plain.check("input[value=ferrous-sulfate]")
    plain.click("text=Make the sheet")
    away, _, table = plain.inner_text("article").partition("Plants on the table")
    assert "Nerium oleander" in away and "Acer rubrum" in table
    plain.goto(address + "/leave-out")
    plain.select_option("select[name=by]", "family")
    plain.click("text=List them")
    assert "Anacardiaceae" in plain.inner_text("main")


def test_no_page_strains_the_content_policy(page: Any, demo_address: str, own_page: str) -> None:
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto(demo_address + own_page)
    page.wait_for_load_state("load")
    # The browser notes an answer of 400 or 404 itself.
    assert [text for text in complaints if not text.startswith("Failed to load resource")] == []

"""The pages in a real browser: by keyboard, without JavaScript, on a phone, and with the content policy in force."""

from __future__ import annotations

from typing import Any

import pytest

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 768, 1280])
def test_no_page_breaks_the_policy_or_overflows(
    browser: Any, demo_address: str, every_page: list[str], width: int, scheme: str
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for path in every_page:
        page.goto(demo_address + path)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= width, f"{path} is {wide} wide"
    assert complaints == []
    page.close()


def test_asking_by_keyboard_alone(browser: Any, address: str) -> None:
    page = browser.new_page()
    page.goto(address + "/")
    page.focus("input[name=q]")
    page.keyboard.type("castor bea")
    page.wait_for_timeout(600)
    page.keyboard.type("n")
    page.wait_for_timeout(300)
    page.keyboard.press("Escape")
    page.keyboard.press("Enter")
    page.wait_for_url("**/look-up?**")
    text = page.inner_text("main")
    assert "Ricinus communis" in text and "extra care" in text.lower()
    page.close()


def test_asking_without_javascript_shows_every_candidate(browser: Any, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "/")
    page.fill("input[name=q]", "laurel")
    page.press("input[name=q]", "Enter")
    text = page.inner_text("main")
    assert "Prunus laurocerasus" in text and "Laurus nobilis" in text
    context.close()


@pytest.mark.parametrize("path", ["//elsewhere.invalid/", "/\\elsewhere.invalid/"])
def test_paths_that_could_send_a_reader_elsewhere_are_closed(address: str, path: str) -> None:
    import http.client

    connection = http.client.HTTPConnection(address.removeprefix("http://"))
    connection.request("GET", path)
    assert connection.getresponse().status == 404
    connection.close()


def test_choosing_a_name_by_keyboard(browser: Any, address: str) -> None:
    page = browser.new_page()
    page.goto(address + "/")
    page.focus("#q")
    page.keyboard.type("nerium oleander")
    page.wait_for_selector("#names-list li >> text=/^nerium oleander$/i")
    assert page.get_attribute("#q", "aria-expanded") == "true"
    page.keyboard.press("ArrowDown")
    active = page.get_attribute("#q", "aria-activedescendant")
    assert page.get_attribute(f"#{active}", "aria-selected") == "true"
    page.keyboard.press("Enter")
    assert page.input_value("#q").casefold() == "nerium oleander"
    assert page.get_attribute("#q", "aria-expanded") == "false"
    page.keyboard.press("Enter")
    page.wait_for_url("**/look-up?**")
    assert page.inner_text(".verdict .word") == "Leave out"
    page.close()


def test_the_first_tab_stop_skips_to_the_page_and_is_seen(browser: Any, address: str) -> None:
    page = browser.new_page()
    page.goto(address + "/how")
    page.keyboard.press("Tab")
    focused = page.evaluate(
        "document.activeElement.className + ' ' + document.activeElement.getBoundingClientRect().left"
    )
    name, left = focused.split()
    assert name == "skip" and float(left) >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.close()


def test_on_paper_every_claim_is_open_and_the_question_gone(browser: Any, address: str) -> None:
    page = browser.new_page()
    page.goto(address + "/look-up?q=Nerium+oleander")
    page.emulate_media(media="print")
    assert not page.is_visible(".question")
    assert page.is_visible(".reasons .claims >> nth=0")
    assert page.is_visible(".verdict .word")
    page.close()


def test_the_policy_does_stop_what_is_not_ours(browser: Any, address: str) -> None:
    page = browser.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.goto(address + "/reference/taxa")
    page.evaluate("const s = document.createElement('script'); s.textContent = 'window.x = 1'; document.body.append(s)")
    assert page.evaluate("window.x") is None
    assert any("Content Security Policy" in text for text in complaints)
    page.close()

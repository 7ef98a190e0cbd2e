"""The class sheet and the list of what to leave out, printed by a real browser and read back."""

from __future__ import annotations

import unicodedata
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

SHEET = (
    "/class-sheet?names=Acer+rubrum%0D%0ALiquidambar+styraciflua%0D%0ARosa+canina%0D%0ANerium+oleander%0D%0Acastr+bean"
    "&material=potash-alum&material=ferrous-sulfate&country=NZ&near=Europe/London&on=2027-06-10"
)
LISTS = (
    "/leave-out",
    "/leave-out?by=family",
    "/leave-out?region=1",
    "/leave-out?near=US&by=family",
    "/leave-out?company=children&company=animals&near=NZ",
    "/leave-out?company=adults",
)


def printed(browser: Any, url: str, paper: str, folder: Path) -> tuple[int, str]:
    """Print a page and return the number of its sides and its text."""
    from pypdf import PdfReader

    page = browser.new_page()
    page.goto(url)
    page.pdf(path=str(folder / "printed.pdf"), format=paper)
    page.close()
    read = PdfReader(folder / "printed.pdf")
    # A PDF may hold two letters as one sign.
    text = unicodedata.normalize("NFKC", " ".join(side.extract_text() for side in read.pages))
    return len(read.pages), " ".join(text.split())


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("path", LISTS)
def test_the_list_takes_at_most_two_sides(browser: Any, address: str, path: str, paper: str, tmp_path: Path) -> None:
    sides, text = printed(browser, address + path, paper, tmp_path)
    assert sides <= 2
    for phrase in ("What to leave out", "leave out by everyone", "not thereby fit for use", "Poison help line"):
        assert phrase in text
    assert ("more on the page" in text) == ("adults" not in path)


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_sheet_reads_back_with_the_left_out_plants_under_do_not_bring(
    browser: Any, address: str, paper: str, tmp_path: Path
) -> None:
    sides, text = printed(browser, address + SHEET, paper, tmp_path)
    assert sides <= 2
    away = text.split("Do not bring")[1].split("Plants on the table")[0]
    table = text.split("Plants on the table")[1].split("With every plant")[0]
    assert "Nerium oleander" in away and "castr bean" in away and "leave out" in away
    assert "Acer rubrum" in table and "extra care" in table and "ordinary care" in table
    assert "Nerium" not in table and "castr" not in table
    for phrase in ("Identify first.", "H319 Causes serious eye irritation", "0800 764 766", "2027-06-10", "°C"):
        assert phrase in text
    assert "Make the sheet" not in text and "Raw rows" not in text


def test_no_type_on_paper_is_smaller_than_8_points(browser: Any, address: str) -> None:
    page = browser.new_page()
    page.emulate_media(media="print")
    sizes = """[...document.querySelectorAll('.paper, .paper *')].filter(e => e.innerText && e.checkVisibility())
        .map(e => parseFloat(getComputedStyle(e).fontSize))"""
    for path in (SHEET, "/leave-out"):
        page.goto(address + path)
        assert min(page.evaluate(sizes)) >= 8 * 96 / 72 - 0.01
    page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 768, 1280])
def test_the_pages_keep_the_policy_and_their_width(browser: Any, address: str, width: int, scheme: str) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900}, color_scheme=scheme)
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for path in ("/class-sheet", SHEET, "/leave-out", "/leave-out?by=family&region=7"):
        page.goto(address + path)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path
    assert complaints == []
    page.close()


def test_a_sheet_is_made_and_shared_without_javascript(browser: Any, address: str) -> None:
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(address + "/class-sheet")
    page.fill("textarea[name=names]", "Acer rubrum\noak")
    page.check("input[value=potash-alum]")
    page.click("text=Make the sheet")
    made = page.inner_text("article")
    page.click("text=Address of this sheet")
    assert page.inner_text("article") == made and "potash alum" in made
    context.close()

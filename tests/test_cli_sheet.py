"""The class sheet as a file: whole or not at all, and the same as the page."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from folioproof.cli import main
from folioproof.web import sheet_file

CHROMIUM = pytest.mark.skipif(sheet_file.find_browser() is None, reason="no chromium is installed")


@pytest.fixture
def run(database: Path) -> Any:
    def invoke(*arguments: str, text: str | None = None) -> Result:
        return CliRunner().invoke(main, ["sheet", *arguments, "--database", str(database)], input=text)

    return invoke


def words(html: str) -> str:
    """Return the text of the sheet in a page, without marks and blanks."""
    return " ".join(re.sub(r"<[^>]+>", " ", html.split("<article")[1].split("</article>")[0]).split())


def test_an_html_file_needs_no_other(run: Any, tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    result = run("Acer rubrum", "--material", "potash-alum", "--on", "2027-06-10", "--country", "NZ", "-o", str(target))
    assert result.exit_code == 0, result.output
    assert "1 plants on the table" in result.output
    text = target.read_text(encoding="utf-8")
    assert "Acer rubrum" in text and "extra care" in text and "0800 764 766" in text
    assert not re.search(r"<link|<script|src=|url\(|href=\"[^#]", text)
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]


async def test_the_file_and_the_page_say_the_same(run: Any, tmp_path: Path, database: Path) -> None:
    from folioproof.serving import make_datasette

    target = tmp_path / "sheet.html"
    names = ["Acer rubrum", "Nerium oleander", "fig"]
    run(*names, "--near", "Europe/London", "--on", "2027-06-10", "--material", "ferrous-sulfate", "-o", str(target))
    page = await make_datasette(database).client.get(
        "/class-sheet",
        params={"name": names, "near": "Europe/London", "on": "2027-06-10", "material": "ferrous-sulfate"},
    )
    assert words(target.read_text(encoding="utf-8")) == words(page.text)


def test_a_name_that_is_not_exact_leaves_with_3_and_stands_under_do_not_bring(run: Any, tmp_path: Path) -> None:
    target = tmp_path / "sheet.html"
    result = run("-", "-o", str(target), text="Acer rubrum\ncastr bean\n")
    assert result.exit_code == 3
    assert "castr bean: not one plant" in result.output
    away = target.read_text(encoding="utf-8").split('id="away-title"')[1].split("</section>")[0]
    assert "castr bean" in away and "Ricinus communis" in away


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--material", "nope"), "material: 'nope' is not in the records"),
        (("--country", "XX"), "country: 'XX' is not known"),
        (("--on", "soon"), "ISO 8601"),
        (("--near", "nowhere at all"), "nowhere at all"),
    ],
)
def test_what_cannot_be_meant_is_one_line_and_no_file(run: Any, tmp_path: Path, arguments: Any, said: str) -> None:
    target = tmp_path / "sheet.html"
    result = run("Acer rubrum", *arguments, "-o", str(target))
    assert result.exit_code == 1 and said in result.output
    assert result.output.strip().count("\n") == 0
    assert list(tmp_path.iterdir()) == []


def test_a_file_of_another_kind_or_place_is_refused_and_an_old_one_stays(run: Any, tmp_path: Path) -> None:
    old = tmp_path / "sheet.docx"
    old.write_text("old")
    result = run("Acer rubrum", "-o", str(old))
    assert result.exit_code == 1 and "ends in .html or in .pdf" in result.output and old.read_text() == "old"
    result = run("Acer rubrum", "-o", str(tmp_path / "no" / "sheet.html"))
    assert result.exit_code == 1 and "cannot be written there" in result.output


def test_without_a_browser_a_pdf_is_refused_in_one_line(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sheet_file, "find_browser", lambda: None)
    result = run("Acer rubrum", "-o", str(tmp_path / "sheet.pdf"))
    assert result.exit_code == 1 and "no browser to print with" in result.output
    assert list(tmp_path.iterdir()) == []


def test_a_browser_that_fails_leaves_nothing_behind(run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sheet_file, "find_browser", lambda: "/bin/false")
    result = run("Acer rubrum", "-o", str(tmp_path / "sheet.pdf"))
    assert result.exit_code == 1 and "could not print the sheet" in result.output
    assert list(tmp_path.iterdir()) == []


@pytest.mark.browser
@CHROMIUM
@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("Letter", 612)])
def test_a_pdf_reads_back_on_its_paper(run: Any, tmp_path: Path, paper: str, width: int) -> None:
    from pypdf import PdfReader

    target = tmp_path / "sheet.pdf"
    result = run("Acer rubrum", "Nerium oleander", "--format", paper, "--on", "2027-06-10", "-o", str(target))
    assert result.exit_code == 0, result.output
    read = PdfReader(target)
    text = " ".join(" ".join(page.extract_text().split()) for page in read.pages)
    assert round(float(read.pages[0].mediabox.width)) == width
    assert "extra care" in text and "Do not bring" in text and "2027-06-10" in text
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.pdf"]

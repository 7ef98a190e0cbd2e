"""A class sheet as a file of its own: the page's own template, with its styles inside, and PDF by a browser."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader
from markupsafe import Markup

from ..class_sheet import Sheet
from ..finding import RefusedInputError
from .render import COMPANY_WORDS, LEVEL_MARKS, sentence

PAPERS = ("A4", "Letter")
_HERE = Path(__file__).parent
_BROWSERS = ("chromium", "chromium-browser", "google-chrome")
_SECONDS = 90


@cache
def _environment() -> Environment:
    made = Environment(loader=FileSystemLoader(_HERE / "templates"), autoescape=True)
    made.globals.update(mark=LEVEL_MARKS.__getitem__, company_words=COMPANY_WORDS)
    made.filters["sentence"] = sentence
    return made


def sheet_html(sheet: Sheet, paper: str = "A4") -> str:
    """Return a class sheet as one HTML file that needs no other."""
    styles = "".join((_HERE / "static" / name).read_text(encoding="utf-8") for name in ("folio.css", "sheet.css"))
    template = _environment().get_template("folio/sheet_file.html")
    return template.render(sheet=sheet, paper=paper, styles=Markup(styles))


def find_browser() -> str | None:
    """Return the Chromium of this machine, or None."""
    places = [f"/usr/bin/{name}" for name in _BROWSERS]
    return next((place for place in places if Path(place).exists()), None) or next(
        (found for name in _BROWSERS if (found := shutil.which(name))), None
    )


def write_sheet(sheet: Sheet, target: Path, paper: str = "A4") -> None:
    """Write the sheet as .html or .pdf, whole or not at all; raises RefusedInputError when it cannot be done."""
    kind = target.suffix.lower()
    if kind not in (".html", ".pdf"):
        raise RefusedInputError(f"{target}: the name of the file ends in .html or in .pdf")
    html = sheet_html(sheet, paper).encode("utf-8", "replace")
    try:
        folder_of = target.parent.resolve()
        with tempfile.TemporaryDirectory(prefix=f".{target.stem[:40]}.", dir=folder_of) as folder:
            made = Path(folder) / "sheet.html"
            made.write_bytes(html)
            if kind == ".pdf":
                made = _printed(made)
            made.replace(target)
    except OSError as error:
        raise RefusedInputError(f"{target}: the sheet cannot be written there ({error.strerror})") from None


def _printed(page: Path) -> Path:
    """Print an HTML file to PDF beside it, through the machine's own browser."""
    browser = find_browser()
    if browser is None:
        raise RefusedInputError(
            f"no browser to print with: install chromium ({', '.join(_BROWSERS)} were looked for), or write .html"
        )
    made = page.with_suffix(".pdf")
    arguments = ["--headless", "--disable-gpu", "--disable-quic", "--disable-background-networking", "--no-first-run"]
    # Chromium refuses to sandbox itself for root; the page is our own and has no script.
    arguments += ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    arguments += [f"--user-data-dir={page.parent / 'profile'}", "--no-pdf-header-footer", f"--print-to-pdf={made}"]
    try:
        done = subprocess.run([browser, *arguments, page.as_uri()], capture_output=True, timeout=_SECONDS, check=False)
    except subprocess.TimeoutExpired:
        raise RefusedInputError(f"{browser} did not print the sheet within {_SECONDS} s; write .html instead") from None
    if done.returncode != 0 or not made.is_file() or made.stat().st_size == 0:
        raise RefusedInputError(f"{browser} could not print the sheet (exit {done.returncode}); write .html instead")
    return made

"""Take the pictures of the pages: .venv/bin/python .ci/pictures.py

It serves the invented demonstration and writes one PNG a page and width into .pictures/; README.md shows some of them.
It wants the extra `test` and Debian's chromium. Run it again when the look of a page has changed.
"""

from __future__ import annotations

import io
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

CHROMIUM = "/usr/bin/chromium"
FOLDER = Path(__file__).parents[1] / ".pictures"
#: Width -> height of the first screen.
SCREENS = {390: 844, 1280: 900}
#: Name of a picture -> address, and what stands at the top of it, if not the top of the page.
PAGES = {
    "home": ("/?near=Pacific/Auckland", ""),
    "plant": ("/plant/acer-palmatum?near=NZ-OTA&on=2026-04-10", ""),
    "prints": ("/plant/acer-palmatum?near=NZ-OTA&on=2026-04-10", "#prints"),
    "gather": ("/gather?near=NZ-OTA&on=2026-04-10&company=class", ""),
    "by-colour": ("/by-colour?fibre=silk", ""),
    "class-sheet": (
        "/class-sheet?names=Acer+palmatum%0D%0ALiquidambar+styraciflua%0D%0ARosa+canina%0D%0ANerium+oleander"
        "&material=potash-alum&material=ferrous-sulfate&country=NZ&near=NZ-OTA&on=2026-04-10",
        "article",
    ),
}
COLOURS = 96


def file_name(name: str, width: int) -> str:
    """Return the file name of the picture of a page at a width."""
    return f"{name}-{width}.png"


def wanted() -> set[str]:
    """Return the names of all files that this script writes."""
    return {file_name(name, width) for name in PAGES for width in SCREENS}


def main() -> None:
    """Write every picture anew, and remove those of pages that are no longer in the list."""
    from playwright.sync_api import sync_playwright

    from folioproof.demo import ready_demo

    FOLDER.mkdir(exist_ok=True)
    with served(ready_demo()) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        for width, height in SCREENS.items():
            page = browser.new_page(viewport={"width": width, "height": height}, color_scheme="light")
            for name, (path, top) in PAGES.items():
                page.goto(address + path)
                if top:
                    page.evaluate("(top) => document.querySelector(top).scrollIntoView()", top)
                (FOLDER / file_name(name, width)).write_bytes(small(page.screenshot()))
        browser.close()
    for path in FOLDER.glob("*.png"):
        if path.name not in wanted():
            path.unlink()


def small(picture: bytes) -> bytes:
    """Return a PNG with few colours, a third of the size: pages of text and hairlines lose nothing by it."""
    from PIL import Image

    image = Image.open(io.BytesIO(picture)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE)
    out = io.BytesIO()
    image.save(out, "PNG", optimize=True)
    return out.getvalue()


@contextmanager
def served(database: Path) -> Iterator[str]:
    """Serve the pages of a database on this machine for as long as the block runs."""
    import uvicorn

    from folioproof.serving import make_datasette

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(make_datasette(database).app(), port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started and thread.is_alive():
        time.sleep(0.05)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(timeout=10)


if __name__ == "__main__":
    main()

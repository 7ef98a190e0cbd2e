"""The pages served to a real browser: of the real records, and of the invented demonstration."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

SHEET = (
    "/class-sheet?names=Acer+rubrum%0D%0ARosa+canina%0D%0ANerium+oleander%0D%0Acastr+bean"
    "&material=potash-alum&material=ferrous-sulfate&country=NZ&near=Europe/London&on=2027-06-10"
)
#: Every type of page of ours, by its name; the demonstration has contributed prints to show.
OWN_PAGES = {
    "home": "/",
    "home with a place": "/?near=Europe/Lisbon",
    "ask": "/look-up",
    "look-up, exact": "/look-up?q=Ginkgo+biloba",
    "look-up, ambiguous": "/look-up?q=hemlock",
    "look-up, typo": "/look-up?q=castr+bean",
    "look-up, unknown": "/look-up?q=xqzwv",
    "plant": "/plant/betula-pendula?near=Europe/Lisbon&on=2026-05-10",
    "plant, leave out": "/plant/nerium-oleander",
    "plant, contributed prints": "/plant/acer-palmatum?near=NZ-OTA&on=2026-01-10",
    "plant, up for review": "/plant/tanacetum-vulgare",
    "genus": "/plant/prunus",
    "family": "/plant/anacardiaceae",
    "gather": "/gather",
    "gather at a place": "/gather?near=-36.8,174.7&on=2026-04-10&company=class",
    "by colour": "/by-colour",
    "by colour, found": "/by-colour?colour=olive",
    "instead": "/instead",
    "instead, found": "/instead?q=smoke+tree",
    "together": "/together",
    "together, found": "/together?names=walnut%0Abirch&treatment=iron",
    "class sheet, form": "/class-sheet",
    "class sheet": SHEET,
    "leave out": "/leave-out",
    "leave out, by family": "/leave-out?by=family&region=7",
    "field pack, form": "/field-pack",
    "field pack, offered": "/field-pack?near=Europe/Lisbon&on=2026-05-09&company=class",
    "agents": "/agents",
    "agent": "/agent/urushiol",
    "materials": "/materials",
    "material": "/material/copper-sulfate",
    "names that mislead": "/names-that-mislead",
    "sources": "/sources",
    "source": "/source/UCD2012",
    "how": "/how",
    "how colours": "/how-colours",
    "numbers": "/numbers",
    "changes": "/changes",
    "contribute": "/contribute",
    "review": "/review",
    "not found": "/nope",
    "cannot be asked": "/by-colour?colour=%3Cb%3E",
}
#: Datasette's own pages in our frame.
RAW_PAGES = {
    "database": "/reference",
    "table": "/reference/taxa",
    "table, filtered": "/reference/hazards?taxon_id=nerium-oleander&_facet=route",
    "row": "/reference/taxa/nerium-oleander",
}


@pytest.fixture(scope="session")
def every_page() -> list[str]:
    """Every type of page that answers a question that can be asked."""
    return [path for name, path in (OWN_PAGES | RAW_PAGES).items() if name not in ("not found", "cannot be asked")]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Ask every type of page: `own_page` for ours, `raw_page` for Datasette's."""
    for name, pages in (("own_page", OWN_PAGES), ("raw_page", RAW_PAGES)):
        if name in metafunc.fixturenames:
            metafunc.parametrize(name, list(pages.values()), ids=list(pages))


@contextmanager
def served(database: Path) -> Iterator[str]:
    import uvicorn

    from folioproof.serving import make_datasette

    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    config = uvicorn.Config(make_datasette(database).app(), port=port, log_level="error", lifespan="on")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    deadline = time.monotonic() + 30
    while not server.started and time.monotonic() < deadline:
        time.sleep(0.05)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(timeout=10)


@pytest.fixture(scope="module")
def address(database: Path) -> Iterator[str]:
    with served(database) as found:
        yield found


@pytest.fixture(scope="module")
def demo_address(demo_database: Path) -> Iterator[str]:
    with served(demo_database) as found:
        yield found


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium, opened once a module: two Playwrights cannot run side by side."""
    if not CHROMIUM.exists():
        pytest.skip("no chromium is installed (apt-get install chromium)")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield opened
        opened.close()

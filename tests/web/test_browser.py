"""The pages in a real browser: by keyboard, without JavaScript, on a phone, and with the content policy in force."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
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
pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not CHROMIUM.exists(), reason="no chromium is installed (apt-get install chromium)"),
]


@pytest.fixture(scope="module")
def address(database: Path) -> Iterator[str]:
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
def browser() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_breaks_the_policy_or_overflows(browser: Any, address: str, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900})
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    for path in ("/", "/look-up?q=hemlock", "/plant/nerium-oleander", "/how", "/reference/taxa"):
        page.goto(address + path)
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert path.startswith("/reference") or wide <= width, f"{path} is {wide} wide"
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

"""The wrapper around the whole application: which requests get in, and which headers go out."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Awaitable, Callable, Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import datasette as datasette_package

from .compressed import compressing

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette

Scope = dict[str, Any]
Message = dict[str, Any]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Any, Send], Awaitable[None]]
Refuse = Callable[[Any, int, str], Awaitable[Any]]

#: Of Datasette's own pages below /-/, only these serve readers; the rest shows how the server runs.
_OPEN = re.compile(r"/-/(static/|static-plugins/|settings\.json$)")
_METHODS = ("GET", "HEAD")

#: For our own pages: nothing inline, nothing from elsewhere.
OWN_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
#: How long a page of ours may be kept: short, because a level that rises should reach people the same hour.
PAGE_HEADERS = {"content-security-policy": OWN_POLICY, "cache-control": "public, max-age=600"}
_SECURITY = {
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
    "cross-origin-opener-policy": "same-origin",
}
_VERSIONED = "public, max-age=31536000, immutable"
_STATIC = "public, max-age=3600"


def script_hash(script: str) -> str:
    """Return the CSP source that allows exactly this inline script."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'"


def _datasette_scripts() -> Iterable[str]:
    """Yield the constant inline scripts of Datasette's templates, as the installed version has them."""
    folder = Path(datasette_package.__file__).parent / "templates"
    for template in sorted(folder.glob("*.html")):
        for script in re.findall(r"<script>(.*?)</script>", template.read_text(encoding="utf-8"), re.DOTALL):
            if "{{ datasette_allow_facet }}" in script:
                yield from (script.replace("{{ datasette_allow_facet }}", flag) for flag in ("true", "false"))
            elif "{{" not in script and "{%" not in script:
                yield script


@cache
def table_policy() -> str:
    """Return the content policy of Datasette's pages: its constant scripts by hash, its inline styles."""
    hashes = " ".join(dict.fromkeys(script_hash(script) for script in _datasette_scripts()))
    return OWN_POLICY.replace("script-src 'self'", f"script-src 'self' {hashes}").replace(
        "style-src 'self'", "style-src 'self' 'unsafe-inline'"
    )


def guarded(app: App, datasette: Datasette, refuse: Refuse) -> App:
    """Return `app` behind the guard; `refuse` makes the response to what may not enter."""

    async def guard(scope: Scope, receive: Any, send: Send) -> None:
        if scope["type"] != "http":
            await app(scope, receive, send)
            return
        sending = _with_headers(scope, compressing(scope, send))
        if problem := _problem(scope):
            await datasette.invoke_startup()
            response = await refuse(datasette, *problem)
            response.headers |= {"allow": ", ".join(_METHODS)} if problem[0] == 405 else {}
            await response.asgi_send(sending)
            return
        # Our handlers and Datasette's answer GET; for HEAD the same answer goes out without its body.
        await app({**scope, "method": "GET"}, receive, sending)

    return guard


def _problem(scope: Scope) -> tuple[int, str] | None:
    if scope["method"] not in _METHODS:
        return 405, "These pages are for reading: ask with GET."
    return None if _may_enter(scope) else (404, "There is no page at this address.")


def _may_enter(scope: Scope) -> bool:
    """Keep out paths that could be read as another host, debug pages, and bytes that no address of ours has."""
    path = scope["path"]
    raw = scope.get("raw_path") or path.encode()
    if "\\" in path or not path.startswith("/") or path.startswith("//") or not raw.isascii() or not path.isprintable():
        return False
    return not (path == "/-" or path.startswith("/-/")) or bool(_OPEN.match(path))


def _with_headers(scope: Scope, send: Send) -> Send:
    head_only = scope["method"] == "HEAD"

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            message = {**message, "headers": _headers(scope, message)}
        elif message["type"] == "http.response.body" and head_only:
            message = {**message, "body": b""}
        await send(message)

    return sending


def _headers(scope: Scope, message: Message) -> list[tuple[bytes, bytes]]:
    found = [(bytes(key).lower(), bytes(value)) for key, value in message.get("headers", [])]
    names = {key for key, _ in found}
    wanted = {"content-security-policy": table_policy(), **_SECURITY}
    if scope["path"].startswith(("/-/static/", "/-/static-plugins/")) and message["status"] == 200:
        wanted["cache-control"] = _VERSIONED if scope.get("query_string", b"").startswith(b"v=") else _STATIC
    elif message["status"] >= 400:
        found = [(key, value) for key, value in found if key != b"cache-control"]
        names.discard(b"cache-control")
        wanted["cache-control"] = "no-store"
    return found + [(k.encode(), v.encode()) for k, v in wanted.items() if k.encode() not in names]

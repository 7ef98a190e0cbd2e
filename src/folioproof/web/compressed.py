"""Answers sent small: pages, styles, scripts and JSON are compressed for whoever takes gzip."""

from __future__ import annotations

import gzip
from collections.abc import Awaitable, Callable
from typing import Any

Message = dict[str, Any]
Send = Callable[[Message], Awaitable[None]]

_KINDS = (b"text/html", b"text/css", b"text/javascript", b"application/javascript", b"application/json", b"image/svg")
#: Below the first, packing saves less than a packet; above the second, an answer is streamed as it comes.
_LEAST, _MOST = 1_000, 400_000
_LEVEL = 6


def compressing(scope: dict[str, Any], send: Send) -> Send:
    """Return `send`, or one that compresses what the browser that asked can take."""
    accepted = dict(scope["headers"]).get(b"accept-encoding", b"")
    if scope["method"] != "GET" or b"gzip" not in accepted:
        return send
    return _Packer(send)


class _Packer:
    """Holds one answer back until it is whole, then sends it small; what is too big or no text goes as it comes."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self._start: Message | None = None
        self._body = b""

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start" and _is_packable(dict(message.get("headers", []))):
            self._start = message
        elif message["type"] != "http.response.body" or self._start is None:
            await self._send(message)
        else:
            await self._take(message, self._start)

    async def _take(self, message: Message, start: Message) -> None:
        self._body += message.get("body", b"")
        more = message.get("more_body", False)
        if more and len(self._body) <= _MOST:
            return
        self._start = None
        if not more and len(self._body) >= _LEAST:
            start, self._body = _packed(start, self._body)
        await self._send(start)
        await self._send({**message, "body": self._body})


def _is_packable(headers: dict[bytes, bytes]) -> bool:
    return headers.get(b"content-type", b"").startswith(_KINDS) and b"content-encoding" not in headers


def _packed(start: Message, body: bytes) -> tuple[Message, bytes]:
    small = gzip.compress(body, _LEVEL, mtime=0)
    kept = [(key, value) for key, value in start["headers"] if key not in (b"content-length", b"vary")]
    more = [
        (b"content-length", str(len(small)).encode()),
        (b"content-encoding", b"gzip"),
        (b"vary", b"accept-encoding"),
    ]
    return {**start, "headers": kept + more}, small

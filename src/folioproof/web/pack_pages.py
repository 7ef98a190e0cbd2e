"""The page that offers a field pack, and the file itself."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode
from weakref import WeakKeyDictionary

from datasette.utils.asgi import Request, Response

from ..finding import RefusedInputError
from ..pack import GOOD_FOR_DAYS, FieldPack, Packer
from ..places import read_date
from ..text import visible
from ..vocabulary import Company
from .asked import Answer, Asked, ProblemError, read
from .desk import desk_of
from .handling import problem_response
from .headers import PAGE_HEADERS
from .print_pages import where_and_when

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette

_PACKERS: WeakKeyDictionary[Datasette, Packer] = WeakKeyDictionary()
_PACKING = threading.Lock()


def field_pack(asked: Asked) -> Answer:
    """Show the form for a field pack and, with a place, where to download it."""
    place, day = where_and_when(asked)
    on = visible(asked.one("on"))
    if on:
        read_date(on)
    values: dict[str, Any] = {
        "choices": {"near": visible(asked.one("near")), "on": on, "company": asked.company, "others": _others()},
        "place": place,
        "day": day,
        "good_for": GOOD_FOR_DAYS,
    }
    if place:
        pairs = [("near", asked.one("near").strip()), ("on", str(day))]
        pairs += [("company", each.value) for each in asked.company if each is not Company.ADULTS]
        values["query"] = urlencode(pairs)
    return Answer("field_pack", values)


def _others() -> list[Company]:
    return [company for company in Company if company is not Company.ADULTS]


async def download(request: Request, datasette: Datasette) -> Response:
    """Send the pack as a file to keep; putting the first one together takes seconds, so other pages do not wait."""
    desk = desk_of(datasette)
    assert desk is not None
    try:
        asked = read(desk, {}, {name: request.args.getlist(name) for name in request.args})
        pack = await asyncio.to_thread(_packed, datasette, asked)
    except ProblemError as error:
        return await problem_response(datasette, request, error.status, str(error))
    except RefusedInputError as error:
        return await problem_response(datasette, request, 400, str(error))
    disposition = f'attachment; filename="{pack.file_name}"'
    return Response.html(pack.html, headers={**PAGE_HEADERS, "content-disposition": disposition})


def _packed(datasette: Datasette, asked: Asked) -> FieldPack:
    place, day = where_and_when(asked)
    if place is None:
        raise ProblemError(400, "near: write a place, as in /field-pack.html?near=Europe/Lisbon")
    with _PACKING:
        if datasette not in _PACKERS:
            _PACKERS[datasette] = Packer(asked.desk.reference)
        return _PACKERS[datasette].pack(place, day, asked.company)


Route = tuple[str, Callable[[Asked], Answer]]

PAGES: tuple[Route, ...] = ((r"/field-pack$", field_pack),)
#: Addresses that answer with a file: they have their own request handler.
DOWNLOADS = ((r"/field-pack\.html$", download),)

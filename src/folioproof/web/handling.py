"""From a request to an answer: reading, refusing in one line, and the same address as page or as JSON."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from datasette.utils.asgi import Request, Response

from ..finding import RefusedInputError
from . import render
from .asked import Answer, Asked, ProblemError, read
from .desk import desk_of
from .headers import PAGE_HEADERS

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette

View = Callable[[Asked], Answer]


def handler(view: View) -> Callable[..., Any]:
    """Return the request handler of a page; what cannot be meant gets a helpful page with its status."""

    async def handle(request: Request, datasette: Datasette) -> Response:
        desk = desk_of(datasette)
        assert desk is not None
        as_json = request.path.endswith(".json")
        parameters = {name: request.args.getlist(name) for name in request.args}
        try:
            answer = view(read(desk, dict(request.url_vars), parameters))
        except ProblemError as error:
            return await problem_response(datasette, request, error.status, str(error))
        except RefusedInputError as error:
            return await problem_response(datasette, request, 400, str(error))
        if as_json:
            return Response.json(answer.plain, headers={**PAGE_HEADERS})
        return await render.page(datasette, answer.template, answer.values)

    return handle


async def problem_response(datasette: Datasette, request: Request, status: int, message: str) -> Response:
    """Return what went wrong as a page, or as JSON where JSON was asked for."""
    if request.path.endswith(".json"):
        return Response.json({"error": message}, status=status)
    return await render.problem_page(datasette, status, message)


def with_json(pattern: str) -> str:
    """Return the pattern of an address that also answers with .json at its end."""
    return rf"/{pattern}(?P<json>\.json)?$"

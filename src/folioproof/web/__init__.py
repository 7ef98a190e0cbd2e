"""The pages: a Datasette plugin. Hooks only; what they do is in the modules beside this one.

The plugin stays quiet in a Datasette that serves no file of ours.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from datasette import hookimpl
from datasette.app import Datasette

from .desk import desk_of
from .headers import guarded
from .render import prepare_environment, problem_page
from .routes import ROUTES, bad_table_question


@hookimpl
def register_routes(datasette: Datasette) -> tuple[tuple[str, Callable[..., Any]], ...]:
    """Our pages, where there is a file of ours."""
    return ROUTES if desk_of(datasette) else ()


@hookimpl
def startup(datasette: Datasette) -> None:
    """Read the names into their index before the first visitor asks."""
    if desk := desk_of(datasette):
        desk.reference.starting_with("a", 1)


@hookimpl
def prepare_jinja2_environment(env: Any, datasette: Datasette) -> None:
    """Give the templates the addresses and words that every page uses."""
    if desk_of(datasette):
        prepare_environment(env, datasette)


@hookimpl(tryfirst=True)
def handle_exception(datasette: Datasette, request: Any, exception: Exception) -> Any:
    """Answer a question that a table cannot take with 400."""
    if desk_of(datasette):
        return bad_table_question(datasette, request, exception)
    return None


@hookimpl
def asgi_wrapper(datasette: Datasette) -> Callable[[Any], Any]:
    """Guard paths and methods, and set security and cache headers."""
    if desk_of(datasette):
        return lambda app: guarded(app, datasette, problem_page)
    return lambda app: app

"""The pages: a Datasette plugin. Hooks only; what they do is in the modules beside this one.

The plugin stays quiet in a Datasette that serves no file of ours.
"""

from __future__ import annotations

from collections.abc import Callable, Generator
from inspect import iscoroutine
from typing import TYPE_CHECKING, Any

from datasette import hookimpl

from .desk import desk_of
from .handling import problem_response
from .headers import guarded
from .render import prepare_environment, problem_page
from .routes import ROUTES, problem_of

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette


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


@hookimpl(hookwrapper=True)
def handle_exception(datasette: Datasette, request: Any, exception: Exception) -> Generator[None, Any, None]:
    """Answer an address that means nothing ourselves, in place of the answers and long logs of other hooks."""
    outcome = yield
    if desk_of(datasette) and (problem := problem_of(request, exception)):
        for other in outcome.get_result():
            if iscoroutine(other):
                other.close()
        outcome.force_result([problem_response(datasette, request, *problem)])


@hookimpl
def asgi_wrapper(datasette: Datasette) -> Callable[[Any], Any]:
    """Guard paths and methods, and set security and cache headers."""
    if desk_of(datasette):
        return lambda app: guarded(app, datasette, problem_page)
    return lambda app: app

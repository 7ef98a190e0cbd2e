"""The pages' addresses and what each shows; every answer is also there as JSON, at the same address with .json."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable
from math import ceil
from typing import TYPE_CHECKING, Any

from datasette.utils.asgi import Base400, NotFound, Request, Response
from datasette.views.base import DatasetteError

from ..answers import Plant, Source, check_json, plant_json
from ..assessment import RULES
from ..finding import RefusedInputError
from ..reading import Row
from ..reference import NAME_RULES
from ..text import visible
from ..vocabulary import Company, Level, Part, Rank, Route, Severity, State, Status, Step
from . import render
from .asked import Answer, Asked, ProblemError
from .class_pages import PAGES as CLASS_PAGES
from .desk import Desk, desk_of
from .handling import handler, with_json
from .number_pages import PAGES as NUMBER_PAGES
from .outcome_pages import OUTCOME_PAGES
from .pack_pages import DOWNLOADS
from .pack_pages import PAGES as PACK_PAGES
from .print_pages import PAGES, in_season, plant_printing, printing_json, sources_of

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette

_PAIRS_PER_PAGE = 100
_SOURCES_PER_PAGE = 150
_CLAIMS_PER_PAGE = 120
_TELL_APART = 40
_PARAMETER_ERRORS = sqlite3.Error | ValueError | KeyError | IndexError | AssertionError

#: Shown on the home page with the answers they really get.
EXAMPLES = ("oak", "poison hemlok", "Ginkgo biloba", "fig")


def _form(asked: Asked) -> dict[str, Any]:
    return {
        "query": visible(asked.query),
        "part": asked.part,
        "state": asked.state,
        "company": asked.company,
        "parts": [part for part in Part if part is not Part.UNSTATED],
        "states": list(State),
        "others": [company for company in Company if company is not Company.ADULTS],
    }


# -- answers ------------------------------------------------------------------------------------------------


def home(asked: Asked) -> Answer:
    """Show the question box, what this is and is not, and examples with their real answers."""
    examples = [asked.desk.reference.check(name) for name in EXAMPLES]
    return Answer("home", {"examples": examples, "form": _form(asked), **in_season(asked).values})


def look_up(asked: Asked) -> Answer:
    """Show which plants a name may mean, the level to act on, and why."""
    if not visible(asked.query):
        if asked.address["json"]:
            raise ProblemError(400, "q: write the name of a plant, as in /look-up.json?q=oak")
        return Answer("ask", {"form": _form(asked)})
    desk = asked.desk
    check = desk.reference.check(asked.query, asked.part, asked.state, asked.company)
    ids = [candidate.id for candidate in check.candidates[:_TELL_APART]]
    apart = desk.reading.tell_apart(ids) if len(ids) > 1 else []
    cited = _cited(desk, check.sources, (row["source_id"] for row in apart))
    values = {
        "check": check,
        "form": _form(asked),
        "asked": asked,
        "acting_on": desk.reference.plant(check.acting_on) if check.acting_on else None,
        "is_sure": check.status is Status.EXACT,
        "status_text": render.STATUS_WORDS[check.status],
        "reason": render.headline_reason(check.level, check.reasons),
        "others": render.other_parts(check.other_parts),
        "groups": render.by_level(check),
        "sources": cited,
        "notes": render.footnotes(cited),
        "tell_apart": apart,
    }
    return Answer("look_up", values, check_json(check))


def suggest(asked: Asked) -> Answer:
    """Give names that begin with what is typed; names only, never a level."""
    names = asked.desk.reference.starting_with(asked.query) if visible(asked.query) else ()
    return Answer("", plain={"query": asked.query, "names": list(names)})


def plant(asked: Asked) -> Answer:
    """Show everything about one plant, genus or family."""
    taxon_id = asked.address["id"]
    try:
        found = asked.desk.reference.plant(taxon_id, asked.part, asked.state, asked.company)
    except RefusedInputError:
        raise ProblemError(404, "There is no plant at this address. Ask for it by name.") from None
    agents = _agents_of(asked.desk, found)
    of_agents = [row[key] for row in agents for key in ("heat_source_id", "air_source_id")]
    printing = plant_printing(asked, found)
    cited = _cited(asked.desk, found.sources, [*of_agents, *sources_of(printing)])
    values = {
        **printing,
        "plant": found,
        "form": _form(asked),
        "asked": asked,
        "by_company": _by_company(asked, found),
        "other_neighbours": [n for n in found.neighbours if n not in found.assessment.identify_first],
        "reason": render.headline_reason(found.assessment.level, found.assessment.reasons),
        "others": render.other_parts(found.assessment.other_parts),
        "name_groups": render.name_groups(found),
        "shared_names": asked.desk.reading.shared_names(taxon_id),
        "sources": cited,
        "notes": render.footnotes(cited),
        "agents": agents,
    }
    return Answer("plant", values, plant_json(found) | {"printing": printing_json(printing)})


def _by_company(asked: Asked, found: Plant) -> list[tuple[Company, Level]]:
    if found.rank is Rank.FAMILY:
        return []
    ask = asked.desk.reference.plant
    return [(each, ask(found.id, asked.part, asked.state, each).assessment.level) for each in Company]


def _cited(desk: Desk, sources: tuple[Source, ...], more: Iterable[str | None]) -> tuple[Source, ...]:
    """Return the sources of an answer and those of the facts shown beside it."""
    known = {source.id for source in sources}
    rows = (desk.reading.source(each) for each in sorted({each for each in more if each} - known))
    return (*sources, *(Source(row["id"], row["citation"], row["url"], row["read"]) for row in rows if row))


def _agents_of(desk: Desk, found: Plant) -> list[dict[str, Any]]:
    held = (*found.hazards, *found.carries)
    ids = sorted({each.claim.agent for each in held if each.claim.agent})  # type: ignore[union-attr]
    return [row for each in ids if (row := desk.reading.agent(each))]


def _paged(asked: Asked, rows: list[Row], size: int) -> tuple[list[Row], dict[str, int]]:
    last = max(1, ceil(len(rows) / size))
    page = asked.page(last)
    return rows[(page - 1) * size : page * size], {"count": len(rows), "page": page, "last": last}


# -- lists --------------------------------------------------------------------------------------------------


def sources(asked: Asked) -> Answer:
    """List every source with what rests on it."""
    found = asked.desk.reading.sources()
    shown, paging = _paged(asked, found, _SOURCES_PER_PAGE)
    return Answer("sources", {"sources": shown, **paging}, {"sources": found})


def source(asked: Asked) -> Answer:
    """Show one source and the claims that cite it."""
    found = asked.desk.reading.source(asked.address["id"])
    if found is None:
        raise ProblemError(404, "There is no source at this address. The list of sources has them all.")
    claims = render.with_parts(asked.desk.reading.resting_on(found["id"]))
    materials = asked.desk.reading.materials_citing(found["id"])
    shown, paging = _paged(asked, claims, _CLAIMS_PER_PAGE)
    values = {"source": found, "claims": shown, "materials": materials, **paging}
    return Answer("source", values, {**found, "claims": claims, "materials": materials})


def agents(asked: Asked) -> Answer:
    """List what does the harm, with what heat and steam do to it."""
    found = asked.desk.reading.agents()
    return Answer("agents", {"agents": found}, {"agents": found})


def agent(asked: Asked) -> Answer:
    """Show one agent and the plants that carry it."""
    found = asked.desk.reading.agent(asked.address["id"])
    if found is None:
        raise ProblemError(404, "There is nothing at this address. The list of what does the harm has them all.")
    carriers = render.with_parts(asked.desk.reading.carriers(found["id"]))
    return Answer("agent", {"agent": found, "carriers": carriers}, {**found, "plants": carriers})


def materials(asked: Asked) -> Answer:
    """List mordants, dips, sheets, felts, papers and cloths."""
    found = asked.desk.reading.materials()
    return Answer("materials", {"materials": found}, {"materials": found})


def material(asked: Asked) -> Answer:
    """Show what the sources say of one material, side by side where they differ."""
    found = asked.desk.reading.material(asked.address["id"])
    if found is None:
        raise ProblemError(404, "There is no material at this address. The list of materials has them all.")
    lists = (rows for rows in found.values() if isinstance(rows, list))
    ids = (row["source_id"] for rows in lists for row in rows if isinstance(row, dict))
    cited = _cited(asked.desk, (), ids)
    return Answer("material", {"material": found, "sources": cited, "notes": render.footnotes(cited)}, found)


def misleading(asked: Asked) -> Answer:
    """List names that are shared with, or a slip away from, a more dangerous plant's."""
    shown, paging = _paged(asked, asked.desk.reading.misleading(), _PAIRS_PER_PAGE)
    return Answer("misleading", {"pairs": shown, **paging}, {"pairs": shown, **paging})


def how(asked: Asked) -> Answer:
    """Show how a level is reached: the rules, the tables they read and the words they use."""
    reading = asked.desk.reading
    tables: dict[str, Any] = {
        "rules": RULES,
        "name_rules": NAME_RULES,
        "exposures": reading.exposures(),
        "precautions": reading.precautions(),
        "vocabularies": reading.vocabularies(),
    }
    by_route = {route: [row for row in tables["exposures"] if row["route"] == route] for route in Route}
    values = {**tables, "by_route": by_route, "severities": list(Severity), "steps": list(Step)}
    return Answer("how", values, {**tables, "build": asked.desk.build})


async def robots(datasette: Datasette) -> Response:
    """Let crawlers read the plants, and keep them out of the endless filters of the tables."""
    desk = desk_of(datasette)
    assert desk is not None
    closed = (f"/{desk.database_name(datasette)}", "/look-up", "/suggest.json", "/-/")
    lines = ["User-agent: *", *(f"Disallow: {datasette.urls.path(path)}" for path in closed), "Allow: /"]
    return Response.text("\n".join(lines) + "\n", headers={"cache-control": "public, max-age=86400"})


def problem_of(request: Request, exception: Exception) -> tuple[int, str] | None:
    """Return status and message for an address of Datasette's that means nothing, None for a fault of ours.

    A parameter that makes a table fail is the asker's: the rows never change.
    """
    if isinstance(exception, NotFound):
        return 404, "There is no page at this address."
    if isinstance(exception, Base400):
        return exception.status, str(exception)
    if isinstance(exception, DatasetteError):
        return (400 if exception.status == 500 else exception.status), visible(str(exception.message))[:200]
    if request.query_string and isinstance(exception, _PARAMETER_ERRORS):
        return 400, "The table cannot answer this address: one of its parameters is not understood."
    return None


ROUTES: tuple[tuple[str, Callable[..., Any]], ...] = (
    (r"/$", handler(home)),
    (with_json("look-up"), handler(look_up)),
    (r"/suggest\.json$", handler(suggest)),
    (with_json("plant/(?P<id>[^/]+?)"), handler(plant)),
    (with_json("sources"), handler(sources)),
    (with_json("source/(?P<id>[^/]+?)"), handler(source)),
    (with_json("agents"), handler(agents)),
    (with_json("agent/(?P<id>[^/]+?)"), handler(agent)),
    (with_json("materials"), handler(materials)),
    (with_json("material/(?P<id>[^/]+?)"), handler(material)),
    (with_json("names-that-mislead"), handler(misleading)),
    (with_json("how"), handler(how)),
    (r"/robots\.txt$", robots),
    *((pattern, handler(view)) for pattern, view in (*PAGES, *CLASS_PAGES, *NUMBER_PAGES, *OUTCOME_PAGES, *PACK_PAGES)),
    *DOWNLOADS,
)

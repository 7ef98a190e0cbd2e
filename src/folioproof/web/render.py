"""Answers as pages: the words, marks and groups that the templates need, and nothing that decides anything."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

from datasette.utils.asgi import Response

from ..answers import Candidate, Check, Plant, Source
from ..assessment import STANDING_CAUTIONS, Held, Reason
from ..claims import HazardClaim, TaxonName
from ..nomenclature import LANGUAGES
from ..vocabulary import Company, Grade, Level, NameKind, Part, State, Status
from . import linked
from .desk import desk_of
from .headers import PAGE_HEADERS

if TYPE_CHECKING:
    # Datasette loads this package while its own app module is still being loaded.
    from datasette.app import Datasette

_WORDS = re.compile("[a-z]+")
_STATIC = Path(__file__).parent / "static"

#: The stem of a level's mark and style.
LEVEL_MARKS = {
    Level.ORDINARY: "ordinary",
    Level.EXTRA: "extra",
    Level.NOT_ASSESSED: "unknown",
    Level.LEAVE_OUT: "out",
}

STATUS_WORDS = {
    Status.EXACT: "The records know this name, and it means one plant.",
    Status.CONFIRM: "The records do not have this name, only names near it. Confirm which plant you hold.",
    Status.AMBIGUOUS: "This name may mean more than one plant. Until you know which, the most dangerous counts.",
    Status.GENUS: "Only the genus is known, so the worst of its species counts.",
    Status.UNKNOWN: "No record has this name. Leave the plant out until you can name it.",
}

PART_WORDS: dict[Part, str] = {part: part.value for part in Part} | {
    Part.ALL: "every part",
    Part.UNSTATED: "part not stated",
}
STATE_WORDS: dict[State, str] = {state: state.value for state in State} | {State.ANY: "any state"}
COMPANY_WORDS = {
    Company.ADULTS: "grown-ups only",
    Company.CLASS: "a class",
    Company.CHILDREN: "children",
    Company.ANIMALS: "animals",
}

_NAME_KIND_WORDS = {
    NameKind.SYNONYM: "Other scientific names",
    NameKind.MISAPPLIED: "Scientific names wrongly used for it",
    NameKind.MISSPELLING: "Wrong spellings that are met",
}


GRADE_WORDS = {
    Grade.NONE: "does not print",
    Grade.TRACE: "leaves a trace",
    Grade.PARTIAL: "prints in part",
    Grade.CLEAR: "prints clearly",
    Grade.FULL: "prints in full",
}

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip

#: Botanical continents of the World Geographical Scheme for Recording Plant Distributions, level 1.
CONTINENTS = {
    "1": "Europe",
    "2": "Africa",
    "3": "Asia-Temperate",
    "4": "Asia-Tropical",
    "5": "Australasia",
    "6": "Pacific",
    "7": "Northern America",
    "8": "Southern America",
    "9": "Antarctic",
}


@dataclass(frozen=True, slots=True)
class NameGroup:
    """Names under one heading, with the language tag where they share one."""

    heading: str
    language: str | None
    names: tuple[str, ...]


@cache
def asset_version(name: str) -> str:
    """Return a short hash of a static file, for an address that changes with its content."""
    return hashlib.sha256((_STATIC / name).read_bytes()).hexdigest()[:10]


def prepare_environment(env: Any, datasette: Datasette) -> None:
    """Give the templates the addresses, words and tables that every page uses."""
    desk = desk_of(datasette)
    assert desk is not None

    def at(path: str) -> str:
        return str(datasette.urls.path(path))

    def asset(name: str) -> str:
        return at(f"/-/static-plugins/folioproof/{name}?v={asset_version(name)}")

    def rows_at(table: str) -> str:
        return at(f"/{desk.database_name(datasette)}/{table}".rstrip("/"))

    env.globals.update(
        at=at,
        asset=asset,
        rows_at=rows_at,
        mark=lambda level: LEVEL_MARKS[Level(level)],
        part_words=PART_WORDS,
        state_words=STATE_WORDS,
        company_words=COMPANY_WORDS,
        cautions=STANDING_CAUTIONS,
        helplines=desk.reading.helplines(),
        usual={row["text"] for row in desk.reading.precautions() if row["kind"] == "always"},
        build=desk.build | {"invented": desk.reading.invented()},
        data_version=desk.data_version,
    )
    env.globals.update(
        grade_words=GRADE_WORDS, soft_edge=soft_edge, month_names=MONTH_NAMES, continents=CONTINENTS, grades=list(Grade)
    )
    env.globals.update(
        linked=linked.block,
        taxon_linked=lambda plant: linked.taxon(plant, at),
        dataset_linked=lambda: linked.dataset(desk.data_version, f"{rows_at('')}.db", at),
    )
    env.filters["sentence"] = sentence
    env.globals["figure"] = figure


def soft_edge(spread: float) -> int:
    """Return which of the eight soft edges a swatch is drawn with: the less sure the colour, the wider."""
    return max(0, min(7, round(spread / 4)))


def sentence(text: str) -> str:
    """Return `text` with a capital at the start and a full stop at the end."""
    text = text.strip()
    if not text:
        return text
    return text[0].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")


def figure(low: float | None, high: float | None, unit: str) -> str:
    """Return a figure with its unit, as "88 °C", "150 to 155 °C", "from 65 °C" or "up to 40 °C"."""
    ends = [f"{end:g}" for end in (low, high) if end is not None]
    shown = {"degC": "°C", "% of dry weight of fibre": "% of the dry weight of the fibre"}.get(unit, unit)
    if low is not None and high is not None:
        return f"{' to '.join(dict.fromkeys(ends))} {shown}"
    return f"{'from' if high is None else 'up to'} {ends[0]} {shown}"


async def page(datasette: Datasette, template: str, context: dict[str, Any], status: int = 200) -> Response:
    """Render one of our templates, under the strict content policy of our own pages."""
    body = await datasette.render_template(f"folio/{template}.html", context)
    return Response.html(body, status=status, headers={**PAGE_HEADERS})


async def problem_page(datasette: Datasette, status: int, message: str) -> Response:
    """Render the page that says what went wrong and what to do instead."""
    return await page(datasette, "problem", {"status": status, "message": message}, status)


def footnotes(sources: Iterable[Source]) -> dict[str, int]:
    """Number the sources of a page as they are listed."""
    return {source.id: number for number, source in enumerate(sources, start=1)}


def headline_reason(level: Level, reasons: tuple[Reason, ...]) -> str:
    """Return the reason for a level in one sentence: about the plant where there is one, else about the name."""
    deciding = [reason for reason in reasons if reason.level is level]
    about_plant = [reason for reason in deciding if not reason.code.startswith("N")]
    chosen = (about_plant or deciding or list(reasons))[:1]
    return sentence(chosen[0].text) if chosen else ""


def other_parts(others: tuple[Held, ...]) -> list[dict[str, Any]]:
    """Group claims on other parts that say the same."""

    def key(held: Held) -> tuple[str, str, str, str]:
        claim = held.claim
        assert isinstance(claim, HazardClaim)
        return ", ".join(claim.parts), claim.state, claim.route, claim.severity

    return [
        {"parts": parts, "state": state, "route": route, "severity": severity, "sources": _sources_of(held)}
        for (parts, state, route, severity), held in groupby(sorted(others, key=key), key=key)
    ]


def _sources_of(held: Iterable[Held]) -> list[str]:
    return list(dict.fromkeys(each.claim.source for each in held if each.claim.source))


def by_level(check: Check) -> list[tuple[Level | None, list[Candidate]]]:
    """Group candidates by level, dangerous first, as they come; a few stay one list that marks each."""
    listed = check.status in (Status.AMBIGUOUS, Status.GENUS) and len(check.candidates) > 3
    if not listed:
        return [(None, list(check.candidates))]
    return [(level, list(members)) for level, members in groupby(check.candidates, key=lambda each: each.level)]


def with_parts(found: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return rows with their parts as one sorted list: the database keeps them as JSON, joined by commas."""
    return [row | {"parts": sorted(set(_WORDS.findall(row["parts"] or "")))} for row in found]


def name_groups(plant: Plant) -> list[NameGroup]:
    """Group a plant's names: scientific ones by kind, then vernaculars by language, English first."""
    names = [name for name in plant.names if name.name != plant.scientific_name]
    groups = [
        NameGroup(heading, None, _unique(n for n in names if n.kind is kind))
        for kind, heading in _NAME_KIND_WORDS.items()
    ]
    spoken = sorted(
        (n for n in names if n.kind is NameKind.VERNACULAR),
        key=lambda n: (n.language != "en", LANGUAGES.get(n.language or "", n.language or "")),
    )
    for language, members in groupby(spoken, key=lambda n: n.language):
        heading = LANGUAGES.get(language or "", language or "Language not stated")
        groups.append(NameGroup(heading, language, _unique(members)))
    return [group for group in groups if group.names]


def _unique(names: Iterable[TaxonName]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(_with_region(name) for name in names))


def _with_region(name: TaxonName) -> str:
    return f"{name.name} ({', '.join(name.regions)})" if name.regions else name.name

"""The pages for a class: what must be left out, and the sheet to hand out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from math import ceil
from typing import Any
from urllib.parse import urlencode

from ..class_sheet import MOST_PLANTS, class_sheet, sheet_json
from ..leaving_out import PRINTING_COUNTS, Ground, LeftOut, Standing, described, left_out
from ..places import read_place
from ..sheet_materials import MOST_MATERIALS
from ..text import MAX_QUERY, visible
from ..vocabulary import Company
from .asked import Answer, Asked, ProblemError
from .handling import with_json
from .render import CONTINENTS

_ORDERS = ("name", "family")
_MOST_TYPED = 6000
#: What two sides hold in print, four columns of 8 pt on the shorter of A4 and Letter; each line counted in full.
_LINES_ON_TWO_SIDES = 258
_CHARACTERS_A_LINE = 56
_LINES_A_HEADING = 2
_LATER_PAGES = 100


def _text(asked: Asked, name: str, most: int = MAX_QUERY) -> str:
    value = asked.one(name).strip()
    if len(value) > most:
        raise ProblemError(400, f"{name}: at most {most} characters; write less")
    return value


def company_of(asked: Asked) -> tuple[Company, ...]:
    """Return who is in the room; a class when nobody is named."""
    return asked.company if asked.many("company", len(Company)) else (Company.ADULTS, Company.CLASS)


def _company_choices(company: tuple[Company, ...]) -> dict[str, Any]:
    return {"company": company, "everyone": list(Company), "only_adults": company == (Company.ADULTS,)}


# -- what to leave out ---------------------------------------------------------------------------------------------


def leave_out(asked: Asked) -> Answer:
    """List the plants that must be left out; the first page is what two sides of paper hold."""
    choices = _leave_out_choices(asked)
    group = frozenset(choices["company"])
    reference = asked.desk.reference
    found = left_out(reference, group, choices["regions"], choices["family"] or None)
    by_family = choices["by"] == "family"
    first = _fitting(reference, group, found, by_family)
    last = 1 + ceil((len(found) - first) / _LATER_PAGES)
    page = asked.page(last)
    start = 0 if page == 1 else first + (page - 2) * _LATER_PAGES
    chosen = found[start : first if page == 1 else start + _LATER_PAGES]
    shown = described(reference, group, chosen)
    values = {
        "choices": choices,
        "groups": _groups(shown, by_family),
        "counts": {ground: sum(each.ground is ground for each in found) for ground in Ground},
        "count": len(found),
        "more": len(found) - len(chosen),
        "unrecorded": sum(each.grows_here is None for each in found) if choices["regions"] else 0,
        "page": page,
        "last": last,
        "printing_counts": PRINTING_COUNTS,
        "query": _leave_out_query(choices),
    }
    plain = {
        "company": list(choices["company"]),
        "regions": [CONTINENTS[code] for code in sorted(choices["regions"])],
        "plants": [_left_out_json(each) for each in shown],
        **{key: values[key] for key in ("count", "page", "last")},
    }
    return Answer("leave_out", values, plain)


def _leave_out_choices(asked: Asked) -> dict[str, Any]:
    near, region = _text(asked, "near"), asked.one("region")
    if region and region not in CONTINENTS:
        codes = ", ".join(f"{code} ({name})" for code, name in CONTINENTS.items())
        raise ProblemError(400, f"region: {visible(region)[:40]!r} is not known; write one of {codes}")
    by = asked.one("by") or "name"
    if by not in _ORDERS:
        raise ProblemError(400, f"by: {visible(by)[:40]!r} is not known; write one of {', '.join(_ORDERS)}")
    place = read_place(near) if near else None
    here = asked.desk.reference.prints.continents_at(place) if place else frozenset()
    return {
        **_company_choices(company_of(asked)),
        "near": visible(near),
        "region": region,
        "by": by,
        "family": visible(_text(asked, "family")),
        "place": place,
        "regions": frozenset({region}) if region else here,
    }


def _leave_out_query(choices: dict[str, Any]) -> str:
    pairs = [(key, choices[key]) for key in ("near", "region", "by", "family") if choices[key]]
    pairs += [("company", each.value) for each in choices["company"] if each is not Company.ADULTS]
    return urlencode(pairs if choices["company"] != (Company.ADULTS,) else [*pairs, ("company", "adults")])


def _fitting(reference: Any, group: frozenset[Company], plants: Sequence[Standing], by_family: bool) -> int:
    """Return how many plants, from the first, two sides of paper hold."""
    lines, headings = 0, set[str]()
    for number, each in enumerate(described(reference, group, plants[:_LINES_ON_TWO_SIDES])):
        standing = each.standing
        heads = {standing.ground.value, f"{standing.ground} {standing.family}" if by_family else ""} - {""}
        lines += _LINES_A_HEADING * len(heads - headings)
        headings |= heads
        lines += ceil(len(_printed(each)) / _CHARACTERS_A_LINE)
        if lines > _LINES_ON_TWO_SIDES:
            return number
    return min(len(plants), _LINES_ON_TWO_SIDES)


def _printed(each: LeftOut) -> str:
    """Return about what the list prints of a plant, to count its length."""
    names = f"{each.standing.common_name or ''}, {each.standing.scientific_name}: "
    return f"{names}{each.reason}. {'Taken for ' if each.taken_for else ''}{', '.join(each.taken_for)}. °"


def _groups(plants: Sequence[LeftOut], by_family: bool) -> list[dict[str, Any]]:
    """Group the plants by why they are left out, then by family where that is asked, each in order of its name."""
    found = []
    for ground in Ground:
        members = [each for each in plants if each.standing.ground is ground]
        members.sort(key=lambda each: (each.standing.common_name or each.standing.scientific_name).casefold())
        if by_family:
            members.sort(key=lambda each: each.standing.family)
            families = [(name, list(rows)) for name, rows in groupby(members, key=lambda each: each.standing.family)]
        else:
            families = [("", members)]
        if members:
            found.append({"ground": ground, "families": families})
    return found


def _left_out_json(each: LeftOut) -> dict[str, Any]:
    standing = each.standing
    return {
        "id": standing.id,
        "scientific_name": standing.scientific_name,
        "common_name": standing.common_name,
        "family": standing.family,
        "why": standing.ground,
        "reason": each.reason,
        "taken_for": list(each.taken_for),
        "grows_here": standing.grows_here,
    }


# -- the class sheet -----------------------------------------------------------------------------------------------


def sheet_page(asked: Asked) -> Answer:
    """Show the form of a class sheet, and the sheet once plants or materials are chosen."""
    names = [each[:MAX_QUERY] for each in asked.many("name", MOST_PLANTS)]
    names += [line.strip() for line in _text(asked, "names", _MOST_TYPED).splitlines() if line.strip()]
    materials = asked.many("material", MOST_MATERIALS)
    desk = asked.desk
    choices = {
        **_company_choices(company_of(asked)),
        "names": [text for name in names if (text := visible(name))],
        "material": materials,
        "materials": _by_kind(desk.reading.materials()),
        **{key: visible(_text(asked, key)) for key in ("near", "on", "country")},
        "countries": _countries(desk.reading.helplines()),
    }
    if not choices["names"] and not materials:
        if asked.address["json"]:
            raise ProblemError(400, "name: write one or more, as in /class-sheet.json?name=Acer+rubrum&name=walnut")
        return Answer("class_sheet", {"choices": choices, "sheet": None})
    sheet = class_sheet(
        desk.reference,
        desk.reading,
        names,
        materials,
        company=choices["company"],
        country=choices["country"] or None,
        near=choices["near"] or None,
        on=choices["on"] or None,
    )
    values = {"choices": choices, "sheet": sheet, "shared": _shared(choices, sheet.on.isoformat())}
    return Answer("class_sheet", values, sheet_json(sheet))


def _by_kind(materials: Sequence[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    return [(kind, list(rows)) for kind, rows in groupby(materials, key=lambda row: str(row["kind"]))]


def _countries(helplines: Sequence[tuple[str, list[dict[str, Any]]]]) -> list[tuple[str, str]]:
    return [(lines[0]["country"], name) for name, lines in helplines]


def _shared(choices: dict[str, Any], on: str) -> str:
    """Return the query of an address that shows the same sheet to anyone: the day is written out."""
    pairs = [("name", name) for name in choices["names"]]
    pairs += [("material", each) for each in choices["material"]]
    pairs += [("company", each.value) for each in choices["company"] if each is not Company.ADULTS]
    pairs += [("company", "adults")] if choices["only_adults"] else []
    pairs += [(key, choices[key]) for key in ("country", "near") if choices[key]]
    return urlencode([*pairs, ("on", on)])


Route = tuple[str, Callable[[Asked], Answer]]

#: Address pattern -> page; the table of routes wraps each in its request handler.
PAGES: tuple[Route, ...] = (
    (with_json("leave-out"), leave_out),
    (with_json("class-sheet"), sheet_page),
)

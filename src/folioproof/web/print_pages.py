"""The pages about colour and season: a plant's matrix and year, what to gather, by colour, instead, together."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any
from urllib.parse import urlencode

from ..answers import Plant
from ..estimates import RULES, Estimate
from ..expectation import DEVIATIONS, MEASURED_DEVIATION
from ..outcomes import moved
from ..phenology import Calendar, MonthStrength, strip
from ..places import Place
from ..print_answers import (
    Gathering,
    Swatch,
    gathered_json,
    near_json,
    palette_json,
    plant_ref_json,
    season_json,
    swatch_json,
)
from ..prints import Prints
from ..text import MAX_QUERY, visible
from ..vocabulary import FIBRES, TREATMENTS, Company, Fibre, Part, Treatment
from .asked import Answer, Asked, ProblemError
from .colour_map import colour_map
from .handling import with_json
from .outcome_pages import others_json, plant_others

_MOST_WANTED = 5
_MOST_TOGETHER = 24
_SHOWN = 40


def prints_of(asked: Asked) -> Prints:
    """Return what the pages ask about colour and season."""
    return asked.desk.reference.prints


def _text(asked: Asked, name: str) -> str:
    value = asked.one(name).strip()
    if len(value) > MAX_QUERY:
        raise ProblemError(400, f"{name}: at most {MAX_QUERY} characters; write a shorter one")
    return value


def where_and_when(asked: Asked) -> tuple[Place | None, date | None]:
    """Read `near` and `on`; both None when no place is given."""
    near, on = _text(asked, "near"), _text(asked, "on")
    return prints_of(asked).where_and_when(near or None, (on or None) if near else None)


def _choices(asked: Asked, **more: Any) -> dict[str, Any]:
    """Return what the forms about colour and season show as chosen."""
    return {
        "near": visible(_text(asked, "near")),
        "on": visible(_text(asked, "on")),
        "treatment": asked.one("treatment"),
        "fibre": asked.one("fibre") or Fibre.PAPER.value,
        "treatments": TREATMENTS,
        "fibres": FIBRES,
        "company": asked.company,
        "others": [company for company in Company if company is not Company.ADULTS],
        **more,
    }


# -- a plant -------------------------------------------------------------------------------------------------------


def matrix(prints: Prints, taxon_id: str, part: Part) -> list[dict[str, Any]]:
    """Return one row a treatment, each with one cell a fibre: estimate and swatch."""
    by_fibre = {fibre: prints.of_plant(taxon_id, fibre, part) for fibre in FIBRES}
    rows = []
    for i, treatment in enumerate(TREATMENTS):
        cells = [_cell(prints, fibre, by_fibre[fibre][i]) for fibre in FIBRES]
        rows.append({"treatment": treatment, "cells": cells})
    return rows


def _cell(prints: Prints, fibre: Fibre, estimate: Estimate) -> dict[str, Any]:
    return {"fibre": fibre, "estimate": estimate, "swatch": prints.swatch(estimate.lab, estimate.spread)}


def plant_printing(asked: Asked, found: Plant) -> dict[str, Any]:
    """Return what a plant's page shows of colour, season and handling."""
    prints = prints_of(asked)
    place, day = where_and_when(asked)
    part = asked.part if asked.part in (Part.LEAF, Part.FLOWER) else Part.LEAF
    known = prints.store.knowledge(found.id)
    rows = matrix(prints, found.id, part)
    layers = [layer for row in rows for cell in row["cells"] for layer in cell["estimate"].layers]
    season = prints.season(found.id, place, day) if place and day else None
    calendar = prints.calendar_of(found.id, place, day.year) if place and day else None
    others = plant_others(asked, found, part, place)
    return {
        "shared_prints": others,
        "print_part": part,
        "matrix": rows,
        "has_colour": any(cell["swatch"] for row in rows for cell in row["cells"]),
        "told": [told for told in known.told if told.statement.part in (part, Part.ALL)],
        "dyes": known.dyes,
        "growth": prints.growth(found.id),
        "stages": prints.store.stages(found.id),
        "handling": prints.store.handling(found.id),
        "lightfastness": prints.store.lightfastness(found.id),
        "local_notes": prints.store.local_notes(found.id),
        "layer_sources": {source for layer in layers for source in layer.sources},
        "place": place,
        "day": day,
        "season": season,
        "calendar": calendar,
        "months": moved(_months(prints, found.id, calendar), others),
        "choices": _choices(asked),
    }


def sources_of(values: dict[str, Any]) -> list[str | None]:
    """Return the ids of the sources that a plant's colours, stages and handling cite."""
    claims = [told.statement for told in values["told"]] + [held.dye for held in values["dyes"]]
    for key in ("stages", "handling", "lightfastness", "local_notes"):
        claims += values[key]
    return [*values["layer_sources"], *(claim.source for claim in claims)]


def _months(prints: Prints, taxon_id: str, calendar: Calendar | None) -> tuple[MonthStrength, ...]:
    return strip(calendar, prints.shares(taxon_id)) if calendar else ()


def printing_json(values: dict[str, Any]) -> dict[str, Any]:
    """Return the colours and season of a plant's page as plain JSON values."""
    return {
        "part": values["print_part"],
        "expected": [
            {
                "treatment": row["treatment"],
                "fibre": cell["fibre"],
                **swatch_json(cell["swatch"]),
                "strength": round(cell["estimate"].strength, 2),
                "grade": cell["estimate"].grade,
                "rests_on": cell["estimate"].rests_on,
            }
            for row in values["matrix"]
            for cell in row["cells"]
        ],
        "near": values["place"].name if values["place"] else None,
        "season": season_json(values["season"]),
        "others": others_json(values["shared_prints"]),
        "months": [{"month": m.month, "stage": m.stage, "share": round(m.strength, 2)} for m in values["months"]],
    }


# -- lists ---------------------------------------------------------------------------------------------------------


def gather(asked: Asked) -> Answer:
    """Show what to gather at a place on a day, for a company and wanted colours."""
    choices = _choices(asked, treatment=asked.one("treatment") or Treatment.ALUM.value)
    wants = [visible(each)[:80] for each in asked.many("wants", _MOST_WANTED)]
    choices["wants"] = wants
    if not choices["near"]:
        if asked.address["json"]:
            raise ProblemError(400, "near: write a place, as in /gather.json?near=Europe/Lisbon")
        return Answer("gather", {"choices": choices, "found": None})
    found = prints_of(asked).gather(
        choices["near"], choices["on"] or None, choices["treatment"], choices["fibre"], asked.company, wants, _SHOWN
    )
    plain = {
        "near": found.place.name,
        "on": found.on.isoformat(),
        "plants": [gathered_json(each) for each in found.plants],
        "more": found.more,
        "left_out": found.left_out,
        "out_of_season": found.out_of_season,
        "elsewhere": found.elsewhere,
        "notes": list(found.notes),
    }
    return Answer("gather", {"choices": choices, "found": found, "shared": _shared(asked, choices, found)}, plain)


def _shared(asked: Asked, choices: dict[str, Any], found: Gathering) -> str:
    """Return the query of an address that shows the same to anyone: the day is written out."""
    day = choices["on"] or found.on.isoformat()
    pairs = [("near", choices["near"]), ("on", day), ("treatment", choices["treatment"]), ("fibre", choices["fibre"])]
    pairs += [("company", each.value) for each in asked.company if each is not Company.ADULTS]
    pairs += [("wants", each) for each in choices["wants"]]
    return urlencode(pairs)


def by_colour(asked: Asked) -> Answer:
    """Show which plants and treatments come near a colour, and the whole gamut in print as one picture."""
    prints = prints_of(asked)
    choices = _choices(asked)
    colour = visible(_text(asked, "colour"))
    treatment = choices["treatment"] or None
    place, day = where_and_when(asked)
    only = prints.in_season(place, day) if place and day else None
    values: dict[str, Any] = {"choices": choices, "colour": colour, "found": None, "place": place, "day": day}
    values["map"] = colour_map(prints, treatment, choices["fibre"], asked.company, only)
    if not colour:
        if asked.address["json"]:
            raise ProblemError(400, "colour: write one, as in /by-colour.json?colour=olive")
        return Answer("by_colour", values)
    found = prints.like(colour, treatment, choices["fibre"], asked.company, _SHOWN, only)
    values["found"] = found
    values["asked_swatch"] = Swatch(lab=found.lab, name=found.name.name, spread=0)
    plain = {"asked": colour, **swatch_json(values["asked_swatch"]), "found": [near_json(each) for each in found.found]}
    return Answer("by_colour", values, plain)


def instead(asked: Asked) -> Answer:
    """Show what may stand in for a plant: near in colour, like in leaf, usable in this company."""
    choices = _choices(asked, treatment=asked.one("treatment") or Treatment.ALUM.value)
    query = visible(asked.query)
    if not query:
        if asked.address["json"]:
            raise ProblemError(400, "q: write the name of a plant, as in /instead.json?q=smoke+tree")
        return Answer("instead", {"choices": choices, "found": None, "query": ""})
    company = asked.company if asked.many("company", len(Company)) else (Company.CLASS,)
    place, day = where_and_when(asked)
    found = prints_of(asked).swap(query, choices["treatment"], choices["fibre"], place, day, company, _SHOWN)
    choices["company"] = company
    plain = {
        "query": query,
        "status": found.status,
        "level": found.level,
        "plant": plant_ref_json(found.plant),
        **swatch_json(found.swatch),
        "found": [near_json(each) for each in found.found],
        "notes": list(found.notes),
    }
    return Answer("instead", {"choices": choices, "found": found, "query": query}, plain)


def together(asked: Asked) -> Answer:
    """Show the colours of a planned sheet side by side, and which will be hard to tell apart."""
    choices = _choices(asked, treatment=asked.one("treatment") or Treatment.ALUM.value)
    names = [visible(each)[:MAX_QUERY] for each in asked.many("name", _MOST_TOGETHER)]
    typed = [line.strip() for line in asked.one("names").replace(",", "\n").splitlines() if line.strip()]
    if len(typed) > _MOST_TOGETHER:
        raise ProblemError(400, f"names: at most {_MOST_TOGETHER} plants on one sheet, not {len(typed)}")
    names += [visible(each)[:MAX_QUERY] for each in typed]
    if not names:
        if asked.address["json"]:
            raise ProblemError(400, "name: write one or more, as in /together.json?name=walnut&name=birch")
        return Answer("together", {"choices": choices, "found": None, "names": []})
    found = prints_of(asked).palette(names[:_MOST_TOGETHER], choices["treatment"], choices["fibre"])
    return Answer("together", {"choices": choices, "found": found, "names": names}, palette_json(found))


def in_season(asked: Asked) -> Answer:
    """Show the few strongest plants in season at a place: the part of the home page that knows where you are."""
    place, day = where_and_when(asked)
    found = prints_of(asked).gather(place, day, company=(Company.CLASS,), limit=6) if place and day else None
    return Answer("in_season", {"found": found, "choices": _choices(asked)})


def how_colours(asked: Asked) -> Answer:
    """Show how an expected colour, strength and season are reached."""
    reading = asked.desk.reading
    values = {
        "rules": RULES,
        "measured": MEASURED_DEVIATION,
        "deviations": {kind.value: deviation for kind, deviation in DEVIATIONS.items()},
        "counts": reading.statement_counts(),
        "dye_classes": reading.dye_classes(),
        "stages": [(row["term"], row["definition"]) for row in reading.terms_of("stage")],
    }
    return Answer("how_colours", values, values)


Route = tuple[str, Callable[[Asked], Answer]]

#: Address pattern -> page; the table of routes wraps each in its request handler.
PAGES: tuple[Route, ...] = (
    (with_json("gather"), gather),
    (with_json("by-colour"), by_colour),
    (with_json("instead"), instead),
    (with_json("together"), together),
    (with_json("how-colours"), how_colours),
    (r"/in-season$", in_season),
)

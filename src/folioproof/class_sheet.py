"""The class sheet: what a teacher hands out, put together once for the page, the file and the library."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from .answers import Candidate, Check
from .assessment import STANDING_CAUTIONS, Neighbour
from .finding import RefusedInputError
from .leaving_out import plain_reason
from .phenology import Season
from .places import Place, read_date, read_place
from .printing import HandlingNote, LocalNote
from .sheet_materials import SheetHeat, SheetMaterial, heat_of, lines_of, read_materials
from .terms import company_of
from .text import visible
from .vocabulary import Company, Level, Status, Step

if TYPE_CHECKING:
    from .reading import Reading
    from .reference import Reference

MOST_PLANTS = 40
_MOST_CANDIDATES = 6
_USABLE = (Level.ORDINARY, Level.EXTRA)

#: What to do at each step, in the order of the steps.
_Steps = tuple[tuple[Step, tuple[str, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPlant:
    """A plant that may be on the table; `steps` has only what is not done with every plant."""

    id: str
    query: str
    scientific_name: str
    common_name: str | None
    level: Level
    reason: str
    thin_evidence: bool
    disagree: bool
    identify_first: tuple[Neighbour, ...]
    steps: _Steps
    other_parts: tuple[str, ...]
    handling: tuple[HandlingNote, ...]
    local_notes: tuple[LocalNote, ...]
    season: Season | None
    warnings: tuple[str, ...]
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotBrought:
    """A name whose plant stays away. `candidates` are what a name that is not exact may mean."""

    query: str
    status: Status
    level: Level
    reason: str
    candidates: tuple[Candidate, ...]
    more: int
    warnings: tuple[str, ...]

    @property
    def is_named(self) -> bool:
        """Whether the name is one plant's very name."""
        return self.status is Status.EXACT


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What to ask before class, and who does not take part without advice."""

    ask: str
    if_yes: str
    who: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HelpLine:
    """A poison help line; shown with "check locally"."""

    name: str
    number: str
    region: str | None
    hours: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """Everything on a class sheet."""

    on: date
    place: Place | None
    company: tuple[Company, ...]
    country: str | None
    plants: tuple[SheetPlant, ...]
    left_out: tuple[NotBrought, ...]
    unnamed: tuple[NotBrought, ...]
    always: _Steps
    materials: tuple[SheetMaterial, ...]
    heat: tuple[SheetHeat, ...]
    questions: tuple[Question, ...]
    help_lines: tuple[HelpLine, ...]
    data_version: str
    cautions: tuple[str, ...] = STANDING_CAUTIONS

    @property
    def bench(self) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
        """What to do and not to do with the materials: names and lines."""
        return lines_of(self.materials, "do_not", "precautions")

    @property
    def waste(self) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
        """What to do with what is left: names and lines."""
        return lines_of(self.materials, "waste")


def class_sheet(
    reference: Reference,
    reading: Reading,
    names: Sequence[str],
    materials: Sequence[str] = (),
    *,
    company: Company | str | Iterable[Company | str] = Company.CLASS,
    country: str | None = None,
    near: str | None = None,
    on: str | date | None = None,
) -> Sheet:
    """Return the sheet for these plants and materials.

    A name that is not one plant's very name is never put among the plants. Raises RefusedInputError for too many
    names, and for a material, company, country, place or date that is not known.
    """
    group = company_of(company)
    place = read_place(near) if near else None
    day = date.today() if not on else read_date(on) if isinstance(on, str) else on
    always = _always(reading, group)
    plants, away = _sorted_out(reference, names, group, always, place, day)
    lands = country or (place.country if place else None)
    code = _country(lands) if lands else None
    return Sheet(
        on=day,
        place=place,
        company=tuple(each for each in Company if each in group),
        country=code[1] if code else None,
        plants=plants,
        left_out=tuple(each for each in away if each.is_named),
        unnamed=tuple(each for each in away if not each.is_named),
        always=always,
        materials=read_materials(reading, materials),
        heat=heat_of(reference.prints.shelf, reading, materials),
        questions=_questions(reference),
        help_lines=_help_lines(reference, code[0]) if code else (),
        data_version=reading.build()["content_sha256"][:12],
    )


def _sorted_out(
    reference: Reference,
    names: Sequence[str],
    group: frozenset[Company],
    always: _Steps,
    place: Place | None,
    day: date,
) -> tuple[tuple[SheetPlant, ...], list[NotBrought]]:
    """Return the plants that may be on the table, and the names that stay away."""
    asked = list(dict.fromkeys(text for name in names if (text := visible(name))))
    if len(asked) > MOST_PLANTS:
        raise RefusedInputError(f"names: at most {MOST_PLANTS} plants on one sheet, not {len(asked)}")
    usual = {line for _, lines in always for line in lines}
    checks = [reference.check(name, company=group) for name in asked]
    kept = [check for check in checks if check.status is Status.EXACT and check.level in _USABLE]
    plants = _merged(_plant(reference, check, usual, place, day) for check in kept)
    return plants, [_not_brought(reference, check, group) for check in checks if check not in kept]


def _always(reading: Reading, group: frozenset[Company]) -> _Steps:
    """Return what is done with every plant in this company, step by step."""
    rows = [
        row for row in reading.precautions()
        if row["kind"] == "always" or (row["kind"] == "company" and row["subject"] in group)
    ]  # fmt: skip
    return tuple((step, tuple(row["text"] for row in rows if row["step"] == step)) for step in Step)


def _plant(reference: Reference, check: Check, usual: set[str], place: Place | None, day: date) -> SheetPlant:
    shown = check.candidates[0]
    prints = reference.prints
    own = [(step, tuple(line for line in lines if line not in usual)) for step, lines in check.precautions.items()]
    others = {
        f"{', '.join(held.claim.parts)}: {getattr(held.claim, 'route', '')}, {getattr(held.claim, 'severity', '')}"
        for held in check.other_parts
        if getattr(held.claim, "severity", None) in ("severe", "fatal")
    }
    return SheetPlant(
        id=shown.id,
        query=check.query,
        scientific_name=shown.scientific_name,
        common_name=shown.common_name,
        level=check.level,
        reason=plain_reason(check.reasons, check.level),
        thin_evidence=check.thin_evidence,
        identify_first=check.identify_first,
        steps=tuple((step, lines) for step, lines in own if lines),
        other_parts=tuple(sorted(others)),
        handling=prints.store.handling(shown.id),
        local_notes=prints.store.local_notes(shown.id),
        season=prints.season(shown.id, place, day) if place else None,
        disagree=bool(check.contradictions),
        warnings=(*check.warnings, *check.review_flags),
        sources=tuple(source.id for source in check.sources),
    )


def _merged(plants: Iterable[SheetPlant]) -> tuple[SheetPlant, ...]:
    """Return each plant once, however many of its names were given; the gravest first."""
    once = {plant.id: plant for plant in plants}
    return tuple(sorted(once.values(), key=lambda plant: (-plant.level.rank, plant.scientific_name)))


def _not_brought(reference: Reference, check: Check, group: frozenset[Company]) -> NotBrought:
    named = check.status is Status.EXACT
    own = reference.assess(check.candidates[0].id, group).reasons if named else check.reasons
    return NotBrought(
        query=check.query,
        status=check.status,
        level=check.level,
        reason=plain_reason(own, check.level),
        candidates=check.candidates[:_MOST_CANDIDATES],
        more=max(0, len(check.candidates) - _MOST_CANDIDATES),
        warnings=check.warnings,
    )


def _questions(reference: Reference) -> tuple[Question, ...]:
    rows = reference.prints.shelf.rows("SELECT ask, if_yes, who FROM class_questions ORDER BY position")
    return tuple(Question(ask=row["ask"], if_yes=row["if_yes"], who=row["who"]) for row in rows)


def _country(text: str) -> tuple[str, str]:
    """Return code and name of an ISO 3166-1 country."""
    import pycountry

    code = text.strip().upper()
    found: Any = pycountry.countries.get(alpha_2=code) if code.isascii() and len(code) == 2 else None
    if found is None:
        raise RefusedInputError(f"country: {visible(text)[:40]!r} is not known; write an ISO 3166 code such as NZ")
    return code, str(getattr(found, "common_name", found.name))


def _help_lines(reference: Reference, code: str) -> tuple[HelpLine, ...]:
    sql = """SELECT name, number, region, hours FROM helplines WHERE country = ?
        ORDER BY region IS NOT NULL, region, id"""
    return tuple(HelpLine(**dict(row)) for row in reference.prints.shelf.rows(sql, code))


def sheet_json(sheet: Sheet) -> dict[str, Any]:
    """Return a class sheet as plain JSON values."""
    return {
        "on": sheet.on.isoformat(),
        "near": sheet.place.name if sheet.place else None,
        "company": list(sheet.company),
        "country": sheet.country,
        "plants": [_plant_json(plant) for plant in sheet.plants],
        "do_not_bring": [_away_json(each) for each in (*sheet.left_out, *sheet.unnamed)],
        "with_every_plant": {step: list(lines) for step, lines in sheet.always},
        "materials": [each.plain() for each in sheet.materials],
        "heat": [each.plain() for each in sheet.heat],
        "ask_before_class": [{"ask": q.ask, "if_yes": q.if_yes, "not_without_advice": q.who} for q in sheet.questions],
        "help_lines": [
            {"name": line.name, "number": line.number, "region": line.region, "hours": line.hours}
            for line in sheet.help_lines
        ],
        "cautions": list(sheet.cautions),
        "data_version": sheet.data_version,
    }


def _plant_json(plant: SheetPlant) -> dict[str, Any]:
    return {
        "id": plant.id,
        "asked_as": plant.query,
        "scientific_name": plant.scientific_name,
        "common_name": plant.common_name,
        "level": plant.level,
        "reason": plant.reason,
        "identify_first": [
            {"scientific_name": n.name, "level": n.level, "tell_apart": n.look_alike.tell_apart}
            for n in plant.identify_first
        ],
        "precautions": {step: list(lines) for step, lines in plant.steps},
        "other_parts": list(plant.other_parts),
        "handling": [note.needs for note in plant.handling],
        "in_season": plant.season.in_season if plant.season else None,
        "sources": list(plant.sources),
    }


def _away_json(each: NotBrought) -> dict[str, Any]:
    meant = [{"id": c.id, "scientific_name": c.scientific_name, "level": c.level} for c in each.candidates]
    return {"asked": each.query, "status": each.status, "level": each.level, "reason": each.reason, "may_mean": meant}

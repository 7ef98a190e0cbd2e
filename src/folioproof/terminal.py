"""Answers as plain text for a terminal. Every level has a mark and its word; colour is never the only sign."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator

import click

from .answers import Candidate, Check, Lookup, Plant, Source
from .assessment import STANDING_CAUTIONS, Held, Neighbour, Reason
from .text import visible
from .vocabulary import Level, NameKind, Status, Step

_MARKS = {Level.ORDINARY: "-", Level.EXTRA: "!", Level.NOT_ASSESSED: "?", Level.LEAVE_OUT: "X"}
_STATUS = {
    Status.EXACT: "this very name",
    Status.CONFIRM: "not this very name: confirm the plant first",
    Status.AMBIGUOUS: "the name may mean several plants",
    Status.GENUS: "only the genus is known",
    Status.UNKNOWN: "no plant in the records has this name",
}
_WIDTH = 96
_MOST = 20


def level_word(level: Level) -> str:
    """Return a level with its mark, bold where colour is on."""
    return click.style(f"[{_MARKS[level]}] {level}", bold=True)


def _wrapped(text: str, indent: str = "    ", hanging: str = "    ") -> str:
    return textwrap.fill(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=hanging,
        break_on_hyphens=False,
        break_long_words=False,
    )


def _plant_name(candidate: Candidate) -> str:
    common = f" ({candidate.common_name})" if candidate.common_name else ""
    return f"{candidate.scientific_name}{common}"


def lookup_lines(lookup: Lookup) -> Iterator[str]:
    """Yield the answer of `find`."""
    shown = visible(lookup.query)[:80] or "(nothing)"
    yield f"{click.style(shown, bold=True)}: {lookup.status}, {_STATUS[lookup.status]}"
    yield from (_wrapped(f"Warning: {warning}") for warning in lookup.warnings)
    yield from _candidate_lines(lookup.candidates)
    if lookup.status is not Status.EXACT:
        yield f"  Until you know better: {level_word(lookup.level)}"


def _candidate_lines(candidates: tuple[Candidate, ...]) -> Iterator[str]:
    for candidate in candidates[:_MOST]:
        yield f"  {level_word(candidate.level):<18} {_plant_name(candidate)}"
        yield f"      {candidate.match.explanation}; id {candidate.id}"
    if len(candidates) > _MOST:
        yield f"  and {len(candidates) - _MOST} more; --json lists them all"


def check_lines(check: Check) -> Iterator[str]:
    """Yield the answer of `check`, the standing cautions left to the end of the run."""
    shown = visible(check.query)[:80] or "(nothing)"
    company = ", ".join(check.company)
    yield f"{click.style(shown, bold=True)}: {level_word(check.level)}"
    yield f"  {check.part}, {check.state} state, in the company of {company}; {_STATUS[check.status]}"
    for neighbour in check.identify_first:
        yield from _neighbour_lines(neighbour)
    yield from (_wrapped(f"Warning: {warning}", "  ") for warning in check.warnings)
    if check.status is not Status.EXACT and check.candidates:
        yield "  It may mean"
        yield from _candidate_lines(check.candidates)
    yield f"  Why{_whose(check)}"
    for reason in check.reasons:
        yield from _reason_lines(reason)
    yield from (_wrapped(f"Disagreement: {line}") for line in check.contradictions)
    yield from (_wrapped(f"Review: {line}") for line in check.review_flags)
    yield from _other_part_lines(check.other_parts)
    yield from _step_lines(check.precautions)
    yield from _source_lines(check.sources)


def _whose(check: Check) -> str:
    """Say which of several plants the reasons and precautions are about."""
    if check.status is Status.EXACT or check.acting_on is None:
        return ""
    names = {each.id: each.scientific_name for each in check.candidates}
    return f", and what to do: the worst it may mean is {names.get(check.acting_on, f'id {check.acting_on}')}"


def _neighbour_lines(neighbour: Neighbour) -> Iterator[str]:
    level = f"{neighbour.level}; in a class {neighbour.taught}" if neighbour.taught else neighbour.level
    text = f"Identify first: taken for {neighbour.name} ({level}). {neighbour.look_alike.tell_apart}"
    yield _wrapped(f"{text} If in doubt, leave it.", "  ")


def _reason_lines(reason: Reason) -> Iterator[str]:
    grounds = dict.fromkeys(_ground(held) for held in reason.claims)
    rests = f" ({'; '.join(grounds)})" if grounds else ""
    yield _wrapped(f"{reason.code} {reason.text}{rests}", "    ", "        ")


def _ground(held: Held) -> str:
    said = held.claim.source or held.claim.basis
    whom = "" if held.rank == "species" else f" on {held.taxon_name}"
    return f"{said}{whom}"


def _other_part_lines(others: tuple[Held, ...]) -> Iterator[str]:
    said: dict[str, list[str]] = {}
    for held in others:
        severity = getattr(held.claim, "severity", "")
        route = getattr(held.claim, "route", "")
        said.setdefault(f"{', '.join(held.claim.parts)}: {route}, {severity}", []).append(_ground(held))
    if said:
        yield "  Other parts or states of the plant: keep them away from the table"
        for text, grounds in said.items():
            yield _wrapped(f"{text} ({'; '.join(dict.fromkeys(grounds))})", "    ", "        ")


def _step_lines(precautions: dict[Step, tuple[str, ...]]) -> Iterator[str]:
    yield "  Step by step"
    for step, lines in precautions.items():
        yield _wrapped(" ".join(lines), f"    {step:<8}", " " * 12)


def _source_lines(sources: Iterable[Source]) -> Iterator[str]:
    listed = list(sources)
    if listed:
        yield "  Sources"
        for source in listed:
            yield _wrapped(f"{source.id}: {source.citation}", "    ", "        ")


def plant_lines(plant: Plant) -> Iterator[str]:
    """Yield everything about one plant."""
    found = plant.assessment
    common = f" ({plant.common_name})" if plant.common_name else ""
    authors = f" {plant.authorship}" if plant.authorship else ""
    yield f"{click.style(plant.scientific_name, bold=True)}{authors}{common}: {level_word(found.level)}"
    yield f"  {plant.rank}{f' of {plant.family}' if plant.family else ''}; id {plant.id}"
    for neighbour in found.identify_first:
        yield from _neighbour_lines(neighbour)
    if plant.note:
        yield _wrapped(plant.note, "  ", "  ")
    yield "  Why"
    for reason in found.reasons:
        yield from _reason_lines(reason)
    yield from (_wrapped(f"Disagreement: {line}") for line in found.contradictions)
    yield from _other_part_lines(found.other_parts)
    yield from _step_lines(found.precautions)
    yield "  Names"
    for kind in NameKind:
        names = [
            f"{n.name} [{n.language}]" if n.language else n.name
            for n in plant.names
            if n.kind is kind and n.name != plant.scientific_name
        ]
        if names:
            yield _wrapped(f"{kind}: {'; '.join(names)}", "    ", "        ")
    if plant.members:
        yield "  Holds"
        for member in plant.members:
            yield f"    {level_word(member.level):<18} {_plant_name(member)}; id {member.id}"
    yield from _source_lines(plant.sources)


def caution_lines() -> Iterator[str]:
    """Yield the standing cautions that end every answer."""
    yield from (_wrapped(caution, "", "") for caution in STANDING_CAUTIONS)

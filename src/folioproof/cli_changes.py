"""The command `changes`: what differs between two built files."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .cli_shared import AS_JSON, Progress, say, say_json

if TYPE_CHECKING:
    from .comparing import Comparison, EstimateChange, LevelChange

#: Estimates shown as text; --json has them all.
_SHOWN = 40


@click.command()
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("new", type=click.Path(path_type=Path), required=False)
@AS_JSON
def changes(old: Path, new: Path | None, as_json: bool) -> None:
    """Say what differs between two built files: levels, plants, claims, estimates.

    NEW is the file built from the records at hand when left out. OLD may be of an older version: what both files
    hold is compared.
    """
    from .comparing import compare_files

    if new is None:
        from .cache import ready_database

        with Progress() as advance:
            new = ready_database(advance)
    found = compare_files(old, new)
    if as_json:
        for each in plain(found):
            say_json(each)
        return
    for line in lines(found):
        say(line)


def plain(found: Comparison) -> Iterator[dict[str, Any]]:
    """Yield what differs as plain objects, the two versions first; `kind` says what each is about."""
    yield {
        "kind": "files",
        "old": found.old_version,
        "new": found.new_version,
        "not_compared": list(found.not_compared),
    }
    for level in found.levels:
        yield {
            "kind": "level",
            "id": level.taxon_id,
            "name": level.name,
            "company": level.company,
            "old": level.old,
            "new": level.new,
            "graver": level.is_graver,
            "reason": level.reason,
            "sources": list(level.sources),
        }
    for kind, plants in (("new plant", found.new_plants), ("gone plant", found.gone_plants)):
        yield from ({"kind": kind, "id": each, "name": name} for each, name in plants)
    for claim in found.claims:
        counts = {"added": claim.added, "removed": claim.removed}
        yield {"kind": "claims", "claim": claim.claim, "table": claim.table, "basis": claim.basis, **counts}
    yield from map(_estimate_json, found.estimates)


def _estimate_json(moved: EstimateChange) -> dict[str, Any]:
    return {
        "kind": "estimate",
        "id": moved.taxon_id,
        "name": moved.name,
        "part": moved.part,
        "treatment": moved.treatment,
        "fibre": moved.fibre,
        "old_colour": moved.old_colour,
        "new_colour": moved.new_colour,
        "apart": None if moved.apart is None else round(moved.apart, 1),
        "old_strength": round(moved.old_strength, 2),
        "new_strength": round(moved.new_strength, 2),
    }


def lines(found: Comparison) -> Iterator[str]:
    """Yield what differs as lines of text, the levels that rose first."""
    yield f"From data version {found.old_version} to {found.new_version}"
    if found.not_compared:
        yield f"Not compared, because one file lacks them: {', '.join(found.not_compared)}"
    for heading, graver in (("Levels that ask for more care", True), ("Levels that ask for less care", False)):
        changed = [each for each in found.levels if each.is_graver is graver]
        yield from ("", f"{heading}: {len({each.taxon_id for each in changed})}")
        yield from _level_lines(changed)
    for heading, plants in (("New plants", found.new_plants), ("Plants that are gone", found.gone_plants)):
        yield from ("", f"{heading}: {len(plants)}")
        yield from (f"  {name} ({each})" for each, name in plants)
    yield from ("", "Claims, by what they rest on:" if found.claims else "Claims: none added, none removed")
    for claim in found.claims:
        yield f"  {claim.claim}, {claim.basis}: {claim.added} added, {claim.removed} removed"
    yield from ("", f"Expected colours and strengths that moved: {len(found.estimates)}")
    yield from map(_estimate_line, found.estimates[:_SHOWN])
    if len(found.estimates) > _SHOWN:
        yield f"  and {len(found.estimates) - _SHOWN} more; --json has them all"


def _level_lines(changed: list[LevelChange]) -> Iterator[str]:
    """Yield one line for each plant and change, with the companies it holds for."""

    def same(each: LevelChange) -> tuple[str, ...]:
        return each.name, each.taxon_id, each.old, each.new, each.reason, *each.sources

    for _, group in groupby(sorted(changed, key=same), key=same):
        members = list(group)
        first = members[0]
        companies = ", ".join(each.company for each in members)
        yield f"  {first.name} ({companies}): {first.old} -> {first.new}"
        cited = f" [{', '.join(first.sources)}]" if first.sources else ""
        yield f"      {first.reason}{cited}"


def _estimate_line(moved: EstimateChange) -> str:
    if moved.apart is None and moved.old_colour == moved.new_colour:
        colour = "no colour"
    else:
        colour = f"{moved.old_colour or 'no colour'} -> {moved.new_colour or 'no colour'}"
        colour += "" if moved.apart is None else f", {moved.apart:.0f} apart"
    strength = f"strength {moved.old_strength:.1f} -> {moved.new_strength:.1f}"
    return f"  {moved.name}, {moved.part}, {moved.treatment} on {moved.fibre}: {colour}; {strength}"

"""The command `record`: asks about one print and writes its file, or reads a spreadsheet of many."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .cli_shared import DATABASE, open_reference, say
from .finding import RefusedInputError
from .vocabulary import Rank, Status

if TYPE_CHECKING:
    from .outcome_record import OutcomeRecord
    from .outcome_rules import Known
    from .recording import Draft, Numbering
    from .reference import Reference


@click.command()
@click.option("--from", "sheet", type=click.Path(path_type=Path), help="Read many prints from this CSV file instead.")
@click.option("--columns", is_flag=True, help="List the columns that --from reads, and what belongs in each.")
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder of outcomes to write into; ./shared/outcomes when left out.",
)
@DATABASE
def record(sheet: Path | None, columns: bool, folder: Path | None, database: Path | None) -> None:
    """Record prints that you made, failures too: one question at a time, or many rows with --from.

    Nothing is sent anywhere: a file is written, and you are told where.
    """
    if columns:
        _say_columns()
        return
    folder = folder or _default_folder()
    with open_reference(database) as reference:
        known = _known(reference)
        if sheet is not None:
            records = _records_of(sheet, reference, known, folder)
        else:
            from .asking import Interview
            from .recording import Numbering

            records = [Numbering(folder).give(Interview(reference, known, folder).record())]
    from .recording import write_all

    paths = write_all(records, folder)
    for path in paths:
        say(f"Written: {path}")
    _say_next(paths, records)


def _default_folder() -> Path:
    named = os.environ.get("FOLIOPROOF_SHARED")
    return Path(named or "shared") / "outcomes"


def _known(reference: Reference) -> Known:
    from .database import connect
    from .outcome_rows import read_known

    connection = connect(reference.path)
    try:
        return read_known(connection)
    finally:
        connection.close()


def _say_columns() -> None:
    from .outcome_sheet import columns

    say("One row a print, one column a key. Save the sheet as CSV UTF-8; commas, semicolons or tabs between the cells.")
    say("Needed columns have a star. stage, side and result.clarity may be blank: they are then unknown. taxon may be")
    say("blank where name_as_given names exactly one plant. The id is made for you.")
    for column in columns():
        say(f"{'*' if column.is_needed else ' '} {column.head}")
        say(f"    {column.meaning}")
        if column.terms:
            say(f"    One of: {', '.join(column.terms)}")
        say(f"    Example: {column.example}")


def _records_of(sheet: Path, reference: Reference, known: Known, folder: Path) -> list[OutcomeRecord]:
    """Return the records of all rows; says what is wrong row by row, and leaves when anything is."""
    from .outcome_sheet import read_sheet
    from .recording import Numbering
    from .terminal import level_word

    numbering = Numbering(folder)
    drafts = [(row.number, _draft_of(row.cells, reference, known, numbering)) for row in read_sheet(sheet)]
    for number, draft in drafts:
        for line in (*draft.wrong, *draft.notices):
            say(f"row {number}: {line}")
        if draft.record is not None:
            plant = reference.plant(draft.record.taxon, draft.record.part, draft.record.state)
            level = level_word(plant.assessment.level)
            say(f"row {number}: good, {draft.record.id} ({plant.scientific_name}: {level})")
    bad = sum(draft.record is None for _, draft in drafts)
    if bad:
        raise RefusedInputError(f"{bad} of {len(drafts)} rows cannot be taken; nothing was written")
    return [draft.record for _, draft in drafts if draft.record is not None]


def _draft_of(cells: dict[str, str], reference: Reference, known: Known, numbering: Numbering) -> Draft:
    """Return what becomes of one row; when the plant is not clear, the other cells are looked at all the same."""
    from .recording import Draft, build

    unclear: tuple[str, ...] = ()
    try:
        taxon = taxon_of(reference, cells.get("name_as_given", ""), cells.get("taxon", ""))
    except RefusedInputError as error:
        taxon, unclear = next(iter(known.ranks)), (str(error),)
    draft = build({**cells, "taxon": taxon}, known, numbering.folder)
    if unclear:
        others = (line for line in draft.wrong if not line.startswith(("taxon:", "name_as_given:")))
        return Draft(None, (*unclear, *others))
    if draft.record is None:
        return draft
    try:
        return replace(draft, record=numbering.give(draft.record))
    except RefusedInputError as error:
        return Draft(None, (str(error),))


def taxon_of(reference: Reference, name: str, taxon: str) -> str:
    """Return the id of the plant that a row means; raises RefusedInputError rather than guess."""
    from .recording import plain

    name, taxon = plain(name), plain(taxon)
    if not name:
        raise RefusedInputError("name_as_given: the plant is not named; write what you call it")
    found = reference.find(name)
    ids = [each.id for each in found.candidates]
    if taxon:
        plant = reference.plant(taxon)
        if found.status is Status.EXACT and taxon not in ids and plant.rank is not Rank.GENUS:
            raise RefusedInputError(f"taxon: {name[:40]!r} is {ids[0]}, not {taxon[:60]}; change one of the two")
        return taxon
    if found.status is Status.EXACT and len(ids) == 1:
        return ids[0]
    meant = (
        f"it may mean {', '.join(ids[:6])}{' ...' if len(ids) > 6 else ''}; write" if ids else "no record has it; write"
    )
    raise RefusedInputError(f"name_as_given: {name[:40]!r} is not one plant's very name: {meant} the id in taxon")


def _say_next(paths: list[Path], records: list[OutcomeRecord]) -> None:
    first = paths[0]
    if len(paths) == 1 and records[0].result.strength != "none" and records[0].result.colour_basis == "none":
        say(f"A scan or photo of it? folioproof measure SCAN --into {first}")
    say(f"Next: folioproof lint {first if len(paths) == 1 else first.parent.parent.parent}")
    say("Then open a merge request with the file, or send it to a curator. Thank you; failures count as much.")
    if any(each.reaction != "none" for each in records):
        say("You reported a reaction: the plant's page will show a flag until a curator has looked at it.")
        say("Unwell? Do not wait for this record: ask a doctor or your poison help line.")

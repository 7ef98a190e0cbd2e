"""Reading a spreadsheet of many outcomes: one row a print, the columns are the keys of the record.

Understood: comma, semicolon or tab between cells, a byte-order mark, UTF-16, Windows line ends. What cannot be told for
sure is refused in one line with the number of the row.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel

from .finding import RefusedInputError
from .outcome_record import LightTest, Mordant, OutcomeRecord, Result, Temperature
from .outcome_text import scalar, terms_of
from .text import visible

MAX_BYTES = 20_000_000
MAX_MORDANTS = 4
_INNER: dict[str, type[BaseModel]] = {"temperature": Temperature, "result": Result, "lightfastness": LightTest}
#: Made from the other columns, or a curator's.
_NOT_ASKED = frozenset({"id", "review"})
_MARKS = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"", "utf-8-sig"))


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row, with its number as a spreadsheet shows it, and its cells by column."""

    number: int
    cells: dict[str, str]


class Column(NamedTuple):
    """One column of the spreadsheet: its head and what belongs in it."""

    head: str
    meaning: str
    terms: tuple[str, ...]
    example: str
    is_needed: bool


def columns() -> list[Column]:
    """Return every column that is read, in the order of the record's keys."""
    return list(_columns(OutcomeRecord, OutcomeRecord.model_json_schema(), "", True))


def _columns(model: type[BaseModel], schema: dict[str, Any], before: str, needed: bool) -> Iterator[Column]:
    defs = schema["$defs"]
    own = schema if model is OutcomeRecord else defs[model.__name__]
    for key, field in model.model_fields.items():
        if model is OutcomeRecord and key in _NOT_ASKED:
            continue
        if model is OutcomeRecord and key == "mordants":
            for number in range(1, MAX_MORDANTS + 1):
                yield from _columns(Mordant, schema, f"mordants.{number}.", False)
        elif model is OutcomeRecord and key in _INNER:
            yield from _columns(_INNER[key], schema, f"{key}.", field.is_required())
        else:
            example = field.examples[0] if field.examples else ""
            shown = " ".join(map(str, example)) if isinstance(example, list) else scalar(example).strip('"')
            terms = tuple(terms_of(own["properties"][key], defs))
            yield Column(before + key, field.description or "", terms, shown, needed and field.is_required())


def read_sheet(path: Path) -> list[SheetRow]:
    """Return the rows of a spreadsheet saved as CSV; raises RefusedInputError in one line."""
    where = visible(str(path))
    text = _text(path, where)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").lstrip("\n")
    first = lines.partition("\n")[0]
    delimiter = max(";\t,", key=lambda mark: first.count(mark))
    reader = csv.reader(io.StringIO(lines, newline=""), delimiter=delimiter, strict=True)
    rows: list[SheetRow] = []
    heads: list[str] = []
    number = width = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if not heads:
                heads, width = _heads(cells, where), len(cells)
            elif any(cell.strip() for cell in cells):
                rows.append(SheetRow(number, _cells(heads, width, cells, f"{where}, row {number}")))
    except csv.Error:
        raise RefusedInputError(
            f"{where}, row {number + 1}: a quotation mark stands in the wrong place, or the file is cut off there"
        ) from None
    if not rows:
        raise RefusedInputError(f"{where}: there is no row below the heads; `folioproof record --columns` lists them")
    return rows


def _text(path: Path, where: str) -> str:
    try:
        size = path.stat().st_size
        if not path.is_file():
            raise RefusedInputError(f"{where}: this is not a file")
        if size > MAX_BYTES:
            raise RefusedInputError(f"{where}: {size / 1e6:.0f} MB are too much; the limit is {MAX_BYTES // 10**6} MB")
        raw = path.read_bytes()
    except OSError as error:
        raise RefusedInputError(f"{where}: cannot be read ({error.strerror})") from None
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise RefusedInputError(f"{where}: this is a workbook; save the sheet as CSV UTF-8")
    encoding = next(name for mark, name in _MARKS if raw.startswith(mark))
    try:
        text = raw.decode(encoding)
    except UnicodeDecodeError as error:
        row = raw.count(b"\n", 0, error.start) + 1
        raise RefusedInputError(f"{where}, row {row}: the text is not UTF-8; save the sheet as CSV UTF-8") from None
    if "\0" in text:
        raise RefusedInputError(f"{where}, row {text.count(chr(10), 0, text.index(chr(0))) + 1}: this is not text")
    return text


def _heads(cells: list[str], where: str) -> list[str]:
    known = {column.head for column in columns()}
    heads = [visible(cell).lower() for cell in cells]
    while heads and not heads[-1]:
        heads.pop()
    for head in heads:
        if head not in known:
            raise RefusedInputError(
                f"{where}, row 1: there is no column {head[:40]!r}; `folioproof record --columns` lists them"
            )
        if heads.count(head) > 1:
            raise RefusedInputError(f"{where}, row 1: the column {head!r} stands twice; keep one")
    if not heads:
        raise RefusedInputError(f"{where}, row 1: there are no heads; `folioproof record --columns` lists them")
    return heads


def _cells(heads: list[str], width: int, cells: list[str], where: str) -> dict[str, str]:
    if len(cells) < len(heads):
        raise RefusedInputError(
            f"{where}: {len(cells)} cells stand under {len(heads)} heads; the file seems cut off there"
        )
    if len(cells) > width or any(cell.strip() for cell in cells[len(heads) :]):
        curly = any(mark in "".join(cells) for mark in "“”„")
        hint = "curly quotation marks do not hold a cell together" if curly else "put quotation marks round a cell"
        raise RefusedInputError(f"{where}: {len(cells)} cells stand under {len(heads)} heads; {hint}")
    return dict(zip(heads, cells, strict=False))

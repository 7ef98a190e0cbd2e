"""A million outcomes from one CSV or Parquet file into the table `outcomes`: read as a stream, all or nothing.

The columns are those of the table; `bulk_rows` says which are needed and which follow from others. Every wrong row is
said with its line; the file is built only when there is none.
"""

from __future__ import annotations

import csv
import io
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import Any

from .bulk_rows import DERIVED, REQUIRED, RowReader, Wrong, WrongRowError
from .colorimetry import ColourNames
from .finding import Finding, FindingsError, RefusedInputError
from .outcome_rows import read_known
from .outcome_tables import OUTCOME_TABLES
from .text import visible

Progress = Callable[[str, int, int], None]
#: Line number and cells of a row, and how much of the file was read up to it.
_Line = tuple[int, list[str], int]

_COLUMNS = OUTCOME_TABLES["outcomes"].columns
#: Written by a curator, or the name of a file that lies beside a single outcome: never in bulk.
_NOT_IN_BULK = ("review_note", "reviewed_on", "photo")
_MOST_FINDINGS = 100
_BATCH = 5_000


class BulkFindingsError(FindingsError):
    """Rows of a bulk file break rules: nothing was built."""

    def __init__(self, path: Path, findings: tuple[Finding, ...], *, stopped: bool) -> None:
        super().__init__(findings)
        count = f"at least {len(findings)}" if stopped else str(len(findings))
        self.args = (f"{path}: {count} findings; no outcome of it was loaded and nothing was built",)


def load_outcomes(
    connection: sqlite3.Connection, path: Path, names: ColourNames, progress: Progress = lambda stage, done, total: None
) -> int:
    """Add the outcomes of a file to the table; return how many.

    Raises BulkFindingsError with every wrong row, or RefusedInputError when the file cannot be read at all; the caller
    then throws the half-filled database away.
    """
    header, lines, size = _opened(path)
    _check_header(path, header)
    insert = f"INSERT INTO outcomes ({', '.join(_COLUMNS)}) VALUES ({', '.join('?' for _ in _COLUMNS)})"  # noqa: S608
    rows = _read(connection, path, header, lines, names)
    count = 0
    with _without_indexes(connection):
        while batch := list(islice(rows, _BATCH)):
            connection.executemany(insert, [list(row.values()) for row, _ in batch])
            count += len(batch)
            progress("loading outcomes", batch[-1][1], size)
    return count


@contextmanager
def _without_indexes(connection: sqlite3.Connection) -> Iterator[None]:
    """Take the indexes of the table away and make them again: one sorted pass each, not a million small steps."""
    sql = "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND tbl_name = 'outcomes' AND sql IS NOT NULL"
    indexes = connection.execute(sql).fetchall()
    for name, _ in indexes:
        connection.execute(f'DROP INDEX "{name}"')
    yield
    for _, made in indexes:
        connection.execute(made)


def _read(
    connection: sqlite3.Connection, path: Path, header: list[str], lines: Iterator[_Line], names: ColourNames
) -> Iterator[tuple[dict[str, Any], int]]:
    """Yield the rows, and how much of the file was read up to each; after a wrong one only look for more of them."""
    kept = [i for i, column in enumerate(header) if column not in DERIVED]
    read = RowReader([header[i] for i in kept], read_known(connection), names)
    seen = {row[0] for row in connection.execute("SELECT id FROM outcomes")}
    findings: list[Finding] = []
    for number, cells, done in lines:
        try:
            _check_length(cells, header)
            row = read([cells[i] for i in kept])
            _check_id(row["id"], seen)
        except WrongRowError as error:
            findings += [Finding(path, number, *wrong) for wrong in error.wrongs]
            if len(findings) >= _MOST_FINDINGS:
                raise BulkFindingsError(path, tuple(findings[:_MOST_FINDINGS]), stopped=True) from None
            continue
        if not findings:
            yield row, done
    if findings:
        raise BulkFindingsError(path, tuple(findings), stopped=False)


def _check_length(cells: list[str], header: list[str]) -> None:
    if len(cells) != len(header):
        problem = f"the row has {len(cells)} cells, the first line {len(header)}"
        remedy = "Write one cell for each column, in quotation marks if it holds a comma"
        raise WrongRowError([Wrong("R104", "row", problem, remedy)])


def _check_id(each: str, seen: set[str]) -> None:
    if each in seen:
        raise WrongRowError(
            [Wrong("O253", "id", f"there is an outcome {each} already", "Give each print an id of its own")]
        )
    seen.add(each)


def _check_header(path: Path, header: list[str]) -> None:
    allowed = [column for column in _COLUMNS if column not in _NOT_IN_BULK]
    findings = [
        Finding(path, 1, "R101", visible(column)[:60] or "(no name)", "there is no such column", "Take it out")
        for column in header
        if column not in allowed
    ]
    findings += [
        Finding(path, 1, "R102", column, "the column is missing", f"Needed are: {', '.join(REQUIRED)}")
        for column in REQUIRED
        if column not in header
    ]
    twice = sorted({column for column in header if header.count(column) > 1})
    findings += [Finding(path, 1, "R104", column, "the column stands twice", "Take one out") for column in twice]
    if findings:
        raise BulkFindingsError(path, tuple(findings), stopped=False)


# -- files -----------------------------------------------------------------------------------------------------------


def _opened(path: Path) -> tuple[list[str], Iterator[_Line], int]:
    """Return the header, the rows, and the size that the progress of the rows counts up to."""
    if not path.is_file():
        raise RefusedInputError(f"{path}: there is no such file")
    if path.suffix.lower() == ".parquet":
        return _parquet(path)
    if path.suffix.lower() == ".csv":
        lines = _csv(path)
        _, header, _ = next(lines, (1, [], 0))
        return [cell.strip() for cell in header], lines, path.stat().st_size
    raise RefusedInputError(f"{path}: outcomes are read from a file that ends in .csv or .parquet")


def _csv(path: Path) -> Iterator[_Line]:
    try:
        with path.open("rb") as raw:
            rows = csv.reader(io.TextIOWrapper(raw, encoding="utf-8-sig", newline=""), strict=True)
            for cells in rows:
                if cells:
                    yield rows.line_num, cells, raw.tell()
    except UnicodeDecodeError:
        raise RefusedInputError(f"{path}: this is not UTF-8 text; save the sheet as CSV in UTF-8") from None
    except csv.Error as error:
        raise RefusedInputError(f"{path}:{rows.line_num}: this is not CSV ({error})") from None
    except OSError as error:
        raise RefusedInputError(f"{path}: cannot be read ({error.strerror})") from None


def _parquet(path: Path) -> tuple[list[str], Iterator[_Line], int]:
    try:
        import duckdb
    except ImportError:
        raise RefusedInputError(f"{path}: Parquet needs DuckDB; run `pip install 'folioproof[parquet]'`") from None
    connection = duckdb.connect(config={"memory_limit": "400MB", "threads": 2})
    try:
        found = connection.execute("SELECT CAST(COLUMNS(*) AS VARCHAR) FROM read_parquet(?)", [str(path)])
        size = connection.cursor().execute("SELECT count(*) FROM read_parquet(?)", [str(path)]).fetchone()
    except duckdb.Error as error:
        raise RefusedInputError(f"{path}: this Parquet file cannot be read ({str(error).splitlines()[0]})") from None
    return [column[0] for column in found.description or ()], _parquet_rows(found), size[0] if size else 0


def _parquet_rows(found: Any) -> Iterator[_Line]:
    """Yield the rows, counted from 1; a Parquet file has no lines."""
    number = 0
    while rows := found.fetchmany(_BATCH):
        for row in rows:
            number += 1
            yield number, ["" if cell is None else cell for cell in row], number

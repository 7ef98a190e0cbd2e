"""One row of a bulk file of outcomes: what each column may hold, and what follows from it.

The rules are those of a single outcome (`outcome_rules`), on plain cells: a million rows go through here, so what can
be remembered is read once. What must be known of plants is handed in.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from enum import StrEnum
from functools import cache
from itertools import product
from typing import Any, NamedTuple

from .colorimetry import ColourName, ColourNames, Lab, difference
from .finding import RefusedInputError
from .outcome_record import MADE_FIBRES, MADE_TREATMENTS, PARTS, STATES, UNKNOWN
from .outcome_rules import EARLIEST, HOTTEST_C, Known
from .outcome_tables import OUTCOME_TABLES
from .places import read_date, region_problem
from .vocabulary import Clarity, ColourBasis, Grade, LeafSide, Licence, LightScale, Method, Rank, Reaction, Stage

REQUIRED = (
    "id", "taxon_id", "name_as_given", "part", "state", "date", "region", "treatment", "fibre", "method", "grade",
    "contributor", "licence",
)  # fmt: skip
DEFAULTS: dict[str, Any] = {
    "stage": UNKNOWN, "side": UNKNOWN, "clarity": UNKNOWN, "colour_basis": ColourBasis.NONE.value,
    "reaction": Reaction.NONE.value, "invented": 0,
}  # fmt: skip
#: Columns of the table that follow from others: they may stand in the file and are worked out anew.
DERIVED = ("year", "month", "country", "strength", "colour_name", "block", "review_flag")
#: Edge of the cubes in which blocks are looked up. A print on the border of two blocks may count in either (1 in 200
#: does in the other one): the sums keep the colours themselves.
CUBE = 5
#: A row with nothing in it, its columns in the order of the table.
_BLANK: dict[str, Any] = {column: DEFAULTS.get(column) for column in OUTCOME_TABLES["outcomes"].columns}
_LABS = ("lab_l", "lab_a", "lab_b")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_REGION = re.compile(r"[A-Z]{2}(-[A-Z0-9]{1,3})?")
_HANDLE = re.compile(r"[a-z0-9](-?[a-z0-9]){1,29}")

Reader = Callable[[str], Any]
_Point = tuple[int, int, int]


class Wrong(NamedTuple):
    """What is wrong with a cell: the rule, the column, the problem, and what to write instead."""

    code: str
    column: str
    problem: str
    remedy: str


class WrongRowError(Exception):
    """A row that breaks rules; `wrongs` holds them all."""

    def __init__(self, wrongs: Sequence[Wrong]) -> None:
        super().__init__(f"{len(wrongs)} cells are wrong")
        self.wrongs = tuple(wrongs)


class RowReader:
    """Reads the rows of one file: made with its header, then called with the cells of each row."""

    def __init__(self, header: Sequence[str], known: Known, names: ColourNames) -> None:
        self._columns = tuple(header)
        readers = _readers(known)
        self._readers = [readers.get(column, str) for column in header]
        self._blocks = _Blocks(names)

    def __call__(self, cells: Sequence[str]) -> dict[str, Any]:
        """Return the row as the table holds it, all columns in order; raises WrongRowError with all that is wrong."""
        row = _BLANK.copy()
        try:
            for column, read, cell in zip(self._columns, self._readers, cells, strict=True):
                if cell:
                    row[column] = read(cell)
        except WrongRowError:
            raise WrongRowError(list(self._wrongs(cells))) from None
        if wrongs := list(_across(row)):
            raise WrongRowError(wrongs)
        self._derive(row)
        return row

    def _wrongs(self, cells: Sequence[str]) -> Iterable[Wrong]:
        for column, read, cell in zip(self._columns, self._readers, cells, strict=True):
            try:
                if cell:
                    read(cell)
            except WrongRowError as error:
                yield from (wrong._replace(column=column) for wrong in error.wrongs)

    def _derive(self, row: dict[str, Any]) -> None:
        """Fill in the columns that follow from others."""
        day = row["date"]
        row["year"], row["month"] = int(day[:4]), int(day[5:7])
        row["country"] = row["region"][:2]
        row["strength"] = _WORDS[row["grade"]]
        row["review_flag"] = int(row["reaction"] != Reaction.NONE.value)
        if row["lab_l"] is not None:
            block = self._blocks.of(row["lab_l"], row["lab_a"], row["lab_b"])
            row["block"], row["colour_name"] = block.number, block.name


class _Blocks:
    """The ISCC-NBS block of a colour, taken to whole units of L, a and b so that it can be remembered.

    The exact search among all 267 takes a millisecond, too long for the hundred thousand colours of a million prints.
    So it is made at the corners of cubes, and inside a cube only what its corners gave is compared.
    """

    def __init__(self, names: ColourNames) -> None:
        self._names = names
        self._found: dict[_Point, ColourName] = {}
        self._corner = cache(self._at_corner)

    def of(self, lightness: float, a: float, b: float) -> ColourName:
        point = (round(lightness), round(a), round(b))
        found = self._found.get(point)
        if found is None:
            found = self._found[point] = self._search(point)
        return found

    def _search(self, point: _Point) -> ColourName:
        ends = [(x // CUBE, x // CUBE + 1) for x in point]
        candidates = {self._corner(corner) for corner in product(*ends)}
        if len(candidates) == 1:
            return candidates.pop()
        lab = Lab(*map(float, point))
        return min(candidates, key=lambda name: (difference(lab, name.lab), name.number))

    def _at_corner(self, corner: tuple[int, ...]) -> ColourName:
        lightness, a, b = (float(CUBE * x) for x in corner)
        return self._names.nearest(Lab(min(lightness, 100.0), a, b))


_WORDS = [grade.value for grade in Grade]


def _across(row: dict[str, Any]) -> Iterable[Wrong]:
    """Yield what is wrong between cells that are right by themselves."""
    for column in REQUIRED:
        if row[column] is None:
            yield Wrong("R102", column, "nothing is written", "Fill the cell; failures count as much as successes")
    given = [column for column in _LABS if row[column] is not None]
    basis = row["colour_basis"]
    if 0 < len(given) < 3:
        yield Wrong("O258", given[0], "a colour needs all of lab_l, lab_a, lab_b", "Fill all three, or none")
    elif bool(given) != (basis != ColourBasis.NONE.value):
        problem = f"colour_basis says {basis}, and there is {'a' if given else 'no'} colour"
        yield Wrong("O258", "colour_basis", problem, "Write how the colour was come by, or take the colour out")
    elif given and row["grade"] == 0:
        yield Wrong("O258", "lab_l", "what did not print has no colour", "Take the colour out, and write none")
    if (row["latitude"] is None) != (row["longitude"] is None):
        yield Wrong("O259", "latitude", "one of latitude and longitude is missing", "Write both, or neither")


def _wrong(code: str, problem: str, remedy: str) -> WrongRowError:
    return WrongRowError([Wrong(code, "", problem, remedy)])


def _readers(known: Known) -> dict[str, Reader]:
    """Return what reads each column; one that is not named here holds text as it is written."""

    @cache
    def plant(cell: str) -> str:
        if known.ranks.get(cell, Rank.FAMILY) is Rank.FAMILY:
            raise _wrong("O251", f"there is no plant record {cell[:60]!r}", "Ask `folioproof find` for the id")
        return cell

    @cache
    def substrate(cell: str) -> str:
        if cell not in known.materials:
            raise _wrong("O256", f"there is no material {cell[:60]!r}", "Write an id of data/materials/")
        return cell

    @cache
    def day(cell: str) -> str:
        try:
            read = read_date(cell)
        except RefusedInputError as error:
            problem, _, remedy = str(error).partition(". ")
            raise _wrong("O254", problem, remedy.rstrip(".")) from None
        if not EARLIEST <= read <= known.today:
            raise _wrong("O254", f"{cell} is before 1990 or in the future", "Write the day of the print")
        return read.isoformat()

    return _TERMS_AND_NUMBERS | {
        "id": _pattern(_ID, 160, "lower-case letters, digits and single hyphens"),
        "contributor": cache(_pattern(_HANDLE, 60, "a handle of 2 to 30 letters, digits and single hyphens")),
        "taxon_id": plant,
        "substrate": substrate,
        "date": day,
        "region": cache(_region),
    }


def _pattern(form: re.Pattern[str], longest: int, said: str) -> Reader:
    def read(cell: str) -> str:
        if len(cell) > longest or not form.fullmatch(cell):
            raise _wrong("R104", f"{cell[:60]!r} is not of the form", f"Write {said}")
        return cell

    return read


def _term(kinds: Iterable[StrEnum], *more: str) -> Reader:
    terms = {term.value: term.value for term in kinds} | {each: each for each in more}

    def read(cell: str) -> str:
        found = terms.get(cell)
        if found is None:
            raise _wrong("R103", f"{cell[:60]!r} is not an allowed term", f"Write one of: {', '.join(terms)}")
        return found

    return read


def _number(code: str, low: float, high: float, decimals: int | None = None) -> Reader:
    def read(cell: str) -> float:
        try:
            value = float(cell)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            raise _wrong(
                code, f"{cell[:60]!r} is not a number from {low:g} to {high:g}", "Write it with a decimal point"
            )
        if decimals is not None and round(value, decimals) != value:
            raise _wrong(code, f"{cell} is finer than 0.1 degree", f"Write {round(value, decimals):g}")
        return value

    return read


def _text(longest: int) -> Reader:
    def read(cell: str) -> str:
        if len(cell) > longest:
            raise _wrong("R104", f"the text has {len(cell)} characters", f"Write at most {longest}")
        return cell

    return read


def _grade(cell: str) -> int:
    if cell in _WORDS:
        return _WORDS.index(cell)
    if cell not in ("0", "1", "2", "3", "4"):
        remedy = f"Write 0 to 4, or one of: {', '.join(_WORDS)}"
        raise _wrong("R103", f"{cell[:60]!r} is not a grade", remedy)
    return int(cell)


def _flag(cell: str) -> int:
    if cell.lower() not in ("0", "1", "false", "true"):
        raise _wrong(
            "R103", f"{cell[:60]!r} is neither 0 nor 1", "Write 1 for data made up for a demonstration, else 0"
        )
    return int(cell.lower() in ("1", "true"))


def _region(cell: str) -> str:
    if not _REGION.fullmatch(cell):
        raise _wrong("O252", f"{cell[:60]!r} is not an ISO 3166-2 code", "Write one such as PT-11")
    if said := region_problem(cell):
        raise _wrong("O252", *said)
    return cell


#: What reads the columns that hold one of some terms, or a number.
_TERMS_AND_NUMBERS: dict[str, Reader] = {
    "name_as_given": _text(120),
    "reaction_note": _text(600),
    "note": _text(600),
    "grade": _grade,
    "part": _term(PARTS),
    "stage": _term(Stage, UNKNOWN),
    "side": _term(LeafSide, UNKNOWN),
    "state": _term(STATES),
    "treatment": _term(MADE_TREATMENTS),
    "fibre": _term(MADE_FIBRES),
    "method": _term(Method),
    "clarity": _term(Clarity, UNKNOWN),
    "colour_basis": _term(ColourBasis),
    "licence": _term(Licence),
    "reaction": _term(Reaction),
    "invented": _flag,
    "latitude": _number("O259", -90, 90, decimals=1),
    "longitude": _number("O259", -180, 180, decimals=1),
    "temperature_c": _number("O255", 0, HOTTEST_C),
    "minutes": _number("R104", 0, 1_000_000),
    "transferred": _number("R104", 0, 1),
    "bleed": _number("R104", 0, 100),
    "edge_width_mm": _number("R104", 0, 1000),
    "lab_l": _number("O258", 0, 100),
    "lab_a": _number("O258", -128, 128),
    "lab_b": _number("O258", -128, 128),
    "lab_spread": _number("O258", 0, 200),
    "light_scale": _term(LightScale),
    "light_grade": _text(600),
    "light_hours": _number("R104", 0, 1_000_000),
}

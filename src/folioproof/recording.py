"""From what a person typed, in a terminal or a spreadsheet, to one checked record and its file.

Pure but for the writing at the end: what must be known of plants and materials is handed in.
"""

from __future__ import annotations

import errno
import os
import re
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from .corpus import spell_path, validate
from .finding import FolioproofError, RefusedInputError
from .outcome_record import UNKNOWN, OutcomeRecord
from .outcome_rules import Known, photo_problem, problems, sameness
from .outcome_text import outcome_text
from .text import visible
from .yaml_reader import Document, read

Flat = Mapping[str, str]

NUMBERS = frozenset(
    {
        "temperature.value", "minutes", "result.transferred", "result.bleed", "result.edge_width_mm",
        "result.lab_spread", "lightfastness.hours",
    }
)  # fmt: skip
_SWITCHES = frozenset({"consent", "invented"})
_YES, _NO = frozenset({"true", "yes", "y", "1"}), frozenset({"false", "no", "n", "0"})
_OFTEN_UNKNOWN = ("stage", "side", "result.clarity")
_QUOTES = "\"'“”„‟«»‘’‚‛"
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
_TEMPERATURE = re.compile(r"(\S+?)\s*(?:°|deg(?:rees?)?)?\s*([cf])(?:elsius|ahrenheit)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Draft:
    """What became of one set of answers: a record, or lines that say what is wrong; and what was changed."""

    record: OutcomeRecord | None
    wrong: tuple[str, ...] = ()
    notices: tuple[str, ...] = ()


def plain(text: str) -> str:
    """Return a typed value without invisible characters, outer blanks and outer quotation marks, curly ones too."""
    words = visible(text)
    while len(words) > 1 and words[0] in _QUOTES and words[-1] in _QUOTES:
        words = words[1:-1].strip()
    return words


def read_number(text: str) -> float:
    """Return the number that was typed, with a point or a decimal comma; raises RefusedInputError."""
    typed = plain(text).replace("\N{MINUS SIGN}", "-")
    if _THOUSANDS.fullmatch(typed):
        whole, _, part = typed.partition(",")
        raise RefusedInputError(f"{typed} could be {whole}{part} or {whole}.{part}: write it with a point or without")
    if not _NUMBER.fullmatch(typed):
        raise RefusedInputError(f"{typed[:40]!r} is not a number: write digits alone, such as 12.5")
    return float(typed.replace(",", "."))


def read_temperature(text: str) -> tuple[float, str]:
    """Return value and unit, C or F; a bare number is refused."""
    typed = plain(text)
    if match := _TEMPERATURE.fullmatch(typed):
        return read_number(match[1]), match[2].upper()
    number = read_number(typed)
    raise RefusedInputError(f"{number:g} has no unit: write {number:g} C or {number:g} F")


def read_numbers(text: str, count: int) -> list[float]:
    """Return `count` numbers from one text, with blanks or semicolons between, or commas where none is decimal."""
    typed = plain(text).strip("[]() ")
    pieces = [piece for piece in re.split(r"\s*;\s*|\s*,\s+|\s+", typed) if piece]
    if len(pieces) != count and typed.count(",") == count - 1:
        pieces = typed.split(",")
    if len(pieces) != count:
        raise RefusedInputError(f"{typed[:40]!r} is not {count} numbers: write them with blanks between")
    return [read_number(piece) for piece in pieces]


def read_coordinates(text: str) -> tuple[list[float], str | None]:
    """Return latitude and longitude to 0.1 degree, and what to say when they were finer."""
    exact = read_numbers(text, 2)
    coarse = [round(each, 1) + 0.0 for each in exact]
    if coarse == exact:
        return coarse, None
    return coarse, f"coordinates were rounded to {coarse[0]:g}, {coarse[1]:g}: nothing finer than 0.1 degree is kept"


def build(answers: Flat, known: Known, folder: Path) -> Draft:
    """Return the record that the answers (keys flattened with dots) make, to lie below `folder`."""
    wrong: list[str] = []
    notices: list[str] = []
    data: dict[str, Any] = {}
    given = {key: text for key, raw in answers.items() if (text := plain(raw))}
    given |= {key: UNKNOWN for key in _OFTEN_UNKNOWN if key not in given}
    given.setdefault("result.colour_basis", _basis_of(given))
    if not given["result.colour_basis"]:
        del given["result.colour_basis"]
    for key, text in given.items():
        try:
            _put(data, key, _value(key, text, given, notices))
        except RefusedInputError as error:
            wrong.append(f"{key}: {error}")
    if wrong:
        return Draft(None, tuple(wrong))
    _tidy(data)
    record, findings = validate(Document(folder, {"id": "x", **data}, ""), OutcomeRecord)
    if record is None:
        lines = (f"{_flat_name(found.field)}: {found.problem}. {found.remedy}" for found in findings)
        return Draft(None, tuple(dict.fromkeys(lines)))
    record = record.model_copy(update={"id": f"{record.stem}-1"})
    wrong += [
        f"{_flat_name(spell_path(each.where))}: {each.problem}. {each.remedy}" for each in problems(record, known)
    ]
    if record.result.photo and (said := photo_problem(place_of(record, folder).parent, record.result.photo)):
        wrong.append(f"result.photo: {said[0]}. {said[1]}")
    return Draft(None if wrong else record, tuple(wrong), tuple(notices))


def _flat_name(field: str) -> str:
    """Return mordants[0].unit as mordants.1.unit, the name of its column."""
    return re.sub(r"\[(\d+)\]", lambda match: f".{int(match[1]) + 1}", field)


def _basis_of(given: Flat) -> str:
    """Return what a colour rests on where the key alone tells it; lab may be measured in two ways."""
    if "result.lab" in given:
        return ""
    if "result.hex" in given:
        return "hex"
    return "colour name" if "result.colour_name" in given else "none"


def _value(key: str, text: str, given: Flat, notices: list[str]) -> Any:
    if key in _SWITCHES:
        if text.lower() not in _YES | _NO:
            raise RefusedInputError(f"{text[:40]!r} is neither true nor false")
        return text.lower() in _YES
    if key == "temperature.value" and "temperature.unit" not in given:
        value, unit = read_temperature(text)
        return {"value": value, "unit": unit}
    if key in NUMBERS or (key.endswith(".strength") and key.startswith("mordants.") and text != UNKNOWN):
        return read_number(text)
    if key == "coordinates":
        coordinates, notice = read_coordinates(text)
        notices.extend([notice] if notice else [])
        return coordinates
    if key == "result.lab":
        return read_numbers(text, 3)
    return text.upper() if key in ("region", "temperature.unit") else text


def _put(data: dict[str, Any], key: str, value: Any) -> None:
    if key == "temperature.value" and isinstance(value, dict):
        data["temperature"] = value
        return
    *outer, last = key.split(".")
    for step in outer:
        data = data.setdefault(step, {})
    data[last] = value


def _tidy(data: dict[str, Any]) -> None:
    """Turn the numbered mordants into a list, in the order of their numbers."""
    if numbered := data.pop("mordants", None):
        data["mordants"] = [numbered[number] for number in sorted(numbered, key=int)]


def place_of(record: OutcomeRecord, folder: Path) -> Path:
    """Return the file of a record below the folder of outcomes."""
    return folder / record.region / str(record.date.year) / f"{record.id}.yml"


class Numbering:
    """Gives records the next free number in a folder, and knows a print that is told already."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._taken: dict[str, int] = {}
        self._told: dict[tuple[object, ...], str] = {}

    def give(self, record: OutcomeRecord) -> OutcomeRecord:
        """Return the record with its number; raises RefusedInputError when the same print is told already.

        A file that cannot be read counts as taken.
        """
        if record.stem not in self._taken:
            self._taken[record.stem] = 0
            for number, other in _existing(record, self.folder):
                self._taken[record.stem] = max(self._taken[record.stem], number)
                if other is not None:
                    self._told[sameness(other)] = other.id
        if (same := self._told.get(sameness(record))) is not None:
            raise RefusedInputError(
                f"this print is recorded already as {same}; say in note what tells the two apart, if they differ"
            )
        self._taken[record.stem] += 1
        new = record.model_copy(update={"id": f"{record.stem}-{self._taken[record.stem]}"})
        self._told[sameness(new)] = new.id
        return new


def _existing(record: OutcomeRecord, folder: Path) -> Iterator[tuple[int, OutcomeRecord | None]]:
    stem = re.compile(re.escape(record.stem) + r"-(\d{1,6})\.ya?ml")
    home = place_of(record, folder).parent
    for path in sorted(home.iterdir()) if home.is_dir() else ():
        if match := stem.fullmatch(path.name):
            document, findings = read(path)
            usable = document is not None and not findings
            yield int(match[1]), validate(document, OutcomeRecord)[0] if usable and document else None


def write_all(records: Iterable[OutcomeRecord], folder: Path) -> list[Path]:
    """Write every record to its file, all or none; no file is ever overwritten. Raises FolioproofError."""
    written: list[Path] = []
    try:
        for record in records:
            path = place_of(record, folder)
            path.parent.mkdir(parents=True, exist_ok=True)
            _write_new(path, outcome_text(record).encode("utf-8"))
            written.append(path)
    except OSError as error:
        for path in written:
            path.unlink(missing_ok=True)
        where = error.filename2 or error.filename or folder
        raise FolioproofError(f"{where}: cannot be written ({error.strerror}); nothing was written") from None
    return written


def _write_new(path: Path, content: bytes) -> None:
    """Write beside, then give the name: whoever reads meets the whole file or none. Fails when the name is taken."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
        beside.chmod(0o644)
        try:
            path.hardlink_to(beside)
        except OSError as error:
            if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.ENOSYS):
                raise
            # Memory sticks know no second name for a file; there the name is taken first and filled at once.
            with path.open("xb") as stream:
                stream.write(content)
    finally:
        beside.unlink(missing_ok=True)

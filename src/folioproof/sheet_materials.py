"""Chemicals and heat limits as a class sheet shows them: what sources say side by side, the stricter first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from .finding import RefusedInputError
from .store import Shelf
from .text import visible

if TYPE_CHECKING:
    from .reading import Reading

MOST_MATERIALS = 30
#: So many classifications stand side by side; what the further sources add follows in one more column.
_SIDE_BY_SIDE = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What one source, or several that agree, say of a material in the words of the GHS."""

    schemes: tuple[str, ...]
    form: str | None
    signal_word: str | None
    statements: tuple[tuple[str, str], ...]
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetMaterial:
    """A material of the class: what is said of its hazard, what not to do, and its waste."""

    id: str
    name: str
    cas: tuple[str, ...]
    is_chemical: bool
    differ: bool
    said: tuple[Said, ...]
    precautions: tuple[str, ...]
    do_not: tuple[str, ...]
    waste: tuple[str, ...]
    sources: tuple[str, ...]

    def plain(self) -> dict[str, Any]:
        """Return it as plain JSON values."""
        return {
            "id": self.id,
            "name": self.name,
            "cas": list(self.cas),
            "sources_differ": self.differ,
            "ghs": [
                {
                    "schemes": list(each.schemes),
                    "form": each.form,
                    "signal_word": each.signal_word,
                    "statements": dict(each.statements),
                }
                for each in self.said
            ],
            "precautions": list(self.precautions),
            "do_not": list(self.do_not),
            "waste": list(self.waste),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetHeat:
    """A temperature with its unit, and what it means."""

    item: str
    figure: str
    what: str
    rests_on: str

    def plain(self) -> dict[str, str]:
        """Return it as plain JSON values."""
        return {"item": self.item, "figure": self.figure, "what": self.what, "rests_on": self.rests_on}


_CHEMICAL = ("mordant", "dip", "assist", "tannin", "binder")


def read_materials(reading: Reading, ids: Sequence[str]) -> tuple[SheetMaterial, ...]:
    """Return the named materials; raises RefusedInputError for one that is not in the records."""
    wanted = list(dict.fromkeys(each.strip() for each in ids if each.strip()))
    if len(wanted) > MOST_MATERIALS:
        raise RefusedInputError(f"material: at most {MOST_MATERIALS} on one sheet, not {len(wanted)}")
    return tuple(_material(_row(reading, each)) for each in wanted)


def _row(reading: Reading, material_id: str) -> dict[str, Any]:
    found = reading.material(material_id)
    if found is None:
        known = ", ".join(row["id"] for row in reading.materials())
        shown = visible(material_id)[:40]
        raise RefusedInputError(f"material: {shown!r} is not in the records; write one of {known}")
    return found


def _material(row: dict[str, Any]) -> SheetMaterial:
    lists = (row[key] for key in ("ghs", "precautions", "do_not", "disposal"))
    cited = {each["source_id"] for rows in lists for each in rows if each["source_id"]}
    return SheetMaterial(
        id=row["id"],
        name=row["name"],
        cas=tuple(each["number"] for each in row["cas"]),
        is_chemical=row["kind"] in _CHEMICAL or bool(row["ghs"]),
        differ=row["sources_agree"] == 0,
        said=side_by_side(row["ghs"]),
        precautions=tuple(each["text"] for each in row["precautions"]),
        do_not=tuple(each["text"] for each in row["do_not"]),
        waste=tuple(each["text"] for each in row["disposal"]),
        sources=tuple(sorted(cited)),
    )


def side_by_side(rows: Sequence[dict[str, Any]]) -> tuple[Said, ...]:
    """Return classifications in the order of the record, the stricter first, those that agree as one.

    Beyond two, one last column holds every statement that only the others make, so that none is lost.
    """
    groups: dict[tuple[Any, ...], Said] = {}
    for row in rows:
        statements = tuple(row["worded"].items())
        key = (row["form"], row["signal_word"], statements)
        before = groups[key].schemes if key in groups else ()
        groups[key] = Said(
            schemes=(*before, row["scheme"]),
            form=row["form"],
            signal_word=row["signal_word"],
            statements=statements,
            note=None if row["signal_word"] or statements else row["note"],
        )
    said = tuple(groups.values())
    if len(said) <= _SIDE_BY_SIDE + 1:
        return said
    first, rest = said[:_SIDE_BY_SIDE], said[_SIDE_BY_SIDE:]
    shown = {code for each in first for code, _ in each.statements}
    more = {code: text for each in rest for code, text in each.statements if code not in shown}
    schemes = tuple(scheme for each in rest for scheme in each.schemes)
    words = [word for word in ("Danger", "Warning") if any(each.signal_word == word for each in rest)]
    further = Said(
        schemes=(f"{len(schemes)} further classifications, taken together",),
        form=None,
        signal_word=words[0] if words else None,
        statements=tuple(sorted(more.items())),
        note="Whatever they say that stands on the left already is not said again.",
    )
    return (*first, further)


def lines_of(materials: Sequence[SheetMaterial], *lists: str) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """Return the lines of the named lists, each once, under the materials it is said of; what most share first."""
    found: dict[str, list[str]] = {}
    for material in materials:
        for line in (line for name in lists for line in getattr(material, name)):
            found.setdefault(line, []).append(material.name)
    grouped: dict[tuple[str, ...], list[str]] = {}
    for line, names in sorted(found.items(), key=lambda each: -len(each[1])):
        grouped.setdefault(tuple(names), []).append(line)
    return tuple((names, tuple(lines)) for names, lines in grouped.items())


def heat_of(shelf: Shelf, reading: Reading, ids: Sequence[str]) -> tuple[SheetHeat, ...]:
    """Return the heat limits of the chosen materials, then what is known of steam and press."""
    found: list[SheetHeat] = []
    for each in dict.fromkeys(each.strip() for each in ids if each.strip()):
        row = _row(reading, each)
        found += [_heat(row["name"], limit, limit["purpose"], limit["note"]) for limit in row["heat_limits"]]
    sql = """SELECT item, fact, for_printing, low, high, basis, source_id FROM process_facts
        WHERE unit = 'degC' AND topic = 'process' ORDER BY id"""
    for fact in shelf.rows(sql):
        values = dict(fact)
        found.append(_heat(values["item"], values, values["fact"].partition(": ")[2], values["for_printing"]))
    return _joined(found)


def _joined(limits: Sequence[SheetHeat]) -> tuple[SheetHeat, ...]:
    """Join limits that say the same of several materials."""
    items: dict[tuple[str, str, str], list[str]] = {}
    for each in limits:
        items.setdefault((each.figure, each.what, each.rests_on), []).append(each.item)
    return tuple(
        SheetHeat(item=", ".join(names), figure=figure, what=what, rests_on=rests_on)
        for (figure, what, rests_on), names in items.items()
    )


def _heat(item: str, row: dict[str, Any], what: str, note: str | None) -> SheetHeat:
    return SheetHeat(
        item=item,
        figure=degrees(row["low"], row["high"]),
        what=f"{what.rstrip('.')}. {note[0].upper()}{note[1:]}" if note else what,
        rests_on=row["source_id"] or row["basis"],
    )


def degrees(low: float | None, high: float | None) -> str:
    """Return a temperature in both units, as "88 °C (190 °F)" or "from 65 °C (149 °F)"."""
    ends = list(dict.fromkeys(end for end in (low, high) if end is not None))
    celsius = " to ".join(f"{end:g}" for end in ends)
    fahrenheit = " to ".join(f"{end * 9 / 5 + 32:.0f}" for end in ends)
    before = "from " if high is None else "up to " if low is None else ""
    return f"{before}{celsius} °C ({fahrenheit} °F)"

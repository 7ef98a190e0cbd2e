"""Outcomes as text: the file that a record is written to, and the template that explains every key."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from pydantic import BaseModel

from .outcome_record import LightTest, Mordant, OutcomeRecord, Result, Review, Temperature

_PLAIN = re.compile(r"[A-Za-z][\w .+/()'-]*(?<! )|\d{4}-\d{2}-\d{2}", re.ASCII)
_TAKEN = frozenset(["y", "n", "yes", "no", "on", "off", "true", "false", "null"])
_WIDTH = 100
_INNER: dict[str, type[BaseModel]] = {
    "mordants": Mordant,
    "temperature": Temperature,
    "result": Result,
    "lightfastness": LightTest,
    "review": Review,
}

_HEAD = """\
One print, one file. Copy this file, fill it in, save it as

    outcomes/<region>/<year>/<id>.yml

beside this template, and run `folioproof lint shared/`. Or let `folioproof record` ask you and write the file.
A print that failed counts as much as one that came out. What each term means stands in data/vocabularies/terms.yml.
Keys without # are needed; unknown may be written where it is listed. Take the # away from those you can tell.

Written by `folioproof lint --schema` from the record model: do not edit it here."""


def scalar(value: Any) -> str:
    """Return one value as the strict reader reads it back."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int | float):
        number = format(Decimal(repr(value)), "f")
        return number.rstrip("0").rstrip(".") if "." in number else number
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(scalar, value))}]"
    text = value.isoformat() if isinstance(value, date) else str(value)
    plain = _PLAIN.fullmatch(text) and text.lower() not in _TAKEN
    return text if plain else "".join(map(_visible, json.dumps(text, ensure_ascii=False)))


def _visible(character: str) -> str:
    """Return a character as it may stand in quotation marks: what cannot be seen is spelt out."""
    if character.isprintable():
        return character
    number = ord(character)
    return f"\\u{number:04x}" if number < 0x10000 else f"\\U{number:08x}"


def outcome_text(record: OutcomeRecord) -> str:
    """Return the file of a record: keys in the order of the template, nothing that was not said."""
    return "".join(f"{line}\n" for line in _lines(record))


def _lines(record: BaseModel) -> Iterator[str]:
    for key in type(record).model_fields:
        value = getattr(record, key)
        if value is None or value == () or (key == "invented" and not value):
            continue
        if isinstance(value, BaseModel):
            yield f"{key}:"
            yield from (f"  {line}" for line in _lines(value))
        elif isinstance(value, tuple) and isinstance(value[0], BaseModel):
            yield f"{key}:"
            for each in value:
                yield from (f"  {'- ' if i == 0 else '  '}{line}" for i, line in enumerate(_lines(each)))
        else:
            yield f"{key}: {scalar(value)}"


def template_text(*, filled: bool = False) -> str:
    """Return the template: needed keys blank and the others out of use, or every key with its example."""
    schema = OutcomeRecord.model_json_schema()
    lines = [f"# {line}".rstrip() for line in _HEAD.splitlines()]
    lines += _described(OutcomeRecord, schema, schema["$defs"], filled)
    return "".join(f"{line}\n" for line in lines)


def _described(model: type[BaseModel], schema: dict[str, Any], defs: dict[str, Any], filled: bool) -> Iterator[str]:
    for key, field in model.model_fields.items():
        about = schema["properties"][key]
        out = "" if field.is_required() or (filled and key != "invented") else "#"
        yield ""
        yield from _comment(field.description or "", about, defs, field.is_required())
        inner = _INNER.get(key) if model is OutcomeRecord else None
        if inner is None:
            shown = scalar(field.examples[0]) if field.examples and (filled or out) else ""
            yield f"{out}{key}: {shown}".rstrip()
            continue
        yield f"{out}{key}:"
        for i, line in enumerate(_block(inner, defs, filled or bool(out))):
            dash = "- " if key == "mordants" and i == 0 else "  " if key == "mordants" else ""
            yield f"{out}  {dash}{line}" if line else ""


def _block(model: type[BaseModel], defs: dict[str, Any], filled: bool) -> list[str]:
    """Return the lines of an inner mapping; its comments stand behind the values, but in the result above them."""
    schema = defs[model.__name__]
    if model is Result:
        return list(_described(model, schema, defs, filled))
    lines = []
    for key, field in model.model_fields.items():
        words = [field.description or "" if field.is_required() else f"Optional: {field.description}"]
        terms = terms_of(schema["properties"][key], defs)
        if terms and not all(term in words[0] for term in terms):
            words.append(f"One of: {', '.join(terms)}.")
        example = scalar((field.examples or [""])[0]) if filled else ""
        lines.append(f"{f'{key}: {example}'.rstrip():<34}  # {' '.join(words)}")
    return lines


def _comment(description: str, about: dict[str, Any], defs: dict[str, Any], required: bool) -> Iterator[str]:
    said = [description if required else f"Optional: {description}"]
    if terms := terms_of(about, defs):
        said.append(f"One of: {', '.join(terms)}")
    examples = about.get("examples")
    if examples and required:
        said.append(f"Example: {scalar(examples[0])}")
    if term := about.get("darwin_core"):
        said.append(f"Darwin Core: {term}")
    for words in said:
        for line in textwrap.wrap(words, _WIDTH, break_on_hyphens=False, break_long_words=False):
            yield f"# {line}"


def terms_of(about: dict[str, Any], defs: dict[str, Any]) -> list[str]:
    """Return the allowed terms of a key, as its JSON Schema lists them."""
    found: list[str] = []
    for node in (about, *about.get("anyOf", ())):
        node = defs[node["$ref"].rsplit("/", 1)[1]] if "$ref" in node else node
        if node.get("type") == "string":
            found += node.get("enum", [])
        if isinstance(node.get("const"), str):
            found.append(node["const"])
    return found

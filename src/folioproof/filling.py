"""Writing measured values into a person's outcome file: inside its `result:` block, comments and all else untouched.

The file is written whole or not at all, and only when reading it back gives what it said before plus the new values.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml
from yaml.nodes import MappingNode, Node, ScalarNode

from .finding import FolioproofError, RefusedInputError
from .text import visible
from .yaml_reader import read

Value = float | str | tuple[float, ...]
_BLOCK = "result"
#: A key that still waits for its value is what this is for; anything else that is wrong stops it.
_BLANK = "Y005"


def fill_result(path: Path, values: Mapping[str, Value]) -> None:
    """Put `values` into the `result:` block of the outcome file at `path`, in place of older ones.

    Raises RefusedInputError, and changes nothing, when the file is not the strict YAML of records, has no such block,
    or spreads one of the keys over several lines.
    """
    where = visible(str(path))
    try:
        target = path.resolve(strict=True)
        raw = target.read_bytes()
    except (OSError, ValueError, RuntimeError) as error:
        raise RefusedInputError(f"{where}: cannot be read ({getattr(error, 'strerror', None) or error})") from None
    before = _data(target, raw, where)
    # The strict reader lets no lone carriage return through, so that line ends are one kind or the other.
    newline = "\r\n" if b"\r\n" in raw else "\n"
    new = _filled(raw.decode("utf-8"), values, newline, where).encode("utf-8")
    wanted = {**before, _BLOCK: {**(before.get(_BLOCK) or {}), **{key: _plain(value) for key, value in values.items()}}}
    if _data(target, new, where) != wanted:
        raise RefusedInputError(f"{where}: the block {_BLOCK}: cannot be filled in safely; nothing was changed")
    _write(target, new, where)


def _plain(value: Value) -> Any:
    return list(value) if isinstance(value, tuple) else value


def _data(path: Path, raw: bytes, where: str) -> dict[str, Any]:
    document, findings = read(path, raw)
    wrong = [finding for finding in findings if finding.code != _BLANK]
    if document is None or wrong:
        first = (wrong or findings)[0]
        raise RefusedInputError(
            f"{where}:{first.line}: {first.code} {first.field}: {first.problem}. {first.remedy}; nothing was changed"
        )
    return document.data


def _filled(text: str, values: Mapping[str, Value], newline: str, where: str) -> str:
    key, block = _block(text, where)
    children = {child.value: (child, value) for child, value in block.value} if isinstance(block, MappingNode) else {}
    edits = []
    missing = []
    for name, value in values.items():
        if name in children:
            edits.append((*_place(text, *children[name], where), _written(value)))
        else:
            missing.append(f"{name}:{_written(value)}")
    if missing:
        indent = " " * (block.value[0][0].start_mark.column if children else 2)
        end = text.find("\n", key.end_mark.index)
        at = len(text) if end < 0 else end + 1
        lines = "".join(f"{indent}{line}{newline}" for line in missing)
        edits.append((at, at, lines if end >= 0 else newline + lines))
    for start, end, new in sorted(edits, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _block(text: str, where: str) -> tuple[Node, Node]:
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    for key, value in root.value if isinstance(root, MappingNode) else ():
        if key.value != _BLOCK:
            continue
        empty = isinstance(value, ScalarNode) and not value.value
        below = isinstance(value, MappingNode) and not value.flow_style and value.start_mark.line > key.end_mark.line
        if empty or below:
            return key, value
    raise RefusedInputError(f"{where}: there is no block {_BLOCK}: with a line for each key; nothing was changed")


def _place(text: str, key: Node, value: Node, where: str) -> tuple[int, int]:
    """Return where the value of `key` begins and ends, a blank before it taken along."""
    start = key.end_mark.index
    if text[start : start + 1] != ":" or value.end_mark.line != key.start_mark.line:
        raise RefusedInputError(
            f"{where}:{key.start_mark.line + 1}: write {key.value}: and its value on one line; nothing was changed"
        )
    return start + 1, max(start + 1, value.end_mark.index)


def _written(value: Value) -> str:
    if isinstance(value, tuple):
        return f" [{', '.join(repr(each) for each in value)}]"
    return f" {value}"


def _write(target: Path, new: bytes, where: str) -> None:
    """Write beside the file, then move into its place: whoever reads meets the old file or the new one."""
    beside = None
    try:
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=".", suffix=".part")
        beside = Path(name)
        with os.fdopen(handle, "wb") as stream:
            stream.write(new)
        shutil.copymode(target, beside)
        beside.replace(target)
    except OSError as error:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise FolioproofError(f"{where}: cannot be written ({error.strerror}); nothing was changed") from None

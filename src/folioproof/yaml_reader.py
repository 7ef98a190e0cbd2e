"""Reading YAML strictly: what a curator sees in the file is what the program gets.

YAML 1.1 turns NO into false, 12:30 into 750 and 010 into 8, and lets the second of two equal keys win. Here each
of these is a finding. Aliases and tags are refused as well: records are plain data.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from yaml.constructor import BaseConstructor
from yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from yaml.resolver import BaseResolver

from .finding import Finding

RULES = {
    "Y001": "the file is UTF-8 text without control characters",
    "Y002": "the file is well-formed YAML, one document",
    "Y003": "a key stands once in its mapping",
    "Y004": "a bare word that YAML versions read differently is quoted",
    "Y005": "a key has a value",
    "Y006": "no anchors, aliases or tags",
    "Y007": "the document is a mapping",
}

if yaml.__with_libyaml__:
    from yaml.cyaml import CParser  # type: ignore[attr-defined]

    class _Composer(CParser, BaseConstructor, BaseResolver):
        def __init__(self, stream: str) -> None:
            CParser.__init__(self, stream)
            BaseConstructor.__init__(self)
            BaseResolver.__init__(self)
else:  # pragma: no cover - depends on how PyYAML was built
    from yaml import BaseLoader as _Composer  # type: ignore[assignment]

_TAGS = {f"tag:yaml.org,2002:{kind}" for kind in ("str", "seq", "map")}
_INTEGER = re.compile(r"-?(?:0|[1-9]\d{0,17})\Z")
_DECIMAL = re.compile(r"-?(?:0|[1-9]\d*)\.(?:\d*[1-9]|0)\Z")
_SURPRISE = re.compile(
    r"(?:y|n|yes|no|on|off|true|false)\Z"  # booleans in YAML 1.1, whatever the case
    r"|[-+]?0[0-9_xob]\w*\Z|[-+]?[\d_]*_[\d_]*\Z|\+\d"  # octal, hexadecimal, underscores, plus sign
    r"|[-+]?\d+(?::\d+)+(?:\.\d*)?\Z"  # base sixty
    r"|[-+]?\d+\.\d*0\Z|[-+]?(?:\d+\.|\.\d+)\Z|[-+]?\d[\d.]*e[-+]?\d+\Z"  # decimals that lose a digit
    r"|[-+]?\.(?:inf|nan)\Z",
    re.IGNORECASE,
)
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f\u200b\u200e\u200f\u202a-\u202e\u2066-\u2069\ufeff]")


@dataclass(frozen=True, slots=True)
class Document:
    """One file as plain Python values, with its text kept so that any value can tell its line."""

    path: Path
    data: dict[str, Any]
    text: str

    def line_of(self, where: tuple[str | int, ...]) -> int:
        """Return the 1-based line of the value at `where`, or of its nearest parent that exists."""
        # Read again, since a finding is rare and the node trees of all files would fill memory.
        node: Node | None = _Composer(self.text).get_single_node()
        line = 1
        for step in where:
            node, line_here = _child(node, step)
            if node is None:
                break
            line = line_here
        return line


def _child(node: Node | None, step: str | int) -> tuple[Node | None, int]:
    if isinstance(node, MappingNode):
        for key, value in node.value:
            if key.value == step:
                return value, key.start_mark.line + 1
    elif isinstance(node, SequenceNode) and isinstance(step, int) and 0 <= step < len(node.value):
        item = node.value[step]
        return item, item.start_mark.line + 1
    return None, 1


class _Reading:
    """Walks one node tree, collecting findings and building plain values."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.findings: list[Finding] = []
        self._seen: set[int] = set()

    def found(self, node: Node, code: str, field: str, problem: str, remedy: str) -> None:
        self.findings.append(Finding(self.path, node.start_mark.line + 1, code, field, problem, remedy))

    def value(self, node: Node, field: str) -> Any:
        if node.tag not in _TAGS:
            self.found(node, "Y006", field, "a tag (!) stands before the value", "Write the plain value")
        if id(node) in self._seen:
            self.found(node, "Y006", field, "an alias (*) repeats another value", "Write the value out")
            return None
        self._seen.add(id(node))
        if isinstance(node, MappingNode):
            return self._mapping(node, field)
        if isinstance(node, SequenceNode):
            return [self.value(item, f"{field}[{i}]") for i, item in enumerate(node.value)]
        assert isinstance(node, ScalarNode)
        return self._scalar(node, field)

    def _mapping(self, node: MappingNode, field: str) -> dict[str, Any]:
        result: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            name = f"{field}.{key}" if field else key
            if key in result:
                self.found(key_node, "Y003", name, "the key stands twice", "Keep one of the two")
                continue
            result[key] = self.value(value_node, name)
        return result

    def _scalar(self, node: ScalarNode, field: str) -> Any:
        text = str(node.value)
        if node.style in ("'", '"', "|", ">"):
            return text
        if text in ("", "~") or text.lower() == "null":
            remedy = "Write a value, or unknown where the list allows it, or take the line out"
            self.found(node, "Y005", field, "there is no value", remedy)
            return None
        if text in ("true", "false"):
            return text == "true"
        if _INTEGER.match(text):
            return int(text)
        if _DECIMAL.match(text):
            return float(text)
        if _SURPRISE.match(text):
            problem = f"YAML versions read {text} differently"
            self.found(node, "Y004", field, problem, f'Write "{text}" for text, or true, false or a plain number')
        return text


def read(path: Path, text: bytes | None = None) -> tuple[Document | None, list[Finding]]:
    """Read one file; return the document (None when nothing can be used) and all findings.

    `text` stands in for the file's bytes where they are at hand already.
    """
    try:
        raw = path.read_bytes() if text is None else text
    except OSError as error:
        problem = f"the file cannot be read ({error.strerror})"
        return None, [Finding(path, 1, "Y001", "file", problem, "Look whether it is still there and yours to read")]
    try:
        source = raw.decode("utf-8").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        return None, [Finding(path, line, "Y001", "file", "the text is not UTF-8", "Save the file as UTF-8")]
    if match := _CONTROL.search(source):
        line = source.count("\n", 0, match.start()) + 1
        problem = f"the invisible character U+{ord(match.group()):04X} stands in the text"
        return None, [Finding(path, line, "Y001", "file", problem, "Delete it (and use plain line ends)")]
    try:
        root = _Composer(source).get_single_node()
        reading = _Reading(path)
        data = reading.value(root, "") if isinstance(root, MappingNode) else None
    except (yaml.YAMLError, RecursionError) as error:
        return None, [_broken(path, error)]
    if data is None:
        return None, [Finding(path, 1, "Y007", "file", "this is not a list of keys", "Write `key: value` lines")]
    return Document(path, data, source), reading.findings


def _broken(path: Path, error: Exception) -> Finding:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    problem = getattr(error, "problem", None) or "the file cannot be read as YAML"
    remedy = "Compare the line and the one above with the template: indent, colon and a space, closed quotes"
    return Finding(path, mark.line + 1 if mark else 1, "Y002", "file", str(problem).rstrip("."), remedy)

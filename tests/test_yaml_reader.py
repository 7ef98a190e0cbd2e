"""Strict reading: what stands in the file is what the program gets, or there is a finding at its line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from folioproof.finding import Finding
from folioproof.yaml_reader import Document, read

FILE = Path("record.yml")


def reading(text: str | bytes) -> tuple[Document | None, list[Finding]]:
    return read(FILE, text if isinstance(text, bytes) else text.encode("utf-8"))


def value_of(written: str) -> Any:
    document, findings = reading(f"key: {written}\n")
    assert document is not None and findings == [], findings
    return document.data["key"]


def codes(text: str | bytes) -> list[tuple[str, int]]:
    return [(found.code, found.line) for found in reading(text)[1]]


#: Booleans, sexagesimals, octals and the like of YAML 1.1.
SURPRISES = [
    "NO",
    "no",
    "No",
    "on",
    "Off",
    "y",
    "N",
    "yes",
    "TRUE",
    "False",
    "12:30",
    "1:02:03",
    "010",
    "0x1F",
    "0b1",
    "0o7",
    "1_000",
    "+7",
    "1.50",
    "2.",
    ".5",
    "1e3",
    "1.0e-3",
    ".inf",
    "-.Inf",
    ".NaN",
]


@pytest.mark.parametrize("word", SURPRISES)
def test_a_word_that_yaml_versions_read_differently_is_a_finding_and_stays_text(word: str) -> None:
    document, findings = reading(f"first: 1\nkey: {word}\n")
    assert document is not None and document.data["key"] == word
    assert [(found.code, found.line, found.field) for found in findings] == [("Y004", 2, "key")]
    assert value_of(f'"{word}"') == word


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("7", 7),
        ("-7", -7),
        ("0", 0),
        ("1.5", 1.5),
        ("-0.25", -0.25),
        ("10.0", 10.0),
        ("true", True),
        ("false", False),
        ("north", "north"),
        ("onset", "onset"),
        ("2026-11-25", "2026-11-25"),
        ("p. 12", "p. 12"),
        ("1.2.3", "1.2.3"),
        ('"7"', "7"),
        ("''", ""),
        ('"true"', "true"),
        ("[a, 1]", ["a", 1]),
        ("{a: {b: no one}}", {"a": {"b": "no one"}}),
        ("9" * 5000, "9" * 5000),
    ],
)
def test_plain_values_are_what_they_look_like(written: str, value: object) -> None:
    found = value_of(written)
    assert (found, type(found)) == (value, type(value))


@pytest.mark.parametrize("nothing", ["", "~", "null", "NULL"])
def test_a_key_without_a_value_is_a_finding(nothing: str) -> None:
    assert codes(f"key: {nothing}\n") == [("Y005", 1)]


def test_the_second_of_two_equal_keys_does_not_win() -> None:
    document, findings = reading("a: 1\nb:\n  c: 1\n  c: 2\na: 3\n")
    assert document is not None and document.data == {"a": 1, "b": {"c": 1}}
    assert [(found.code, found.line, found.field) for found in findings] == [("Y003", 4, "b.c"), ("Y003", 5, "a")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a: &x [1]\nb: *x\n", [("Y006", 1)]),
        ("a: !!int 1\n", [("Y006", 1)]),
        ("a: !secret 1\n", [("Y006", 1)]),
        ("a: !!python/object/apply:os.system [ls]\n", [("Y006", 1)]),
        ("a: b\n---\nc: d\n", [("Y002", 2)]),
        ("a: 'b\n", [("Y002", 2)]),
        ("a: b: c\n", [("Y002", 1)]),
        ("\ta: b\n", [("Y002", 1)]),
        ("- a\n- b\n", [("Y007", 1)]),
        ("just words\n", [("Y007", 1)]),
        ("", [("Y007", 1)]),
        ("# only a comment\n", [("Y007", 1)]),
        (b"a: b\nc: \xe9\n", [("Y001", 2)]),
        (b"\xff\xfea\x00:\x00", [("Y001", 1)]),
        ("\ufeffa: b\n", [("Y001", 1)]),
        ("a: b\nc: \u202ed\n", [("Y001", 2)]),
        ("a: b\x07\n", [("Y001", 1)]),
        ("a: " + "[" * 900 + "]" * 900, [("Y002", 1)]),
        ("a: " + "[" * 100_000, [("Y002", 1)]),
    ],
)
def test_what_cannot_be_read_plainly_is_a_finding(text: str | bytes, expected: list[tuple[str, int]]) -> None:
    assert codes(text) == expected


def test_windows_line_ends_are_read() -> None:
    document, findings = reading("a: 1\r\nb: 2\r\n")
    assert document is not None and document.data == {"a": 1, "b": 2}
    assert findings == []


def test_every_value_knows_its_line() -> None:
    document, _ = reading("a: 1\nlist:\n  - x: 1\n    y: 2\n  - x: 3\n")
    assert document is not None
    expected = {("a",): 1, ("list",): 2, ("list", 0): 3, ("list", 0, "y"): 4, ("list", 1, "x"): 5, (): 1}
    assert {where: document.line_of(where) for where in expected} == expected
    # Of a value that is not there, the line of what should hold it.
    assert document.line_of(("list", 1, "z")) == 5
    assert document.line_of(("list", 9)) == 2
    assert document.line_of(("a", "b", "c")) == 1


@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace")))
def test_no_bytes_at_all_raise(raw: bytes) -> None:
    document, findings = reading(raw)
    assert document is not None or findings

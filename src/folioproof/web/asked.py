"""One request read and checked, and what a page answers to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, TypeVar
from urllib.parse import urlencode

from ..text import MAX_QUERY, visible
from ..vocabulary import Company, Part, State
from .desk import Desk

T = TypeVar("T", bound=StrEnum)

_DEFAULTS = (("part", Part.LEAF), ("state", State.ANY), ("company", Company.ADULTS))


class ProblemError(Exception):
    """A question that gets a page with another status than 200; the text says what to do instead."""

    def __init__(self, status: int, message: str) -> None:
        super().__init__(message)
        self.status = status


@dataclass(frozen=True, slots=True)
class Answer:
    """What one address shows: a template with its values, and the same as plain values for JSON."""

    template: str
    values: dict[str, Any] = field(default_factory=dict)
    plain: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Asked:
    """One request: its desk, the parts of its address, the name it asks for and the filters."""

    desk: Desk
    address: dict[str, str]
    query: str
    part: Part
    state: State
    company: tuple[Company, ...]
    page_text: str
    given: dict[str, list[str]] = field(default_factory=dict)

    def one(self, name: str) -> str:
        """Return a parameter that may be given once; empty when it is not."""
        return _one(self.given, name)

    def many(self, name: str, most: int) -> list[str]:
        """Return the values of a parameter that may be given up to `most` times, the empty ones left out."""
        values = [value for value in self.given.get(name, []) if value.strip()]
        if len(values) > most:
            raise ProblemError(400, f"{name}: give it at most {most} times, not {len(values)}")
        return values

    def page(self, last: int) -> int:
        """Return the number of the page that is asked for, 1 to `last`."""
        text = self.page_text or "1"
        if not (text.isascii() and text.isdigit() and len(text) < 6 and 1 <= int(text) <= last):
            raise ProblemError(400, f"page: write a whole number from 1 to {last}")
        return int(text)

    @property
    def filters(self) -> list[tuple[str, str]]:
        """Return the filters that differ from what is asked by default, as parameters."""
        pairs = [("part", self.part.value), ("state", self.state.value)]
        pairs += [("company", each.value) for each in self.company]
        return [pair for pair in pairs if pair not in _DEFAULTS]

    def address_of(self, path: str, **more: str) -> str:
        """Return `path` with the parameters in `more` and the filters in force."""
        pairs = [*more.items(), *self.filters]
        return f"{path}?{urlencode(pairs)}" if pairs else path


def read(desk: Desk, address: dict[str, str], parameters: dict[str, list[str]]) -> Asked:
    """Read a request; raises ProblemError for a parameter that cannot be meant."""

    def one(name: str) -> str:
        return _one(parameters, name)

    if len(one("q")) > MAX_QUERY:
        raise ProblemError(400, f"q: a plant's name has at most {MAX_QUERY} characters; write a shorter one")
    company = {_term(Company, "company", value) for value in parameters.get("company", []) if value}
    return Asked(
        desk=desk,
        address=address,
        query=one("q"),
        part=_term(Part, "part", one("part") or Part.LEAF),
        state=_term(State, "state", one("state") or State.ANY),
        company=tuple(each for each in Company if each is Company.ADULTS or each in company),
        page_text=one("page"),
        given=parameters,
    )


def _one(parameters: dict[str, list[str]], name: str) -> str:
    values = parameters.get(name) or [""]
    if len(values) > 1:
        raise ProblemError(400, f"{name}: give it once, not {len(values)} times")
    return values[0]


def _term(kind: type[T], name: str, value: str) -> T:
    try:
        return kind(value)
    except ValueError:
        allowed = ", ".join(kind)
        raise ProblemError(400, f"{name}: {visible(value)[:40]!r} is not known; write one of {allowed}") from None

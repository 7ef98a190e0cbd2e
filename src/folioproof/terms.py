"""Reading what a person asks for in the words of the vocabularies."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import TypeVar

from .finding import RefusedInputError
from .text import visible
from .vocabulary import FIBRES, TREATMENTS, Company, Fibre, Treatment

T = TypeVar("T", bound=StrEnum)


def term(kind: type[T], value: T | str, allowed: Iterable[T] | None = None) -> T:
    """Return `value` as a term of `kind`; raises RefusedInputError with the terms that may be written."""
    terms = list(allowed if allowed is not None else kind)
    for each in terms:
        if each == value:
            return each
    shown = visible(str(value))[:40]
    listed = ", ".join(each.value for each in terms)
    raise RefusedInputError(f"{kind.__name__.lower()}: {shown!r} is not known; write one of {listed}")


def treatment_of(value: Treatment | str) -> Treatment:
    """Return one of the four treatments that an estimate speaks of."""
    return term(Treatment, value, TREATMENTS)


def fibre_of(value: Fibre | str) -> Fibre:
    """Return one of the four fibres that an estimate speaks of."""
    return term(Fibre, value, FIBRES)


def company_of(company: Company | str | Iterable[Company | str]) -> frozenset[Company]:
    """Return who is in the room; grown-ups always are."""
    given = [company] if isinstance(company, str) else list(company)
    return frozenset({Company.ADULTS, *(term(Company, each) for each in given)})


def limit_of(limit: int) -> int:
    """Return how many rows a list may have; none or fewer is refused."""
    if limit < 1:
        raise RefusedInputError(f"limit: {limit} is too few; write 1 or more")
    return limit

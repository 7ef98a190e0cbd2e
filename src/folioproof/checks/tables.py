"""The tables in data/vocabularies: complete, and in step with the code."""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum

from .. import vocabulary
from ..corpus import Corpus
from ..finding import Finding
from ..vocabulary import Part, Route, Severity, State


def _vocabularies() -> dict[str, list[str]]:
    found = {}
    for name, value in vars(vocabulary).items():
        if isinstance(value, type) and issubclass(value, StrEnum) and value is not StrEnum:
            found[re.sub(r"(?<!^)(?=[A-Z])", " ", name).lower()] = [term.value for term in value]
    return found


def terms_equal_code(corpus: Corpus) -> Iterator[Finding]:
    """V301."""
    for entry in corpus.terms:
        written = {name: list(terms) for name, terms in entry.record.vocabularies.items()}
        for name, terms in _vocabularies().items():
            if written.pop(name, None) != terms:
                problem = f"the terms of {name} differ from the code"
                remedy = f"Define, in this order: {', '.join(terms)}"
                yield entry.finding(("vocabularies", name), "V301", problem, remedy)
        for name in written:
            yield entry.finding(("vocabularies", name), "V301", f"{name} is not a vocabulary", "Take it out")


def exposures_are_complete(corpus: Corpus) -> Iterator[Finding]:
    """V302."""
    expected = [(route, severity) for route in Route for severity in Severity]
    for entry in corpus.exposures:
        found = [(e.route, e.severity) for e in entry.record.exposures]
        if found != expected:
            problem = "the rows are not every route with every severity, in the order of the vocabulary"
            yield entry.finding(("exposures",), "V302", problem, "Add, remove or move rows until they are")


def graver_is_never_milder(corpus: Corpus) -> Iterator[Finding]:
    """V303."""
    for entry in corpus.exposures:
        rows = entry.record.exposures
        for i, row in enumerate(rows):
            if row.company.rank < row.adults.rank:
                problem = "the level in company is milder than for adults"
                yield entry.finding(("exposures", i), "V303", problem, "Raise company")
            before = rows[i - 1] if i else None
            if before is None or before.route is not row.route:
                continue
            if row.adults.rank < before.adults.rank or row.company.rank < before.company.rank:
                problem = f"{row.severity} is milder than {before.severity}"
                yield entry.finding(("exposures", i), "V303", problem, "Raise the level")


def reach_is_complete(corpus: Corpus) -> Iterator[Finding]:
    """V304."""
    for entry in corpus.reach:
        record = entry.record
        for key, written, terms in (("parts", record.parts, Part), ("states", record.states, State)):
            if set(written) != set(terms):
                yield entry.finding(
                    (key,), "V304", "a term is missing", f"Write one line for each of {', '.join(terms)}"
                )


def every_route_has_precautions(corpus: Corpus) -> Iterator[Finding]:
    """V305."""
    for entry in corpus.precautions:
        record = entry.record
        covered = {p.route for p in record.by_route}
        for route in Route:
            if route not in covered:
                remedy = f"Add a line with route: {route}"
                yield entry.finding(("by_route",), "V305", f"no precaution for {route}", remedy)


def countries_have_a_continent(corpus: Corpus) -> Iterator[Finding]:
    """V306."""
    import pycountry

    known = {country.alpha_2 for country in pycountry.countries}
    for entry in corpus.continents:
        table = entry.record.continents
        if list(table) != list("123456789"):
            yield entry.finding(("continents",), "V306", "the codes are not 1 to 9", "Write each code once, in order")
        for code, countries in table.items():
            if list(countries) != sorted(set(countries)) or set(countries) - known:
                problem = "a country is unknown, twice, or out of order"
                yield entry.finding(("continents", code), "V306", problem, "Sort ISO 3166-1 alpha-2 codes")
        missing = sorted(known - {each for countries in table.values() for each in countries})
        if missing:
            remedy = f"Add {', '.join(missing[:10])}"
            yield entry.finding(("continents",), "V306", f"{len(missing)} countries have no continent", remedy)


def class_questions_are_told_apart(corpus: Corpus) -> Iterator[Finding]:
    """V307."""
    for entry in corpus.class_questions:
        seen: set[str] = set()
        for i, question in enumerate(entry.record.questions):
            if question.id in seen:
                remedy = "Give each question an id of its own"
                yield entry.finding(("questions", i, "id"), "V307", f"{question.id} is asked twice", remedy)
            seen.add(question.id)
            if question.who is not None and not question.who.startswith("anyone "):
                problem = "who does not say whom it means"
                yield entry.finding(("questions", i, "who"), "V307", problem, "Begin with: anyone")


RULES = {
    "V301": ("terms.yml defines the terms of the code", terms_equal_code),
    "V302": ("exposures.yml has each route with each severity", exposures_are_complete),
    "V303": ("a graver claim, or more company, never gives a milder level", graver_is_never_milder),
    "V304": ("reach.yml has each part and each state", reach_is_complete),
    "V305": ("each route has precautions", every_route_has_precautions),
    "V306": ("each country has a botanical continent", countries_have_a_continent),
    "V307": ("each question before a class has its own id, and says whom it keeps out", class_questions_are_told_apart),
}

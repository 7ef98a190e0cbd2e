"""Materials: their CAS numbers, names and figures."""

from __future__ import annotations

from collections.abc import Iterator

from ..corpus import Corpus, Entry
from ..finding import Finding
from ..materials import Figure
from ..records import MaterialRecord
from ..text import normalise
from ..vocabulary import Basis


def check_digit(number: str) -> int:
    """Return the digit that must end a CAS number: the others, counted from the right, times their place, modulo 10.

    After the American Chemical Society's rule for CAS Registry Numbers.
    """
    digits = number.replace("-", "")[:-1]
    return sum(place * int(digit) for place, digit in enumerate(reversed(digits), start=1)) % 10


def cas_has_check_digit(corpus: Corpus) -> Iterator[Finding]:
    """M231."""
    for entry in corpus.materials:
        for i, cas in enumerate(entry.record.cas):
            expected = check_digit(cas.number)
            if int(cas.number[-1]) != expected:
                problem = f"{cas.number} ends in {cas.number[-1]}, and its digits make {expected}"
                yield entry.finding(("cas", i, "number"), "M231", problem, "Copy the number anew from its source")


def names_are_sorted_and_unique(corpus: Corpus) -> Iterator[Finding]:
    """M232."""
    owners: dict[str, str] = {}
    for entry in corpus.materials:
        record = entry.record
        first = owners.setdefault(normalise(record.name), record.id)
        if first != record.id:
            yield entry.finding(("name",), "M232", f"{first} has this name already", "Say in the name what differs")
        names = record.also_called
        for i, name in enumerate(names):
            if i and name.casefold() < names[i - 1].casefold():
                problem = f"{name} stands after {names[i - 1]}"
                yield entry.finding(("also_called", i), "M232", problem, "Sort by name")
            if normalise(name) in {normalise(other) for other in (record.name, *names[:i])}:
                yield entry.finding(("also_called", i), "M232", f"{name} stands twice", "Keep one")


def figures_have_unit_and_basis(corpus: Corpus) -> Iterator[Finding]:
    """M233."""
    for entry in corpus.materials:
        for key in ("working_range", "heat_limit"):
            for i, figure in enumerate(getattr(entry.record, key)):
                yield from _figure_findings(entry, (key, i), figure)


def _figure_findings(entry: Entry[MaterialRecord], where: tuple[str, int], figure: Figure) -> Iterator[Finding]:
    ends = [end for end in (figure.low, figure.high) if end is not None]
    if not ends:
        yield entry.finding(where, "M233", "a figure gives no number", "Write low: or high:, or make it a note")
    if ends != sorted(ends):
        yield entry.finding((*where, "low"), "M233", "low is more than high", "Change the two about")
    if figure.unit is None:
        yield entry.finding(where, "M233", "a figure has no unit", "Write unit:, degC for heat")
    elif where[0] == "heat_limit" and figure.unit != "degC":
        yield entry.finding((*where, "unit"), "M233", f"a heat limit is in {figure.unit}", "Give it in degC")
    if figure.basis is Basis.CONTRIBUTED:
        problem = "a figure rests on one user's outcome"
        yield entry.finding((*where, "basis"), "M233", problem, "Write account with its source, or common practice")


RULES = {
    "M231": ("a CAS number has its check digit", cas_has_check_digit),
    "M232": ("a material's names are sorted and unique", names_are_sorted_and_unique),
    "M233": ("a figure has a number, a unit and a basis that fits", figures_have_unit_and_basis),
}

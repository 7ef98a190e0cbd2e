"""Names: who owns them, how they are sorted, what a vernacular must say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from ..claims import TaxonName
from ..corpus import Corpus, Entry
from ..finding import Finding
from ..nomenclature import LANGUAGES
from ..records import TaxonRecord
from ..text import normalise
from ..vocabulary import NameKind

_KINDS = list(NameKind)


def name_order(name: TaxonName) -> tuple[int, str, str]:
    """Return the key by which a record's names are sorted: kind, language, name."""
    return _KINDS.index(name.kind), name.language or "", name.name


def names_are_sorted(corpus: Corpus) -> Iterator[Finding]:
    """N211."""
    for entry in corpus.taxa:
        names = entry.record.names
        for i in range(1, len(names)):
            if name_order(names[i]) < name_order(names[i - 1]):
                problem = f"{names[i].name} stands after {names[i - 1].name}"
                yield entry.finding(("names", i), "N211", problem, "Sort by kind, language, name")


def scientific_name_has_one_owner(corpus: Corpus) -> Iterator[Finding]:
    """N212."""
    owners: dict[str, set[str]] = defaultdict(set)
    claims: list[tuple[Entry[TaxonRecord], int, str]] = []
    for entry in corpus.taxa:
        owners[normalise(entry.record.scientific_name)].add(entry.record.id)
        for i, name in enumerate(entry.record.names):
            if name.kind is not NameKind.VERNACULAR:
                owners[normalise(name.name)].add(entry.record.id)
                claims.append((entry, i, normalise(name.name)))
    for entry, i, folded in claims:
        others = owners[folded] - {entry.record.id}
        name = entry.record.names[i]
        if others and not (name.shared or name.kind is NameKind.MISAPPLIED):
            problem = f"{name.name} belongs to {', '.join(sorted(others))} too"
            yield entry.finding(("names", i), "N212", problem, "Take it out of one, or mark each shared: true")
        if name.shared and not others:
            problem = f"{name.name} is marked shared, and no other record has it"
            yield entry.finding(("names", i), "N212", problem, "Take shared: true out")


def vernacular_has_language(corpus: Corpus) -> Iterator[Finding]:
    """N213."""
    for entry in corpus.taxa:
        for i, name in enumerate(entry.record.names):
            if name.kind is NameKind.VERNACULAR and name.language not in LANGUAGES:
                remedy = f"Write language: and one of {', '.join(sorted(LANGUAGES))}"
                yield entry.finding(("names", i), "N213", f"{name.name} names no known language", remedy)
            if name.kind is not NameKind.VERNACULAR and (name.language or name.regions):
                problem = f"{name.name} is a scientific name and has no language or region"
                yield entry.finding(("names", i), "N213", problem, "Take language and regions out")


def name_is_given_once(corpus: Corpus) -> Iterator[Finding]:
    """N214."""
    for entry in corpus.taxa:
        seen: set[tuple[str, str | None, str]] = set()
        for i, name in enumerate(entry.record.names):
            key = (name.kind, name.language, normalise(name.name) or name.name)
            if key in seen:
                yield entry.finding(("names", i), "N214", f"{name.name} stands twice", "Keep one")
            seen.add(key)
            if not normalise(name.name):
                problem = f"{name.name!r} holds no letter"
                yield entry.finding(("names", i), "N214", problem, "Write the name, or take the line out")


def accepted_name_is_the_record(corpus: Corpus) -> Iterator[Finding]:
    """N215."""
    for entry in corpus.taxa:
        for i, name in enumerate(entry.record.names):
            if name.kind is NameKind.ACCEPTED:
                remedy = "Write it as scientific_name, or give it kind: synonym"
                yield entry.finding(("names", i), "N215", f"{name.name} is called accepted", remedy)


def homonyms_are_plants(corpus: Corpus) -> Iterator[Finding]:
    """N216."""
    known = {entry.record.id for entry in corpus.taxa}
    for entry in corpus.homonyms:
        words = [h.word for h in entry.record.homonyms]
        for i, homonym in enumerate(entry.record.homonyms):
            if i and words[i] <= words[i - 1]:
                problem = f"{words[i]} stands after {words[i - 1]}"
                yield entry.finding(("homonyms", i), "N216", problem, "Sort by word, each once")
            for j, taxon in enumerate(homonym.taxa):
                if taxon not in known:
                    problem = f"there is no record {taxon}"
                    yield entry.finding(("homonyms", i, "taxa", j), "N216", problem, "Write the id of a record")
    for guard in corpus.guards:
        words = [w.word for w in guard.record.words]
        for i in range(1, len(words)):
            if words[i] <= words[i - 1]:
                problem = f"{words[i]} stands after {words[i - 1]}"
                yield guard.finding(("words", i), "N216", problem, "Sort by word, each once")


RULES = {
    "N211": ("names are sorted by kind, language, name", names_are_sorted),
    "N212": ("a scientific name belongs to one taxon unless marked shared", scientific_name_has_one_owner),
    "N213": ("a vernacular names its language, a scientific name none", vernacular_has_language),
    "N214": ("a name stands once in its record", name_is_given_once),
    "N215": ("the accepted name is the record's own", accepted_name_is_the_record),
    "N216": ("guard words and homonyms are sorted and point to records", homonyms_are_plants),
}

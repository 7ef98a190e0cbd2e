"""Lint rules that look across records. Each has a code, one sentence, and a golden pair in tests/checks."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ..corpus import RULES as RECORD_RULES
from ..corpus import Corpus
from ..finding import Finding
from ..yaml_reader import RULES as FORM_RULES
from . import changes, claims, identity, materials, names, outcomes, printing, tables

Rule = Callable[[Corpus], Iterable[Finding]]

#: Code -> (sentence, function), in the order of the codes.
CROSS_RULES: dict[str, tuple[str, Rule]] = {
    **identity.RULES,
    **names.RULES,
    **claims.RULES,
    **materials.RULES,
    **printing.RULES,
    **outcomes.RULES,
    **changes.RULES,
    **tables.RULES,
}

#: Every code that `folioproof lint` may print, with its sentence.
ALL_RULES: dict[str, str] = {
    **FORM_RULES,
    **RECORD_RULES,
    **{code: sentence for code, (sentence, _) in CROSS_RULES.items()},
}


def check_corpus(corpus: Corpus) -> list[Finding]:
    """Return every finding about the corpus, those of its reading included, sorted by file and line."""
    found = list(corpus.findings)
    for _, rule in CROSS_RULES.values():
        found.extend(rule(corpus))
    return sorted(found)

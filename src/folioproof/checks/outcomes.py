"""Contributed outcomes: each by itself, in its folder, and beside the others."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator

from ..colorimetry import fold
from ..corpus import Corpus, Entry
from ..finding import Finding
from ..outcome_record import OutcomeRecord
from ..outcome_rules import RECORD_RULES, Known, Problem, photo_problem, sameness
from ..vocabulary import Reaction

#: More prints of one plant under one treatment in a month than one maker is likely to make.
FLOOD = 30

Rule = Callable[[Corpus], Iterable[Finding]]


def known_to(corpus: Corpus) -> Known:
    """Return what the outcomes may point to."""
    return Known(
        ranks={entry.record.id: entry.record.rank for entry in corpus.taxa},
        materials={entry.record.id: entry.record.kind for entry in corpus.materials},
        colours=frozenset(fold(each.name) for entry in corpus.colour_names for each in entry.record.names),
        today=corpus.today,
    )


def _alone(rule: Callable[[OutcomeRecord, Known], Iterator[Problem]]) -> Rule:
    def check(corpus: Corpus) -> Iterator[Finding]:
        if not corpus.outcomes:
            return
        known = known_to(corpus)
        for entry in corpus.outcomes:
            for problem in rule(entry.record, known):
                yield entry.finding(problem.where, problem.code, problem.problem, problem.remedy)

    return check


def file_stands_in_its_place(corpus: Corpus) -> Iterator[Finding]:
    """O252, beside the code of the region itself."""
    yield from _alone(RECORD_RULES["O252"][1])(corpus)
    for entry in corpus.outcomes:
        record, path = entry.record, entry.document.path
        expected = f"outcomes/{record.region}/{record.date.year}/{record.id}.yml"
        assert corpus.shared is not None
        if path != corpus.shared / expected:
            yield entry.finding(("id",), "O252", "this is not the place of the outcome", f"Move it to {expected}")


def photo_lies_beside(corpus: Corpus) -> Iterator[Finding]:
    """O260."""
    for entry in corpus.outcomes:
        photo = entry.record.result.photo
        if photo is not None and (said := photo_problem(entry.document.path.parent, photo)):
            yield entry.finding(("result", "photo"), "O260", *said)


def no_print_is_told_twice(corpus: Corpus) -> Iterator[Finding]:
    """O262."""
    seen: dict[tuple[object, ...], Entry[OutcomeRecord]] = {}
    for entry in corpus.outcomes:
        first = seen.setdefault(sameness(entry.record), entry)
        if first is not entry:
            problem = f"this is the same print as {first.record.id}"
            yield entry.finding(("id",), "O262", problem, "Take one out, or say in note: what tells the two apart")


def nobody_floods(corpus: Corpus) -> Iterator[Finding]:
    """O263."""
    counts: Counter[tuple[str, str, str, str]] = Counter()
    for entry in corpus.outcomes:
        record = entry.record
        if record.review is not None and record.review.flag == "cleared":
            continue
        key = (record.contributor, record.taxon, record.treatment.value, record.date.isoformat()[:7])
        counts[key] += 1
        if counts[key] == FLOOD + 1:
            problem = f"{record.contributor} has more than {FLOOD} prints of {record.taxon} with {record.treatment}"
            remedy = "Reviewer, ask the maker; a review: that is cleared, with date and note, lets a record pass"
            yield entry.finding(("contributor",), "O263", f"{problem} in {key[3]}", remedy)


def nothing_is_made_up(corpus: Corpus) -> Iterator[Finding]:
    """O264."""
    for entry in corpus.outcomes if corpus.is_collection else ():
        if entry.record.invented:
            problem = "an invented record stands in the real collection"
            yield entry.finding(
                ("invented",), "O264", problem, "Take the file out; demo data live in a folder of their own"
            )


def reaction_is_named(corpus: Corpus) -> Iterator[Finding]:
    """O265."""
    for entry in corpus.outcomes:
        record = entry.record
        if record.reaction is Reaction.NONE and record.reaction_note is not None:
            problem = "a reaction is described, but reaction says none"
            yield entry.finding(("reaction",), "O265", problem, "Write skin, breathing, eyes or other")
        elif record.reaction is Reaction.OTHER and record.reaction_note is None:
            yield entry.finding(("reaction",), "O265", "the other reaction is not described", "Add reaction_note:")


RULES: dict[str, tuple[str, Rule]] = {
    **{code: (sentence, _alone(rule)) for code, (sentence, rule) in RECORD_RULES.items()},
    "O252": (RECORD_RULES["O252"][0], file_stands_in_its_place),
    "O260": ("a photo lies beside its outcome, is below 20 MB and does not tell where it was taken", photo_lies_beside),
    "O262": ("no print is told twice", no_print_is_told_twice),
    "O263": ("more than 30 prints of one plant and treatment by one maker in a month need a reviewer", nobody_floods),
    "O264": ("nothing invented stands in the real collection", nothing_is_made_up),
    "O265": ("a reaction that is described is named, and the other way round", reaction_is_named),
}
RULES = dict(sorted(RULES.items()))

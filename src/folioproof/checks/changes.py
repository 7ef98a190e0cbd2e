"""The list of what changed: newest first, never of tomorrow, about plants that have a record."""

from __future__ import annotations

from collections.abc import Iterator

from ..corpus import Corpus
from ..finding import Finding


def newest_stands_first(corpus: Corpus) -> Iterator[Finding]:
    """H271."""
    for entry in corpus.changes:
        changes = entry.record.changes
        for i, change in enumerate(changes):
            if change.on > corpus.today:
                yield entry.finding(("changes", i, "on"), "H271", f"{change.on} has not come yet", "Write the day")
            if i and change.on > changes[i - 1].on:
                remedy = "Put the newest change first"
                yield entry.finding(("changes", i), "H271", f"entry {i + 1} belongs before entry {i}", remedy)


def changed_plants_have_records(corpus: Corpus) -> Iterator[Finding]:
    """H272."""
    known = {entry.record.id for entry in corpus.taxa}
    for entry in corpus.changes:
        for i, change in enumerate(entry.record.changes):
            for plant in change.plants:
                if plant not in known:
                    remedy = "Write the id of a plant, or the one it was joined with"
                    yield entry.finding(("changes", i, "plants"), "H272", f"there is no record {plant}", remedy)
            if list(change.plants) != sorted(set(change.plants)):
                remedy = f"Write [{', '.join(sorted(set(change.plants)))}]"
                problem = "the plants are not sorted, or one is named twice"
                yield entry.finding(("changes", i, "plants"), "H272", problem, remedy)


RULES = {
    "H271": ("changes stand newest first, and none is of a day to come", newest_stands_first),
    "H272": ("a change names plants that have a record, sorted", changed_plants_have_records),
}

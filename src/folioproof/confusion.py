"""Pairs of names that mislead: a plant's name that is a slip away from the name of a more dangerous plant."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import permutations
from typing import Any

from rapidfuzz.distance import OSA

from .text import Folded, joined
from .vocabulary import Level

#: Shorter names are all near each other; for them only the exact name counts anyway.
_SHORTEST = 4


def danger(adults: Level, taught: Level) -> int:
    """Return how dangerous a plant is to mistake another for: 0 ordinary or unassessed, to 3 left out by everyone."""
    if adults is Level.LEAVE_OUT:
        return 3
    if taught is Level.LEAVE_OUT:
        return 2
    return 1 if adults is Level.EXTRA else 0


def confusable_pairs(names: Iterable[tuple[str, str, str, str]], dangers: dict[str, int]) -> Iterator[dict[str, Any]]:
    """Yield rows of the table confusable_names: each name with each near name of a more dangerous plant.

    `names` are (folded, sound key, name, taxon id); `dangers` gives `danger` of each taxon. Near means: the same
    name, the same letters without spaces, the same sound, or one edit (found through strings with one letter left
    out). Names that share a head noun are joined by the index itself: every one-word name would be in this table.
    """
    owners: dict[str, list[tuple[str, str]]] = defaultdict(list)
    sounds: dict[str, str] = {}
    for key, sound, name, taxon in names:
        owners[key].append((name, taxon))
        sounds[key] = sound
    number = 0
    for folded, near, why, edits in sorted(_near_pairs(sounds)):
        for name, taxon in sorted(set(owners[folded])):
            for near_name, near_taxon in sorted(set(owners[near])):
                if dangers[near_taxon] <= dangers[taxon]:
                    continue
                number += 1
                yield {
                    "id": number,
                    "name": name,
                    "taxon_id": taxon,
                    "folded": folded,
                    "near_name": near_name,
                    "near_taxon_id": near_taxon,
                    "why": why,
                    "edits": edits,
                }


def _near_pairs(sounds: dict[str, str]) -> set[tuple[str, str, str, float]]:
    by_key: dict[tuple[str, str], list[str]] = defaultdict(list)
    for name, sound in sounds.items():
        for key in _keys(name, sound):
            by_key[key].append(name)
    best: dict[tuple[str, str], tuple[float, str]] = {(name, name): (0.0, "same name") for name in sounds}
    for (kind, _), near_names in by_key.items():
        edits = 1.0 if kind == "one letter" else 0.5
        for name, near in permutations(near_names, 2):
            if edits == 1.0 and not _one_edit(name, near):
                continue
            best[name, near] = min(best.get((name, near), (9.0, "")), (edits, kind))
    return {(name, near, why, edits) for (name, near), (edits, why) in best.items()}


def _keys(name: str, sound: str) -> Iterator[tuple[str, str]]:
    if len(name) < _SHORTEST:
        return
    yield "same letters", joined(Folded(name))
    yield "same sound", sound
    yield from {("one letter", name)} | {("one letter", name[:i] + name[i + 1 :]) for i in range(len(name))}


def _one_edit(a: str, b: str) -> bool:
    return OSA.distance(a, b, score_cutoff=1) == 1

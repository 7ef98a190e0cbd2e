"""Pairs of names that mislead: a mild plant's name that is a slip away from a dangerous plant's."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any

from .text import Folded, joined, sound_key
from .vocabulary import Level

#: Shorter names are all near each other; for them only the exact name counts anyway.
_SHORTEST = 4


def confusable_pairs(
    names: Iterable[tuple[Folded, str, str]], levels: dict[str, Level]
) -> Iterator[dict[str, Any]]:
    """Yield rows of the table confusable_names: each mild name with each dangerous near name.

    `names` are (folded, name, taxon id); `levels` the level of each taxon in a class. Near means: the same name, the
    same letters without spaces, the same sound, or one edit (found through strings with one letter left out). Names
    that share a head noun are joined by the index itself, since every one-word name would be in this table.
    """
    mild: dict[str, list[tuple[str, str]]] = defaultdict(list)
    dangerous: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for folded, name, taxon in names:
        side = dangerous if levels[taxon] is Level.LEAVE_OUT else mild
        side[folded].append((name, taxon))
    number = 0
    for folded, near, why, edits in sorted(_near_pairs(mild, dangerous)):
        for name, taxon in sorted(set(mild[folded])):
            for near_name, near_taxon in sorted(set(dangerous[near])):
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


def _near_pairs(mild: Iterable[str], dangerous: Iterable[str]) -> set[tuple[str, str, str, float]]:
    by_key: dict[tuple[str, str], set[str]] = defaultdict(set)
    for name in dangerous:
        for key in _keys(name):
            by_key[key].add(name)
    best: dict[tuple[str, str], tuple[float, str]] = {}
    for name in mild:
        for kind, key in _keys(name):
            for near in by_key.get((kind, key), ()):
                edits = {"same name": 0.0, "same letters": 0.5, "same sound": 0.5}.get(kind, 1.0)
                if edits == 1.0 and not _one_edit(name, near):
                    continue
                best[name, near] = min(best.get((name, near), (9.0, "")), (edits, kind))
    return {(name, near, why, edits) for (name, near), (edits, why) in best.items()}


def _keys(name: str) -> Iterator[tuple[str, str]]:
    yield "same name", name
    if len(name) < _SHORTEST:
        return
    yield "same letters", joined(Folded(name))
    yield "same sound", sound_key(Folded(name))
    yield "one letter", name
    for i in range(len(name)):
        yield "one letter", name[:i] + name[i + 1 :]


def _one_edit(a: str, b: str) -> bool:
    from rapidfuzz.distance import OSA

    return OSA.distance(a, b, score_cutoff=1) == 1

"""Run by hand: how well and how fast names are found. `python tests/benchmarks/names_benchmark.py [--seed 1]`.

Prints recall at 1 and 5, false accepts, the false-safe count, and the same work done by four general-purpose ways of
matching strings, side by side in one run.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from typos import misspell

from folioproof import Reference
from folioproof.cache import ready_database
from folioproof.matching import NameIndex
from folioproof.text import normalise
from folioproof.vocabulary import Level, Status

MISSES: list[tuple[str, str, list[tuple[str, float]]]] = []
CONSONANTS, VOWELS = "bcdfglmnprstv", "aeiou"


def nonsense(rng: random.Random) -> str:
    """Return one or two pronounceable words that mean nothing."""
    words = ("".join(rng.choice(CONSONANTS) + rng.choice(VOWELS) for _ in range(rng.randint(2, 4))) for _ in range(2))
    return " ".join(list(words)[: rng.randint(1, 2)])


def unlisted_binomials(names: list[str], listed: set[str], rng: random.Random, count: int) -> list[str]:
    """Return invented pairings of a listed epithet with a made-up genus: no plant of the records."""
    epithets = sorted({n.split()[1] for n in names if len(n.split()) == 2})
    found: list[str] = []
    while len(found) < count:
        genus = nonsense(rng).split()[0].capitalize() + rng.choice(("ia", "us", "a", "um"))
        name = f"{genus} {rng.choice(epithets)}"
        if normalise(name) not in listed:
            found.append(name)
    return found


def unlisted_vernaculars(names: list[str], listed: set[str], rng: random.Random, count: int) -> list[str]:
    """Return new pairings of the first and last words of listed vernaculars."""
    firsts = sorted({n.split()[0] for n in names if len(n.split()) == 2})
    lasts = sorted({n.split()[-1] for n in names if len(n.split()) == 2})
    found: list[str] = []
    while len(found) < count:
        name = f"{rng.choice(firsts)} {rng.choice(lasts)}"
        if normalise(name) not in listed:
            found.append(name)
    return found


def timed(ask: Callable[[str], object], queries: list[str]) -> tuple[float, float]:
    """Return the median and the 99th percentile of one question, in milliseconds."""
    spans = []
    for query in queries:
        start = time.perf_counter()
        ask(query)
        spans.append((time.perf_counter() - start) * 1000)
    return statistics.median(spans), statistics.quantiles(spans, n=100)[98]


def recall(index: NameIndex, cases: list[tuple[str, set[str]]]) -> tuple[float, float]:
    """Return the share of cases whose plant is the first hit, and among the first five plants."""
    first = five = 0
    for query, owners in cases:
        hits = index.match(query).hits
        nearest = {hit.taxon_id for hit in hits if hit.distance == hits[0].distance}
        first += bool(owners & nearest)
        five += bool(owners & (nearest | {hit.taxon_id for hit in hits[:5]}))
        if not owners & nearest:
            MISSES.append((query, sorted(owners)[0], [(h.name, h.distance) for h in hits[:2]]))
    return first / len(cases), five / len(cases)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--queries", type=int, default=4500)
    parser.add_argument("--misses", type=int, default=0)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    path = ready_database()
    connection = sqlite3.connect(path)
    rows = connection.execute("SELECT folded, taxon_id, name, kind FROM names").fetchall()
    levels = dict(connection.execute("SELECT taxon_id, own_level FROM levels WHERE company = 'adults'"))
    owners: dict[str, set[str]] = {}
    for folded, taxon, _, _ in rows:
        owners.setdefault(folded, set()).add(taxon)
    listed = set(owners)
    latin = [f for f in listed if f.isascii() and len(f) > 3]
    reference = Reference.open(path)
    index = reference._names()

    # A slip in a name of four letters or fewer makes another word more often than a misspelling.
    danger = {t for t, level in levels.items() if level in ("extra care", "leave out")}
    hazardous = sorted({f for f, t, _, _ in rows if t in danger and len(f) > 4 and f.isascii()})
    picked = [rng.choice(hazardous) for _ in range(options.queries)]
    queries = [(misspell(name, rng), owners[name]) for name in picked]
    unsafe = []
    for query, who in queries:
        found = reference.find(query)
        if found.level is Level.ORDINARY:
            unsafe.append((query, sorted(who)[0], found.candidates[0].id))
    print(f"{len(listed)} names; {len(queries)} misspelt names of hazardous plants")
    print(f"answered ordinary care: {len(unsafe)} {unsafe[:5]}")
    queries = [(q, o) for q, o in queries if normalise(q) not in listed or owners[normalise(q)] & o]
    one, five = recall(index, queries)
    print(f"recall@1 {one:.4f}  recall@5 {five:.4f}")

    for miss in MISSES[: options.misses]:
        print("  missed", *miss)
    sets = {
        "unlisted binomials": unlisted_binomials(latin, listed, rng, 2000),
        "unlisted vernaculars": unlisted_vernaculars(latin, listed, rng, 2000),
        "nonsense": [word for word in (nonsense(rng) for _ in range(2000)) if word not in listed],
    }
    for label, texts in sets.items():
        accepted = [t for t in texts if index.match(t).status in (Status.EXACT, Status.CONFIRM)]
        print(f"false accepts, {label}: {len(accepted) / len(texts):.4f} {accepted[:4]}")
    species = {row[0] for row in connection.execute("SELECT id FROM taxa WHERE rank NOT IN ('genus', 'family')")}
    ordinary = [
        (f, t)
        for f, t, _, k in rows
        if levels[t] == "ordinary care" and t in species and owners[f] == {t} and len(f) > 3
    ]
    sample = rng.sample(ordinary, 1500)
    direct = sum(reference.find(f).status is Status.EXACT for f, _ in sample)
    print(f"a name that one ordinary species alone bears is answered directly: {direct / len(sample):.4f}")
    scientific = [(f, t) for f, t, _, k in rows if levels[t] == "ordinary care" and k == "accepted" and t in species]
    direct = sum(reference.find(f).status is Status.EXACT for f, _ in scientific)
    print(f"  ... by its accepted name: {direct / len(scientific):.4f}")
    middle, tail = timed(index.match, [q for q, _ in queries[:1000]])
    print(f"folioproof: p50 {middle:.2f} ms, p99 {tail:.2f} ms")


if __name__ == "__main__":
    main()

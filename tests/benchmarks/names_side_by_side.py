"""Run by hand: the same misspelt names given to folioproof and to four general-purpose ways of matching strings.

All in one process and one run, on the same queries. A rival's answer is the owner of its best string; it is "unsafe"
when the query was a misspelt name of a plant that is not ordinary care and the answer is one that is.
Needs `pip install '.[benchmark]'`.
"""

from __future__ import annotations

import difflib
import random
import sqlite3
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA
from symspellpy import SymSpell, Verbosity
from typos import misspell

from folioproof import Reference
from folioproof.cache import ready_database

QUERIES = 400


def trigram_search(names: list[str]) -> Callable[[str], str | None]:
    """Return a search by SQLite's trigram index, its first fifty ranked again by edit distance."""
    connection = sqlite3.connect(":memory:")
    connection.execute("CREATE VIRTUAL TABLE names USING fts5(name, tokenize = 'trigram')")
    connection.executemany("INSERT INTO names VALUES (?)", ((name,) for name in names))

    def search(query: str) -> str | None:
        grams = {query[i : i + 3] for i in range(len(query) - 2)}
        wanted = " OR ".join('"' + gram.replace('"', "") + '"' for gram in sorted(grams)) or '"zzz"'
        sql = "SELECT name FROM names WHERE names MATCH ? ORDER BY rank LIMIT 50"
        found = [row[0] for row in connection.execute(sql, (wanted,))]
        return min(found, key=lambda name: OSA.distance(query, name), default=None)

    return search


def symspell_search(names: list[str]) -> Callable[[str], str | None]:
    """Return a search by deletions, up to two edits."""
    index = SymSpell(max_dictionary_edit_distance=2, prefix_length=10)
    for name in names:
        index.create_dictionary_entry(name, 1)

    def search(query: str) -> str | None:
        found = index.lookup(query, Verbosity.TOP, max_edit_distance=2)
        return found[0].term if found else None

    return search


def main() -> None:
    rng = random.Random(5)
    path = ready_database()
    connection = sqlite3.connect(path)
    owners: dict[str, set[str]] = {}
    for folded, taxon in connection.execute("SELECT folded, taxon_id FROM names"):
        owners.setdefault(folded, set()).add(taxon)
    levels = dict(connection.execute("SELECT taxon_id, own_level FROM levels WHERE company = 'adults'"))
    names = sorted(name for name in owners if name.isascii() and len(name) > 4)
    hazardous = [name for name in names if any(levels[t] in ("extra care", "leave out") for t in owners[name])]
    queries = [(misspell(name, rng), owners[name]) for name in rng.choices(hazardous, k=QUERIES)]
    reference = Reference.open(path)
    index = reference._names()

    rivals: dict[str, Callable[[str], str | None]] = {
        "difflib.get_close_matches": lambda q: next(iter(difflib.get_close_matches(q, names, 1)), None),
        "rapidfuzz WRatio": lambda q: (process.extractOne(q, names, scorer=fuzz.WRatio) or (None,))[0],
        "SQLite FTS5 trigram, ranked again": trigram_search(names),
        "symspellpy, two edits": symspell_search(names),
    }
    print(f"{len(names)} names, {len(queries)} misspelt names of plants that are not ordinary care")
    spans, first = [], 0
    unsafe = 0
    for query, who in queries:
        start = time.perf_counter()
        match = index.match(query)
        spans.append(time.perf_counter() - start)
        nearest = {h.taxon_id for h in match.hits if h.distance == match.hits[0].distance}
        first += bool(who & nearest)
        unsafe += reference.find(query).level == "ordinary care"
    _row("folioproof", spans, first, unsafe)
    for label, search in rivals.items():
        spans, first, unsafe = [], 0, 0
        for query, who in queries:
            start = time.perf_counter()
            answer = search(query)
            spans.append(time.perf_counter() - start)
            first += answer is not None and bool(owners[answer] & who)
            unsafe += answer is not None and {levels[t] for t in owners[answer]} == {"ordinary care"}
        _row(label, spans, first, unsafe)


def _row(label: str, spans: list[float], first: int, unsafe: int) -> None:
    middle = statistics.median(spans) * 1000
    print(f"{label:<36} p50 {middle:8.2f} ms   recall@1 {first / len(spans):.3f}   unsafe {unsafe / len(spans):.3f}")


if __name__ == "__main__":
    main()

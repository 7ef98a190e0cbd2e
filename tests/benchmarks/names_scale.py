"""Run by hand: the name index at 20,000, 100,000 and 1,000,000 names.

Names beyond the real ones are made by pairing real first and last words; every stored form is computed before the
clock starts, as a build does. Prints load time, memory of the process, and p50 and p99 of one misspelt question.
`python tests/benchmarks/names_scale.py 20000`: one size a process, so that memory is that size's own.
"""

from __future__ import annotations

import random
import resource
import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from typos import misspell

from folioproof.cache import ready_database
from folioproof.matches import IndexedName, IndexedTaxon
from folioproof.matching import NameIndex
from folioproof.text import normalise, sound_key
from folioproof.vocabulary import NameKind


def made_names(size: int, rng: random.Random) -> list[str]:
    """Return `size` distinct names: the real ones first, then pairs of their words."""
    connection = sqlite3.connect(ready_database())
    real = sorted({row[0] for row in connection.execute("SELECT folded FROM names") if row[0].isascii()})
    rng.shuffle(real)
    names = dict.fromkeys(real[:size])
    firsts = sorted({name.split()[0] for name in real})
    lasts = sorted({name.split()[-1] for name in real})
    while len(names) < size:
        names[f"{rng.choice(firsts)} {rng.choice(lasts)}"] = None
    return list(names)


def main() -> None:
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    rng = random.Random(3)
    names = made_names(size, rng)
    queries = [misspell(name, rng) for name in rng.sample([n for n in names if len(n) > 4], 1000)]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "names.db"
        connection = sqlite3.connect(path)
        connection.execute("CREATE TABLE names (folded TEXT, sound TEXT, taxon TEXT)")
        rows = ((f, sound_key(normalise(f)), f"taxon-{i % 20_000}") for i, f in enumerate(names))
        connection.executemany("INSERT INTO names VALUES (?, ?, ?)", rows)
        connection.commit()
        del names
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        start = time.perf_counter()
        taxa = (IndexedTaxon(f"taxon-{i}", False, i % 20 == 0) for i in range(20_000))
        found = connection.execute("SELECT folded, sound, taxon FROM names")
        index = NameIndex((IndexedName(f, s, f, NameKind.VERNACULAR, "en", None, t) for f, s, t in found), taxa)
        loaded = time.perf_counter() - start
        start = time.perf_counter()
        index.match("xqzw vbnmasdfgh")
        first = time.perf_counter() - start
        spans = []
        for query in queries:
            start = time.perf_counter()
            index.match(query)
            spans.append((time.perf_counter() - start) * 1000)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(
            f"{size:>9,} names: load {loaded:.2f} s, first misspelt question {first:.2f} s, "
            f"p50 {statistics.median(spans):.2f} ms, p99 {statistics.quantiles(spans, n=100)[98]:.2f} ms, "
            f"memory {memory / 1024:.0f} MB at most ({before / 1024:.0f} MB before the load)"
        )


if __name__ == "__main__":
    main()

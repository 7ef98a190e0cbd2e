"""Run by hand: building with 10,000, 100,000 and 1,000,000 outcomes from a CSV file.

The outcomes are made up: real plants that have an estimate, each print's colour scattered about the estimate's, people
who print once or a hundred times, regions of twelve countries. One size a process, so that memory is that size's own;
the records alone take the time and memory of size 0.
`for n in 0 10000 100000 1000000; do python tests/benchmarks/outcomes_scale.py $n; done`; `--parquet` reads Parquet.

On two cores that other work shared:

          0 outcomes:   27.3 s (10.9 s of one core),   269 MB
      10000 outcomes:   17.7 s (14.3 s of one core),   278 MB
     100000 outcomes:   23.0 s (22.8 s of one core),   289 MB
    1000000 outcomes:   85.0 s (82.8 s of one core),   318 MB

Finding the blocks of new colours is most of what the first 100,000 cost; later ones are remembered.
"""

from __future__ import annotations

import csv
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pycountry

from folioproof.cache import ready_database
from folioproof.corpus_files import data_root
from folioproof.loader import build

COLUMNS = (
    "id", "taxon_id", "name_as_given", "part", "state", "date", "region", "treatment", "fibre", "method", "grade",
    "contributor", "licence", "lab_l", "lab_a", "lab_b", "colour_basis", "reaction",
)  # fmt: skip
COUNTRIES = ("NZ", "AU", "PT", "FR", "GB", "US", "CA", "DE", "JP", "ZA", "BR", "IN")


def made_outcomes(size: int, rng: random.Random) -> Iterator[tuple[object, ...]]:
    """Yield rows: what is likely is likely, nothing is real."""
    connection = sqlite3.connect(ready_database())
    sql = """SELECT taxon_id, part, treatment, fibre, lab_l, lab_a, lab_b, strength FROM estimates
        JOIN taxa ON taxa.id = taxon_id WHERE lab_l IS NOT NULL AND rank NOT IN ('genus', 'family')"""
    expected = connection.execute(sql).fetchall()
    connection.close()
    regions = [each.code for code in COUNTRIES for each in pycountry.subdivisions.get(country_code=code)]
    for number in range(size):
        taxon, part, treatment, fibre, lightness, a, b, strength = rng.choice(expected)
        person = min(int(rng.paretovariate(0.6)), size)
        region = regions[person * 7919 % len(regions)]
        day = f"{rng.randint(2015, 2025)}-{rng.randint(1, 12):02}-{rng.randint(1, 28):02}"
        grade = min(4, max(0, round(rng.gauss(strength, 1))))
        colour: tuple[object, ...] = ("", "", "", "none")
        if grade:
            lab = (rng.gauss(lightness, 6), rng.gauss(a, 4), rng.gauss(b, 6))
            colour = (round(min(100, max(0, lab[0])), 1), round(lab[1], 1), round(lab[2], 1), "scan")
        yield (
            f"{region.lower()}-{day}-{taxon}-p{person}-{number}", taxon, taxon, part, "fresh", day, region, treatment,
            fibre, "steam", grade, f"p{person}", "CC0-1.0", *colour, "skin" if rng.random() < 0.001 else "none",
        )  # fmt: skip


def main() -> None:
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "outcomes.csv"
        # Written by another process, so that its memory is not counted.
        subprocess.run([sys.executable, __file__, "--write", str(size), str(path)], check=True)
        if "--parquet" in sys.argv:
            import duckdb

            duckdb.sql(f"COPY (FROM read_csv('{path}')) TO '{path.with_suffix('.parquet')}'")
            path = path.with_suffix(".parquet")
        start, worked = time.perf_counter(), time.process_time()
        facts = build(data_root(), Path(folder) / "reference.db", bulk=path if size else None)
        seconds, worked = time.perf_counter() - start, time.process_time() - worked
        megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        took = f"{seconds:6.1f} s ({worked:.1f} s of one core), {megabytes:5.0f} MB"
        sys.stdout.write(f"{facts['outcomes']:>9} outcomes: {took}\n")


def write(size: int, path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(COLUMNS)
        writer.writerows(made_outcomes(size, random.Random(5)))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--write"]:
        write(int(sys.argv[2]), Path(sys.argv[3]))
    else:
        main()

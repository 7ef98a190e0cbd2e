"""From outcomes to sums, in SQL that SQLite and DuckDB both read: no word of it belongs to one of them alone.

The sums are sufficient: `evidence` needs nothing else, and those of two files add up to those of both. They are kept
by person, so that one person's repeats can be weighed less. What a person felt is no column here.
"""

from __future__ import annotations

import sqlite3

_KEY = "taxon_id, part, treatment, fibre, country, region"

#: One row for each plant, part, treatment, fibre, region, month and person: how many prints of each grade.
COUNTS = f"""
    SELECT {_KEY}, month, contributor,
        count(CASE WHEN grade = 0 THEN 1 END) AS n0, count(CASE WHEN grade = 1 THEN 1 END) AS n1,
        count(CASE WHEN grade = 2 THEN 1 END) AS n2, count(CASE WHEN grade = 3 THEN 1 END) AS n3,
        count(CASE WHEN grade = 4 THEN 1 END) AS n4
    FROM outcomes GROUP BY {_KEY}, month, contributor ORDER BY {_KEY}, month, contributor"""  # noqa: S608

#: One row for each of these (but the month) and ISCC-NBS block: the sums of the colours in it.
BLOCKS = f"""
    SELECT {_KEY}, contributor, block, count(*) AS n, sum(lab_l) AS sum_l, sum(lab_a) AS sum_a, sum(lab_b) AS sum_b
    FROM outcomes WHERE block IS NOT NULL
    GROUP BY {_KEY}, contributor, block ORDER BY {_KEY}, contributor, block"""  # noqa: S608


def fill_evidence(connection: sqlite3.Connection) -> None:
    """Fill the two tables of evidence from the outcomes."""
    connection.execute(f"INSERT INTO evidence_counts {COUNTS}")
    connection.execute(f"INSERT INTO evidence_blocks {BLOCKS}")

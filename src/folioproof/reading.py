"""Lists for reading through: sources and what rests on them, agents and who carries them, names that mislead.

`reference` answers questions about plants; this gives the pages around those answers, as plain rows.
"""

from __future__ import annotations

import json
import threading
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

from .database import build_facts, connect, rows
from .tallies import Tally, tally

Row = dict[str, Any]

#: Countries that have help lines here, by ISO 3166-1 code; a test fails when the records name another one.
COUNTRIES = {
    "AU": "Australia",
    "CA": "Canada",
    "DE": "Germany",
    "FI": "Finland",
    "FR": "France",
    "GB": "United Kingdom",
    "IE": "Ireland",
    "NZ": "New Zealand",
    "US": "United States",
}

_SOURCES = """
    SELECT id, citation, url, read,
        (SELECT count(*) FROM hazards WHERE source_id = sources.id) AS hazards,
        (SELECT count(*) FROM all_clears WHERE source_id = sources.id) AS all_clears,
        (SELECT count(*) FROM name_sources WHERE source_id = sources.id) AS names,
        (SELECT count(*) FROM carries WHERE source_id = sources.id)
            + (SELECT count(*) FROM agents WHERE sources.id IN (heat_source_id, air_source_id))
            + (SELECT count(*) FROM helplines WHERE source_id = sources.id)
            + (SELECT count(*) FROM look_alikes WHERE source_id = sources.id)
            + (SELECT count(*) FROM process_facts WHERE source_id = sources.id)
            + (SELECT count(*) FROM ghs_statements WHERE source_id = sources.id)
            + (SELECT count(*) FROM material_cas WHERE source_id = sources.id)
            + (SELECT count(*) FROM material_ghs WHERE source_id = sources.id)
            + (SELECT count(*) FROM material_ranges WHERE source_id = sources.id)
            + (SELECT count(*) FROM material_advice WHERE source_id = sources.id) AS other
    FROM sources"""

# A genus or family counts for the worst of its species, which its own row does not say: lists give none.
_CLAIMS_OF_SOURCE = """
    SELECT taxa.id, taxa.scientific_name, taxa.common_name, taxa.rank,
        CASE WHEN taxa.rank NOT IN ('genus', 'family') THEN levels.level END AS level, claim.*
    FROM (
        SELECT taxon_id, 'harm' AS kind, route AS what, severity AS grade, parts, as_published, locator
        FROM hazards WHERE source_id = ?1
        UNION ALL
        SELECT taxon_id, 'all-clear', 'looked and lists no hazard', audience, parts, as_published, locator
        FROM all_clears WHERE source_id = ?1
        UNION ALL
        SELECT taxon_id, 'carries', agents.name, NULL, parts, NULL, carries.locator
        FROM carries JOIN agents ON agents.id = agent_id WHERE source_id = ?1
        UNION ALL
        SELECT taxon_id, 'look-alike', other_id, NULL, '[]', NULL, locator
        FROM look_alikes WHERE source_id = ?1
    ) AS claim
    JOIN taxa ON taxa.id = claim.taxon_id
    LEFT JOIN levels ON levels.taxon_id = taxa.id AND levels.company = 'adults'
    ORDER BY taxa.scientific_name, claim.kind, claim.what, claim.grade, claim.locator"""

_CARRIERS = """
    SELECT taxa.id, taxa.scientific_name, taxa.common_name, taxa.rank,
        CASE WHEN taxa.rank NOT IN ('genus', 'family') THEN levels.level END AS level,
        group_concat(DISTINCT claim.parts) AS parts, group_concat(DISTINCT claim.source_id) AS sources
    FROM (
        SELECT taxon_id, parts, source_id FROM hazards WHERE agent_id = ?1
        UNION SELECT taxon_id, parts, source_id FROM carries WHERE agent_id = ?1
    ) AS claim
    JOIN taxa ON taxa.id = claim.taxon_id
    LEFT JOIN levels ON levels.taxon_id = taxa.id AND levels.company = 'adults'
    GROUP BY taxa.id ORDER BY taxa.scientific_name"""

_AGENTS = """
    SELECT agents.*, (SELECT count(*) FROM (SELECT taxon_id FROM hazards WHERE agent_id = agents.id
        UNION SELECT taxon_id FROM carries WHERE agent_id = agents.id)) AS plants
    FROM agents"""

_MATERIALS = """
    SELECT materials.*,
        (SELECT json_group_array(number) FROM material_cas WHERE material_id = materials.id) AS numbers,
        (SELECT count(*) FROM material_ghs WHERE material_id = materials.id) AS classifications,
        (SELECT signal_word FROM material_ghs WHERE material_id = materials.id
            ORDER BY signal_word = 'Danger' DESC, signal_word = 'Warning' DESC, id LIMIT 1) AS strictest,
        (SELECT min(coalesce(low, high)) FROM material_ranges
            WHERE material_id = materials.id AND kind = 'heat limit') AS first_heat_limit
    FROM materials JOIN terms ON vocabulary = 'material kind' AND term = kind"""

_CITING_MATERIALS = """
    SELECT id, name FROM materials WHERE id IN (
        SELECT material_id FROM material_cas WHERE source_id = ?1
        UNION SELECT material_id FROM material_ghs WHERE source_id = ?1
        UNION SELECT material_id FROM material_ranges WHERE source_id = ?1
        UNION SELECT material_id FROM material_advice WHERE source_id = ?1
    ) ORDER BY name"""

_LISTS = ("also_called", "numbers", "classes", "statements", "pictograms")

_MISLEADING = """
    SELECT confusable_names.*, own.scientific_name AS scientific_name,
        near.scientific_name AS near_scientific_name, near_level.level AS near_level, look_alikes.tell_apart
    FROM confusable_names
    LEFT JOIN look_alikes ON look_alikes.taxon_id = confusable_names.taxon_id AND look_alikes.other_id = near_taxon_id
    JOIN taxa AS own ON own.id = confusable_names.taxon_id JOIN taxa AS near ON near.id = near_taxon_id
    JOIN levels AS near_level ON near_level.taxon_id = near.id AND near_level.company = 'class'
    WHERE own.id <> coalesce(near.genus_id, '') AND near.id <> coalesce(own.genus_id, '')
    ORDER BY confusable_names.id"""


class Reading:
    """One built file, opened for reading through. May be shared between threads."""

    def __init__(self, path: Path) -> None:
        """Open the database file at `path`."""
        self._connection = connect(path)
        self._lock = threading.Lock()
        #: The quality of the records in numbers; a file never changes, so it is counted once.
        self.tally = cache(self._tally)

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def _rows(self, sql: str, *values: Any) -> list[Row]:
        with self._lock:
            return rows(self._connection, sql, *values)

    def _first(self, sql: str, *values: Any) -> Row | None:
        return next(iter(self._rows(sql, *values)), None)

    def build(self) -> dict[str, str]:
        """Return the build table: versions, content hash and counts."""
        with self._lock:
            return build_facts(self._connection)

    def _tally(self) -> Tally:
        return tally(self._rows)

    def changes(self) -> list[Row]:
        """Return what changed in the records, the rules and the program, newest first."""
        return self._rows("SELECT changed_on, kind, what, plants FROM changes ORDER BY id")

    def vocabularies(self) -> dict[str, list[Row]]:
        """Return the terms of each closed vocabulary with their definitions, in order."""
        found = self._rows("SELECT * FROM terms ORDER BY vocabulary, position")
        return {name: list(terms) for name, terms in groupby(found, key=lambda row: str(row["vocabulary"]))}

    def exposures(self) -> list[Row]:
        """Return the level that one claim gives, by route and severity."""
        return self._rows("SELECT route, severity, adults, company FROM exposures ORDER BY rowid")

    def precautions(self) -> list[Row]:
        """Return every precaution with what calls for it."""
        return self._rows("SELECT * FROM precautions ORDER BY id")

    def helplines(self) -> list[tuple[str, list[Row]]]:
        """Return the poison help lines by country name."""
        found = self._rows("SELECT * FROM helplines ORDER BY country, region IS NOT NULL, region, id")
        by_country = groupby(found, key=lambda row: str(row["country"]))
        return [(COUNTRIES.get(code, code), list(lines)) for code, lines in by_country]

    def sources(self) -> list[Row]:
        """Return every source with how many claims of each kind rest on it."""
        return self._rows(f"{_SOURCES} ORDER BY id")

    def source(self, source_id: str) -> Row | None:
        """Return one source as `sources` does, or None."""
        return self._first(f"{_SOURCES} WHERE id = ?", source_id)

    def resting_on(self, source_id: str) -> list[Row]:
        """Return the claims about plants that cite a source."""
        return self._rows(_CLAIMS_OF_SOURCE, source_id)

    def invented(self) -> int:
        """Return how many contributed prints are invented for a demonstration: every page then says so."""
        return int(self._rows("SELECT count(*) AS n FROM outcomes WHERE invented")[0]["n"])

    def dye_classes(self) -> list[Row]:
        """Return the classes of dyes and tannins."""
        return self._rows("SELECT id, name, nature FROM dye_classes ORDER BY name")

    def terms_of(self, vocabulary: str) -> list[Row]:
        """Return the terms of one vocabulary with their definitions."""
        return self._rows("SELECT term, definition FROM terms WHERE vocabulary = ? ORDER BY position", vocabulary)

    def statement_counts(self) -> dict[str, int]:
        """Return how many colour statements there are of each kind, and how many dye claims."""
        sql = """SELECT CASE WHEN process = 'dye bath' THEN 'published dye bath' WHEN basis = 'published' THEN
            'published print' WHEN basis = 'account' THEN 'maker''s account' ELSE basis END AS kind, count(*) AS n
            FROM colours GROUP BY kind UNION ALL SELECT 'dye class', count(*) FROM dyes
            UNION ALL SELECT 'measured', count(*) FROM colours WHERE measured AND process <> 'dye bath'"""
        return {row["kind"]: row["n"] for row in self._rows(sql)}

    def agents(self) -> list[Row]:
        """Return every agent with how many plants carry it."""
        return self._rows(f"{_AGENTS} ORDER BY name")

    def agent(self, agent_id: str) -> Row | None:
        """Return one agent as `agents` does, or None."""
        return self._first(f"{_AGENTS} WHERE id = ?", agent_id)

    def carriers(self, agent_id: str) -> list[Row]:
        """Return the plants whose claims name an agent, with the parts and the sources."""
        return self._rows(_CARRIERS, agent_id)

    def materials(self) -> list[Row]:
        """Return every material with its CAS numbers, strictest signal word and first heat limit, by kind and name."""
        return [_unpacked(row) for row in self._rows(f"{_MATERIALS} ORDER BY position, name")]

    def material(self, material_id: str) -> Row | None:
        """Return one material as `materials` does, with all that its sources say; None when there is no such one."""
        found = self._first(f"{_MATERIALS} WHERE id = ?", material_id)
        if found is None:
            return None

        def of(table: str, kind: str | None = None) -> list[Row]:
            sql = f"SELECT * FROM {table} WHERE material_id = ? ORDER BY id"  # noqa: S608 - one of our tables
            return [_unpacked(row) for row in self._rows(sql, material_id) if kind is None or row["kind"] == kind]

        wording = {row["code"]: row["text"] for row in self._rows("SELECT code, text FROM ghs_statements")}
        said = of("material_ghs")
        return _unpacked(found) | {
            "cas": of("material_cas"),
            "ghs": [each | {"worded": {code: wording[code] for code in each["statements"]}} for each in said],
            "working": of("material_ranges", "working"),
            "heat_limits": of("material_ranges", "heat limit"),
            "precautions": of("material_advice", "precaution"),
            "do_not": of("material_advice", "do not"),
            "disposal": of("material_advice", "disposal"),
        }

    def materials_citing(self, source_id: str) -> list[Row]:
        """Return the materials whose facts cite a source."""
        return self._rows(_CITING_MATERIALS, source_id)

    def misleading(self) -> list[Row]:
        """Return pairs of names that mislead: a milder plant's, near a more dangerous plant's.

        A genus that bears the name of its own species misleads nobody: rule N04 takes the worst of them.
        """
        return self._rows(_MISLEADING)

    def tell_apart(self, taxon_ids: list[str]) -> list[Row]:
        """Return how to tell some plants apart from each other, as far as the records say."""
        return self._rows(
            """SELECT own.scientific_name, other.scientific_name AS other_name, tell_apart, source_id
                FROM look_alikes
                JOIN taxa AS own ON own.id = taxon_id JOIN taxa AS other ON other.id = other_id
                WHERE taxon_id IN (SELECT value FROM json_each(?1))
                    AND other_id IN (SELECT value FROM json_each(?1))
                    -- Said of both plants in the same words, it is shown once.
                    AND NOT EXISTS (SELECT 1 FROM look_alikes AS back
                        WHERE back.taxon_id = look_alikes.other_id AND back.other_id = look_alikes.taxon_id
                            AND back.tell_apart = look_alikes.tell_apart AND back.taxon_id < look_alikes.taxon_id)
                ORDER BY own.scientific_name, other.scientific_name""",
            json.dumps(taxon_ids),
        )

    def shared_names(self, taxon_id: str) -> list[Row]:
        """Return the names near a plant's own that belong to a more dangerous one, its own genus or species aside."""
        return self._rows(
            """SELECT near.id, near.scientific_name, levels.level, group_concat(DISTINCT near_name) AS names
                FROM confusable_names
                JOIN taxa AS own ON own.id = confusable_names.taxon_id
                JOIN taxa AS near ON near.id = near_taxon_id
                JOIN levels ON levels.taxon_id = near.id AND levels.company = 'class'
                WHERE own.id = ? AND own.id <> coalesce(near.genus_id, '') AND near.id <> coalesce(own.genus_id, '')
                GROUP BY near.id ORDER BY near.scientific_name""",
            taxon_id,
        )


def _unpacked(row: Row) -> Row:
    return row | {key: json.loads(row[key]) for key in _LISTS if key in row}

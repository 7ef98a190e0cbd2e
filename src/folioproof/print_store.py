"""The open database as questions about colour and season use it: rows read once and kept."""

from __future__ import annotations

import json
import sqlite3
from dataclasses import dataclass
from functools import cache, lru_cache

from .colorimetry import ColourName, ColourNames, Lab
from .database_printing import (
    read_handling,
    read_knowledge,
    read_lightfastness,
    read_local_notes,
    read_priors,
    read_stages,
)
from .estimates import Knowledge, Priors
from .printing import HandlingNote, Lightfastness, LocalNote, StageStrength
from .store import Shelf
from .vocabulary import Climate, Company, Fibre, Grade, LeafHabit, LeafShape, Level, Part, Stage, Treatment, worst


@dataclass(frozen=True, slots=True)
class Growth:
    """How and where a plant's leaves grow, as its record says."""

    habit: LeafHabit | None = None
    climate: Climate | None = None
    shape: LeafShape | None = None
    grows_in: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class EstimateRow:
    """One estimate of the built file with what lists need to know of its plant."""

    taxon_id: str
    scientific_name: str
    common_name: str | None
    part: Part
    treatment: Treatment
    fibre: Fibre
    lab: Lab | None
    name: str | None
    spread: float | None
    strength: float
    grade: Grade
    rests_on: str


class PrintShelf:
    """Colours, seasons and estimates of one built file. May be shared between threads."""

    def __init__(self, shelf: Shelf) -> None:
        self._shelf = shelf
        self.priors = cache(self._priors)
        self.colour_names = cache(self._colour_names)
        self.colour_words = cache(self._colour_words)
        self.knowledge = lru_cache(maxsize=4096)(self._knowledge)
        self.growth = cache(self._growth)
        self.shares = cache(self._shares)
        self.estimates = lru_cache(maxsize=64)(self._estimates)
        self.levels = lru_cache(maxsize=16)(self._levels)

    def _priors(self) -> Priors:
        return self._shelf.reading(read_priors)

    def _colour_names(self) -> ColourNames:
        rows = self._shelf.rows("SELECT number, name, hex, lab_l, lab_a, lab_b FROM colour_names ORDER BY number")
        return ColourNames([ColourName(r[0], r[1], Lab(r[3], r[4], r[5]), r[2]) for r in rows])

    def _colour_words(self) -> dict[str, str]:
        return {row[0]: row[1] for row in self._shelf.rows("SELECT word, name FROM colour_words")}

    def _knowledge(self, taxon_id: str) -> Knowledge:
        return self._shelf.reading(lambda connection: read_knowledge(connection, taxon_id))

    def _growth(self) -> dict[str, Growth]:
        return {row["taxon_id"]: _growth_of(row) for row in self._shelf.rows("SELECT * FROM printing")}

    def _shares(self) -> dict[str, dict[Stage, float]]:
        """Return each plant's strength by stage; where sources differ about a stage, their mean."""
        sql = "SELECT taxon_id, stage, avg(share) FROM leaf_stages GROUP BY taxon_id, stage"
        found: dict[str, dict[Stage, float]] = {}
        for taxon, stage, share in self._shelf.rows(sql):
            found.setdefault(taxon, {})[Stage(stage)] = share
        return found

    def _estimates(self, treatment: Treatment | None, fibre: Fibre, part: Part) -> tuple[EstimateRow, ...]:
        """Return the estimates for one fibre and part, of all treatments when none is named; species only."""
        wanted = [t.value for t in Treatment] if treatment is None else [treatment.value]
        sql = """SELECT estimates.*, scientific_name, common_name FROM estimates
            JOIN taxa ON taxa.id = taxon_id WHERE fibre = ? AND part = ? AND rank NOT IN ('genus', 'family')
            AND treatment IN (SELECT value FROM json_each(?)) ORDER BY taxon_id, treatment"""
        return tuple(map(_estimate_row, self._shelf.rows(sql, fibre.value, part.value, json.dumps(wanted))))

    def _levels(self, company: frozenset[Company]) -> dict[str, Level]:
        """Return the level of every plant's leaf in this company: the worst of those who are in the room."""
        sql = "SELECT taxon_id, level FROM levels WHERE company IN (SELECT value FROM json_each(?))"
        found: dict[str, Level] = {}
        for taxon, level in self._shelf.rows(sql, json.dumps([each.value for each in company])):
            found[taxon] = worst([found.get(taxon, Level.ORDINARY), Level(level)])
        return found

    def continents(self, country: str) -> frozenset[str]:
        """Return the botanical continents that a country reaches into."""
        return frozenset(row[0] for row in self._shelf.rows("SELECT code FROM continents WHERE country = ?", country))

    def stages(self, taxon_id: str) -> tuple[StageStrength, ...]:
        """Return what the record says of strength by leaf stage."""
        return self._shelf.reading(lambda connection: read_stages(connection, taxon_id))

    def handling(self, taxon_id: str) -> tuple[HandlingNote, ...]:
        """Return what the leaf asks of the hand."""
        return self._shelf.reading(lambda connection: read_handling(connection, taxon_id))

    def lightfastness(self, taxon_id: str) -> tuple[Lightfastness, ...]:
        """Return what tests of lightfastness found."""
        return self._shelf.reading(lambda connection: read_lightfastness(connection, taxon_id))

    def local_notes(self, taxon_id: str) -> tuple[LocalNote, ...]:
        """Return where a rule is known to limit picking or carrying the plant."""
        return self._shelf.reading(lambda connection: read_local_notes(connection, taxon_id))


def _growth_of(row: sqlite3.Row) -> Growth:
    return Growth(
        habit=LeafHabit(row["habit"]) if row["habit"] else None,
        climate=Climate(row["climate"]) if row["climate"] else None,
        shape=LeafShape(row["leaf_shape"]) if row["leaf_shape"] else None,
        grows_in=frozenset(json.loads(row["grows_in"])),
    )


def _estimate_row(row: sqlite3.Row) -> EstimateRow:
    return EstimateRow(
        taxon_id=row["taxon_id"],
        scientific_name=row["scientific_name"],
        common_name=row["common_name"],
        part=Part(row["part"]),
        treatment=Treatment(row["treatment"]),
        fibre=Fibre(row["fibre"]),
        lab=Lab(row["lab_l"], row["lab_a"], row["lab_b"]) if row["lab_l"] is not None else None,
        name=row["name"],
        spread=row["spread"],
        strength=row["strength"],
        grade=Grade(row["grade"]),
        rests_on=row["rests_on"],
    )

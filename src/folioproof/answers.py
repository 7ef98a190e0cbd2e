"""What the reference answers: frozen, typed, and the same for the library, the command line and the pages."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from .assessment import STANDING_CAUTIONS, Assessment, Held, Neighbour, Reason
from .claims import Searched, TaxonName
from .vocabulary import Company, Level, Part, Rank, State, Status, Step, Strength


@dataclass(frozen=True, slots=True)
class Source:
    """A bibliography entry as it is shown."""

    id: str
    citation: str
    url: str | None = None
    read: str | None = None


@dataclass(frozen=True, slots=True)
class NameMatch:
    """Why a candidate matched: which name, how far away in edits, and the same in words."""

    kind: str
    name: str
    distance: float
    explanation: str
    language: str | None = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """One plant that a query may mean, with the level it would have."""

    id: str
    scientific_name: str
    common_name: str | None
    level: Level
    match: NameMatch


@dataclass(frozen=True, slots=True, kw_only=True)
class Lookup:
    """The answer to "which plant is this?". Only an exact status may carry ordinary care."""

    query: str
    status: Status
    level: Level
    candidates: tuple[Candidate, ...]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """The answer to "may I pick it?". `acting_on` is the plant whose level is given: the worst that was meant."""

    query: str
    status: Status
    level: Level
    part: Part
    state: State
    company: tuple[Company, ...]
    candidates: tuple[Candidate, ...]
    acting_on: str | None
    reasons: tuple[Reason, ...]
    precautions: dict[Step, tuple[str, ...]]
    other_parts: tuple[Held, ...] = ()
    contradictions: tuple[str, ...] = ()
    strength: Strength | None = None
    thin_evidence: bool = False
    identify_first: tuple[Neighbour, ...] = ()
    review_flags: tuple[str, ...] = ()
    sources: tuple[Source, ...] = ()
    warnings: tuple[str, ...] = ()
    cautions: tuple[str, ...] = field(default=STANDING_CAUTIONS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plant:
    """Everything the reference holds about one taxon. For a genus or family the level is the worst of its species."""

    id: str
    scientific_name: str
    authorship: str | None
    rank: Rank
    genus_id: str | None
    family_id: str | None
    family: str | None
    common_name: str | None
    names: tuple[TaxonName, ...]
    hazards: tuple[Held, ...]
    all_clears: tuple[Held, ...]
    carries: tuple[Held, ...]
    searches: tuple[Searched, ...]
    neighbours: tuple[Neighbour, ...]
    assessment: Assessment
    members: tuple[Candidate, ...]
    sources: tuple[Source, ...]
    note: str | None = None


def held_json(held: Held) -> dict[str, Any]:
    """Return a claim with its holder as plain JSON values; empty fields are left out."""
    values = {name: getattr(held.claim, name) for name in held.claim.__dataclass_fields__}
    plain = {key: list(v) if isinstance(v, tuple) else v for key, v in values.items() if v not in (None, ())}
    return {"taxon": held.taxon_name, "rank": held.rank, **plain}


def candidate_json(candidate: Candidate) -> dict[str, Any]:
    """Return a candidate as plain JSON values."""
    match = candidate.match
    return {
        "id": candidate.id,
        "scientific_name": candidate.scientific_name,
        "common_name": candidate.common_name,
        "level": candidate.level,
        "match": {
            "kind": match.kind,
            "name": match.name,
            "distance": match.distance,
            "explanation": match.explanation,
            "language": match.language,
        },
    }


def lookup_json(lookup: Lookup) -> dict[str, Any]:
    """Return the answer of `find` as plain JSON values."""
    return {
        "query": lookup.query,
        "status": lookup.status,
        "level": lookup.level,
        "candidates": [candidate_json(each) for each in lookup.candidates],
        "warnings": list(lookup.warnings),
    }


def source_json(source: Source) -> dict[str, Any]:
    """Return a source as plain JSON values."""
    return {"id": source.id, "citation": source.citation, "url": source.url, "read": source.read}


def _reason_json(reason: Reason) -> dict[str, Any]:
    claims = [held_json(held) for held in reason.claims]
    return {"code": reason.code, "level": reason.level, "text": reason.text, "claims": claims}


def _neighbour_json(neighbour: Neighbour) -> dict[str, Any]:
    other = neighbour.look_alike
    return {
        "id": other.taxon,
        "scientific_name": neighbour.name,
        "level": neighbour.level,
        "tell_apart": other.tell_apart,
        "basis": other.basis,
        "source": other.source,
        "locator": other.locator,
    }


def check_json(check: Check) -> dict[str, Any]:
    """Return the answer of `check` as plain JSON values; `level` is always one of the four."""
    return {
        "query": check.query,
        "status": check.status,
        "level": check.level,
        "part": check.part,
        "state": check.state,
        "company": list(check.company),
        "acting_on": check.acting_on,
        "candidates": [candidate_json(each) for each in check.candidates],
        "reasons": [_reason_json(each) for each in check.reasons],
        "precautions": {step: list(lines) for step, lines in check.precautions.items()},
        "other_parts": [held_json(each) for each in check.other_parts],
        "contradictions": list(check.contradictions),
        "strength": check.strength,
        "thin_evidence": check.thin_evidence,
        "identify_first": [_neighbour_json(each) for each in check.identify_first],
        "review_flags": list(check.review_flags),
        "sources": [source_json(each) for each in check.sources],
        "warnings": list(check.warnings),
        "cautions": list(check.cautions),
    }


def plant_json(plant: Plant) -> dict[str, Any]:
    """Return a plant with all its claims as plain JSON values."""
    found = plant.assessment
    return {
        "id": plant.id,
        "scientific_name": plant.scientific_name,
        "authorship": plant.authorship,
        "rank": plant.rank,
        "family": plant.family,
        "common_name": plant.common_name,
        "level": found.level,
        "reasons": [_reason_json(each) for each in found.reasons],
        "precautions": {step: list(lines) for step, lines in found.precautions.items()},
        "contradictions": list(found.contradictions),
        "strength": found.strength,
        "thin_evidence": found.thin_evidence,
        "names": [_name_json(each) for each in plant.names],
        "hazards": [held_json(each) for each in plant.hazards],
        "all_clears": [held_json(each) for each in plant.all_clears],
        "carries": [held_json(each) for each in plant.carries],
        "searches": [{"on": s.on.isoformat(), "sources": list(s.sources)} for s in plant.searches],
        "look_alikes": [_neighbour_json(each) for each in plant.neighbours],
        "members": [candidate_json(each) for each in plant.members],
        "sources": [source_json(each) for each in plant.sources],
        "note": plant.note,
        "cautions": list(STANDING_CAUTIONS),
    }


def _name_json(name: TaxonName) -> dict[str, Any]:
    values = {key: getattr(name, key) for key in name.__dataclass_fields__}
    return {key: list(v) if isinstance(v, tuple) else v for key, v in values.items() if v not in (None, (), False)}

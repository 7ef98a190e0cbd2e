"""The shape of the built SQLite file: its tables and views, in the order they are filled."""

from __future__ import annotations

from dataclasses import dataclass

#: Rises whenever a table changes, so that a cached file of an older shape is built anew.
SCHEMA_VERSION = 6


@dataclass(frozen=True, slots=True)
class TableSpec:
    """One table: columns with SQLite types, key, references, and the columns to index."""

    columns: dict[str, type]
    key: str | tuple[str, ...]
    references: tuple[tuple[str, str, str], ...] = ()
    indexes: tuple[tuple[str, ...], ...] = ()
    optional: frozenset[str] = frozenset()


_CLAIM = {"basis": str, "source_id": str, "locator": str}
_CLAIM_OPTIONAL = frozenset({"source_id", "locator", "as_published", "onset", "note", "agent_id"})
_OF_TAXON = ("taxon_id", "taxa", "id")
_OF_SOURCE = ("source_id", "sources", "id")
_OF_AGENT = ("agent_id", "agents", "id")

TABLES: dict[str, TableSpec] = {
    "build": TableSpec({"key": str, "value": str}, "key"),
    "terms": TableSpec(
        {"vocabulary": str, "term": str, "position": int, "definition": str}, ("vocabulary", "term")
    ),
    "sources": TableSpec(
        {"id": str, "citation": str, "url": str, "read": str, "scope": str},
        "id",
        optional=frozenset({"url", "read", "scope"}),
    ),
    "agents": TableSpec(
        {
            "id": str, "name": str, "nature": str, "hard_stop": int, "weak_kin": int, "poison_vapour": int,
            "stings": int, "heat": str, "heat_basis": str, "heat_source_id": str, "heat_locator": str,
            "heat_note": str, "air": str, "air_basis": str, "air_source_id": str, "air_locator": str, "air_note": str,
        },
        "id",
        (("heat_source_id", "sources", "id"), ("air_source_id", "sources", "id")),
        (("heat",), ("air",)),
        frozenset(f"{k}_{f}" for k in ("heat", "air") for f in ("basis", "source_id", "locator", "note")),
    ),
    "taxa": TableSpec(
        {
            "id": str, "scientific_name": str, "authorship": str, "rank": str, "genus_id": str, "family_id": str,
            "common_name": str, "note": str,
        },
        "id",
        (("genus_id", "taxa", "id"), ("family_id", "taxa", "id")),
        (("rank",), ("genus_id",), ("family_id",), ("scientific_name",)),
        frozenset({"authorship", "genus_id", "family_id", "common_name", "note"}),
    ),
    "taxon_parents": TableSpec(
        {"taxon_id": str, "parent_id": str},
        ("taxon_id", "parent_id"),
        (_OF_TAXON, ("parent_id", "taxa", "id")),
        (("parent_id",),),
    ),
    "names": TableSpec(
        {
            "id": int, "taxon_id": str, "name": str, "kind": str, "language": str, "regions": str, "authorship": str,
            "shared": int, "basis": str, "folded": str, "sound": str,
        },
        "id",
        (_OF_TAXON,),
        (("taxon_id",), ("kind",), ("language",), ("folded",), ("basis",)),
        frozenset({"language", "authorship"}),
    ),
    "name_sources": TableSpec(
        {"name_id": int, "source_id": str},
        ("name_id", "source_id"),
        (("name_id", "names", "id"), _OF_SOURCE),
        (("source_id",),),
    ),
    "hazards": TableSpec(
        {
            "id": int, "taxon_id": str, "route": str, "severity": str, "parts": str, "state": str, "agent_id": str,
            "audience": str, "strength": str, **_CLAIM, "as_published": str, "onset": str, "note": str,
        },
        "id",
        (_OF_TAXON, _OF_SOURCE, _OF_AGENT),
        (("taxon_id",), ("route",), ("severity",), ("strength",), ("basis",), ("source_id",), ("agent_id",)),
        _CLAIM_OPTIONAL,
    ),
    "all_clears": TableSpec(
        {
            "id": int, "taxon_id": str, "audience": str, "parts": str, "apart_from": str, **_CLAIM,
            "as_published": str, "note": str,
        },
        "id",
        (_OF_TAXON, _OF_SOURCE),
        (("taxon_id",), ("audience",), ("source_id",)),
        _CLAIM_OPTIONAL,
    ),
    "searches": TableSpec(
        {"id": int, "taxon_id": str, "searched_on": str, "sources": str, "note": str},
        "id",
        (_OF_TAXON,),
        (("taxon_id",),),
        frozenset({"note"}),
    ),
    "carries": TableSpec(
        {"id": int, "taxon_id": str, "agent_id": str, "parts": str, **_CLAIM},
        "id",
        (_OF_TAXON, _OF_SOURCE, _OF_AGENT),
        (("taxon_id",), ("agent_id",), ("source_id",)),
        _CLAIM_OPTIONAL,
    ),
    "look_alikes": TableSpec(
        {"taxon_id": str, "other_id": str, "tell_apart": str, **_CLAIM},
        ("taxon_id", "other_id"),
        (_OF_TAXON, ("other_id", "taxa", "id"), _OF_SOURCE),
        (("other_id",), ("source_id",)),
        _CLAIM_OPTIONAL,
    ),
    "reach": TableSpec({"kind": str, "asked": str, "counts": str}, ("kind", "asked", "counts")),
    "exposures": TableSpec(
        {"route": str, "severity": str, "adults": str, "company": str}, ("route", "severity")
    ),
    "precautions": TableSpec(
        {"id": int, "kind": str, "subject": str, "step": str, "at_least": str, "text": str},
        "id",
        optional=frozenset({"subject", "at_least"}),
    ),
    "helplines": TableSpec(
        {
            "id": int, "country": str, "region": str, "name": str, "number": str, "hours": str, "source_id": str,
            "locator": str,
        },
        "id",
        (_OF_SOURCE,),
        (("country",), ("source_id",)),
        frozenset({"region", "hours"}),
    ),
    "guards": TableSpec(
        {"id": int, "folded": str, "word": str, "kind": str, "means": str, "why": str},
        "id",
        indexes=(("folded",), ("kind",)),
    ),
    "homonyms": TableSpec(
        {"folded": str, "word": str, "taxon_id": str},
        ("folded", "taxon_id"),
        (_OF_TAXON,),
        (("taxon_id",),),
    ),
    "process_facts": TableSpec(
        {
            "id": str, "topic": str, "item": str, "fact": str, "low": float, "high": float, "unit": str,
            **_CLAIM, "for_printing": str,
        },
        "id",
        (_OF_SOURCE,),
        (("topic",), ("basis",), ("source_id",)),
        frozenset({"low", "high", "unit", "source_id", "locator", "for_printing"}),
    ),
    "levels": TableSpec(
        {
            "taxon_id": str, "company": str, "level": str, "own_level": str, "strength": str, "thin_evidence": int,
            "reason": str, "rule": str,
        },
        ("taxon_id", "company"),
        (_OF_TAXON,),
        (("company",), ("level",), ("strength",), ("rule",)),
        frozenset({"strength"}),
    ),
    "confusable_names": TableSpec(
        {
            "id": int, "name": str, "taxon_id": str, "folded": str, "near_name": str, "near_taxon_id": str,
            "why": str, "edits": float,
        },
        "id",
        (_OF_TAXON, ("near_taxon_id", "taxa", "id")),
        (("folded",), ("taxon_id",), ("near_taxon_id",), ("why",)),
    ),
}  # fmt: skip

VIEWS = {
    "levels_by_family": """
        SELECT family.scientific_name AS family, levels.company, count(*) AS plants,
            sum(levels.level = 'leave out') AS leave_out, sum(levels.level = 'extra care') AS extra_care,
            sum(levels.level = 'not assessed') AS not_assessed, sum(levels.level = 'ordinary care') AS ordinary_care
        FROM levels JOIN taxa ON taxa.id = levels.taxon_id JOIN taxa AS family ON family.id = taxa.family_id
        WHERE taxa.rank NOT IN ('family', 'genus') GROUP BY family.id, levels.company
        ORDER BY family.scientific_name, levels.company""",
    "claims_by_strength": """
        SELECT strength, basis, count(*) AS claims, count(DISTINCT taxon_id) AS plants,
            round(100.0 * count(*) / (SELECT count(*) FROM hazards), 1) AS percent
        FROM hazards GROUP BY strength, basis ORDER BY claims DESC""",
    "plant_levels": """
        SELECT taxa.id, taxa.scientific_name, family.scientific_name AS family, levels.company, levels.level,
            levels.strength, levels.thin_evidence, levels.rule, levels.reason,
            levels.level <> 'ordinary care' AS read_before_use
        FROM levels JOIN taxa ON taxa.id = levels.taxon_id LEFT JOIN taxa AS family ON family.id = taxa.family_id""",
    "claims_with_sources": """
        SELECT taxa.scientific_name, 'hazard' AS claim, hazards.route, hazards.severity, hazards.parts, hazards.state,
            hazards.agent_id, hazards.strength, hazards.basis, hazards.as_published, hazards.note,
            sources.citation, hazards.locator, sources.url, hazards.taxon_id
        FROM hazards JOIN taxa ON taxa.id = hazards.taxon_id LEFT JOIN sources ON sources.id = hazards.source_id
        UNION ALL
        SELECT taxa.scientific_name, 'all-clear for ' || all_clears.audience, NULL, NULL, all_clears.parts, 'any', NULL,
            NULL, all_clears.basis, all_clears.as_published, all_clears.note, sources.citation, all_clears.locator,
            sources.url, all_clears.taxon_id
        FROM all_clears JOIN taxa ON taxa.id = all_clears.taxon_id
            LEFT JOIN sources ON sources.id = all_clears.source_id""",
    "all_names": """
        SELECT names.name, names.kind, names.language, names.regions, taxa.scientific_name AS accepted_name,
            levels.level AS level_if_this_plant,
            taxa.rank IN ('genus', 'family') OR names.folded IN (SELECT folded FROM names AS other
                WHERE other.taxon_id <> names.taxon_id) AS needs_confirmation,
            names.basis, names.taxon_id
        FROM names JOIN taxa ON taxa.id = names.taxon_id
            JOIN levels ON levels.taxon_id = names.taxon_id AND levels.company = 'adults'""",
}

"""The shape of the built SQLite file: its tables and views, in the order they are filled."""

from __future__ import annotations

from .evidence_tables import EVIDENCE_TABLES
from .outcome_tables import OUTCOME_TABLES, OUTCOME_VIEWS
from .printing_tables import PRINTING_TABLES
from .table_spec import CLAIM, CLAIM_OPTIONAL, OF_SOURCE, OF_TAXON, TableSpec
from .tally_views import TALLY_VIEWS

#: Rises whenever a table changes, so that a cached file of an older shape is built anew.
SCHEMA_VERSION = 10

_OF_AGENT = ("agent_id", "agents", "id")
_OF_MATERIAL = ("material_id", "materials", "id")

TABLES: dict[str, TableSpec] = {
    "build": TableSpec({"key": str, "value": str}, "key"),
    "terms": TableSpec(
        {"vocabulary": str, "term": str, "position": int, "definition": str}, ("vocabulary", "term")
    ),
    "sources": TableSpec(
        {"id": str, "citation": str, "url": str, "read": str, "maker": str, "scope": str},
        "id",
        optional=frozenset({"url", "read", "maker", "scope"}),
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
        (OF_TAXON, ("parent_id", "taxa", "id")),
        (("parent_id",),),
    ),
    "names": TableSpec(
        {
            "id": int, "taxon_id": str, "name": str, "kind": str, "language": str, "regions": str, "authorship": str,
            "shared": int, "basis": str, "folded": str, "sound": str,
        },
        "id",
        (OF_TAXON,),
        (("taxon_id",), ("kind",), ("language",), ("folded",), ("basis",)),
        frozenset({"language", "authorship"}),
    ),
    "name_sources": TableSpec(
        {"name_id": int, "source_id": str},
        ("name_id", "source_id"),
        (("name_id", "names", "id"), OF_SOURCE),
        (("source_id",),),
    ),
    "hazards": TableSpec(
        {
            "id": int, "taxon_id": str, "route": str, "severity": str, "parts": str, "state": str, "agent_id": str,
            "audience": str, "strength": str, **CLAIM, "as_published": str, "onset": str, "note": str,
        },
        "id",
        (OF_TAXON, OF_SOURCE, _OF_AGENT),
        (("taxon_id",), ("route",), ("severity",), ("strength",), ("basis",), ("source_id",), ("agent_id",)),
        CLAIM_OPTIONAL,
    ),
    "all_clears": TableSpec(
        {
            "id": int, "taxon_id": str, "audience": str, "parts": str, "apart_from": str, **CLAIM,
            "as_published": str, "note": str,
        },
        "id",
        (OF_TAXON, OF_SOURCE),
        (("taxon_id",), ("audience",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "searches": TableSpec(
        {"id": int, "taxon_id": str, "searched_on": str, "sources": str, "note": str},
        "id",
        (OF_TAXON,),
        (("taxon_id",),),
        frozenset({"note"}),
    ),
    "carries": TableSpec(
        {"id": int, "taxon_id": str, "agent_id": str, "parts": str, **CLAIM},
        "id",
        (OF_TAXON, OF_SOURCE, _OF_AGENT),
        (("taxon_id",), ("agent_id",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "look_alikes": TableSpec(
        {"taxon_id": str, "other_id": str, "tell_apart": str, **CLAIM},
        ("taxon_id", "other_id"),
        (OF_TAXON, ("other_id", "taxa", "id"), OF_SOURCE),
        (("other_id",), ("source_id",)),
        CLAIM_OPTIONAL,
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
        (OF_SOURCE,),
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
        (OF_TAXON,),
        (("taxon_id",),),
    ),
    "class_questions": TableSpec(
        {"id": str, "position": int, "ask": str, "if_yes": str, "who": str, "basis": str},
        "id",
        optional=frozenset({"who"}),
    ),
    "changes": TableSpec(
        {"id": int, "changed_on": str, "kind": str, "what": str, "plants": str},
        "id",
        indexes=(("kind",), ("changed_on",)),
    ),
    "process_facts": TableSpec(
        {
            "id": str, "topic": str, "item": str, "fact": str, "low": float, "high": float, "unit": str,
            **CLAIM, "for_printing": str,
        },
        "id",
        (OF_SOURCE,),
        (("topic",), ("basis",), ("source_id",)),
        frozenset({"low", "high", "unit", "source_id", "locator", "for_printing"}),
    ),
    "ghs_statements": TableSpec(
        {"code": str, "text": str, **CLAIM}, "code", (OF_SOURCE,), (("source_id",),), CLAIM_OPTIONAL
    ),
    "materials": TableSpec(
        {
            "id": str, "name": str, "kind": str, "also_called": str, "formula": str, "sources_agree": int,
            "note": str,
        },
        "id",
        indexes=(("kind",),),
        optional=frozenset({"formula", "sources_agree", "note"}),
    ),
    "material_cas": TableSpec(
        {"id": int, "material_id": str, "number": str, "form": str, **CLAIM},
        "id",
        (_OF_MATERIAL, OF_SOURCE),
        (("material_id",), ("number",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    "material_ghs": TableSpec(
        {
            "id": int, "material_id": str, "scheme": str, "form": str, "signal_word": str, "classes": str,
            "statements": str, "pictograms": str, **CLAIM, "note": str,
        },
        "id",
        (_OF_MATERIAL, OF_SOURCE),
        (("material_id",), ("signal_word",), ("basis",), ("source_id",)),
        CLAIM_OPTIONAL | {"form", "signal_word"},
    ),
    "material_ranges": TableSpec(
        {
            "id": int, "material_id": str, "kind": str, "low": float, "high": float, "unit": str, "purpose": str,
            **CLAIM, "note": str,
        },
        "id",
        (_OF_MATERIAL, OF_SOURCE),
        (("material_id",), ("kind",), ("basis",), ("source_id",)),
        CLAIM_OPTIONAL | {"low", "high"},
    ),
    "material_advice": TableSpec(
        {"id": int, "material_id": str, "kind": str, "text": str, **CLAIM},
        "id",
        (_OF_MATERIAL, OF_SOURCE),
        (("material_id",), ("kind",), ("basis",), ("source_id",)),
        CLAIM_OPTIONAL,
    ),
    **PRINTING_TABLES,
    **OUTCOME_TABLES,
    **EVIDENCE_TABLES,
    "levels": TableSpec(
        {
            "taxon_id": str, "company": str, "level": str, "own_level": str, "strength": str, "thin_evidence": int,
            "reason": str, "rule": str,
        },
        ("taxon_id", "company"),
        (OF_TAXON,),
        (("company",), ("level",), ("strength",), ("rule",)),
        frozenset({"strength"}),
    ),
    "confusable_names": TableSpec(
        {
            "id": int, "name": str, "taxon_id": str, "folded": str, "near_name": str, "near_taxon_id": str,
            "why": str, "edits": float,
        },
        "id",
        (OF_TAXON, ("near_taxon_id", "taxa", "id")),
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
        SELECT taxa.id, taxa.scientific_name, taxa.rank, family.scientific_name AS family, levels.company, levels.level,
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
    **OUTCOME_VIEWS,
    **TALLY_VIEWS,
}

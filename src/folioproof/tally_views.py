"""Views that count the records: each number on the page of numbers leads to rows of one of these, or of a table."""

from __future__ import annotations

#: Table -> what its claims are called. All have a basis; names are counted without the accepted one, which every
#: record has.
CLAIM_TABLES = {
    "hazards": "harm",
    "all_clears": "all-clear",
    "carries": "carries an agent",
    "look_alikes": "look-alike",
    "names": "other name",
    "dyes": "dye class",
    "colours": "colour statement",
    "leaf_stages": "leaf stage",
    "handling": "handling",
    "lightfastness": "lightfastness",
    "local_notes": "local rule",
}
#: Tables beside these whose facts cite sources, not about one plant.
_OTHER_TABLES = (
    "helplines", "process_facts", "ghs_statements", "material_cas", "material_ghs", "material_ranges",
    "material_advice", "class_priors",
)  # fmt: skip


def _counted() -> str:
    return " UNION ALL ".join(
        f"SELECT '{word}' AS claim, '{table}' AS in_table, basis, taxon_id FROM {table}"  # noqa: S608 - our own words
        + (" WHERE kind <> 'accepted'" if table == "names" else "")
        for table, word in CLAIM_TABLES.items()
    )


def _citing() -> str:
    sources = {table: f"SELECT source_id AS id FROM {table}" for table in CLAIM_TABLES if table != "names"}  # noqa: S608
    sources |= {table: f"SELECT source_id AS id FROM {table}" for table in _OTHER_TABLES}  # noqa: S608
    sources["names"] = "SELECT source_id AS id FROM name_sources"
    sources["agents"] = "SELECT heat_source_id AS id FROM agents UNION ALL SELECT air_source_id FROM agents"
    columns = ("hazards", "all_clears", "names", "dyes", "colours")
    counted = " UNION ALL ".join(
        f"SELECT id, '{table if table in columns else 'other'}' AS of FROM ({sql})"  # noqa: S608
        for table, sql in sources.items()
    )
    sums = ", ".join(f"coalesce(sum(of = '{column}'), 0) AS {column}" for column in (*columns, "other"))
    return f"SELECT id, count(*) AS claims, {sums} FROM ({counted}) WHERE id IS NOT NULL GROUP BY id"  # noqa: S608


_SOURCE_KIND = """CASE WHEN scope LIKE '%general list%' THEN 'general list' WHEN scope LIKE '%skin%' THEN 'on the skin'
    WHEN maker IS NOT NULL THEN 'a maker''s account' ELSE 'other publication' END"""

# A print seen is a contact print that a publication or a maker reports, whatever the part, metal and fibre. The casts
# give the counts a type: without one, a filter of Datasette's (`has_printing=1`) would compare a number with text.
_COVERAGE = """
    SELECT taxa.id, taxa.scientific_name, family.scientific_name AS family, adults.level,
        taught.level AS level_in_class, adults.strength, adults.thin_evidence,
        (SELECT max(searched_on) FROM searches WHERE taxon_id = taxa.id) AS searched_on,
        CAST(coalesce(own.claims, 0) AS INTEGER) AS own_claims,
        CAST(coalesce(own.cited, 0) AS INTEGER) AS own_claims_published,
        CAST(coalesce(said.statements, 0) > 0 AS INTEGER) AS has_printing,
        CAST(printing.habit IS NOT NULL AND printing.climate IS NOT NULL AND printing.leaf_shape IS NOT NULL
            AND printing.grows_in <> '[]' AND coalesce(said.alum, 0) AND coalesce(said.iron, 0)
            AND EXISTS (SELECT 1 FROM dyes WHERE taxon_id = taxa.id) AS INTEGER) AS printing_complete,
        CAST(coalesce(said.statements, 0) AS INTEGER) AS statements,
        CAST(coalesce(said.cited, 0) AS INTEGER) AS statements_cited,
        CAST(coalesce(said.seen, 0) AS INTEGER) AS prints_seen,
        CAST(coalesce(said.on_paper, 0) AS INTEGER) AS prints_seen_on_paper,
        CAST(coalesce(said.published, 0) AS INTEGER) AS prints_published,
        CAST(coalesce(said.baths, 0) AS INTEGER) AS dye_baths_cited,
        CAST(EXISTS (SELECT 1 FROM leaf_stages WHERE taxon_id = taxa.id) AS INTEGER) AS has_own_stages
    FROM taxa
    JOIN levels AS adults ON adults.taxon_id = taxa.id AND adults.company = 'adults'
    JOIN levels AS taught ON taught.taxon_id = taxa.id AND taught.company = 'class'
    LEFT JOIN taxa AS family ON family.id = taxa.family_id
    LEFT JOIN printing ON printing.taxon_id = taxa.id
    LEFT JOIN (SELECT taxon_id, count(*) AS claims, sum(basis = 'published') AS cited FROM (
            SELECT taxon_id, basis FROM hazards UNION ALL SELECT taxon_id, basis FROM all_clears
            UNION ALL SELECT taxon_id, basis FROM carries) GROUP BY taxon_id) AS own ON own.taxon_id = taxa.id
    LEFT JOIN (SELECT taxon_id, count(*) AS statements, sum(basis IN ('published', 'account')) AS cited,
            sum(process = 'contact print' AND treatment = 'alum') AS alum,
            sum(process = 'contact print' AND treatment = 'iron') AS iron,
            sum(process = 'contact print' AND basis IN ('published', 'account')) AS seen,
            sum(process = 'contact print' AND basis IN ('published', 'account') AND fibre = 'paper') AS on_paper,
            sum(process = 'contact print' AND basis = 'published') AS published,
            sum(process = 'dye bath' AND basis IN ('published', 'account')) AS baths
        FROM colours GROUP BY taxon_id) AS said ON said.taxon_id = taxa.id
    WHERE taxa.rank NOT IN ('family', 'genus')
    ORDER BY taxa.scientific_name"""

TALLY_VIEWS = {
    "claims_by_basis": f"""
        SELECT claim, in_table, basis, count(*) AS claims, count(DISTINCT taxon_id) AS taxa
        FROM ({_counted()}) GROUP BY claim, in_table, basis ORDER BY claim, basis""",  # noqa: S608
    "claims_by_source": f"""
        SELECT sources.id, {_SOURCE_KIND} AS kind, CAST(coalesce(counted.claims, 0) AS INTEGER) AS claims,
            counted.hazards, counted.all_clears, counted.names, counted.dyes, counted.colours, counted.other,
            sources.citation
        FROM sources LEFT JOIN ({_citing()}) AS counted ON counted.id = sources.id
        ORDER BY claims DESC, sources.id""",  # noqa: S608
    "coverage": _COVERAGE,
}

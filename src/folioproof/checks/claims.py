"""Claims: where they come from, what they rest on, how they are sorted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..corpus import Corpus, Entry
from ..finding import Finding
from ..records import TaxonRecord
from ..vocabulary import Basis, Strength

_LISTS = ("hazards", "all_clears", "carries", "look_alikes")
_CITED = (Basis.PUBLISHED, Basis.ACCOUNT)

Place = tuple[Entry[Any], tuple[str | int, ...], Any]


def _claims(corpus: Corpus) -> Iterator[Place]:
    for entry in corpus.taxa:
        for kind in _LISTS:
            for i, claim in enumerate(getattr(entry.record, kind)):
                yield entry, (kind, i), claim


def _facts(corpus: Corpus) -> Iterator[Place]:
    """Everything that has a basis and may name a source."""
    yield from _claims(corpus)
    for entry in corpus.agents:
        yield entry, ("heat",), entry.record.heat
        yield entry, ("air",), entry.record.air
    for process in corpus.process:
        for i, fact in enumerate(process.record.facts):
            yield process, ("facts", i), fact
    yield from _printing_facts(corpus)
    for material in corpus.materials:
        for key in ("cas", "ghs", "working_range", "heat_limit", "precautions", "do_not", "disposal"):
            for i, said in enumerate(getattr(material.record, key)):
                yield material, (key, i), said
    for table in corpus.ghs:
        for i, statement in enumerate(table.record.statements):
            yield table, ("statements", i), statement


def _printing_facts(corpus: Corpus) -> Iterator[Place]:
    for entry in corpus.taxa:
        if block := entry.record.printing:
            for key in ("dyes", "colours", "stages", "handling", "lightfastness", "local_notes"):
                for i, said in enumerate(getattr(block, key)):
                    yield entry, ("printing", key, i), said
    for dye_class in corpus.dye_classes:
        for i, prior in enumerate(dye_class.record.priors):
            yield dye_class, ("priors", i), prior


def source_exists(corpus: Corpus) -> Iterator[Finding]:
    """K221."""
    known = {entry.record.id for entry in corpus.sources}
    for entry, where, source in _cited(corpus):
        if source not in known:
            remedy = f"Add sources/{source}.yml, or mend the id"
            yield entry.finding(where, "K221", f"there is no source record {source}", remedy)


def _cited(corpus: Corpus) -> Iterator[tuple[Entry[Any], tuple[str | int, ...], str]]:
    for entry, where, fact in _facts(corpus):
        if fact.source is not None:
            yield entry, (*where, "source"), fact.source
    for taxon in corpus.taxa:
        for i, name in enumerate(taxon.record.names):
            yield from ((taxon, ("names", i), source) for source in name.sources)
        for i, search in enumerate(taxon.record.searches):
            yield from ((taxon, ("searches", i), source) for source in search.sources)
    for lines in corpus.helplines:
        for i, line in enumerate(lines.record.lines):
            yield lines, ("lines", i, "source"), line.source
    for colours in corpus.colour_names:
        yield colours, ("source",), colours.record.source
        for i, named in enumerate(colours.record.names):
            if named.source is not None:
                yield colours, ("names", i, "source"), named.source


def published_names_its_place(corpus: Corpus) -> Iterator[Finding]:
    """K222."""
    for entry, where, fact in _facts(corpus):
        if fact.basis in _CITED and not (fact.source and fact.locator):
            remedy = "Add source: and locator:, or give the basis memory or common practice"
            yield entry.finding(where, "K222", f"a {fact.basis} claim names no source and place", remedy)
        if fact.basis not in _CITED and (fact.source or fact.locator):
            problem = f"a claim with basis {fact.basis} cannot cite a source"
            yield entry.finding(where, "K222", problem, "Write basis: published, or take the source out")


def strength_fits_basis(corpus: Corpus) -> Iterator[Finding]:
    """K223."""
    fitting = {Basis.PRACTICE: {Strength.PRACTICE}, Basis.MEMORY: {Strength.MEMORY}}
    for entry in corpus.taxa:
        for i, claim in enumerate(entry.record.hazards):
            allowed = fitting.get(claim.basis, {Strength.DESCRIBED, Strength.LISTED})
            if claim.strength not in allowed or claim.basis is Basis.CONTRIBUTED:
                problem = f"strength {claim.strength} does not go with basis {claim.basis}"
                remedy = f"Write strength: {' or '.join(sorted(allowed))}"
                yield entry.finding(("hazards", i, "strength"), "K223", problem, remedy)


def agent_exists(corpus: Corpus) -> Iterator[Finding]:
    """K224."""
    known = {entry.record.id for entry in corpus.agents}
    for entry, where, claim in _claims(corpus):
        agent = getattr(claim, "agent", None)
        if agent is not None and agent not in known:
            yield entry.finding((*where, "agent"), "K224", f"there is no agent record {agent}", "Write a known id")


def claim_order(kind: str, claim: Any) -> tuple[str, ...]:
    """Return the key by which a record's claims of one kind are sorted."""
    parts = "".join(f"{part}\0" for part in getattr(claim, "parts", ()))
    if kind == "hazards":
        return claim.source or "", claim.route, parts
    if kind == "all_clears":
        return claim.source or "", claim.audience, parts
    if kind == "carries":
        return claim.agent, claim.source or "", parts
    return (claim.taxon,)


def claims_are_sorted(corpus: Corpus) -> Iterator[Finding]:
    """K225."""
    for entry in corpus.taxa:
        for kind in _LISTS:
            claims = getattr(entry.record, kind)
            for i in range(1, len(claims)):
                if claim_order(kind, claims[i]) < claim_order(kind, claims[i - 1]):
                    problem = f"entry {i + 1} belongs before entry {i}"
                    remedy = "Sort hazards by source, route, parts; all-clears by source; carries by agent"
                    yield entry.finding((kind, i), "K225", problem, remedy)
        yield from _inner_lists(entry)


def _inner_lists(entry: Entry[TaxonRecord]) -> Iterator[Finding]:
    record = entry.record
    lists: list[tuple[tuple[str | int, ...], tuple[str, ...]]] = [(("parents",), record.parents)]
    for kind in _LISTS[:3]:
        lists += [((kind, i, "parts"), claim.parts) for i, claim in enumerate(getattr(record, kind))]
    for i, name in enumerate(record.names):
        lists += [(("names", i), name.regions), (("names", i), name.sources)]
    lists += [(("searches", i, "sources"), search.sources) for i, search in enumerate(record.searches)]
    for where, values in lists:
        if list(values) != sorted(set(values)):
            remedy = f"Write [{', '.join(sorted(set(values)))}]"
            yield entry.finding(where, "K225", "a list is not sorted, or repeats an entry", remedy)


def claim_is_made_once(corpus: Corpus) -> Iterator[Finding]:
    """K226."""
    for entry in corpus.taxa:
        for kind in _LISTS:
            seen = set()
            for i, claim in enumerate(getattr(entry.record, kind)):
                if claim in seen:
                    yield entry.finding((kind, i), "K226", "the same claim stands twice", "Keep one")
                seen.add(claim)


def parts_are_named(corpus: Corpus) -> Iterator[Finding]:
    """K227."""
    for entry, where, claim in _claims(corpus):
        if getattr(claim, "parts", ("leaf",)) == ():
            yield entry.finding(
                (*where, "parts"), "K227", "no part is named", "Write [unstated] when the source names none"
            )


def search_reads_the_lists(corpus: Corpus) -> Iterator[Finding]:
    """K228."""
    scopes = {entry.record.id: entry.record.scope for entry in corpus.sources}
    general = sorted(source for source, scope in scopes.items() if "general list" in scope)
    for entry in corpus.taxa:
        for i, search in enumerate(entry.record.searches):
            missing = [source for source in general if source not in search.sources]
            skin = any("skin" in scopes.get(source, ()) for source in search.sources)
            if missing or not skin:
                problem = "a search reads the general lists and one source on skin"
                remedy = f"Read and add {', '.join(missing) or 'a source whose scope is skin'}"
                yield entry.finding(("searches", i), "K228", problem, remedy)


def look_alike_exists(corpus: Corpus) -> Iterator[Finding]:
    """K229."""
    known = {entry.record.id for entry in corpus.taxa}
    for entry in corpus.taxa:
        for i, other in enumerate(entry.record.look_alikes):
            if other.taxon not in known or other.taxon == entry.record.id:
                problem = f"there is no other record {other.taxon}"
                yield entry.finding(("look_alikes", i, "taxon"), "K229", problem, "Write the id of the other plant")


def heat_fact_has_basis(corpus: Corpus) -> Iterator[Finding]:
    """K230."""
    for entry in corpus.agents:
        for key in ("heat", "air"):
            fact = getattr(entry.record, key)
            if (fact.value != "unknown") != (fact.basis is not None):
                problem = f"{fact.value} with basis {fact.basis}"
                remedy = "Give a basis to what is known, and none to unknown"
                yield entry.finding((key,), "K230", problem, remedy)


RULES = {
    "K221": ("a source that is named has a record", source_exists),
    "K222": ("a published claim names source and locator, any other claim none", published_names_its_place),
    "K223": ("the strength fits the basis", strength_fits_basis),
    "K224": ("an agent that is named has a record", agent_exists),
    "K225": ("claims and lists are sorted", claims_are_sorted),
    "K226": ("no claim is made twice", claim_is_made_once),
    "K227": ("a claim names its parts, or unstated", parts_are_named),
    "K228": ("a search has read the general lists and one source on skin", search_reads_the_lists),
    "K229": ("a look-alike has a record of its own", look_alike_exists),
    "K230": ("a heat fact has a basis unless it is unknown", heat_fact_has_basis),
}

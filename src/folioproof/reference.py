"""The public library: open the reference, ask it, get typed answers.

    from folioproof import Reference
    with Reference.open() as reference:
        print(reference.check("oleander").level)

One `Reference` may be shared between threads.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from . import store
from .answers import Candidate, Check, Lookup, NameMatch, Plant
from .assessment import Assessment, Facts, Reason
from .claims import TaxonName
from .finding import RefusedInputError
from .matches import Hit, Match
from .matching import NameIndex
from .safety import assess
from .terms import company_of, term
from .text import MAX_QUERY, visible
from .vocabulary import Company, Level, Part, Rank, State, Status, worst

if TYPE_CHECKING:
    from .prints import Prints

#: Candidates are shown in this order: a known danger before a plant that nobody has assessed.
_DANGEROUS_FIRST = (Level.LEAVE_OUT, Level.EXTRA, Level.NOT_ASSESSED, Level.ORDINARY)

NAME_RULES = {
    "N01": "A name that is not exact carries the worst level of every plant it may mean, and never ordinary care.",
    "N02": "A name that is not in the records: leave the plant out until somebody has named it.",
    "N03": "A word that speaks of poison, or belongs to a dangerous plant, is never answered with ordinary care.",
    "N04": "A genus or family carries the worst level of its species, and never ordinary care.",
}


class Reference:
    """The records, opened for questions. Use `Reference.open()`."""

    def __init__(self, path: Path) -> None:
        """Open the database file at `path`; raises RefusedInputError when it cannot be read."""
        self.path = path
        self._lock = threading.Lock()
        self._shelf = store.Shelf(path)
        self._index: NameIndex | None = None
        self._facts: dict[str, Facts] = {}
        self._prints: Prints | None = None
        # A name like "oak" weighs thirty plants; a list of names asks about the same ones again and again.
        self._assess = lru_cache(maxsize=8192)(self._assess_anew)

    @classmethod
    def open(cls, path: str | Path | None = None) -> Self:
        """Open `path`, or the records that came with folioproof (built into the user's cache on first use)."""
        if path is None:
            from .cache import ready_database

            path = ready_database()
        return cls(Path(path))

    def close(self) -> None:
        """Close the database; the reference cannot be asked any more."""
        self._shelf.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    # -- questions ---------------------------------------------------------------------------------------------------

    def find(self, text: str) -> Lookup:
        """Return which plants `text` may mean. Any text gets an answer; nonsense gets `unknown`."""
        match, warnings = self._match(text)
        candidates = self._candidates(match, Part.LEAF, State.ANY, frozenset({Company.ADULTS}))
        level, _ = self._level_to_act_on(match, Part.LEAF, State.ANY, frozenset({Company.ADULTS}))
        return Lookup(query=text, status=match.status, level=level, candidates=candidates, warnings=warnings)

    def check(
        self,
        text: str,
        part: Part | str = Part.LEAF,
        state: State | str = State.ANY,
        company: Company | str | Iterable[Company | str] = Company.ADULTS,
    ) -> Check:
        """Return whether what `text` names may be used: level, reasons, precautions, sources.

        Raises RefusedInputError for a part, state or company that is not in the vocabulary.
        """
        part, state = term(Part, part), term(State, state)
        group = company_of(company)
        match, warnings = self._match(text)
        level, acting_on = self._level_to_act_on(match, part, state, group)
        common: dict[str, object] = {
            "query": text,
            "status": match.status,
            "level": level,
            "part": part,
            "state": state,
            "company": tuple(each for each in Company if each in group),
            "candidates": self._candidates(match, part, state, group),
            "acting_on": acting_on,
            "warnings": warnings,
        }
        return self._explained(match, common, part, state, group)

    def plant(
        self,
        taxon_id: str,
        part: Part | str = Part.LEAF,
        state: State | str = State.ANY,
        company: Company | str | Iterable[Company | str] = Company.ADULTS,
    ) -> Plant:
        """Return everything about one record; raises RefusedInputError when there is no such id."""
        part, state, group = term(Part, part), term(State, state), company_of(company)
        row = self._shelf.taxon(taxon_id)
        if row is None:
            raise RefusedInputError(f"there is no plant with the id {visible(taxon_id)[:80]!r}; ask `find` for it")
        facts = self._facts_of(taxon_id)
        found = self._assess(taxon_id, part, state, group)
        found = replace(found, precautions=dict(found.precautions))
        members = self._members(taxon_id, Rank(row["rank"]), part, state, group)
        if Rank(row["rank"]) in (Rank.GENUS, Rank.FAMILY):
            found = _raised_to_members(found, members)
        names = self._shelf.names_of(taxon_id)
        return Plant(
            id=taxon_id,
            scientific_name=row["scientific_name"],
            authorship=row["authorship"],
            rank=Rank(row["rank"]),
            genus_id=row["genus_id"],
            family_id=row["family_id"],
            family=row["family"],
            common_name=row["common_name"],
            names=names,
            hazards=facts.hazards,
            all_clears=facts.all_clears,
            carries=facts.carries,
            searches=facts.searches,
            neighbours=facts.neighbours,
            assessment=found,
            members=members,
            sources=self._shelf.sources(_cited(facts, names)),
            note=row["note"],
        )

    def starting_with(self, text: str, limit: int = 10) -> tuple[str, ...]:
        """Return up to `limit` names that begin with `text`, for type-ahead; names only, never a level."""
        return tuple(name.name for name in self._names().starting_with(text[:MAX_QUERY], limit))

    @property
    def prints(self) -> Prints:
        """Questions about colour and season."""
        with self._lock:
            if self._prints is None:
                from .prints import Prints

                self._prints = Prints(self, self._shelf)
            return self._prints

    def candidates(
        self, text: str, company: frozenset[Company], part: Part = Part.LEAF
    ) -> tuple[Status, Level, tuple[Candidate, ...], tuple[str, ...]]:
        """Return what a name may mean, for one part: status, level to act on, candidates, warnings."""
        match, warnings = self._match(text)
        level, _ = self._level_to_act_on(match, part, State.ANY, company)
        return match.status, level, self._candidates(match, part, State.ANY, company), warnings

    def assess(self, taxon_id: str, company: frozenset[Company]) -> Assessment:
        """Return the assessment of one plant's leaf."""
        return self._assess(taxon_id, Part.LEAF, State.ANY, company)

    # -- how answers are put together --------------------------------------------------------------------------------

    def _names(self) -> NameIndex:
        with self._lock:
            if self._index is None:
                self._index = self._shelf.name_index()
            return self._index

    def _match(self, text: str) -> tuple[Match, tuple[str, ...]]:
        if len(text) > MAX_QUERY:
            warning = f"a name has at most {MAX_QUERY} characters; this text has {len(text)} and was not looked up"
            return Match(Status.UNKNOWN, (), frozenset()), (warning,)
        match = self._names().match(text)
        said = (f"'{guard.word}' is a warning: {guard.means}" for guard in match.guards)
        return match, tuple(dict.fromkeys(said))

    def _facts_of(self, taxon_id: str) -> Facts:
        if taxon_id not in self._facts:
            self._facts[taxon_id] = self._shelf.facts(taxon_id)
        return self._facts[taxon_id]

    def _assess_anew(self, taxon_id: str, part: Part, state: State, company: frozenset[Company]) -> Assessment:
        return assess(self._facts_of(taxon_id), self._shelf.tables(), part=part, state=state, company=company)

    def _level_to_act_on(
        self, match: Match, part: Part, state: State, company: frozenset[Company]
    ) -> tuple[Level, str | None]:
        meant = self._with_members(match.radius)
        found = {each: self._assess(each, part, state, company) for each in sorted(meant)}
        level = worst([each.level for each in found.values()])
        # Explain by a known danger before a plant that nobody has assessed, whichever level is acted on.
        # Among equals, one that bears the name itself: hemlock is water hemlock before fool's parsley.
        distant = {hit.taxon_id: (hit.kind == "name ending", hit.distance) for hit in match.hits}
        order = {
            each: (
                _DANGEROUS_FIRST.index(a.level),
                each not in distant,
                a.thin_evidence,
                distant.get(each, (False, 0.0)),
                -self._gravity(each),
            )
            for each, a in found.items()
        }
        acting_on = min(order, key=lambda each: order[each], default=None)
        if match.status is Status.EXACT:
            return level, acting_on
        if level is Level.ORDINARY:
            level = Level.NOT_ASSESSED
        if match.guards and match.status in (Status.UNKNOWN, Status.CONFIRM):
            level = Level.LEAVE_OUT
        return level, acting_on

    def _place(self, candidate: Candidate) -> tuple[float | str, ...]:
        """Return the sort key of a candidate: level, then how directly it bears the name, then how deadly it is."""
        ending = candidate.match.kind == "name ending"
        level = _DANGEROUS_FIRST.index(candidate.level)
        return level, ending, candidate.match.distance, -self._gravity(candidate.id), candidate.id

    def _gravity(self, taxon_id: str) -> int:
        """Return the rank of the worst severity that any source reports of the plant: deadly ones are shown first."""
        severities = [h.claim.severity.rank for h in self._facts_of(taxon_id).hazards if hasattr(h.claim, "severity")]
        return max(severities, default=0)

    def _candidates(self, match: Match, part: Part, state: State, company: frozenset[Company]) -> tuple[Candidate, ...]:
        found = [self._candidate(hit, part, state, company) for hit in match.hits]
        if match.status in (Status.AMBIGUOUS, Status.GENUS):
            found.sort(key=self._place)
        return tuple(found)

    def _candidate(self, hit: Hit, part: Part, state: State, company: frozenset[Company]) -> Candidate:
        row = self._shelf.taxon(hit.taxon_id)
        assert row is not None
        meant = self._names().genus_members(hit.taxon_id) if row["rank"] == Rank.GENUS else {hit.taxon_id}
        meant = self._with_members(meant)
        level = worst([self._assess(each, part, state, company).level for each in meant])
        if row["rank"] in (Rank.GENUS, Rank.FAMILY) and level is Level.ORDINARY:
            level = Level.NOT_ASSESSED
        why = NameMatch(hit.kind, hit.name, hit.distance, hit.explanation, hit.language)
        return Candidate(hit.taxon_id, row["scientific_name"], row["common_name"], level, why)

    def _with_members(self, taxon_ids: Iterable[str]) -> set[str]:
        """Add to a family all its plants, as the index adds them to a genus: the worst of them counts."""
        meant = set(taxon_ids)
        for each in taxon_ids:
            row = self._shelf.taxon(each)
            if row and row["rank"] == Rank.FAMILY:
                for genus in self._shelf.member_ids(each, Rank.FAMILY):
                    meant |= self._names().genus_members(genus)
        return meant

    def _members(
        self, taxon_id: str, rank: Rank, part: Part, state: State, company: frozenset[Company]
    ) -> tuple[Candidate, ...]:
        found = []
        for member_id in self._shelf.member_ids(taxon_id, rank):
            hit = Hit(member_id, "member", "", 0, f"belongs to this {rank}")
            found.append(self._candidate(hit, part, state, company))
        return tuple(sorted(found, key=lambda c: (_DANGEROUS_FIRST.index(c.level), c.scientific_name)))

    def _explained(
        self, match: Match, common: dict[str, object], part: Part, state: State, company: frozenset[Company]
    ) -> Check:
        level, acting_on = common["level"], common["acting_on"]
        assert isinstance(level, Level)
        reasons = list(_name_reasons(match, level))
        if acting_on is None:
            nothing: Facts = Facts(taxon_id="")
            tables = self._shelf.tables()
            base = assess(nothing, tables, part=part, state=state, company=company)
            return Check(**common, reasons=tuple(reasons), precautions=base.precautions)  # type: ignore[arg-type]
        assert isinstance(acting_on, str)
        found = self._assess(acting_on, part, state, company)
        held = [*(h for r in found.reasons for h in r.claims), *found.other_parts]
        cited = {h.claim.source for h in held if h.claim.source}
        cited |= {s for e in self._facts_of(acting_on).searches for s in e.sources}
        cited |= {c.claim.source for c in self._facts_of(acting_on).all_clears if c.claim.source}
        return Check(
            **common,  # type: ignore[arg-type]
            reasons=(*reasons, *found.reasons),
            precautions=dict(found.precautions),  # a copy: the assessment itself is kept for other answers
            other_parts=found.other_parts,
            contradictions=found.contradictions,
            strength=found.strength,
            thin_evidence=found.thin_evidence,
            identify_first=found.identify_first,
            review_flags=found.review_flags,
            sources=self._shelf.sources(cited),
        )


def _cited(facts: Facts, names: tuple[TaxonName, ...]) -> set[str]:
    """Return the ids of every source that a plant's page rests on."""
    held = (*facts.hazards, *facts.all_clears, *facts.carries)
    cited = {h.claim.source for h in held} | {n.look_alike.source for n in facts.neighbours}
    cited |= {source for name in names for source in name.sources}
    cited |= {source for search in facts.searches for source in search.sources}
    return {source for source in cited if source}


def _name_reasons(match: Match, level: Level) -> Iterable[Reason]:
    if match.guards and match.status in (Status.UNKNOWN, Status.CONFIRM):
        yield Reason("N03", Level.LEAVE_OUT, "a word in the name speaks of poison, or belongs to a dangerous plant")
    if match.status is Status.UNKNOWN:
        yield Reason("N02", Level.NOT_ASSESSED, "no record has this name: leave it out until you can name the plant")
    elif match.status is Status.GENUS:
        yield Reason("N04", level, "only the genus is known, so the worst of its species counts")
    elif match.status is not Status.EXACT:
        count = len(match.radius)
        text = f"the name is not exact: the worst of the {count} plants it may mean counts, and never ordinary care"
        yield Reason("N01", level, text)


def _raised_to_members(found: Assessment, members: tuple[Candidate, ...]) -> Assessment:
    """A genus or family page shows the worst of its species, and never ordinary care: it names no one plant."""
    top = max(members, key=lambda each: each.level.rank, default=None)
    if top and top.level.rank > found.level.rank:
        reason = Reason("N04", top.level, f"the worst of its species counts: {top.scientific_name}")
    elif found.level is Level.ORDINARY:
        reason = Reason("N04", Level.NOT_ASSESSED, "only a plant named to the species may carry ordinary care")
    else:
        return found
    return replace(found, level=reason.level, reasons=(reason, *found.reasons))

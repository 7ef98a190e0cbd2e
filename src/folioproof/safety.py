"""How a level is reached: twelve rules, each a small function with a code.

Pure: facts in, an assessment out; no files, no database. Severity and level follow the tables in
data/vocabularies/, which `Tables` carries. `assessment.RULES` gives each code its sentence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .assessment import Assessment, Facts, Held, Neighbour, Reason, Tables
from .claims import Agent, AllClear, Carries, HazardClaim
from .vocabulary import (
    AirEffect,
    Audience,
    Basis,
    Company,
    Level,
    Part,
    Rank,
    Route,
    Severity,
    State,
    Step,
    Strength,
    worst,
)


@dataclass(frozen=True, slots=True)
class _Case:
    facts: Facts
    tables: Tables
    part: Part
    company: frozenset[Company]
    hazards: tuple[Held, ...]
    elsewhere: tuple[Held, ...]
    clears: tuple[Held, ...]
    agents: tuple[tuple[Held, Agent], ...]

    @property
    def in_company(self) -> bool:
        return bool(self.company - {Company.ADULTS})

    @property
    def taught(self) -> bool:
        return bool(self.company & {Company.CLASS, Company.CHILDREN})

    def agent_of(self, held: Held) -> Agent | None:
        return self.tables.agents.get(getattr(held.claim, "agent", None) or "")


def assess(facts: Facts, tables: Tables, *, part: Part, state: State, company: frozenset[Company]) -> Assessment:
    """Return the level for one part and state in the given company, with reasons and precautions."""
    case = _open_case(facts, tables, part, state, company)
    reasons = [
        *_s04_hard_stops(case),
        *_s05_poisons(case),
        *_s06_vapours(case),
        *_s07_irritants(case),
        *_eye(case),
    ]
    reasons += [*_s08_company(case, reasons), *_s09_evidence(case, reasons)]
    reasons.sort(key=lambda reason: (-reason.level.rank, reason.code, reason.text))
    level = worst([reason.level for reason in reasons])
    deciding = [held for reason in reasons if reason.level is level for held in reason.claims]
    return Assessment(
        level=level,
        reasons=tuple(reasons),
        precautions=_s03_precautions(case),
        other_parts=case.elsewhere,
        contradictions=_s10_contradictions(case),
        strength=_strongest(deciding),
        thin_evidence=any(r.code == "S09" and r.level is Level.EXTRA for r in reasons),
        identify_first=_s12_look_alikes(facts),
        review_flags=_s11_reactions(facts),
    )


def _open_case(facts: Facts, tables: Tables, part: Part, state: State, company: frozenset[Company]) -> _Case:
    counting = tuple(h for h in facts.hazards if _counts(h, tables, part, state))
    elsewhere = tuple(h for h in facts.hazards if h not in counting)
    clears = tuple(c for c in facts.all_clears if _s01_covers(c, facts) and _s02_clears_part(c, part))
    carried = [h for h in (*counting, *facts.carries) if _s02_part(h, tables, part)]
    agents = tuple((h, a) for h in carried if (a := tables.agents.get(getattr(h.claim, "agent", None) or "")))
    return _Case(facts, tables, part, company, counting, elsewhere, clears, agents)


def _counts(held: Held, tables: Tables, part: Part, state: State) -> bool:
    claim = held.claim
    return isinstance(claim, HazardClaim) and claim.state in tables.states[state] and _s02_part(held, tables, part)


def _s01_covers(held: Held, facts: Facts) -> bool:
    """An all-clear covers the taxon it names; a genus one also its species, while the genus is clean."""
    return held.taxon_id == facts.taxon_id or (held.rank is Rank.GENUS and not facts.genus_has_hazard)


def _s01_cap(case: _Case, held: Held, level: Level) -> Level:
    """A family claim alone goes no higher than extra care unless its agent is a hard stop."""
    agent = case.agent_of(held)
    if held.rank is Rank.FAMILY and level.rank > Level.EXTRA.rank and not (agent and agent.hard_stop):
        return Level.EXTRA
    return level


def _s02_part(held: Held, tables: Tables, part: Part) -> bool:
    """All and unstated count for every part; otherwise a claim names a part that the asked one reaches."""
    named = set(held.claim.parts)
    if part is Part.ALL or named & {Part.ALL, Part.UNSTATED}:
        return True
    return bool(named & tables.parts[part])


def _s02_clears_part(held: Held, part: Part) -> bool:
    """An all-clear reaches no further than it says: one for sap or fruit does not clear the leaf."""
    return bool({part, Part.ALL, Part.UNSTATED} & set(held.claim.parts))


def _s07_severity(claim: HazardClaim) -> Severity:
    """A listed skin irritant without a grade is minor: such lists do not separate thorn from irritant."""
    if (
        claim.route is Route.SKIN_IRRITANT
        and claim.strength is not Strength.DESCRIBED
        and claim.severity is Severity.UNGRADED
    ):
        return Severity.MINOR
    return claim.severity


def _table_level(case: _Case, held: Held, in_company: bool) -> Level:
    claim = held.claim
    assert isinstance(claim, HazardClaim)
    adults, company = case.tables.levels[claim.route, _s07_severity(claim)]
    agent = case.agent_of(held)
    of_skin = claim.route in (Route.SKIN_ALLERGEN, Route.SKIN_IRRITANT)
    if agent and agent.weak_kin and of_skin and not in_company and adults is Level.LEAVE_OUT:
        adults = Level.EXTRA
    return _s01_cap(case, held, company if in_company else adults)


def _by_level(case: _Case, routes: frozenset[Route]) -> Iterable[tuple[Route, Level, tuple[Held, ...]]]:
    groups: dict[tuple[Route, Level], list[Held]] = {}
    for held in case.hazards:
        claim = held.claim
        if isinstance(claim, HazardClaim) and claim.route in routes:
            groups.setdefault((claim.route, _table_level(case, held, False)), []).append(held)
    for (route, level), members in groups.items():
        yield route, level, tuple(members)


def _s04_hard_stops(case: _Case) -> list[Reason]:
    reasons = []
    for held, agent in case.agents:
        if agent.hard_stop or agent.stings:
            level = _s01_cap(case, held, Level.LEAVE_OUT)
            reasons.append(Reason("S04", level, f"{held.taxon_name} carries {agent.name}", (held,)))
        elif agent.weak_kin:
            text = f"{held.taxon_name} carries {agent.name}"
            reasons.append(Reason("S04", Level.EXTRA, text, (held,)))
    skin = frozenset({Route.SKIN_ALLERGEN, Route.SKIN_SUNLIGHT, Route.THROUGH_SKIN, Route.HAIRS_THORNS})
    words = {
        Route.SKIN_ALLERGEN: "may set off an allergy of the skin",
        Route.SKIN_SUNLIGHT: "burns the skin in sunlight",
        Route.THROUGH_SKIN: "is taken up through the skin",
        Route.HAIRS_THORNS: "hairs or thorns hurt",
    }
    reasons += [
        Reason("S04", level, f"{words[route]} ({_gravest(members)})", members)
        for route, level, members in _by_level(case, skin)
    ]
    return _merged(reasons)


def _s05_poisons(case: _Case) -> list[Reason]:
    reasons = []
    for _, level, members in _by_level(case, frozenset({Route.SWALLOWED})):
        text = f"harmful if swallowed ({_gravest(members)})"
        reasons.append(Reason("S05", level, text, members))
    deadly = [h for h in case.hazards if _is(h, Route.SWALLOWED, Severity.SEVERE) and _is_about_people(h)]
    reaching = [h for h in case.hazards if _reaches(case, h)]
    if deadly and reaching:
        own = all(any(h.rank is not Rank.FAMILY for h in half) for half in (deadly, reaching))
        level = Level.LEAVE_OUT if own else Level.EXTRA
        text = "a severe poison that also reaches the skin, the eyes or the air"
        reasons.append(Reason("S05", level, text, (*deadly, *reaching)))
    return reasons


def _is(held: Held, route: Route, at_least: Severity) -> bool:
    claim = held.claim
    return isinstance(claim, HazardClaim) and claim.route is route and _s07_severity(claim).rank >= at_least.rank


def _reaches(case: _Case, held: Held) -> bool:
    """Through the skin or breathed at all, eyes from moderate, skin when severe. Poison vapours have S06."""
    agent = case.agent_of(held)
    breathed = _is(held, Route.BREATHED, Severity.MINOR) and not (agent and agent.poison_vapour)
    return (
        breathed
        or _is(held, Route.THROUGH_SKIN, Severity.MINOR)
        or _is(held, Route.EYE, Severity.UNGRADED)
        or _is(held, Route.SKIN_IRRITANT, Severity.SEVERE)
    )


def _s06_vapours(case: _Case) -> list[Reason]:
    carriers = tuple(h for h, agent in case.agents if agent.poison_vapour)
    reasons = []
    if carriers:
        level = Level.LEAVE_OUT if case.taught else Level.EXTRA
        level = max((_s01_cap(case, h, level) for h in carriers), key=lambda each: each.rank)
        text = "steam carries a poison out of the leaf: heat it outdoors or under extraction only"
        reasons.append(Reason("S06", level, text, carriers))
    for _, level, members in _by_level(case, frozenset({Route.BREATHED})):
        text = f"harmful when breathed ({_gravest(members)})"
        if case.taught and level.rank >= Level.EXTRA.rank:
            level = max((_s01_cap(case, h, Level.LEAVE_OUT) for h in members), key=lambda each: each.rank)
        reasons.append(Reason("S06", level, text, members))
    return reasons


def _s07_irritants(case: _Case) -> list[Reason]:
    return [
        Reason("S07", level, f"may irritate the skin ({_gravest(members)})", members)
        for _, level, members in _by_level(case, frozenset({Route.SKIN_IRRITANT}))
    ]


def _eye(case: _Case) -> list[Reason]:
    return [
        Reason("S05", level, f"hurts the eyes ({_gravest(members)})", members)
        for _, level, members in _by_level(case, frozenset({Route.EYE}))
    ]


def _s08_company(case: _Case, reasons: list[Reason]) -> list[Reason]:
    if not case.in_company:
        return []
    who = ", ".join(sorted(case.company - {Company.ADULTS}))
    known = worst([r.level for r in reasons]) if reasons else Level.ORDINARY
    raised: dict[Level, list[Held]] = {}
    for held in case.hazards:
        level = _table_level(case, held, True)
        if level.rank > _table_level(case, held, False).rank and level.rank > known.rank:
            raised.setdefault(level, []).append(held)
    kin = [h for h, agent in case.agents if agent.weak_kin or agent.hard_stop]
    if kin and known.rank < Level.LEAVE_OUT.rank:
        level = max((_s01_cap(case, h, Level.LEAVE_OUT) for h in kin), key=lambda each: each.rank)
        raised.setdefault(level, []).extend(kin)
    return [
        Reason("S08", level, f"in this company ({who}) the claims weigh more", tuple(held))
        for level, held in raised.items()
    ]


def _s09_evidence(case: _Case, reasons: list[Reason]) -> list[Reason]:
    """Decide what the level is when no hazard raises it: is there ground enough for ordinary care?

    `reasons` are those before company is weighed, and thin evidence counts in company whatever else is known:
    otherwise one more claim, or one more person in the room, could make the answer milder.
    """
    raised = any(reason.level.rank >= Level.EXTRA.rank for reason in reasons)
    full_clears = tuple(c for c in case.clears if _counts_in_full(c))
    if full_clears:
        text = "people were asked about and nothing worse is listed"
        return [] if raised else [Reason("S09", Level.ORDINARY, text, full_clears)]
    thin = _thin_ground(case)
    if thin is None:
        text = "nobody has assessed it: leave it out until someone has"
        return [] if raised else [Reason("S09", Level.NOT_ASSESSED, text)]
    text, claims = thin
    found = [] if raised else [Reason("S09", Level.EXTRA, f"thin evidence: {text}", claims)]
    if case.in_company:
        text = "no source about people clears it, and thin evidence is not enough in this company"
        found.append(Reason("S08", Level.LEAVE_OUT, text, claims))
    return found


def _counts_in_full(held: Held) -> bool:
    claim = held.claim
    return isinstance(claim, AllClear) and claim.audience is Audience.PEOPLE and claim.basis is Basis.PUBLISHED


def _thin_ground(case: _Case) -> tuple[str, tuple[Held, ...]] | None:
    weak = tuple(c for c in case.clears if c.claim.basis not in (Basis.MEMORY, Basis.CONTRIBUTED))
    if weak:
        return "only a veterinary source or common practice clears it", weak
    if case.facts.searches:
        count = len(case.facts.searches[-1].sources)
        return f"{count} lists were searched on {case.facts.searches[-1].on} and none names it", ()
    own = tuple(h for h in case.hazards if h.rank is not Rank.FAMILY)
    if own:
        return "only lesser effects are reported, and no source about people clears it", own
    named_parts = tuple(h for h in case.elsewhere if h.claim.basis is Basis.PUBLISHED and h.rank is not Rank.FAMILY)
    if named_parts:
        return "the sources name other parts as the harmful ones", named_parts
    return None


def _s03_precautions(case: _Case) -> dict[Step, tuple[str, ...]]:
    """Return what to do at each step, gravest routes first, without repeats."""
    gravest: dict[Route, Severity] = {}
    for held in case.hazards:
        claim = held.claim
        assert isinstance(claim, HazardClaim)
        severity = _s07_severity(claim)
        if claim.route not in gravest or severity.rank > gravest[claim.route].rank:
            gravest[claim.route] = severity
    lines: list[tuple[Step, str]] = []
    for route in sorted(gravest, key=lambda r: -gravest[r].rank):
        lines += [
            (step, text)
            for its_route, step, at_least, text in case.tables.by_route
            if its_route is route and gravest[route].rank >= at_least.rank
        ]
    vapours = {_vapour(agent) for _, agent in case.agents}
    lines += [(step, text) for air, step, text in case.tables.by_vapour if air in vapours]
    lines += [(step, text) for who, step, text in case.tables.by_company if who in case.company]
    lines += case.tables.always
    return {step: tuple(dict.fromkeys(text for at, text in lines if at is step)) for step in Step}


def _vapour(agent: Agent) -> str:
    if agent.poison_vapour:
        return "poison"
    return agent.air.value.value if agent.air.value is not AirEffect.STAYS else "stays"


def _s10_contradictions(case: _Case) -> tuple[str, ...]:
    """Return one line for each source that clears the plant while another reports harm."""
    harmful = [h for h in case.hazards if not _is_minor(h)]
    if not harmful:
        return ()
    against = sorted({str(h.claim.source or h.claim.basis) for h in harmful})
    return tuple(
        f"{c.claim.source or c.claim.basis} clears {c.taxon_name}"
        f" ({'people' if _is_about_people(c) else 'animals'});"
        f" {', '.join(against)} {'report' if len(against) > 1 else 'reports'} harm. The hazard wins."
        for c in case.facts.all_clears
    )


def _is_about_people(held: Held) -> bool:
    """A veterinary grade alone does not make a severe poison of people; the table still counts it in full."""
    return not isinstance(held.claim, Carries) and held.claim.audience is Audience.PEOPLE


def _is_minor(held: Held) -> bool:
    return isinstance(held.claim, HazardClaim) and _s07_severity(held.claim) is Severity.MINOR


def _s11_reactions(facts: Facts) -> tuple[str, ...]:
    return tuple(f"A reaction was reported ({each}); a curator is to look at it" for each in facts.reactions)


def _s12_look_alikes(facts: Facts) -> tuple[Neighbour, ...]:
    return tuple(n for n in facts.neighbours if Level.LEAVE_OUT in (n.level, n.taught))


def _gravest(members: tuple[Held, ...]) -> str:
    severities = [_s07_severity(h.claim) for h in members if isinstance(h.claim, HazardClaim)]
    return max(severities, key=lambda severity: (severity.rank, severity.value)).value


def _merged(reasons: list[Reason]) -> list[Reason]:
    """Join reasons that say the same at the same level."""
    found: dict[tuple[str, Level, str], list[Held]] = {}
    for reason in reasons:
        found.setdefault((reason.code, reason.level, reason.text), []).extend(reason.claims)
    return [Reason(*key, tuple(claims)) for key, claims in found.items()]


def _strongest(held: list[Held]) -> Strength | None:
    order = list(Strength)
    found = [h.claim.strength if isinstance(h.claim, HazardClaim) else _strength_of(h.claim.basis) for h in held]
    return min(found, key=order.index, default=None)


def _strength_of(basis: Basis) -> Strength:
    if basis in (Basis.PUBLISHED, Basis.ACCOUNT):
        return Strength.LISTED
    return Strength.MEMORY if basis is Basis.MEMORY else Strength.PRACTICE

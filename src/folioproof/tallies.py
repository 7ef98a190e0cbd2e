"""The quality of the records in numbers: each with what it means and the rows it counts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from .estimates import LayerKind

Row = dict[str, Any]
Ask = Callable[..., list[Row]]

_TOP_SOURCES = 20
_TOP_FAMILIES = 20


@dataclass(frozen=True, slots=True)
class Number:
    """One count: of how many, what it means for a reader, and the table and filter that show its rows."""

    label: str
    count: int
    of: int | None
    means: str
    table: str
    where: dict[str, str] = field(default_factory=dict)

    @property
    def percent(self) -> str | None:
        """The share in words that never round a few up to all or down to none; None where it is a share of nothing."""
        if not self.of:
            return None
        share = 100 * self.count / self.of
        if 0 < share < 1:
            return "under 1 %"
        return "over 99 %" if 99 < share < 100 else f"{share:.0f} %"


@dataclass(frozen=True, slots=True)
class Days:
    """The first and last day of something that is dated."""

    label: str
    count: int
    first: str | None
    last: str | None
    means: str
    table: str


@dataclass(frozen=True, slots=True)
class Tally:
    """Everything that the page of numbers shows; rows are as the views of the same names give them."""

    claims: list[Row]
    strengths: list[Row]
    layers: list[Number]
    coverage: list[Number]
    missing: list[Number]
    days: list[Days]
    source_kinds: list[Row]
    top_sources: list[Row]
    levels: list[Row]
    families: list[Row]
    family_count: int


def tally(ask: Ask) -> Tally:
    """Count the records; `ask` runs one SELECT and returns its rows."""
    plants = _counts_of_plants(ask)
    return Tally(
        claims=ask("SELECT * FROM claims_by_basis"),
        strengths=ask("SELECT * FROM claims_by_strength"),
        layers=_layers(ask),
        coverage=_coverage(plants),
        missing=[*_missing_of_plants(plants), *_missing_elsewhere(ask)],
        days=_days(ask),
        source_kinds=ask(
            """SELECT kind, count(*) AS sources, sum(claims) AS claims, sum(claims = 0) AS unused
                FROM claims_by_source GROUP BY kind ORDER BY claims DESC"""
        ),
        top_sources=ask("SELECT * FROM claims_by_source LIMIT ?", _TOP_SOURCES),
        levels=ask(
            """SELECT company, sum(level = 'ordinary care') AS ordinary_care, sum(level = 'extra care') AS extra_care,
                sum(level = 'not assessed') AS not_assessed, sum(level = 'leave out') AS leave_out
                FROM levels JOIN taxa ON taxa.id = taxon_id WHERE rank NOT IN ('family', 'genus')
                GROUP BY company ORDER BY instr('adults class children animals', company)"""
        ),
        families=ask(
            "SELECT * FROM levels_by_family WHERE company = 'adults' ORDER BY plants DESC, family LIMIT ?",
            _TOP_FAMILIES,
        ),
        family_count=_one(ask, "SELECT count(*) AS n FROM levels_by_family WHERE company = 'adults'"),
    )


def _one(ask: Ask, sql: str) -> int:
    return int(ask(sql)[0]["n"])


#: Key -> the filter on the view `coverage` that shows these plants.
_PLANTS: dict[str, dict[str, str]] = {
    "all": {},
    "assessed": {"level__not": "not assessed"},
    "unassessed": {"level__exact": "not assessed"},
    "thin": {"thin_evidence__exact": "1"},
    "no claim": {"own_claims__exact": "0"},
    "memory": {"own_claims__gt": "0", "own_claims_published__exact": "0"},
    "out": {"level__exact": "leave out"},
    "out described": {"level__exact": "leave out", "strength__exact": "described"},
    "searched": {"searched_on__notnull": "1"},
    "printing": {"has_printing__exact": "1"},
    "no printing": {"has_printing__exact": "0"},
    "complete": {"printing_complete__exact": "1"},
    "cited": {"statements_cited__gt": "0"},
    "uncited": {"has_printing__exact": "1", "statements_cited__exact": "0"},
    "seen": {"prints_seen__gt": "0"},
    "paper": {"prints_seen_on_paper__gt": "0"},
    "in print": {"prints_published__gt": "0"},
    "stages": {"has_own_stages__exact": "1"},
}
_SQL = {"exact": "= ?", "not": "<> ?", "gt": "> ?", "notnull": "IS NOT NULL AND ? = '1'"}


def _counts_of_plants(ask: Ask) -> dict[str, int]:
    """Count the plants that each filter shows, by the filter itself, so that a number and its rows cannot part."""
    found = {}
    for key, where in _PLANTS.items():
        parted = [name.rpartition("__") for name in where]
        tests = " AND ".join(["1", *(f"{column} {_SQL[operation]}" for column, _, operation in parted)])
        sql = f"SELECT count(*) AS n FROM coverage WHERE {tests}"  # noqa: S608 - words of ours
        found[key] = int(ask(sql, *where.values())[0]["n"])
    return found


def _of_plants(plants: dict[str, int], key: str, of: str, label: str, means: str) -> Number:
    return Number(label, plants[key], plants[of], means, "coverage", _PLANTS[key])


_COVERED: tuple[tuple[str, str, str, str], ...] = (
    (
        "assessed",
        "all",
        "plants with a level",
        "Somebody’s word stands behind the level: a list, a case, a search.",
    ),
    (
        "out described",
        "out",
        "plants to leave out whose harm is described",
        "Cases or a mechanism, not only a row in a list.",
    ),
    (
        "searched",
        "all",
        "plants searched for in the lists and found in none",
        "Worth extra care at best, never ordinary care.",
    ),
    (
        "printing",
        "all",
        "plants whose print is spoken of",
        "By anyone: a publication, a maker, common practice or memory.",
    ),
    (
        "complete",
        "printing",
        "complete printing records",
        "Habit, climate, leaf shape, where it grows, a dye class, alum and iron.",
    ),
    (
        "cited",
        "printing",
        "plants with a published or a maker’s colour",
        "A print or a dye bath that somebody reports.",
    ),
    ("seen", "printing", "plants whose contact print somebody reports", "Seen as a print, not only as a dye bath."),
    (
        "paper",
        "printing",
        "plants whose contact print on paper somebody reports",
        "Most reports are of cloth, and paper differs.",
    ),
    (
        "in print",
        "printing",
        "plants whose contact print a publication reports",
        "All other reported prints are one maker’s word each.",
    ),
    (
        "stages",
        "printing",
        "plants whose own record says how leaf age changes the print",
        "The others take common practice for their habit.",
    ),
)


def _coverage(plants: dict[str, int]) -> list[Number]:
    return [_of_plants(plants, *each) for each in _COVERED]


_MISSING: tuple[tuple[str, str, str, str], ...] = (
    ("unassessed", "all", "plants that nobody has assessed", "Shown as: leave it out until someone has."),
    ("thin", "all", "plants with thin evidence", "Little stands behind the level; a class leaves them out."),
    (
        "no claim",
        "all",
        "plants without a claim of their own",
        "Their level comes from the genus, the family or a search.",
    ),
    (
        "memory",
        "all",
        "plants whose own claims are all from memory",
        "No page was found yet; memory never gives ordinary care.",
    ),
    (
        "no printing",
        "all",
        "plants of whose print nothing is known",
        "They are here for their hazards and names only.",
    ),
    (
        "uncited",
        "printing",
        "plants whose colours come from common practice and memory only",
        "Expect surprises, and tell us what you got.",
    ),
)


def _missing_of_plants(plants: dict[str, int]) -> list[Number]:
    return [_of_plants(plants, *each) for each in _MISSING]


_MISSING_ELSEWHERE: tuple[tuple[str, str | None, str, str, str, dict[str, str]], ...] = (
    (
        "names",
        "kind <> 'accepted'",
        "basis = 'memory'",
        "other names from memory",
        "A name leads to a plant; it never lowers a level.",
        {"basis__exact": "memory", "kind__not": "accepted"},
    ),
    (
        "look_alikes",
        "1",
        "basis = 'memory'",
        "look-alikes told apart from memory",
        "Check the marks in a flora before you trust them.",
        {"basis__exact": "memory"},
    ),
    (
        "agents",
        "1",
        "heat = 'unknown'",
        "harmful agents of which nobody says what heat does",
        "Counted as if heat left them whole.",
        {"heat__exact": "unknown"},
    ),
    (
        "agents",
        "1",
        "air = 'unknown'",
        "harmful agents of which nobody says whether steam carries them",
        "Counted with caution: heat them under extraction.",
        {"air__exact": "unknown"},
    ),
    (
        "claims_by_source",
        "1",
        "claims = 0",
        "sources on which no claim rests",
        "Read through for a search, or not used yet.",
        {"claims__exact": "0"},
    ),
    (
        "outcomes",
        None,
        "invented = 0",
        "prints contributed so far",
        "People make a print and send its record; the first ones will move the estimates most.",
        {"invented__exact": "0"},
    ),
)


def _missing_elsewhere(ask: Ask) -> list[Number]:
    found = []
    for table, among, test, label, means, where in _MISSING_ELSEWHERE:
        sql = f"SELECT count(*) AS n FROM {table} WHERE {{}}"  # noqa: S608 - words of ours
        of = _one(ask, sql.format(among)) if among else None
        found.append(Number(label, _one(ask, sql.format(f"({among or 1}) AND {test}")), of, means, table, where))
    return found


_LAYERS = {
    LayerKind.CONTRIBUTED: "People made the print and sent their record of it.",
    LayerKind.PUBLISHED_PRINT: "A publication shows or describes the print.",
    LayerKind.ACCOUNT: "One maker reports the print.",
    LayerKind.DYE_BATH: "A bath of the plant was published; how it prints is inferred.",
    LayerKind.PRACTICE: "What printmakers commonly say, without a source.",
    LayerKind.MEMORY: "A curator’s memory, unconfirmed.",
    LayerKind.DYE_CLASS: "Only what its class of dye or tannin usually gives.",
}


def _layers(ask: Ask) -> list[Number]:
    """Count the estimates by the strongest layer they rest on."""
    sql = "SELECT best_layer, count(*) AS n FROM estimates GROUP BY best_layer"
    counts = {row["best_layer"]: row["n"] for row in ask(sql)}
    total = sum(counts.values())
    numbers = [
        Number(kind.value, counts.get(kind.value, 0), total, means, "estimates", {"best_layer__exact": kind.value})
        for kind, means in _LAYERS.items()
    ]
    means = "No colour is given: nothing says what it would be."
    return [*numbers, Number("nothing", counts.get(None, 0), total, means, "estimates", {"best_layer__isnull": "1"})]


_DATED: tuple[tuple[str, str, str, str, str], ...] = (
    (
        "searches",
        "searched_on",
        "1",
        "searches of the lists",
        "A list may have changed since: a search says what it said that day.",
    ),
    (
        "changes",
        "changed_on",
        "1",
        "changes of the records, rules and program",
        "What is newer than the last one is not told yet.",
    ),
    ("outcomes", "date", "invented = 0", "prints contributed", "The day on which the print was made."),
)


def _days(ask: Ask) -> list[Days]:
    found = []
    for table, column, test, label, means in _DATED:
        sql = f"SELECT count(*) AS n, min({column}) AS first, max({column}) AS last FROM {table} WHERE {test}"  # noqa: S608
        row = ask(sql)[0]
        found.append(Days(label, row["n"], row["first"], row["last"], means, table))
    return found

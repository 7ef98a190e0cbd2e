"""What contributed prints add up to for one plant, part, treatment and fibre. Pure: counts in, evidence out.

Everything rests on one formula, the design effect of Kish: n things that share something count as
n / (1 + (n - 1) rho) independent ones (`intervals.effective`). Prints share their maker, makers share a region (its
water, weather and habits), regions share a country. So going up, the prints of a person are worth less than their
number, and so are those of a region and of a country. Going down, what the world says of a country, or the country of
a region, is worth less than its number in the same way (`intervals.passed_down`).

Partial pooling: the five grades have a Dirichlet distribution at every level, and the posterior of each level,
passed down, is the prior of the next: record -> world -> country -> region -> month. A level learns from the prints
that lie outside the next one down, so no print is counted twice. A rate is a beta distribution, the sum of
some of the grades, and its interval lies between two quantiles of it.

Contributed prints say what a plant prints. Nothing here is about harm: a reported reaction is never counted, and no
rule of safety reads this.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from math import fsum
from typing import NamedTuple

from .estimates import Contributed
from .evidence_colour import BlockRow, ColourEvidence, colour_evidence
from .intervals import SAME_COUNTRY, SAME_PERSON, SAME_REGION, beta_interval, effective, passed_down
from .vocabulary import Grade

#: How alike two prints of one month at one place are, beyond what all prints of that place share (our own choice: a
#: leaf changes more over the year than from one region to the next).
SAME_MONTH = 0.10

#: How many prints the record's own expectation is worth (our own choice, calibrated as `SAME_PERSON` is).
RECORD_IS_WORTH = 3.0

#: Shares of people from which on they are said to agree, or most of them.
_AGREE, _MOSTLY = 0.8, 0.65
_SHARE = 0.9

Grades = tuple[float, float, float, float, float]


class CountRow(NamedTuple):
    """How many prints of each grade, none to full, one person made in one region and month."""

    country: str
    region: str
    month: int
    contributor: str
    counts: tuple[int, int, int, int, int]


@dataclass(frozen=True, slots=True)
class Rate:
    """A share of prints, with the interval that holds it nine times in ten."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Evidence:
    """What contributed prints say of one place, and of one month if asked.

    `country` and `region` name the place that the numbers speak of, which is a wider one when nobody printed where it
    was asked; both None is the world. `effective` is what the prints of that place are worth, repeats of one person
    weighed less. `expected` is the share that the record expects to print clearly.
    """

    country: str | None
    region: str | None
    month: int | None
    prints: int
    people: int
    effective: float
    grades: Grades
    clear: Rate
    at_all: Rate
    agreement: str
    expected: float
    colour: ColourEvidence | None

    @property
    def strength(self) -> float:
        """Expected grade, 0 for none to 4 for full."""
        return fsum(grade * share for grade, share in enumerate(self.grades))

    @property
    def disagrees(self) -> bool:
        """Whether what the record expects lies outside the interval of what was printed."""
        return not self.clear.low <= self.expected <= self.clear.high

    @property
    def words(self) -> tuple[str, ...]:
        """What is to be said beside the numbers, in whole sentences."""
        said = [self.agreement]
        if self.disagrees:
            low, high = round(100 * self.clear.low), round(100 * self.clear.high)
            expected = round(100 * self.expected)
            said.append(
                f"This differs from the record: it expects {expected} of 100 prints to be clear,"
                f" contributed prints say {low} to {high}."
            )
        return (*said, *(self.colour.words if self.colour else ()))


#: Country and region of a level, how alike its prints are, and which of its prints belong to the next level down.
_Level = tuple[str | None, str | None, float, Callable[[CountRow], bool] | None]


# -- asked -----------------------------------------------------------------------------------------------------------


def evidence(
    rows: Iterable[CountRow],
    prior: Sequence[float],
    blocks: Iterable[BlockRow] = (),
    country: str | None = None,
    region: str | None = None,
    month: int | None = None,
) -> Evidence | None:
    """Return what the prints in `rows` say of a place; None without a print anywhere.

    `prior` is the chance of each grade that the record expects (`expectation.strength` without contributed prints).
    Where nobody printed, or not in that month, the answer is that of the next wider place or of all months.
    """
    rows = list(rows)
    if not rows:
        return None
    country, region = nearest_place(rows, country, region)
    own = [row for row in rows if _lies_in(row, country, region)]
    alpha = _posterior(rows, prior, country, region, month)
    if month is not None:
        of_month = [row for row in own if row.month == month]
        own, month = (of_month, month) if of_month else (own, None)
    total = fsum(alpha)
    return Evidence(
        country=country,
        region=region,
        month=month,
        prints=sum(sum(row.counts) for row in own),
        people=len({row.contributor for row in own}),
        effective=fsum(weighed(own, country, region)),
        grades=_grades(each / total for each in alpha),
        clear=_rate(alpha, Grade.CLEAR),
        at_all=_rate(alpha, Grade.PARTIAL),
        agreement=agreement(own),
        expected=fsum(prior[Grade.CLEAR.number :]) / fsum(prior),
        colour=colour_evidence(blocks, country, region),
    )


def contributed(rows: Iterable[CountRow], blocks: Iterable[BlockRow] = ()) -> Contributed | None:
    """Return the layer that contributed prints of the whole world add to an estimate; None without a print."""
    rows = list(rows)
    if not rows:
        return None
    colour = colour_evidence(blocks)
    return Contributed(
        lab=colour.lab if colour else None,
        spread=colour.spread if colour else None,
        counts=weighed(rows),
        prints=sum(sum(row.counts) for row in rows),
        people=len({row.contributor for row in rows}),
        colour_people=colour.people if colour else 0,
    )


def nearest_place(
    rows: Iterable[CountRow | BlockRow], country: str | None, region: str | None
) -> tuple[str | None, str | None]:
    """Return the place, or the next wider one in which there is a row. A region may be named without its country."""
    if region is not None:
        country = region.partition("-")[0]
    regions = {(row.country, row.region) for row in rows}
    if (country, region) in regions:
        return country, region
    return (country if any(its == country for its, _ in regions) else None), None


def _lies_in(row: CountRow, country: str | None, region: str | None) -> bool:
    return country in (None, row.country) and region in (None, row.region)


# -- pooling ---------------------------------------------------------------------------------------------------------


def weighed(rows: Iterable[CountRow], country: str | None = None, region: str | None = None) -> Grades:
    """Return what prints are worth as evidence about a place that holds them all, grade by grade.

    A person's prints there count as the formula says, then a region's (in a country or the world), then a country's
    (in the world). All sums are exact to the last bit, so that the order of the rows makes no difference.
    """
    grouped: dict[tuple[str, str, str], list[tuple[int, ...]]] = defaultdict(list)
    printed: dict[str, int] = defaultdict(int)
    for row in rows:
        grouped[row.country, row.region, row.contributor].append(row.counts)
        printed[row.contributor] += sum(row.counts)
    people = {who: effective(number, SAME_PERSON) / number for who, number in printed.items() if number}
    regions: dict[tuple[str, str], list[Grades]] = defaultdict(list)
    for (its_country, its_region, who), counts in grouped.items():
        if weight := people.get(who):
            regions[its_country, its_region].append(_grades(sum(each) * weight for each in zip(*counts, strict=True)))
    if region is not None:
        return _sum(each for group in regions.values() for each in group)
    countries: dict[str, list[Grades]] = defaultdict(list)
    for (its_country, _), group in regions.items():
        countries[its_country].append(_shrunk(_sum(group), SAME_REGION))
    if country is not None:
        return _sum(each for group in countries.values() for each in group)
    return _sum(_shrunk(_sum(group), SAME_COUNTRY) for group in countries.values())


def _shrunk(counts: Grades, alike: float) -> Grades:
    total = fsum(counts)
    # A person who printed in many regions may be worth less than one print in each: that is no group to be shrunk.
    share = effective(total, alike) / total if total > 1 else 1.0
    return _grades(each * share for each in counts)


def _posterior(
    rows: list[CountRow], prior: Sequence[float], country: str | None, region: str | None, month: int | None
) -> Grades:
    """Return the parameters of the Dirichlet distribution of the grades at a place."""
    expected = fsum(prior)
    alpha = _grades(RECORD_IS_WORTH * chance / expected for chance in prior)
    for at_country, at_region, alike, inner in _levels(country, region, month):
        here = [row for row in rows if inner is None or not inner(row)]
        rows = [row for row in rows if inner is not None and inner(row)]
        alpha = _sum([passed_down(alpha, alike), weighed(here, at_country, at_region)])
    return alpha


def _levels(country: str | None, region: str | None, month: int | None) -> list[_Level]:
    """Return the levels from the world down, each with what it leaves to the next."""
    levels: list[_Level] = [(None, None, 0.0, None)]

    def add(at_region: str | None, alike: float, holds: Callable[[CountRow], bool]) -> None:
        levels[-1] = (*levels[-1][:3], holds)
        levels.append((country, at_region, alike, None))

    if country is not None:
        add(None, SAME_COUNTRY, lambda row: row.country == country)
    if region is not None:
        add(region, SAME_REGION, lambda row: row.region == region)
    if month is not None:
        add(region, SAME_MONTH, lambda row: row.month == month)
    return levels


def _grades(values: Iterable[float]) -> Grades:
    none, trace, partial, clear, full = values
    return none, trace, partial, clear, full


def _sum(groups: Iterable[Sequence[float]]) -> Grades:
    columns = list(zip(*groups, strict=True))
    return _grades(map(fsum, columns)) if columns else (0.0, 0.0, 0.0, 0.0, 0.0)


def _rate(alpha: Sequence[float], at_least: Grade) -> Rate:
    yes, no = fsum(alpha[at_least.number :]), fsum(alpha[: at_least.number])
    return Rate(yes / (yes + no), *beta_interval(yes, no, _SHARE))


# -- words -----------------------------------------------------------------------------------------------------------


def agreement(rows: Iterable[CountRow]) -> str:
    """Say in words whether people who printed agree that it prints clearly; each person's repeats weigh less."""
    clear: dict[str, int] = defaultdict(int)
    printed: dict[str, int] = defaultdict(int)
    for row in rows:
        printed[row.contributor] += sum(row.counts)
        clear[row.contributor] += sum(row.counts[Grade.CLEAR.number :])
    weights = {who: effective(number, SAME_PERSON) for who, number in printed.items() if number}
    if len(weights) < 2:
        return "One person's word so far."
    yes = fsum(weight * clear[who] / printed[who] for who, weight in weights.items()) / fsum(weights.values())
    what = "it prints clearly" if yes >= 0.5 else "it does not print clearly"
    if max(yes, 1 - yes) >= _AGREE:
        return f"People agree: {what}."
    if max(yes, 1 - yes) >= _MOSTLY:
        return f"Most find that {what}."
    return "People differ on whether it prints clearly."

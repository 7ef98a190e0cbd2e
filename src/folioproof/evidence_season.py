"""Local outcomes move the season strip: how strongly prints came out, month by month. Pure.

The calendar's share of the best stage counts as a few prints (`STRIP_IS_WORTH`), the prints of a month as what they
are worth with repeats of one person weighed less; their weighted mean is the new share. Only the shape of the year is
learned: prints are first divided by the strength that all of them together imply for the best stage, so that a plant
that prints weakly all year round keeps its strip, and so does one that was only printed in a single month (unless it
came out stronger than the strip allows for).

Months are never pooled beyond a country: July is summer on one half of the earth and winter on the other.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import fsum

from .evidence import CountRow, nearest_place, weighed
from .intervals import SAME_REGION, effective
from .phenology import MonthStrength

#: How many prints a month of the calendar's strip is worth (our own choice).
STRIP_IS_WORTH = 5.0
_FULL = 4


@dataclass(frozen=True, slots=True)
class MonthEvidence:
    """The prints of one month at a place: how many, by how many people, what they are worth, their mean grade.

    `strength` is the mean grade as a share of a full print, 0 to 1. `prints` and `people` are those of the place
    itself; a month that was only printed elsewhere in the country has none of its own but still says something.
    """

    month: int
    prints: int
    people: int
    effective: float
    strength: float


def monthly(rows: Iterable[CountRow], country: str, region: str | None = None) -> tuple[MonthEvidence, ...]:
    """Return the months in which prints were made at a place, or elsewhere in its country (which counts for less)."""
    rows = list(rows)
    found, place = nearest_place(rows, country, region)
    if found is None:
        return ()
    months: dict[int, list[CountRow]] = defaultdict(list)
    for row in rows:
        if row.country == found and any(row.counts):
            months[row.month].append(row)
    return tuple(_month(month, months[month], found, place) for month in sorted(months))


def _month(month: int, rows: list[CountRow], country: str, region: str | None) -> MonthEvidence:
    own = [row for row in rows if region in (None, row.region)]
    rest = [row for row in rows if region not in (None, row.region)]
    near, far = weighed(own, country, region), weighed(rest, country)
    beyond = fsum(far)
    share = effective(beyond, SAME_REGION) / beyond if beyond > 1 else 1.0
    counts = [x + y * share for x, y in zip(near, far, strict=True)]
    total = fsum(counts)
    return MonthEvidence(
        month=month,
        prints=sum(sum(row.counts) for row in own),
        people=len({row.contributor for row in own}),
        effective=total,
        strength=fsum(grade * count for grade, count in enumerate(counts)) / total / _FULL,
    )


def moved_strip(strip: Sequence[MonthStrength], months: Iterable[MonthEvidence]) -> tuple[MonthStrength, ...]:
    """Return the strip with each month's share of the best stage moved by what was printed in it.

    With share s of the strip (worth k prints) and n prints of strength g: (k s + n g / G) / (k + n), where G, the
    strength of the best stage, is what all prints together imply: the sum of n g over the sum of n s.
    """
    printed = {each.month: each for each in months}
    best = _best(strip, printed)
    if best <= 0:
        return tuple(strip)
    moved = []
    for cell in strip:
        got = printed.get(cell.month)
        number, share = (got.effective, min(1.0, got.strength / best)) if got else (0.0, 0.0)
        pooled = (STRIP_IS_WORTH * cell.strength + number * share) / (STRIP_IS_WORTH + number)
        moved.append(cell._replace(strength=pooled))
    return tuple(moved)


def _best(strip: Sequence[MonthStrength], printed: dict[int, MonthEvidence]) -> float:
    """Return the strength of a print at the best stage, as all months together imply it."""
    met = [(cell.strength, printed[cell.month]) for cell in strip if cell.month in printed]
    expected = fsum(got.effective * share for share, got in met)
    came_out = fsum(got.effective * got.strength for _, got in met)
    return min(1.0, came_out / expected) if expected > 0 else max((got.strength for _, got in met), default=0.0)

"""The colour of contributed prints: a centre that one wild record cannot move, a spread, and groups that differ.

Prints come as sums over the blocks of the ISCC-NBS names: number and sums of L, a and b, which can be added up in any
order. A block's mean is one point, its weight what its prints are worth; a person's repeats weigh less.

Centre: the weighted geometric median of the points in CIELAB, by the iteration of Weiszfeld (a standard textbook
method). Spread: the root of the mean squared CIEDE2000 distance from it, each distance held to `FARTHEST`, so that a
wild record widens it by a bounded amount; what a block hides inside itself is added, and `USUAL_SPREAD` is pooled in
for a few prints. Where two groups lie far apart, both are said, the centre is that of the larger, and the spread is
never less than half their distance, as everywhere else in the estimates.

Near before far: the prints of a place count in full, those of the rest of the country and of the world count as the
design effect says (`intervals.effective`), which holds them to a few prints' worth however many they are.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

from .colorimetry import Lab, difference
from .intervals import SAME_COUNTRY, SAME_PERSON, SAME_REGION, effective

#: Spread of prints (CIEDE2000) taken for granted, and how many prints that is worth: our own choice, that of a maker's
#: account in `expectation`, a little less.
USUAL_SPREAD, USUAL_IS_WORTH = 10.0, 2.0
#: How far colours lie from the middle of their ISCC-NBS block (CIEDE2000, root mean square, measured on
#: 4,000 evenly scattered colours of the range that prints have).
INSIDE_A_BLOCK = 4.4
#: The longest distance (CIEDE2000) that a single print adds to the spread.
FARTHEST = 25.0
#: Two groups are two when their middles lie this far apart (CIEDE2000), and the smaller holds this share of the weight
#: and this many people.
GROUPS_APART, SMALLER_GROUP, GROUP_PEOPLE = 14.0, 0.2, 2
_ROUNDS, _CLOSE = 100, 1e-4

Point = tuple[float, float, float]


class BlockRow(NamedTuple):
    """The prints of one person in one region whose colour lies in one block: number and sums of L, a and b."""

    country: str
    region: str
    contributor: str
    block: int
    number: int
    sum_l: float
    sum_a: float
    sum_b: float


@dataclass(frozen=True, slots=True)
class ColourGroup:
    """Prints of like colour: their middle, their share of the weight, and how many people made them."""

    lab: Lab
    share: float
    people: int


@dataclass(frozen=True, slots=True)
class ColourEvidence:
    """The colour of contributed prints; `groups` has two members when people report two kinds of colour."""

    lab: Lab
    spread: float
    prints: int
    people: int
    groups: tuple[ColourGroup, ...] = ()

    @property
    def words(self) -> tuple[str, ...]:
        """What is to be said beside the swatch."""
        if not self.groups:
            return ()
        first, second = (f"{round(100 * group.share)} of 100 (by {group.people} people)" for group in self.groups)
        return (f"Two kinds of colour are reported, not one: {first} and {second}; both are shown.",)


@dataclass(frozen=True, slots=True)
class _Cell:
    """A block with its mean colour, what its prints are worth, and who made them."""

    point: Point
    weight: float
    people: frozenset[str]

    @property
    def lab(self) -> Lab:
        return Lab(*self.point)


def colour_evidence(
    rows: Iterable[BlockRow], country: str | None = None, region: str | None = None
) -> ColourEvidence | None:
    """Return the colour of prints for a place; where nobody measured one there, that of the next wider place."""
    rows = list(rows)
    if region is not None and not any(row.region == region for row in rows):
        region = None
    if country is not None and not any(row.country == country for row in rows):
        country = region = None
    rings = _rings(rows, country, region)
    cells = _cells(rings)
    if not cells:
        return None
    own = rings[0][0]
    everything = ColourEvidence(
        lab=Lab(*geometric_median([cell.point for cell in cells], [cell.weight for cell in cells])),
        spread=0.0,
        prints=sum(row.number for row in own),
        people=len({row.contributor for row in own}),
    )
    groups = _two_groups(cells)
    if groups:
        everything = replace(everything, lab=groups[0].lab, groups=groups)
    return replace(everything, spread=_spread(everything.lab, cells, groups))


def _rings(rows: list[BlockRow], country: str | None, region: str | None) -> list[tuple[list[BlockRow], float | None]]:
    """Return the prints of the place, of the rest of its country and of the world, each with how alike it is."""
    if country is None:
        return [(rows, None)]
    far = SAME_COUNTRY if region is None else SAME_COUNTRY + SAME_REGION
    world = ([row for row in rows if row.country != country], far)
    at_home = [row for row in rows if row.country == country]
    if region is None:
        return [(at_home, None), world]
    own, rest = [row for row in at_home if row.region == region], [row for row in at_home if row.region != region]
    return [(own, None), (rest, SAME_REGION), world]


def _cells(rings: list[tuple[list[BlockRow], float | None]]) -> list[_Cell]:
    """Add the rows up to one cell a block, in the order of the blocks."""
    found: dict[int, list[tuple[float, BlockRow]]] = defaultdict(list)
    for rows, alike in rings:
        numbers: dict[str, int] = defaultdict(int)
        for row in rows:
            numbers[row.contributor] += row.number
        worth = {who: effective(number, SAME_PERSON) / number for who, number in numbers.items() if number > 0}
        total = math.fsum(worth[who] * numbers[who] for who in worth)
        scale = effective(total, alike) / total if alike is not None and total > 1 else 1.0
        for row in rows:
            if row.number > 0:
                found[row.block].append((worth[row.contributor] * scale, row))
    return [_cell(found[block]) for block in sorted(found)]


def _cell(rows: list[tuple[float, BlockRow]]) -> _Cell:
    weight = math.fsum(worth * row.number for worth, row in rows)
    middle = (
        math.fsum(worth * row.sum_l for worth, row in rows) / weight,
        math.fsum(worth * row.sum_a for worth, row in rows) / weight,
        math.fsum(worth * row.sum_b for worth, row in rows) / weight,
    )
    return _Cell(middle, weight, frozenset(row.contributor for _, row in rows))


def geometric_median(points: Sequence[Point], weights: Sequence[float]) -> Point:
    """Return the point with the least weighted sum of distances to `points`.

    Weiszfeld's iteration from the weighted mean. A point that holds more than the pull of all others is the median
    itself, and is tried first: the iteration cannot step onto or off a point.
    """
    for point, weight in zip(points, weights, strict=True):
        if math.hypot(*_pull(point, points, weights)) <= weight:
            return point
    here = _mean(points, weights)
    for _ in range(_ROUNDS):
        near = [weight / max(math.dist(here, point), _CLOSE) for point, weight in zip(points, weights, strict=True)]
        there = _mean(points, near)
        if math.dist(here, there) < _CLOSE:
            return there
        here = there
    return here


def _pull(at: Point, points: Sequence[Point], weights: Sequence[float]) -> list[float]:
    """Return the sum of weighted unit vectors from `at` to the other points."""
    away = [(math.dist(at, point), point, weight) for point, weight in zip(points, weights, strict=True)]
    return [math.fsum(w * (p[axis] - at[axis]) / d for d, p, w in away if d > 0) for axis in range(3)]


def _mean(points: Sequence[Point], weights: Sequence[float]) -> Point:
    total = math.fsum(weights)
    x, y, z = (math.fsum(w * p[axis] for p, w in zip(points, weights, strict=True)) / total for axis in range(3))
    return x, y, z


def _spread(centre: Lab, cells: Sequence[_Cell], groups: Sequence[ColourGroup]) -> float:
    weight = math.fsum(cell.weight for cell in cells)
    squares = math.fsum(cell.weight * min(difference(centre, cell.lab), FARTHEST) ** 2 for cell in cells)
    # One print has no distance from itself: it says nothing of the spread, hence the print taken off.
    free = max(0.0, weight - 1)
    own = squares / weight + INSIDE_A_BLOCK**2
    pooled = (free * own + USUAL_IS_WORTH * USUAL_SPREAD**2) / (free + USUAL_IS_WORTH)
    apart = max((difference(x.lab, y.lab) / 2 for x, y in pairwise(groups)), default=0.0)
    return max(math.sqrt(pooled), apart)


def _two_groups(cells: Sequence[_Cell]) -> tuple[ColourGroup, ...]:
    """Return two groups, the larger first, when the points fall into two that lie apart; otherwise nothing."""
    heaviest = max(cells, key=lambda cell: (cell.weight, cell.point))
    other = max(cells, key=lambda cell: (cell.weight * math.dist(cell.point, heaviest.point) ** 2, cell.point))
    seeds = [heaviest.point, other.point]
    split: list[list[_Cell]] = [[], []]
    for _ in range(20):
        split = [[], []]
        for cell in cells:
            split[math.dist(cell.point, seeds[1]) < math.dist(cell.point, seeds[0])].append(cell)
        if not all(split):
            return ()
        moved = [_mean([c.point for c in side], [c.weight for c in side]) for side in split]
        if moved == seeds:
            break
        seeds = moved
    total = math.fsum(cell.weight for cell in cells)
    if max(_reach(side) for side in split) > math.dist(*seeds) / 3:
        return ()
    pairs = sorted(((_group(side, total), side) for side in split), key=lambda pair: (-pair[0].share, pair[1][0].point))
    groups = tuple(group for group, _ in pairs)
    are_two = groups[1].share >= SMALLER_GROUP and min(group.people for group in groups) >= GROUP_PEOPLE
    return groups if are_two and difference(groups[0].lab, groups[1].lab) >= GROUPS_APART else ()


def _group(cells: Sequence[_Cell], total: float) -> ColourGroup:
    points, weights = [cell.point for cell in cells], [cell.weight for cell in cells]
    people = frozenset[str]().union(*(cell.people for cell in cells))
    return ColourGroup(Lab(*geometric_median(points, weights)), math.fsum(weights) / total, len(people))


def _reach(cells: Sequence[_Cell]) -> float:
    """Return how far the members of a group lie from its mean in CIELAB (root mean square)."""
    middle = _mean([cell.point for cell in cells], [cell.weight for cell in cells])
    squares = math.fsum(cell.weight * math.dist(middle, cell.point) ** 2 for cell in cells)
    return math.sqrt(squares / math.fsum(cell.weight for cell in cells))

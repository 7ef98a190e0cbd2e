"""Which stage the leaves of a plant are in, and how strongly they print at it, day by day.

A calendar turns stages into dates from a published base and a published gradient; what it does not know it says.

* North America: leaf-out at Harvard Forest about 5 May at 335 to 365 m (HARVARD2006), brought to sea level and
  moved by Hopkins' rule: 4 days later in spring for each degree north, each 5 degrees east and each 400 ft up,
  the other way in late summer and autumn (HOPKINS1918). Cameras at 65 deciduous sites agree with its gradients,
  18 evergreen ones do not follow them (RICHARDSON2019). Autumn colour from AUTUMN_NE2014.
* Europe: growing season from 24 April for 188 days, the mean of its phenological gardens (CHMIELEWSKI2002);
  spring moves north at 44 km a day and is 3 days later per 100 m (SPRINGMAP_EU). Hopkins' 4 days, and the 3 3/4
  that were once found for Central Europe (HOFFMANN1876), would put Helsinki into June.
* South of the equator the European calendar half a year on; north-east Asia, the American one without its
  longitude term. Nothing was found to rest these on, so they are never better than rough.

Young leaves take 19 days to full size (SAMBE2000: five Japanese trees; HUBBARD2022 has ten to 90 %).
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from typing import Literal, NamedTuple

from .places import Place
from .vocabulary import Basis, Climate, LeafHabit, Stage

Sure = Literal["fair", "rough", "not known"]

BBCH: dict[Stage, tuple[int, ...]] = {
    Stage.EMERGING: (1,),
    Stage.FULL_LEAF: (3, 4, 5, 6, 7),
    Stage.LATE: (8,),
    Stage.TURNING: (9,),
    Stage.FALLEN: (9,),
    Stage.EVERGREEN: (),
}
"""Principal growth stages of the BBCH scale (BBCH2001, table 1): 1 leaf development, 3 shoot development, 5 to 8 flower
and fruit, 9 senescence. The scale has no stage for a grown leaf: that it goes with 3 to 8 is a reading of ours."""

DEFAULT_STRENGTH: dict[LeafHabit, dict[Stage, float]] = {
    LeafHabit.DECIDUOUS: {
        Stage.EMERGING: 0.6,
        Stage.FULL_LEAF: 1.0,
        Stage.LATE: 1.0,
        Stage.TURNING: 0.6,
        Stage.FALLEN: 0.2,
    },
    LeafHabit.HERBACEOUS: {
        Stage.EMERGING: 0.6,
        Stage.FULL_LEAF: 1.0,
        Stage.LATE: 1.0,
        Stage.TURNING: 0.5,
        Stage.FALLEN: 0.1,
    },
    LeafHabit.SEMI_EVERGREEN: {Stage.EVERGREEN: 1.0},
    LeafHabit.EVERGREEN: {Stage.EVERGREEN: 1.0},
}
"""Share of the best stage where a record says nothing. Common practice, no source: young leaves are thin, grown ones
print best, fallen ones far weaker. It is not general (seasons differ by species), so any record goes before it."""
DEFAULT_BASIS = Basis.PRACTICE

IN_SEASON = 0.5
"""From this share of its best stage on, a leaf is worth picking."""

TROPIC, SUBTROPIC, COLD = 23.5, 30.0, 65.0
"""Within `TROPIC` no dates are claimed; short of `SUBTROPIC` and past `COLD` those of that latitude are kept."""
HOPKINS_PER_DEGREE = 4.0
HOPKINS_PER_DEGREE_EAST = 4.0 / 5.0
EUROPE_PER_DEGREE = 111.0 / 44.0
MOST_DAYS = 45
"""No shift is believed beyond this; common sense, no source."""
HALF_A_YEAR = 182


class _Base(NamedTuple):
    """Month and day on which each stage begins at a low-lying place, and how that moves with latitude."""

    region: str
    latitude: float
    longitude: float | None
    days_per_degree: float
    height: str
    starts: dict[Stage, tuple[int, int]]


_NORTH_AMERICA = _Base(
    region="North America",
    latitude=42.5,
    longitude=-72.2,
    days_per_degree=HOPKINS_PER_DEGREE,
    height="4 days for each 120 m (400 ft)",
    # 5 May less 12 days for 350 m; colour at its best in mid to late October; mid-August is from memory.
    starts={
        Stage.EMERGING: (4, 23),
        Stage.FULL_LEAF: (5, 12),
        Stage.LATE: (8, 15),
        Stage.TURNING: (10, 1),
        Stage.FALLEN: (11, 1),
    },
)
_EUROPE = _Base(
    region="Europe",
    # The gardens lie from Portugal to Finland; that their mean stands for 50 degrees north is from memory.
    latitude=50.0,
    longitude=None,
    days_per_degree=EUROPE_PER_DEGREE,
    height="3 days for each 100 m",
    # 24 April, and 188 days on the middle of a month of turning; that month and mid-August are from memory.
    starts={
        Stage.EMERGING: (4, 24),
        Stage.FULL_LEAF: (5, 13),
        Stage.LATE: (8, 15),
        Stage.TURNING: (10, 14),
        Stage.FALLEN: (11, 13),
    },
)
_SPRING = (Stage.EMERGING, Stage.FULL_LEAF)


@dataclass(frozen=True, slots=True)
class StageSpan:
    """The days, first and last, on which leaves are in one stage."""

    stage: Stage
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class Calendar:
    """The stages of one year at one place, the rule that gave them, and how sure it is."""

    habit: LeafHabit | None
    year: int
    spans: tuple[StageSpan, ...]
    months: tuple[tuple[tuple[Stage, int], ...], ...]
    rule: str
    sure: Sure
    notes: tuple[str, ...]

    def stage_on(self, day: date) -> Stage:
        """Return the stage of a day of the year."""
        for span in self.spans:
            if span.start <= day <= span.end:
                return span.stage
        raise ValueError(f"{day} is not in the calendar of {self.year}")


@dataclass(frozen=True, slots=True)
class Season:
    """What a leaf gives on one day: `until` is the last day of the run, None out of season or when all year."""

    stage: Stage
    strength: float
    until: date | None
    in_season: bool
    sure: Sure
    rule: str
    basis: str


class MonthStrength(NamedTuple):
    """One cell of a strip: the stage that fills most of the month, and the mean share of the best stage."""

    month: int
    stage: Stage
    strength: float


@lru_cache(maxsize=4096)
def calendar(habit: LeafHabit | None, climate: Climate | None, place: Place, year: int) -> Calendar:
    """Return the stages of `year` for a plant of this habit and home climate at this place."""
    if habit in (LeafHabit.EVERGREEN, LeafHabit.SEMI_EVERGREEN):
        return _evergreen(habit, year)
    unknown = _why_unknown(habit, climate, place)
    if unknown:
        note = "no dates are claimed: look at the plant, or ask locally"
        return _one_stage(habit, year, Stage.FULL_LEAF, unknown, "not known", (note,))
    base, region_is_known = _base_for(place)
    asked = _shift(base, place)
    shift = round(max(-MOST_DAYS, min(MOST_DAYS, asked)))
    notes = _notes(habit, climate, place, base, asked)
    fair = (
        habit is LeafHabit.DECIDUOUS
        and climate is Climate.TEMPERATE
        and region_is_known
        and SUBTROPIC <= place.latitude <= COLD
        and abs(asked) <= MOST_DAYS / 2
        and not place.is_wide
    )
    spans = _spans(base, shift, place.latitude < 0, year)
    return _made(habit, year, spans, _rule(base, place, shift), "fair" if fair else "rough", notes)


def strength_on(day: date, calendar: Calendar, by_stage: Mapping[Stage, float]) -> float:
    """Return the strength on a day, as a share of the plant's best stage; see `season_now` for `by_stage`."""
    shares = _shares(calendar, by_stage)
    return shares[calendar.stage_on(day)]


def strip(calendar: Calendar, by_stage: Mapping[Stage, float]) -> tuple[MonthStrength, ...]:
    """Return the twelve months, each with its main stage and its mean strength weighted by days."""
    shares = _shares(calendar, by_stage)
    cells = []
    for month, days in enumerate(calendar.months, start=1):
        main = max(days, key=lambda pair: pair[1])[0]
        total = sum(shares[stage] * count for stage, count in days)
        cells.append(MonthStrength(month, main, total / sum(count for _, count in days)))
    return tuple(cells)


def season_now(day: date, calendar: Calendar, by_stage: Mapping[Stage, float]) -> Season:
    """Return how strongly the leaf prints on a day, and until when.

    `by_stage` holds what is known of the plant, each stage as a share (0 to 1) of its best; the stages it lacks
    are filled from `DEFAULT_STRENGTH`, and `basis` says so.
    """
    shares = _shares(calendar, by_stage)
    stage = calendar.stage_on(day)
    in_season = shares[stage] >= IN_SEASON
    return Season(
        stage=stage,
        strength=shares[stage],
        until=_last_day(day, calendar, shares) if in_season else None,
        in_season=in_season,
        sure=calendar.sure,
        rule=calendar.rule,
        basis="record" if stage in by_stage else DEFAULT_BASIS.value,
    )


def _shares(calendar: Calendar, by_stage: Mapping[Stage, float]) -> dict[Stage, float]:
    """Return each stage of the calendar as a share of the best of them."""
    usual = DEFAULT_STRENGTH[calendar.habit or LeafHabit.DECIDUOUS]
    found = {span.stage: by_stage.get(span.stage, usual.get(span.stage, 1.0)) for span in calendar.spans}
    best = max(found.values())
    return {stage: value / best for stage, value in found.items()} if best > 0 else dict.fromkeys(found, 0.0)


def _last_day(day: date, calendar: Calendar, shares: Mapping[Stage, float]) -> date | None:
    """Follow the spans, round the turn of the year, to the last day in season."""
    spans = calendar.spans
    at = next(i for i, span in enumerate(spans) if span.start <= day <= span.end)
    for step in range(len(spans)):
        around, index = divmod(at + step + 1, len(spans))
        if shares[spans[index].stage] < IN_SEASON:
            last = spans[index - 1].end
            return last if not around or index == 0 else last.replace(year=last.year + 1)
    return None


def _why_unknown(habit: LeafHabit | None, climate: Climate | None, place: Place) -> str | None:
    if abs(place.latitude) < TROPIC:
        return "in the tropics leaves follow rain rather than cold: no calendar"
    if climate is Climate.TROPICAL:
        return "a plant of the tropics: no calendar of the temperate zone fits it"
    if habit is None:
        return "whether the plant keeps its leaves is not known: no calendar"
    return None


def _base_for(place: Place) -> tuple[_Base, bool]:
    """Return the base dates for a place, and whether they come from its own part of the world."""
    north, east = place.latitude, place.longitude
    if place.country in ("US", "CA", "MX") or (north > 15 and -168 <= east <= -52):
        return _NORTH_AMERICA, True
    if north < 0 or -32 <= east <= 60:
        return _EUROPE, north >= 34 and -25 <= east <= 45
    return _NORTH_AMERICA._replace(longitude=None), False


def _shift(base: _Base, place: Place) -> float:
    """Days later in spring than the base; late summer and autumn move as far the other way."""
    latitude = min(COLD, max(SUBTROPIC, abs(place.latitude)))
    days = (latitude - base.latitude) * base.days_per_degree
    if base.longitude is not None:
        days += (place.longitude - base.longitude) * HOPKINS_PER_DEGREE_EAST
    return days


def _rule(base: _Base, place: Place, shift: int) -> str:
    how = "Hopkins' rule" if base.days_per_degree == HOPKINS_PER_DEGREE else "the march of spring in Europe"
    gradient = f"{base.days_per_degree:.1f}".removesuffix(".0") + " days for each degree of latitude"
    if base.longitude is not None:
        gradient += ", 4 for each 5 degrees of longitude"
    amount = f"{abs(shift)} days {'later' if shift > 0 else 'earlier'}" if shift else "as early as"
    moved = f"spring {amount}{' than' if shift else ''} at {base.latitude:g} degrees in {base.region}"
    turned = "; half a year on, south of the equator" if place.latitude < 0 else ""
    return f"{how}: {gradient}; {moved}, autumn the other way{turned}"


def _notes(
    habit: LeafHabit | None, climate: Climate | None, place: Place, base: _Base, asked: float
) -> tuple[str, ...]:
    notes = [f"as if at sea level: higher up, spring is later and autumn earlier by {base.height}"]
    if abs(asked) > MOST_DAYS:
        notes.append(f"the rule asks for {abs(asked):.0f} days; no more than {MOST_DAYS} are applied")
    if not SUBTROPIC <= abs(place.latitude) <= COLD:
        notes.append(f"outside {SUBTROPIC:g} to {COLD:g} degrees of latitude the nearer of the two is used")
    if place.is_wide:
        notes.append(f"the place reaches {place.spread_degrees:g} degrees from north to south")
    if habit is LeafHabit.HERBACEOUS:
        notes.append("the dates are those of trees; herbs may be weeks earlier or later")
    if climate is None:
        notes.append("the home climate of the plant is not known")
    elif climate is not Climate.TEMPERATE:
        notes.append(f"the dates are those of temperate plants; this one is {climate}")
    return tuple(notes)


def _spans(base: _Base, shift: int, south: bool, year: int) -> tuple[StageSpan, ...]:
    starts = []
    for stage, (month, day) in base.starts.items():
        moved = date(2001, month, day) + timedelta(days=shift if stage in _SPRING else -shift)
        turned = moved + timedelta(days=HALF_A_YEAR if south else 0)
        # 2001 had no 29 February, so every day of it stands in every year.
        starts.append((date(year, turned.month, turned.day), stage))
    starts.sort()
    if starts[0][0] != date(year, 1, 1):
        starts.insert(0, (date(year, 1, 1), starts[-1][1]))
    ends = [start - timedelta(days=1) for start, _ in starts[1:]] + [date(year, 12, 31)]
    return tuple(StageSpan(stage, start, end) for (start, stage), end in zip(starts, ends, strict=True))


def _evergreen(habit: LeafHabit, year: int) -> Calendar:
    rule = "evergreen leaves: no season, no correction"
    if habit is LeafHabit.EVERGREEN:
        return _one_stage(habit, year, Stage.EVERGREEN, rule, "fair", ())
    note = "some or all leaves may drop in a hard winter"
    return _one_stage(habit, year, Stage.EVERGREEN, rule, "rough", (note,))


def _one_stage(
    habit: LeafHabit | None, year: int, stage: Stage, rule: str, sure: Sure, notes: tuple[str, ...]
) -> Calendar:
    return _made(habit, year, (StageSpan(stage, date(year, 1, 1), date(year, 12, 31)),), rule, sure, notes)


def _made(
    habit: LeafHabit | None, year: int, spans: tuple[StageSpan, ...], rule: str, sure: Sure, notes: tuple[str, ...]
) -> Calendar:
    """Count the days of each stage in each month once, so that a strip only multiplies."""
    months = []
    for month in range(1, 13):
        first, last = date(year, month, 1), date(year, month, monthrange(year, month)[1])
        days = [(span.stage, (min(span.end, last) - max(span.start, first)).days + 1) for span in spans]
        months.append(tuple((stage, count) for stage, count in days if count > 0))
    return Calendar(habit, year, spans, tuple(months), rule, sure, notes)

"""Lists of plants by season and colour: what to gather, what gives a colour, what to use instead."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache, partial
from typing import TYPE_CHECKING

from .answers import Candidate
from .colorimetry import Lab, difference
from .phenology import Season, calendar, season_now
from .places import Place
from .print_answers import Gathered, Gathering, LikeAnswer, NearColour, PlantRef, SwapAnswer, Swatch, ref_of
from .print_store import EstimateRow
from .vocabulary import Company, Fibre, Grade, Level, Part, Status, Treatment

if TYPE_CHECKING:
    from .prints import Prints

#: A wanted colour is met within this distance (CIEDE2000): a class of greens rather than one green. Our own choice.
WANTED_WITHIN = 20.0
#: What another leaf outline costs against distance in colour when a plant is to stand in for another. Our own choice.
_OTHER_SHAPE = 10.0
_SHOWN = (Level.ORDINARY, Level.EXTRA)


def gather(
    prints: Prints,
    place: Place,
    day: date,
    treatment: Treatment,
    fibre: Fibre,
    company: frozenset[Company],
    wanted: Sequence[tuple[str, Lab]],
    limit: int,
) -> Gathering:
    """Return plants for a place and a day, strongest now first; with wanted colours, the nearest of them first."""
    here = prints.continents_at(place)
    levels = prints.store.levels(company)
    sifted = _Sifted()
    for row in prints.store.estimates(treatment, fibre, Part.LEAF):
        _sift(prints, row, levels[row.taxon_id], place, day, here, wanted, sifted)
    sifted.kept.sort(key=lambda each: (each.far, -each.now, each.row.taxon_id))
    plants = tuple(_gathered(prints, each, levels[each.row.taxon_id], company) for each in sifted.kept[:limit])
    return Gathering(
        place=place,
        on=day,
        plants=plants,
        more=len(sifted.kept) - len(plants),
        left_out=sifted.left_out,
        out_of_season=sifted.out_of_season,
        elsewhere=sifted.elsewhere,
        notes=tuple(_notes(place, here, kept_any=bool(plants), wanted=bool(wanted))),
    )


@dataclass(frozen=True, slots=True)
class _Kept:
    """A plant that fits, and how far its colour is from the wanted ones."""

    row: EstimateRow
    season: Season
    grows: bool | None
    nearest: tuple[str, float] | None

    @property
    def now(self) -> float:
        return self.row.strength * self.season.strength

    @property
    def far(self) -> float:
        return self.nearest[1] if self.nearest else 0.0


@dataclass(slots=True)
class _Sifted:
    """What has been kept so far, and what was not and why."""

    kept: list[_Kept] = field(default_factory=list)
    left_out: int = 0
    out_of_season: int = 0
    elsewhere: int = 0


def _sift(
    prints: Prints,
    row: EstimateRow,
    level: Level,
    place: Place,
    day: date,
    here: frozenset[str],
    wanted: Sequence[tuple[str, Lab]],
    sifted: _Sifted,
) -> None:
    """Keep a plant or count why not: the level first, so that no other ground can hide it."""
    own = prints.growth(row.taxon_id)
    grows = bool(own.grows_in & here) if own.grows_in and here else None
    if level not in _SHOWN:
        sifted.left_out += grows is not False
        return
    if grows is False:
        sifted.elsewhere += 1
        return
    season = season_now(day, calendar(own.habit, own.climate, place, day.year), prints.shares(row.taxon_id))
    if not season.in_season:
        sifted.out_of_season += 1
        return
    nearest = _nearest(row.lab, wanted)
    if not wanted or (nearest is not None and nearest[1] <= WANTED_WITHIN):
        sifted.kept.append(_Kept(row, season, grows, nearest))


def _notes(place: Place, here: frozenset[str], *, kept_any: bool, wanted: bool) -> list[str]:
    notes = [place.note] if place.note else []
    if not here:
        notes.append("The country of this place is not known: plants of every continent are listed.")
    if not kept_any:
        notes.append(
            "Nothing fits. "
            + ("Take another colour or treatment, or leave the colour open." if wanted else "Try another date.")
        )
    return notes


def _nearest(lab: Lab | None, wanted: Sequence[tuple[str, Lab]]) -> tuple[str, float] | None:
    if lab is None or not wanted:
        return None
    return min(((text, difference(lab, colour)) for text, colour in wanted), key=lambda each: each[1])


def _gathered(prints: Prints, kept: _Kept, level: Level, company: frozenset[Company]) -> Gathered:
    row = kept.row
    found = prints.reference.assess(row.taxon_id, company)
    return Gathered(
        plant=_ref(row),
        level=level,
        part=row.part,
        treatment=row.treatment,
        fibre=row.fibre,
        strength_now=kept.now,
        grade_now=list(Grade)[min(4, int(kept.now + 0.5))],
        swatch=_swatch(row),
        season=kept.season,
        rests_on=row.rests_on,
        grows_here=kept.grows,
        wanted=kept.nearest,
        precautions=tuple(found.precautions.items()),
        identify_first=found.identify_first,
        local_notes=prints.store.local_notes(row.taxon_id),
    )


def _ref(row: EstimateRow) -> PlantRef:
    return PlantRef(id=row.taxon_id, scientific_name=row.scientific_name, common_name=row.common_name)


def _swatch(row: EstimateRow) -> Swatch | None:
    if row.lab is None or row.name is None or row.spread is None:
        return None
    return Swatch(lab=row.lab, name=row.name, spread=row.spread)


def like(
    prints: Prints,
    asked: str,
    treatment: Treatment | None,
    fibre: Fibre,
    company: frozenset[Company],
    limit: int,
    only: Collection[str] | None = None,
) -> LikeAnswer:
    """Return the nearest expected colours among plants that may be used and are likelier than not to leave a trace."""
    lab = prints.colour(asked)
    rows = prints.store.estimates(treatment, fibre, Part.LEAF)
    found = _near(prints, lab, [row for row in rows if only is None or row.taxon_id in only], company)
    found.sort(key=lambda each: (each.distance, -each.strength, each.plant.id))
    notes = []
    if found and found[0].distance > WANTED_WITHIN:
        notes.append("No plant in the records is expected to give this colour; the nearest are far from it.")
    if not found:
        notes.append("No plant in the records that may be used here has a known colour.")
    return LikeAnswer(asked=asked, lab=lab, name=prints.name_of(lab), found=tuple(found[:limit]), notes=tuple(notes))


def _near(prints: Prints, lab: Lab, rows: Sequence[EstimateRow], company: frozenset[Company]) -> list[NearColour]:
    levels = prints.store.levels(company)
    # Plants of one dye class and nothing else share their colour.
    apart = cache(partial(difference, lab))
    found = []
    for row in rows:
        swatch = _swatch(row)
        if swatch is None or row.grade is Grade.NONE or levels[row.taxon_id] not in _SHOWN:
            continue
        found.append(
            NearColour(
                plant=_ref(row),
                level=levels[row.taxon_id],
                part=row.part,
                treatment=row.treatment,
                fibre=row.fibre,
                distance=apart(swatch.lab),
                swatch=swatch,
                strength=row.strength,
                grade=row.grade,
                rests_on=row.rests_on,
            )
        )
    return found


def swap(
    prints: Prints,
    text: str,
    treatment: Treatment,
    fibre: Fibre,
    place: Place | None,
    day: date | None,
    company: frozenset[Company],
    limit: int,
) -> SwapAnswer:
    """Return plants that may stand in for another: near in colour and of a like leaf, and in season where asked."""
    status, level, candidates, warnings = prints.reference.candidates(text, company)
    plant = candidates[0] if candidates else None
    estimate = prints.of_plant(plant.id, fibre, Part.LEAF, (treatment,))[0] if plant else None
    swatch = prints.swatch(estimate.lab, estimate.spread) if estimate else None
    found = _stand_ins(prints, plant.id, swatch, treatment, fibre, place, day, company) if plant and swatch else []
    return SwapAnswer(
        query=text,
        status=status,
        plant=ref_of(plant) if plant else None,
        level=level,
        treatment=treatment,
        fibre=fibre,
        swatch=swatch,
        candidates=candidates,
        found=tuple(found[:limit]),
        notes=(*warnings, *_swap_notes(plant, swatch, status)),
    )


def _swap_notes(plant: Candidate | None, swatch: Swatch | None, status: Status) -> list[str]:
    notes = []
    if plant is None:
        notes.append("No plant in the records has this name, so nothing can stand in for it.")
    elif swatch is None:
        notes.append("Nothing is known of its colour, so no plant can be said to give a near one.")
    if plant is not None and status is not Status.EXACT:
        notes.append(f"Not one plant by this very name; compared with {plant.scientific_name}.")
    return notes


def _stand_ins(
    prints: Prints,
    taxon_id: str,
    swatch: Swatch,
    treatment: Treatment,
    fibre: Fibre,
    place: Place | None,
    day: date | None,
    company: frozenset[Company],
) -> list[NearColour]:
    growth = prints.store.growth()
    shape = prints.growth(taxon_id).shape
    here = prints.continents_at(place) if place else frozenset()
    ranked = []
    for near in _near(prints, swatch.lab, prints.store.estimates(treatment, fibre, Part.LEAF), company):
        own = growth[near.plant.id]
        if near.plant.id == taxon_id or (here and own.grows_in and not own.grows_in & here):
            continue
        season = prints.season(near.plant.id, place, day) if place and day else None
        if season is not None and not season.in_season:
            continue
        same = None if shape is None or own.shape is None else shape is own.shape
        cost = near.distance + (0 if same else _OTHER_SHAPE)
        ranked.append((cost, near.plant.id, near, same, season))
    ranked.sort(key=lambda each: each[:2])
    return [replace(near, same_shape=same, season=season) for _, _, near, same, season in ranked]

"""Questions about colour and season, asked through `Reference.prints`: what, when, which, and what instead."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from itertools import combinations
from typing import TYPE_CHECKING

from . import gathering
from .answers import Candidate, Source
from .colorimetry import ColourName, Lab, Sight, difference, read_colour, seen_by
from .database_evidence import months_of
from .estimates import Estimate
from .evidence_season import moved_strip
from .expectation import expect, thinned
from .finding import RefusedInputError
from .phenology import Calendar, MonthStrength, Season, calendar, season_now, strip
from .places import Place, nearest_zone, read_date, read_place
from .print_answers import (
    Confusion,
    Expectation,
    Gathering,
    LikeAnswer,
    PaletteAnswer,
    SwapAnswer,
    Swatch,
    YearAnswer,
    ref_of,
)
from .print_store import Growth, PrintShelf
from .store import Shelf
from .terms import company_of, fibre_of, limit_of, term, treatment_of
from .text import visible
from .vocabulary import TREATMENTS, Company, Fibre, Level, Part, Stage, Status, Treatment

if TYPE_CHECKING:
    from .reference import Reference

#: Two prints on one sheet that differ by less are hard to tell apart (our own choice: several times what can just be
#: seen side by side, because prints are uneven).
HARD_TO_TELL = 5.0
#: How many of the plants that a name may mean are answered in full.
_MOST_MEANT = 6
_ADULTS = frozenset({Company.ADULTS})


class Prints:
    """Colour and season of one opened reference."""

    def __init__(self, reference: Reference, shelf: Shelf) -> None:
        self.reference = reference
        self.shelf = shelf
        self.store = PrintShelf(shelf)

    # -- questions ---------------------------------------------------------------------------------------------------

    def expect(
        self,
        text: str,
        treatment: Treatment | str | None = None,
        fibre: Fibre | str = Fibre.PAPER,
        part: Part | str = Part.LEAF,
        near: str | Place | None = None,
        on: str | date | None = None,
    ) -> tuple[Expectation, ...]:
        """Return what `text` is expected to print: one answer a plant that it may mean and treatment.

        All four treatments when none is named. With `near` the season of that place on that day (today's date when
        none is given) is laid over the strength. An unknown name gives one answer without a plant.
        """
        treatments = TREATMENTS if treatment is None else (treatment_of(treatment),)
        fibre, part = fibre_of(fibre), term(Part, part)
        place, day = self.where_and_when(near, on)
        status, level, candidates, warnings = self.reference.candidates(text, _ADULTS, part)
        if not candidates:
            empty = Expectation(
                query=text, status=status, level=level, plant=None, treatment=treatments[0], fibre=fibre, place=place,
                on=day, warnings=warnings,
            )  # fmt: skip
            return (empty,)
        return tuple(
            self._expectation(text, status, level, each, candidates, warnings, asked, fibre, part, place, day)
            for each in candidates[:_MOST_MEANT]
            for asked in treatments
        )

    def of_plant(
        self, taxon_id: str, fibre: Fibre, part: Part = Part.LEAF, treatments: Sequence[Treatment] = TREATMENTS
    ) -> tuple[Estimate, ...]:
        """Return the estimates of one plant, one a treatment."""
        known, priors = self.store.knowledge(taxon_id), self.store.priors()
        return tuple(expect(known, priors, treatment, fibre, part) for treatment in treatments)

    def on_paper(self, taxon_id: str) -> list[tuple[Estimate, Swatch | None]]:
        """Return what the leaf of one plant is expected to print on paper, with each treatment."""
        estimates = self.of_plant(taxon_id, Fibre.PAPER)
        return [(each, self.swatch(each.lab, each.spread)) for each in estimates]

    def gather(
        self,
        near: str | Place,
        on: str | date | None = None,
        treatment: Treatment | str = Treatment.ALUM,
        fibre: Fibre | str = Fibre.PAPER,
        company: Company | str | Iterable[Company | str] = Company.ADULTS,
        wants: Sequence[str] = (),
        limit: int = 30,
    ) -> Gathering:
        """Return what to gather at a place on a day: plants that may be used in this company, strongest now first."""
        place, day = self.where_and_when(near, on)
        assert place is not None and day is not None
        wanted = [(text, self.colour(text)) for text in wants]
        return gathering.gather(
            self, place, day, treatment_of(treatment), fibre_of(fibre), company_of(company), wanted, limit_of(limit)
        )

    def like(
        self,
        colour: str,
        treatment: Treatment | str | None = None,
        fibre: Fibre | str = Fibre.PAPER,
        company: Company | str | Iterable[Company | str] = Company.ADULTS,
        limit: int = 20,
        only: Collection[str] | None = None,
    ) -> LikeAnswer:
        """Return the plants and treatments whose expected colour is nearest to `colour` (hex, L,a,b, or a name).

        `only` limits the answer to these ids, such as `in_season` gives.
        """
        asked = treatment_of(treatment) if treatment is not None else None
        return gathering.like(self, colour, asked, fibre_of(fibre), company_of(company), limit_of(limit), only)

    def in_season(self, place: Place, day: date) -> frozenset[str]:
        """Return the ids of plants that are in season at a place on a day and not known to grow only elsewhere."""
        here = self.continents_at(place)
        return frozenset(
            taxon
            for taxon, own in self.store.growth().items()
            if (not own.grows_in or not here or own.grows_in & here) and self.season(taxon, place, day).in_season
        )

    def swap(
        self,
        text: str,
        treatment: Treatment | str = Treatment.ALUM,
        fibre: Fibre | str = Fibre.PAPER,
        near: str | Place | None = None,
        on: str | date | None = None,
        company: Company | str | Iterable[Company | str] = Company.CLASS,
        limit: int = 12,
    ) -> SwapAnswer:
        """Return plants that may be used in this company instead of `text`: near in colour, like in leaf shape."""
        place, day = self.where_and_when(near, on)
        return gathering.swap(
            self, text, treatment_of(treatment), fibre_of(fibre), place, day, company_of(company), limit_of(limit)
        )

    def palette(
        self, names: Sequence[str], treatment: Treatment | str = Treatment.ALUM, fibre: Fibre | str = Fibre.PAPER
    ) -> PaletteAnswer:
        """Return the colours of a planned sheet together, and which of them will be hard to tell apart."""
        colours = [self.expect(name, treatment, fibre)[0] for name in names]
        notes = []
        for each in colours:
            shown = visible(each.query)[:80]
            if each.plant is None:
                notes.append(f"{shown or '(nothing)'}: no plant in the records has this name.")
            elif each.status is not Status.EXACT:
                notes.append(f"{shown}: not one plant by this very name; the first it may mean is shown.")
            elif each.swatch is None:
                notes.append(f"{shown}: nothing is known of its colour.")
        return PaletteAnswer(colours=tuple(colours), confusions=tuple(_confusions(colours)), notes=tuple(notes))

    def calendar(self, text: str, near: str | Place, year: int | None = None) -> YearAnswer:
        """Return the twelve months of one plant at a place."""
        place, day = self.where_and_when(near, None)
        assert place is not None and day is not None
        year = day.year if year is None else year
        read_date(f"{year:04d}-01-01")
        status, level, candidates, _ = self.reference.candidates(text, _ADULTS)
        shown = candidates[0] if candidates else None
        if shown is None:
            return YearAnswer(query=text, status=status, level=level, plant=None, place=place, year=year)
        found, shares = self.calendar_of(shown.id, place, year), self.shares(shown.id)
        stages = self.store.stages(shown.id)
        return YearAnswer(
            query=text,
            status=status,
            level=shown.level if status is Status.EXACT else level,
            plant=ref_of(shown),
            place=place,
            year=year,
            calendar=found,
            months=self._moved(shown.id, place, strip(found, shares)),
            stages=stages,
            basis="record" if stages else "common practice",
            candidates=candidates,
            sources=self.sources(each.source for each in stages),
        )

    # -- what the questions share ------------------------------------------------------------------------------------

    def where_and_when(self, near: str | Place | None, on: str | date | None) -> tuple[Place | None, date | None]:
        """Return place and day; today when a place is given without a day, and no day without a place."""
        if near is None:
            if on is not None:
                raise RefusedInputError("a date says nothing without a place; add --near, such as Europe/Lisbon")
            return None, None
        place = read_place(near) if isinstance(near, str) else near
        if on is None:
            return place, date.today()
        return place, read_date(on) if isinstance(on, str) else on

    def colour(self, text: str) -> Lab:
        """Read a colour: #rrggbb, L,a,b, an ISCC-NBS name or a plain colour word."""
        return read_colour(text, self.store.colour_names(), self.store.colour_words())

    def name_of(self, lab: Lab) -> ColourName:
        """Return the nearest of the standard colour names."""
        return self.store.colour_names().nearest(lab)

    def swatch(self, lab: Lab | None, spread: float | None) -> Swatch | None:
        """Return a colour for show, None where nothing is known."""
        if lab is None or spread is None:
            return None
        return Swatch(lab=lab, name=self.name_of(lab).name, spread=spread)

    def growth(self, taxon_id: str) -> Growth:
        """Return how the plant's leaves grow; all unknown without a printing record."""
        return self.store.growth().get(taxon_id, Growth())

    def shares(self, taxon_id: str) -> dict[Stage, float]:
        """Return the strength by leaf stage that the record states; empty where it states none."""
        return self.store.shares().get(taxon_id, {})

    def calendar_of(self, taxon_id: str, place: Place, year: int) -> Calendar:
        """Return the stages of a plant's leaves at a place."""
        growth = self.growth(taxon_id)
        return calendar(growth.habit, growth.climate, place, year)

    def _moved(self, taxon_id: str, place: Place, months: tuple[MonthStrength, ...]) -> tuple[MonthStrength, ...]:
        """Let contributed prints of the place move the year of a leaf."""
        country = place.country
        if country is None:
            return months
        printed = self.shelf.reading(
            lambda connection: months_of(connection, taxon_id, Part.LEAF, country, place.subdivision)
        )
        return moved_strip(months, printed)

    def season(self, taxon_id: str, place: Place, day: date) -> Season:
        """Return where the plant's leaves stand on a day."""
        return season_now(day, self.calendar_of(taxon_id, place, day.year), self.shares(taxon_id))

    def continents_at(self, place: Place) -> frozenset[str]:
        """Return the botanical continents of a place, by its country or that of the nearest time-zone city."""
        country = place.country
        if country is None:
            nearest = nearest_zone(place.latitude, place.longitude)
            country = nearest[0].country if nearest else None
        return self.store.continents(country) if country else frozenset()

    def sources(self, ids: Iterable[str | None]) -> tuple[Source, ...]:
        """Return the named sources in full."""
        return self.shelf.sources(each for each in ids if each)

    def _expectation(
        self,
        text: str,
        status: Status,
        level: Level,
        shown: Candidate,
        candidates: tuple[Candidate, ...],
        warnings: tuple[str, ...],
        treatment: Treatment,
        fibre: Fibre,
        part: Part,
        place: Place | None,
        day: date | None,
    ) -> Expectation:
        estimate = self.of_plant(shown.id, fibre, part, (treatment,))[0]
        season = self.season(shown.id, place, day) if place and day else None
        handling = self.store.handling(shown.id)
        cited = [source for layer in estimate.layers for source in layer.sources]
        cited += [note.source for note in handling if note.source]
        return Expectation(
            query=text,
            status=status,
            # A name that is not exact never carries ordinary care, whatever the plant's own level is.
            level=level if status is not Status.EXACT and shown.level is Level.ORDINARY else shown.level,
            plant=ref_of(shown),
            treatment=treatment,
            fibre=fibre,
            estimate=estimate,
            swatch=self.swatch(estimate.lab, estimate.spread),
            season=season,
            season_grades=thinned(estimate.posterior, season.strength) if season else None,
            place=place,
            on=day,
            candidates=candidates,
            handling=handling,
            lightfastness=self.store.lightfastness(shown.id),
            local_notes=self.store.local_notes(shown.id),
            sources=self.sources(cited),
            warnings=warnings,
        )


def _confusions(colours: Sequence[Expectation]) -> Iterable[Confusion]:
    """Yield the pairs that are hard to tell apart, under the mildest sight for which they are."""
    shown = [(i, each.swatch.lab) for i, each in enumerate(colours) if each.swatch is not None]
    for (i, x), (j, y) in combinations(shown, 2):
        for sight in Sight:
            distance = difference(seen_by(x, sight), seen_by(y, sight))
            if distance < HARD_TO_TELL:
                yield Confusion(first=i, second=j, distance=distance, sight=sight.value)
                if sight is Sight.ORDINARY:
                    break

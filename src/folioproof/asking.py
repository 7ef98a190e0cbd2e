"""The questions of `record`, one at a time, each with a sensible answer on the Enter key where there is one."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable
from datetime import date
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING

import click

from .cli_shared import say
from .finding import RefusedInputError
from .outcome_record import MADE_FIBRES, MADE_TREATMENTS, PARTS, STATES, STRENGTH_UNITS, UNKNOWN, OutcomeRecord
from .outcome_rules import APPLIED, EARLIEST, Known, fibre_of_material, metals_in
from .outcome_sheet import MAX_MORDANTS
from .places import country_of_zone, far_from_country, read_date, region_of_zone, region_problem, regions_of
from .recording import build, plain, read_coordinates, read_number, read_temperature
from .terminal import caution_lines, level_word, plant_lines
from .text import visible
from .vocabulary import (
    Clarity,
    Grade,
    LeafSide,
    Level,
    Licence,
    MaterialKind,
    Method,
    MordantPlace,
    Part,
    Reaction,
    Stage,
    State,
    Status,
    Treatment,
)

if TYPE_CHECKING:
    from .answers import Candidate
    from .reference import Reference

Read = Callable[[str], str]
_DANGEROUS_FIRST = (Level.LEAVE_OUT, Level.EXTRA, Level.NOT_ASSESSED, Level.ORDINARY)
_HANDLE = re.compile(r"[a-z0-9](-?[a-z0-9]){1,29}")
_CONSENT = "I made this print myself and agree that this record is shared under that licence"
_ORGANS_WITH_STAGES = ("leaf", "stem", "hair")


class Interview:
    """One conversation about one print."""

    def __init__(self, reference: Reference, known: Known, folder: Path) -> None:
        self._reference = reference
        self._known = known
        self._folder = folder
        self._answers: dict[str, str] = {}

    def record(self) -> OutcomeRecord:
        """Ask everything and return the record; raises RefusedInputError when there is none to write."""
        say("Questions about one print. Enter takes what stands in [brackets]; Ctrl-C stops, and nothing is written.")
        self._plant()
        self._day_and_place()
        self._treatment()
        self._method()
        self._result()
        self._maker()
        draft = build(self._answers, self._known, self._folder)
        if draft.record is None:
            raise RefusedInputError(f"{'; '.join(draft.wrong)}; nothing was written")
        return draft.record

    # -- questions ---------------------------------------------------------------------------------------------------

    def _plant(self) -> None:
        name, candidate = self._named()
        self._answers |= {"name_as_given": name, "taxon": candidate.id}
        part = self._choose("part", "Part that was laid", PARTS, Part.LEAF)
        state = self._choose("state", "State in which it was laid", STATES, State.FRESH)
        plant = self._reference.plant(candidate.id, part, state)
        say("")
        for line in takewhile(lambda line: line != "  Names", plant_lines(plant)):
            say(line)
        for line in caution_lines():
            say(line)
        say("")
        if plant.assessment.level is Level.LEAVE_OUT:
            say(
                f"{level_word(Level.LEAVE_OUT)}: do not make a print of it for this record. One that exists is welcome."
            )
            if not click.confirm("Does the print exist already?", default=False):
                raise RefusedInputError("leave the plant out; nothing was written")
        if part in _ORGANS_WITH_STAGES:
            self._choose("stage", "Stage of the leaf", (*Stage, UNKNOWN), UNKNOWN)
            self._choose("side", "Face that lay on the fibre", (*LeafSide, UNKNOWN), UNKNOWN)

    def _named(self) -> tuple[str, Candidate]:
        """Ask until one plant is meant: an exact name is taken, anything else is chosen from a list by its number."""
        while True:
            name = plain(str(click.prompt("Plant")))
            found = self._reference.find(name)
            for warning in found.warnings:
                say(f"Warning: {warning}")
            if found.status is Status.EXACT and len(found.candidates) == 1:
                return name[:120], found.candidates[0]
            order = sorted(found.candidates, key=lambda each: _DANGEROUS_FIRST.index(each.level))
            if not order:
                say("No plant in the records has this name. Write another name; its scientific name is the surest.")
                continue
            say("This is not one plant's very name, and nothing is guessed. It may mean:")
            for number, each in enumerate(order, start=1):
                say(f"  {number:>3} {level_word(each.level)}  {each.scientific_name} ({each.match.explanation})")
            chosen = click.prompt("Number of the plant, 0 for none of them", type=click.IntRange(0, len(order)))
            if chosen:
                return name[:120], order[chosen - 1]

    def _day_and_place(self) -> None:
        self._ask("date", "Day of the print, year-month-day", self._day, date.today().isoformat())
        zone = machine_zone()
        country = country_of_zone(zone) if zone else None
        if country is None:
            hint = "such as PT-11; PT lists those of PT"
        elif regions := regions_of(country):
            hint = f"such as {regions[0][0]}; ? lists those of {country}"
        else:
            hint = f"{country} has no regions and stands for itself"

        def region(text: str) -> str:
            return _region(text, country)

        default = region_of_zone(zone) if zone else None
        self._ask("region", f"Region where it grew, ISO 3166-2 ({hint})", region, default)
        question = "Latitude and longitude, no finer than 0.1 degree (Enter: none)"
        self._ask("coordinates", question, self._coordinates, "")

    def _day(self, text: str) -> str:
        day = read_date(text)
        if not EARLIEST <= day <= self._known.today:
            raise RefusedInputError(f"{day} is {'in the future' if day > self._known.today else 'before 1990'}")
        return text

    def _coordinates(self, text: str) -> str:
        if not text:
            return ""
        (latitude, longitude), notice = read_coordinates(text)
        country = self._answers["region"][:2]
        if not (abs(latitude) <= 90 and abs(longitude) <= 180) or far_from_country(latitude, longitude, country):
            raise RefusedInputError(f"that is not near {country}: write latitude first, west and south with a minus")
        if notice:
            say(notice)
        return f"{latitude:g} {longitude:g}"

    def _treatment(self) -> None:
        fibre = self._choose("fibre", "Laid on", MADE_FIBRES, MADE_FIBRES[0])
        papers = [each for each, kind in self._known.materials.items() if kind is MaterialKind.SUBSTRATE]
        if fitting := sorted(each for each in papers if fibre_of_material(each) == fibre):
            self._choose("substrate", "Which one (Enter: not told)", fitting, "")
        treatment = self._choose("treatment", "Treatment", MADE_TREATMENTS, Treatment.ALUM)
        number = 0
        for metal, treatments, place in (
            ("alum", (Treatment.ALUM, Treatment.ALUM_IRON), MordantPlace.FIBRE),
            ("iron", (Treatment.IRON, Treatment.ALUM_IRON), MordantPlace.BLANKET),
        ):
            if treatment in treatments:
                number += 1
                usable = self._applied((metal == "alum", metal == "iron"))
                self._mordant(number, f"Which {metal}", usable, UNKNOWN, place)
        if treatment == Treatment.OTHER:
            number += 1
            self._mordant(number, "Which mordant or dip", self._applied((False, False)), UNKNOWN, MordantPlace.FIBRE)
        others = self._applied((False, False), metals=treatment == Treatment.OTHER)
        while number < MAX_MORDANTS:
            if not self._mordant(
                number + 1, "Also a tannin or assistant (Enter: none)", others, "", MordantPlace.FIBRE
            ):
                break
            number += 1

    def _applied(self, metals_wanted: tuple[bool, bool], *, metals: bool = True) -> list[str]:
        """Return the materials with these metals (alum, iron); `metals` says whether other metal salts belong here."""
        salts = (MaterialKind.MORDANT, MaterialKind.DIP)
        applied = (
            each for each, kind in self._known.materials.items() if kind in APPLIED and (metals or kind not in salts)
        )
        return sorted(each for each in applied if metals_in([each]) == metals_wanted)

    def _mordant(self, number: int, question: str, materials: list[str], default: str, place: MordantPlace) -> bool:
        key = f"mordants.{number}"
        if not self._choose(f"{key}.material", question, [*materials, UNKNOWN], default):
            return False

        def strength(text: str) -> str:
            return text if text == UNKNOWN else str(read_number(text))

        if (
            self._ask(f"{key}.strength", "Its strength, a number (the unit is asked next)", strength, UNKNOWN)
            != UNKNOWN
        ):
            self._choose(f"{key}.unit", "Unit of the strength", STRENGTH_UNITS, None)
        self._choose(f"{key}.where", "Put on", tuple(MordantPlace), place)
        return True

    def _method(self) -> None:
        method = self._choose("method", "Method", tuple(Method), Method.STEAM)
        if method not in (Method.POUNDING, Method.COLD_PRESS):
            self._ask("temperature.value", "Temperature with its unit, such as 95 C (Enter: not measured)", _hot, "")
        self._ask("minutes", "Minutes (Enter: not told)", _number, "")

    def _result(self) -> None:
        strength = self._choose("result.strength", "How strongly it printed", tuple(Grade), None)
        if strength != Grade.NONE:
            self._choose("result.clarity", "How well edges and veins can be read", (*Clarity, UNKNOWN), UNKNOWN)
            colour = self._ask("", "Colour: #rrggbb from a scan, or an ISCC-NBS name (Enter: none)", self._colour, "")
            if colour:
                self._answers["result.hex" if colour.startswith("#") else "result.colour_name"] = colour
        folder = self._folder / self._answers["region"] / self._answers["date"][:4]
        self._ask("result.photo", f"Name of a photo in {folder} (Enter: none)", self._photo(folder), "")
        self._ask("note", "What else matters (Enter: nothing)", _words, "")

    def _colour(self, text: str) -> str:
        from .colorimetry import fold, from_hex

        if text.startswith("#"):
            from_hex(text)
            return text if len(text) == 7 else "#" + "".join(2 * digit for digit in text[1:])
        if text and fold(text) not in self._known.colours:
            raise RefusedInputError(f"{text[:40]!r} is not one of the {len(self._known.colours)} ISCC-NBS names")
        return text

    def _photo(self, folder: Path) -> Read:
        from .outcome_rules import photo_problem

        def check(text: str) -> str:
            if not text:
                return ""
            place = Path(text)
            if place.is_absolute() and place.is_relative_to(folder.resolve()):
                text = str(place.relative_to(folder.resolve()))
            if said := photo_problem(folder, text):
                raise RefusedInputError(f"{said[0]}; {said[1][0].lower()}{said[1][1:]}")
            return text

        return check

    def _maker(self) -> None:
        reaction = self._choose("reaction", "What you noticed on yourself", tuple(Reaction), Reaction.NONE)
        if reaction != Reaction.NONE:
            self._ask("reaction_note", "What you felt, how soon, for how long", _words, None)
        self._ask("contributor", "Your handle (2 to 30 small letters, digits, hyphens; no real name)", _handle, None)
        self._choose("licence", "Licence", tuple(Licence), Licence.CC0)
        if not click.confirm(_CONSENT, default=False):
            raise RefusedInputError("without consent nothing is written")
        self._answers["consent"] = "true"

    # -- how a question is put -----------------------------------------------------------------------------------------

    def _ask(self, key: str, question: str, read: Read, default: str | None) -> str:
        """Ask until the answer can be read; an empty one is kept out of the record."""

        def checked(text: str) -> str:
            try:
                return read(plain(text))
            except RefusedInputError as error:
                raise click.UsageError(str(error)) from None

        answer = str(click.prompt(question, default=default, show_default=bool(default), value_proc=checked))
        if key and answer:
            self._answers[key] = answer
        return answer

    def _choose(self, key: str, question: str, terms: Iterable[str], default: str | None) -> str:
        """Ask for one of the terms, by number, by name, or by how it begins."""
        known = [str(term) for term in terms]
        listed = ", ".join(f"{number} {term}" for number, term in enumerate(known, start=1))

        def chosen(text: str) -> str:
            if not text or text in known:
                return text
            if text.isascii() and text.isdigit() and 1 <= int(text) <= len(known):
                return known[int(text) - 1]
            near = [term for term in known if term.casefold().startswith(text.casefold())]
            if len(near) != 1:
                raise RefusedInputError(f"{text[:40]!r} is none of these; write a number from 1 to {len(known)}")
            return near[0]

        shown = str(default) if default is not None else None
        return self._ask(key, f"{question}: {listed}", chosen, shown)


def machine_zone() -> str | None:
    """Return the name of the time zone that the machine keeps; None when it does not say."""
    named = os.environ.get("TZ", "").lstrip(":")
    if not named:
        link = Path("/etc/localtime")
        named = str(link.resolve()).partition("zoneinfo/")[2] if link.exists() else ""
    return named if named and "/" in named else None


def _region(text: str, country: str | None) -> str:
    code = text.upper()
    asked = country if code == "?" else code if len(code) == 2 else None
    if asked and (listed := regions_of(asked)):
        raise RefusedInputError(", ".join(f"{each} {name}" for each, name in listed))
    for each, name in regions_of(country) if country else ():
        if name.casefold() == text.casefold():
            return each
    if not re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", code):
        raise RefusedInputError(f"{visible(text)[:40]!r} is not an ISO 3166-2 code: write one such as PT-11")
    if said := region_problem(code):
        raise RefusedInputError(f"{said[0]}. {said[1]}")
    return code


def _hot(text: str) -> str:
    if not text:
        return ""
    value, unit = read_temperature(text)
    return f"{value:g} {unit}"


def _number(text: str) -> str:
    return f"{read_number(text):g}" if text else ""


def _words(text: str) -> str:
    if len(text) > 600:
        raise RefusedInputError(f"this has {len(text)} characters; write 600 or fewer")
    return text


def _handle(text: str) -> str:
    if not _HANDLE.fullmatch(text):
        raise RefusedInputError(f"{text[:40]!r} is no handle: 2 to 30 small letters and digits, single hyphens between")
    return text

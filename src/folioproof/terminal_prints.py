"""Answers about colour and season as plain text: swatch, name and words; the swatch where it can be shown."""

from __future__ import annotations

import os
import textwrap
from collections.abc import Iterable, Iterator
from datetime import date

import click

from .estimates import Estimate
from .phenology import MonthStrength, Season
from .print_answers import (
    Expectation,
    Gathered,
    Gathering,
    LikeAnswer,
    NearColour,
    PaletteAnswer,
    PlantRef,
    SwapAnswer,
    Swatch,
    YearAnswer,
)
from .terminal import level_word
from .text import visible
from .vocabulary import Grade, Status

_WIDTH = 96
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_STRENGTH_WORDS = {
    Grade.NONE: "does not print",
    Grade.TRACE: "leaves a trace",
    Grade.PARTIAL: "prints in part",
    Grade.CLEAR: "prints clearly",
    Grade.FULL: "prints in full",
}


def _wrapped(text: str, indent: str = "    ", hanging: str = "    ") -> str:
    return textwrap.fill(text, _WIDTH, initial_indent=indent, subsequent_indent=hanging, break_on_hyphens=False)


def cells(shown: str, width: int = 6) -> str:
    """Return a block of colour for #rrggbb: 24-bit or 256 colours, as the terminal says it can; else nothing."""
    red, green, blue = bytes.fromhex(shown[1:])
    if os.environ.get("NO_COLOR"):
        return ""
    if os.environ.get("COLORTERM", "").lower() in ("truecolor", "24bit"):
        return click.style(" " * width, bg=(red, green, blue)) + " "
    if "256" in os.environ.get("TERM", ""):
        # The 6 x 6 x 6 cube of the 256 colours starts at 16; its steps lie at 0, 95, 135, 175, 215, 255.
        steps = [0 if c < 48 else 1 if c < 115 else (c - 35) // 40 for c in (red, green, blue)]
        return click.style(" " * width, bg=16 + 36 * steps[0] + 6 * steps[1] + steps[2]) + " "
    return ""


def swatch_text(swatch: Swatch | None) -> str:
    """Return block, name, code and spread; plain words where nothing is known."""
    if swatch is None:
        return "colour not known"
    return f"{cells(swatch.hex)}{swatch.name}, {swatch.hex}, give or take {swatch.spread:.0f} (CIEDE2000)"


def grade_words(grade: Grade) -> str:
    """Return how a leaf of this grade prints, in words."""
    return _STRENGTH_WORDS[grade]


def _plant(plant: PlantRef) -> str:
    return f"{plant.scientific_name} ({plant.common_name})" if plant.common_name else plant.scientific_name


def expectation_lines(answers: tuple[Expectation, ...]) -> Iterator[str]:
    """Yield the answers of `expect` to one name."""
    first = answers[0]
    asked = click.style(visible(first.query)[:80] or "(nothing)", bold=True)
    if first.plant is None:
        yield f"{asked}: no plant in the records has this name; nothing can be said of its colour."
        return
    if first.status is not Status.EXACT:
        yield f"{asked}: {first.status}; every plant that it may mean is shown, the more dangerous first."
    for warning in first.warnings:
        yield _wrapped(f"Warning: {warning}", "  ")
    seen = None
    for answer in answers:
        if answer.plant != seen and answer.plant is not None:
            seen = answer.plant
            yield f"{click.style(_plant(answer.plant), bold=True)}  {level_word(answer.level)}"
            yield from _season_lines(answer.season, answer.place.name if answer.place else "", answer.on)
            yield from _handling_lines(answer)
        yield from _treatment_lines(answer)
    notes = dict.fromkeys(note for a in answers if a.estimate for note in a.estimate.notes)
    yield from (_wrapped(note, "  ", "  ") for note in notes)


def on_paper_lines(found: Iterable[tuple[Estimate, Swatch | None]]) -> Iterator[str]:
    """Yield what a leaf is expected to print on paper, for `show`; nothing where nothing is known of its colour."""
    known = [(estimate, swatch) for estimate, swatch in found if swatch is not None]
    if known:
        yield "  Expected on paper"
        for estimate, swatch in known:
            yield f"    {estimate.treatment:<12}{swatch_text(swatch)}; {grade_words(estimate.grade)}"
            yield _wrapped(estimate.rests_on, "        ", "        ")


def _treatment_lines(answer: Expectation) -> Iterator[str]:
    estimate = answer.estimate
    assert estimate is not None
    yield f"  {answer.treatment:<12} on {answer.fibre}: {swatch_text(answer.swatch)}"
    yield f"      {_strength_text(estimate)}{_now_text(answer)}"
    yield _wrapped(estimate.rests_on, "      ", "      ")


def _strength_text(estimate: Estimate) -> str:
    likely = max(estimate.posterior[3:]) if estimate.strength >= 2.5 else 0.0
    visible_print = sum(estimate.posterior[2:])
    more = f", {sum(estimate.posterior[3:]):.0%} clear or better" if likely else ""
    return f"{grade_words(estimate.grade)} ({estimate.strength:.1f} of 4; {visible_print:.0%} that it prints{more})"


def _now_text(answer: Expectation) -> str:
    if answer.season_grades is None or answer.season is None or answer.season.sure == "not known":
        return ""
    return f"; now {sum(grade * p for grade, p in enumerate(answer.season_grades)):.1f} of 4"


def _season_lines(season: Season | None, place: str, on: date | None) -> Iterator[str]:
    if season is None:
        return
    until = f", until about {season.until.isoformat()}" if season.until else ""
    state = "in season" if season.in_season else "out of season"
    if season.sure == "not known":
        state, until = "season not known here", ""
    yield _wrapped(
        f"{place} on {on}: {season.stage}, {state}{until}; dates {season.sure} ({season.rule})", "  ", "    "
    )


def _handling_lines(answer: Expectation) -> Iterator[str]:
    if answer.handling:
        said = dict.fromkeys(f"{note.needs}{f' ({note.note})' if note.note else ''}" for note in answer.handling)
        yield _wrapped(f"Handling: {'; '.join(said)}", "  ", "    ")
    for note in answer.local_notes:
        where = f" in {', '.join(note.regions)}" if note.regions else ""
        yield _wrapped(f"{note.rule.capitalize()}{where} ({note.basis}): check your local rules.", "  ", "    ")


def gathering_lines(found: Gathering) -> Iterator[str]:
    """Yield the answer of `gather`."""
    yield click.style(f"{found.place.name} on {found.on.isoformat()}", bold=True)
    for row in found.plants:
        yield from _gathered_lines(row)
    if found.more:
        yield f"  and {found.more} more; --limit shows them"
    yield _wrapped(
        f"Not listed: {found.left_out} that are left out or not assessed in this company, {found.out_of_season} out of "
        f"season, {found.elsewhere} that grow elsewhere.",
        "  ",
        "  ",
    )
    yield from (_wrapped(note, "  ", "  ") for note in found.notes)


def _gathered_lines(row: Gathered) -> Iterator[str]:
    yield f"  {level_word(row.level)}  {click.style(_plant(row.plant), bold=True)}"
    for neighbour in row.identify_first:
        text = f"Identify first: taken for {neighbour.name}. {neighbour.look_alike.tell_apart} If in doubt, leave it."
        yield _wrapped(text, "      ", "      ")
    wanted = f"; {row.wanted[1]:.0f} from {visible(row.wanted[0])[:60]}" if row.wanted else ""
    yield f"      {row.treatment} on {row.fibre}: {swatch_text(row.swatch)}{wanted}"
    season = "season not known here" if row.season.sure == "not known" else row.season.stage.value
    until = (
        f" until about {row.season.until.isoformat()}" if row.season.until and row.season.sure != "not known" else ""
    )
    yield f"      {grade_words(row.grade_now)} now ({row.strength_now:.1f} of 4); {season}{until}"
    pick = [line for step, lines in row.precautions if step == "pick" for line in lines]
    if pick:
        yield _wrapped(f"Pick: {' '.join(pick)}", "      ", "      ")
    for note in row.local_notes:
        yield _wrapped(f"{note.rule.capitalize()} in {', '.join(note.regions)}: check your local rules.", "      ")


def like_lines(found: LikeAnswer) -> Iterator[str]:
    """Yield the answer of `like`."""
    asked = Swatch(lab=found.lab, name=found.name.name, spread=0)
    yield f"{click.style(visible(found.asked)[:60], bold=True)}: {cells(asked.hex)}{asked.name}, {asked.hex}"
    yield from _near_lines(found.found)
    yield from (_wrapped(note, "  ", "  ") for note in found.notes)


def _near_lines(rows: Iterable[NearColour]) -> Iterator[str]:
    for row in rows:
        shape = {True: "; like leaf shape", False: "; another leaf shape", None: ""}[row.same_shape]
        yield f"  {row.distance:4.1f}  {level_word(row.level)}  {_plant(row.plant)}, {row.treatment} on {row.fibre}"
        yield f"        {swatch_text(row.swatch)}; {grade_words(row.grade)}{shape}"


def swap_lines(found: SwapAnswer) -> Iterator[str]:
    """Yield the answer of `swap`."""
    asked = click.style(visible(found.query)[:80] or "(nothing)", bold=True)
    yield f"{asked}: {level_word(found.level)}"
    if found.plant is not None:
        yield f"  {_plant(found.plant)}, {found.treatment} on {found.fibre}: {swatch_text(found.swatch)}"
    yield from _near_lines(found.found)
    yield from (_wrapped(note, "  ", "  ") for note in found.notes)


def palette_lines(found: PaletteAnswer) -> Iterator[str]:
    """Yield the answer of `palette`."""
    for number, each in enumerate(found.colours, start=1):
        name = _plant(each.plant) if each.plant else visible(each.query)[:80]
        yield f"  {number:2}  {level_word(each.level)}  {name}, {each.treatment} on {each.fibre}"
        yield f"        {swatch_text(each.swatch)}"
    for pair in found.confusions:
        eyes = "for everyone" if pair.sight == "ordinary" else f"for {pair.sight}opic sight"
        both = f"{pair.first + 1} and {pair.second + 1}"
        yield _wrapped(f"{both} will be hard to tell apart {eyes} ({pair.distance:.1f} CIEDE2000).", "  ", "  ")
    yield from (_wrapped(note, "  ", "  ") for note in found.notes)


def year_lines(found: YearAnswer) -> Iterator[str]:
    """Yield the answer of `calendar`."""
    asked = click.style(visible(found.query)[:80] or "(nothing)", bold=True)
    if found.plant is None or found.calendar is None:
        yield f"{asked}: no plant in the records has this name."
        return
    if found.status is not Status.EXACT:
        yield f"{asked}: {found.status}; the first plant that it may mean is shown."
    yield f"{click.style(_plant(found.plant), bold=True)}  {level_word(found.level)}"
    yield f"  {found.place.name}, {found.year}"
    yield from (f"  {line}" for line in month_lines(found.months))
    yield _wrapped(f"Dates: {found.calendar.rule}; {found.calendar.sure}.", "  ", "  ")
    yield _wrapped(f"Strength by stage: from {'the record' if found.stages else 'common practice'}.", "  ", "  ")
    for stage in found.stages:
        said = stage.source or stage.basis
        yield _wrapped(f"{stage.stage}: {stage.share:.0%} ({said}){f'; {stage.note}' if stage.note else ''}", "    ")
    yield from (_wrapped(note, "  ", "  ") for note in found.calendar.notes)


def month_lines(months: Iterable[MonthStrength]) -> Iterator[str]:
    """Yield one line a month: a bar of ten for the share of the best stage, the share and the stage in words."""
    for each in months:
        bar = "#" * round(each.strength * 10)
        yield f"{_MONTHS[each.month - 1]}  {bar:<10}  {each.strength:4.0%}  {each.stage}"

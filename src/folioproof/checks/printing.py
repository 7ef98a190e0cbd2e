"""What records say about printing: complete, sorted, and true to the rules of colour."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from ..corpus import Corpus, Entry
from ..finding import Finding
from ..printing import ColourStatement, Printing
from ..records import TaxonRecord
from ..vocabulary import FIBRES, TREATMENTS, Basis, Fibre, Grade, Part, Process, Stage, Treatment

Lab = tuple[float, float, float]
Where = tuple[str | int, ...]

_UNCITED = (Basis.PRACTICE, Basis.MEMORY)
_IRON = (Treatment.IRON, Treatment.ALUM_IRON)
_CONTINENTS = set("123456789")
_RED_OR_BLUE = ("red", "pink", "purple", "violet", "blue", "purplish", "magenta")


def _blocks(corpus: Corpus) -> Iterator[tuple[Entry[TaxonRecord], Printing]]:
    for entry in corpus.taxa:
        if entry.record.printing is not None:
            yield entry, entry.record.printing


def _statements(corpus: Corpus) -> Iterator[tuple[Entry[TaxonRecord], Where, ColourStatement]]:
    for entry, block in _blocks(corpus):
        for i, statement in enumerate(block.colours):
            yield entry, ("printing", "colours", i), statement


def _centroids(corpus: Corpus) -> dict[str, Lab]:
    return {each.name: each.lab for entry in corpus.colour_names for each in entry.record.names}


def dye_class_exists(corpus: Corpus) -> Iterator[Finding]:
    """P241."""
    known = {entry.record.id for entry in corpus.dye_classes}
    for entry, block in _blocks(corpus):
        for i, dye in enumerate(block.dyes):
            if dye.dye_class not in known:
                problem = f"there is no dye class {dye.dye_class}"
                remedy = f"Write one of: {', '.join(sorted(known)) or 'none yet'}"
                yield entry.finding(("printing", "dyes", i, "dye_class"), "P241", problem, remedy)


def statement_order(statement: ColourStatement) -> tuple[int, int, int, int, str]:
    """Return the key by which colour statements are sorted."""
    return (
        list(Process).index(statement.process),
        list(Treatment).index(statement.treatment),
        list(Fibre).index(statement.fibre),
        list(Part).index(statement.part),
        statement.source or "",
    )


def _orders(block: Printing) -> Iterator[tuple[str, list[Any], str]]:
    yield "dyes", [(d.dye_class, d.source or "", d.parts) for d in block.dyes], "dye class, source, parts"
    yield "colours", [statement_order(c) for c in block.colours], "process, treatment, fibre, part, source"
    yield "stages", [(list(Stage).index(s.stage), s.source or "") for s in block.stages], "stage, source"
    yield "handling", [(h.needs, h.source or "") for h in block.handling], "needs, source"
    light = [
        (list(Treatment).index(x.treatment), list(Fibre).index(x.fibre), x.source or "") for x in block.lightfastness
    ]
    yield "lightfastness", light, "treatment, fibre, source"
    yield "local_notes", [(n.rule, n.source or "") for n in block.local_notes], "rule, source"


def printing_is_sorted(corpus: Corpus) -> Iterator[Finding]:
    """P242."""
    for entry, block in _blocks(corpus):
        for key, order, by in _orders(block):
            for i in range(1, len(order)):
                if order[i] < order[i - 1]:
                    problem = f"entry {i + 1} belongs before entry {i}"
                    yield entry.finding(("printing", key, i), "P242", problem, f"Sort {key} by {by}")
        inner: list[tuple[Where, tuple[str, ...]]] = [(("grows_in",), block.grows_in)]
        inner += [(("dyes", i, "parts"), dye.parts) for i, dye in enumerate(block.dyes)]
        inner += [(("local_notes", i, "regions"), note.regions) for i, note in enumerate(block.local_notes)]
        for where, values in inner:
            if list(values) != sorted(set(values)):
                remedy = f"Write [{', '.join(sorted(set(values)))}]"
                problem = "a list is not sorted, or repeats an entry"
                yield entry.finding(("printing", *where), "P242", problem, remedy)


def colour_can_be_read(corpus: Corpus) -> Iterator[Finding]:
    """P243."""
    known = _centroids(corpus)
    for entry, where, said in _statements(corpus):
        if said.reads_as is not None and said.reads_as not in known:
            problem = f"{said.reads_as!r} is not one of the {len(known)} ISCC-NBS names"
            yield entry.finding((*where, "reads_as"), "P243", problem, "Write a name of colour-names/iscc-nbs.yml")
        if said.lab is not None and said.reads_as is not None:
            yield entry.finding(where, "P243", "a measured colour needs no reading", "Take reads_as out")
        if said.strength is Grade.NONE and (said.lab or said.reads_as):
            yield entry.finding(where, "P243", "what did not print has no colour", "Take the colour out")
        if not (said.lab or said.words or said.strength or said.reads_as or said.note):
            problem = "neither colour, strength nor note is given"
            yield entry.finding(where, "P243", problem, "Add one, or take it out")


def colour_of(statement: ColourStatement, known: dict[str, Lab]) -> Lab | None:
    """Return the CIELAB colour that a statement measured or reads as."""
    return statement.lab or known.get(statement.reads_as or "")


def in_iron_family(lab: Lab) -> bool:
    """Say whether a colour is grey, olive, khaki, brown or black: what iron gives unless a source says otherwise.

    Nearly neutral, or between orange and yellow green and not light. The bounds hold the ISCC-NBS greys, olives,
    browns and blacks (28 pairs of one source: 36 of 43 iron colours carry such a word).
    """
    lightness, a, b = lab
    chroma, hue = math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360
    return chroma <= 15 or (30 <= hue <= 140 and lightness <= 66 and chroma <= 60)


def uncited_iron_is_dark(corpus: Corpus) -> Iterator[Finding]:
    """P244."""
    known = _centroids(corpus)
    for entry, where, said in _statements(corpus):
        lab = colour_of(said, known)
        if said.treatment not in _IRON or said.basis not in _UNCITED or lab is None:
            continue
        if not in_iron_family(lab):
            problem = f"without a source iron gives grey, olive, khaki, brown or black, not {said.reads_as or lab}"
            yield entry.finding(where, "P244", problem, "Write such a colour, or cite who saw the other")
        for other in entry.record.printing.colours if entry.record.printing else ():
            alum = colour_of(other, known)
            same = (other.part, other.fibre, other.process) == (said.part, said.fibre, said.process)
            if same and other.treatment is Treatment.ALUM and alum and alum[0] < lab[0]:
                problem = "without a source iron is never lighter than alum on the same fibre"
                yield entry.finding(where, "P244", problem, "Write a darker colour, or cite who saw it")
                break


def process_and_treatment_fit(corpus: Corpus) -> Iterator[Finding]:
    """P245."""
    for entry, where, said in _statements(corpus):
        if said.process is Process.DYE_BATH and said.strength is not None:
            problem = "a dye bath says nothing about how a leaf prints"
            yield entry.finding((*where, "strength"), "P245", problem, "Take strength out")
        if said.treatment is Treatment.OTHER and said.with_what is None:
            yield entry.finding(where, "P245", "the other treatment is not named", "Add with_what")
        vague = said.treatment in (Treatment.OTHER, Treatment.UNSTATED) or said.fibre is Fibre.UNSTATED
        if vague and said.basis in _UNCITED:
            problem = "a statement without a source knows its treatment and fibre"
            yield entry.finding(where, "P245", problem, "Write them, or take the statement out")


def figures_are_in_range(corpus: Corpus) -> Iterator[Finding]:
    """P246."""
    for entry, block in _blocks(corpus):
        for i, stage in enumerate(block.stages):
            if not 0 <= stage.share <= 1:
                where: Where = ("printing", "stages", i, "share")
                yield entry.finding(where, "P246", f"{stage.share} is no share", "Write a number from 0 to 1")
        for code in block.grows_in:
            if code not in _CONTINENTS:
                problem = f"{code!r} is no botanical continent"
                yield entry.finding(("printing", "grows_in"), "P246", problem, 'Write codes "1" to "9"')
    for entry, where, said in _statements(corpus):
        if said.month is not None and not 1 <= said.month <= 12:
            yield entry.finding((*where, "month"), "P246", f"{said.month} is no month", "Write 1 to 12")
        if said.lab and not (0 <= said.lab[0] <= 100 and all(abs(v) <= 128 for v in said.lab[1:])):
            problem = f"{list(said.lab)} is no CIELAB colour"
            yield entry.finding((*where, "lab"), "P246", problem, "Write [L 0 to 100, a, b within 128]")


def priors_are_complete(corpus: Corpus) -> Iterator[Finding]:
    """P247."""
    expected = [(treatment, fibre) for treatment in TREATMENTS for fibre in FIBRES]
    for entry in corpus.dye_classes:
        priors = entry.record.priors
        if [(p.treatment, p.fibre) for p in priors] != expected:
            problem = "the rows are not each treatment with each fibre, in the order of the vocabulary"
            yield entry.finding(("priors",), "P247", problem, "Add, remove or move rows until they are")
            continue
        alum = {p.fibre: p.lab[0] for p in priors if p.treatment is Treatment.ALUM}
        for i, prior in enumerate(priors):
            if prior.treatment in _IRON and prior.lab[0] > alum[prior.fibre]:
                yield entry.finding(("priors", i), "P247", "iron is lighter than alum", "Write a darker colour")
            if prior.treatment in _IRON and not in_iron_family(prior.lab) and prior.basis in _UNCITED:
                problem = "without a source iron gives grey, olive, khaki, brown or black"
                yield entry.finding(("priors", i), "P247", problem, "Write such a colour")
            if prior.spread < 5:
                problem = "a whole class of plants is never so sure of its colour"
                yield entry.finding(("priors", i, "spread"), "P247", problem, "Write 5 or more")


def red_needs_a_source(corpus: Corpus) -> Iterator[Finding]:
    """P248."""
    for entry, where, said in _statements(corpus):
        reading = (said.reads_as or "").split()
        leaf = said.part is Part.LEAF and said.basis in _UNCITED
        if leaf and reading and any(word in _RED_OR_BLUE for word in reading[-1:]):
            problem = f"a leaf promises {said.reads_as} only where a source saw it: red leaves seldom print red"
            yield entry.finding((*where, "reads_as"), "P248", problem, "Cite the print, or write what it gave")


RULES = {
    "P241": ("a dye class that is named has a record", dye_class_exists),
    "P242": ("printing lists are sorted", printing_is_sorted),
    "P243": ("a colour is one of the standard names or a measured one, and what did not print has none",
             colour_can_be_read),
    "P244": ("without a source iron is dark, and never lighter than alum", uncited_iron_is_dark),
    "P245": ("process, treatment and strength fit", process_and_treatment_fit),
    "P246": ("shares, months, colours and continents are in range", figures_are_in_range),
    "P247": ("a dye class has each treatment with each fibre", priors_are_complete),
    "P248": ("a leaf promises red, purple or blue only with a source", red_needs_a_source),
}  # fmt: skip

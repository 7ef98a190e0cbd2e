"""The estimate: what a leaf will print, from its dye class, what was told, and what was contributed. Pure.

Colour. Each claim is a colour with a standard deviation; the mean is weighted by precision (1 / variance), the usual
rule for combining independent measurements. The spread is the root of the pooled variance plus the weighted squared
distance of the claims from their mean, and never less than half the distance between the two colours farthest apart:
so a colour that lies more than two spreads away from any other can widen an estimate but never narrow it. The
deviations given to each basis are folioproof's own choice, wide on purpose; no study measured them.

Strength. A posterior over five grades. It starts from the published base rate (NURAENI2020: of 88 species tried on
alum-mordanted silk, 32 printed from the leaf). Each voice (a maker, a paper, the craft) counts once, however many
prints it tells of. Makers publish their successes, so the likelihood of an account is divided by the chance that a
leaf of that strength would have been published at all (`_SELECTION`).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

from .colorimetry import Lab, difference
from .estimates import CAUTIONS, Estimate, HeldDye, Knowledge, Layer, LayerKind, Priors, Told
from .printing import ColourStatement, Dye
from .vocabulary import Basis, Fibre, Grade, Part, Process, Rank, Treatment

#: NURAENI2020: 32 of 88 species printed from the leaf. How the share divides inside "printed" and "not printed" was not
#: published; it is taken as even.
PRINTED, TRIED = 32, 88
BASE_RATE = (*[(1 - PRINTED / TRIED) / 2] * 2, *[PRINTED / TRIED / 3] * 3)

#: Of the graded makers' accounts 69 % are clear or full, of the species of the trial 36 % printed: the odds that a good
#: print is published are (.69 / .31) / (.36 / .64), about four times those of a poor one.
_SELECTION = (0.69 / 0.31) / (0.36 / 0.64)

#: Standard deviation of a claim in CIEDE2000 units, by what it rests on (our own choice).
MEASURED_DEVIATION = 8.0
DEVIATIONS = {
    LayerKind.PUBLISHED_PRINT: 12.0,
    LayerKind.ACCOUNT: 14.0,
    LayerKind.DYE_BATH: 16.0,
    LayerKind.PRACTICE: 18.0,
    LayerKind.MEMORY: 22.0,
}
#: What is added in quadrature for speaking of a neighbour: another fibre, another treatment, the genus.
_OTHER_FIBRE = 8.0
_OTHER_RANK = 12.0
_NEAR_TREATMENT = {
    (Treatment.ALUM, Treatment.NONE): 12.0,
    (Treatment.NONE, Treatment.ALUM): 12.0,
    (Treatment.IRON, Treatment.ALUM_IRON): 8.0,
    (Treatment.ALUM_IRON, Treatment.IRON): 8.0,
}
#: How much of a voice's word on strength counts (a tempered likelihood: 1 in full, 0 not at all).
_TRUST = {
    LayerKind.PUBLISHED_PRINT: 1.0,
    LayerKind.ACCOUNT: 0.6,
    LayerKind.PRACTICE: 0.5,
    LayerKind.MEMORY: 0.25,
}
_CLASS_TRUST = 0.4
_NEIGHBOUR = 0.5
_IRON = (Treatment.IRON, Treatment.ALUM_IRON)
_CITED = (LayerKind.PUBLISHED_PRINT, LayerKind.ACCOUNT, LayerKind.DYE_BATH)


_KINDS = {
    Basis.PUBLISHED: LayerKind.PUBLISHED_PRINT,
    Basis.ACCOUNT: LayerKind.ACCOUNT,
    Basis.PRACTICE: LayerKind.PRACTICE,
    Basis.MEMORY: LayerKind.MEMORY,
}


@dataclass(frozen=True, slots=True)
class Claim:
    """One voice's colour: where it lies, how sure it is (standard deviation), and on what it rests.

    `seen` holds the colours that `lab` is the mean of, where there is more than one.
    """

    kind: LayerKind
    basis: Basis
    rank: Rank
    lab: Lab
    deviation: float
    sources: tuple[str, ...] = ()
    seen: tuple[Lab, ...] = ()


def expect(
    known: Knowledge,
    priors: Priors,
    treatment: Treatment,
    fibre: Fibre,
    part: Part = Part.LEAF,
) -> Estimate:
    """Return what `part` of the plant is expected to print under `treatment` on `fibre`, every layer shown.

    `treatment` and `fibre` are one of the four each that estimates speak of. A plant of which nothing is known gets the
    base rate and no colour.
    """
    claims = colour_claims(known, priors, treatment, fibre, part)
    lab, spread = combine(claims)
    notes = list(_cautions(treatment, fibre))
    if lab is not None and treatment in _IRON and not any(c.kind in _CITED for c in claims):
        alum, _ = combine(colour_claims(known, priors, Treatment.ALUM, fibre, part))
        if alum is not None and lab.lightness > alum.lightness:
            lab = Lab(alum.lightness, lab.a, lab.b)
            notes.append("Held no lighter than with alum: iron darkens, and no source says otherwise here.")
    layers = _layers(claims)
    return Estimate(
        part=part,
        treatment=treatment,
        fibre=fibre,
        lab=lab,
        spread=spread,
        posterior=strength(known, priors, treatment, fibre, part),
        layers=layers,
        rests_on=_rests_on(layers, known, part),
        notes=tuple(notes),
    )


def _cautions(treatment: Treatment, fibre: Fibre) -> Iterable[str]:
    if treatment in _IRON and fibre in (Fibre.PAPER, Fibre.PLANT_FIBRE):
        yield CAUTIONS["iron on cellulose"]
    if treatment in (Treatment.ALUM, Treatment.ALUM_IRON):
        yield CAUTIONS["alum in light"]


# -- colour -------------------------------------------------------------------------------------------------------


def combine(claims: Sequence[Claim]) -> tuple[Lab | None, float | None]:
    """Return the precision-weighted mean colour and its spread (CIEDE2000 units); None, None without a claim."""
    if not claims:
        return None, None
    weights = _weights(claims)
    mean = _mean([claim.lab for claim in claims], weights)
    pooled = 1 / sum(claim.deviation**-2 for claim in claims)
    between = sum(w * difference(mean, c.lab) ** 2 for w, c in zip(weights, claims, strict=True))
    colours = list(dict.fromkeys(lab for claim in claims for lab in claim.seen or (claim.lab,)))
    widest = max((difference(x, y) for i, x in enumerate(colours) for y in colours[:i]), default=0.0)
    return mean, max(math.sqrt(pooled + between), widest / 2)


def _weights(claims: Sequence[Claim]) -> list[float]:
    precisions = [claim.deviation**-2 for claim in claims]
    return [precision / sum(precisions) for precision in precisions]


def _mean(colours: Sequence[Lab], weights: Sequence[float]) -> Lab:
    pairs = list(zip(weights, colours, strict=True))
    return Lab(sum(w * c.lightness for w, c in pairs), sum(w * c.a for w, c in pairs), sum(w * c.b for w, c in pairs))


def combine_evenly(colours: Sequence[Lab]) -> Lab:
    """Return the plain mean of colours in CIELAB."""
    return _mean(colours, [1 / len(colours)] * len(colours))


def colour_claims(known: Knowledge, priors: Priors, treatment: Treatment, fibre: Fibre, part: Part) -> list[Claim]:
    """Return every claim about the colour, one a voice and kind, the dye class among them."""
    heard: dict[tuple[LayerKind, str, Rank], list[tuple[Lab, float, Told]]] = defaultdict(list)
    for told in known.told:
        kind, deviation = layer_kind(told), _deviation(told, treatment, fibre, part)
        if told.lab is not None and kind is not None and deviation is not None:
            heard[kind, told.voice, told.rank].append((told.lab, deviation, told))
    claims = []
    for (kind, _, rank), rows in heard.items():
        # A voice that tells of ten prints is one voice: its closest print sets how sure it is, its quarrels with itself
        # make it less so.
        nearest = min(deviation for _, deviation, _ in rows)
        mean = _mean([lab for lab, _, _ in rows], [1 / len(rows)] * len(rows))
        scatter = sum(difference(mean, lab) ** 2 for lab, _, _ in rows) / len(rows)
        said = [told.statement for _, _, told in rows]
        cited = tuple(sorted({each.source for each in said if each.source}))
        seen = tuple(lab for lab, _, _ in rows)
        claims.append(Claim(kind, _best(said), rank, mean, math.sqrt(nearest**2 + scatter), cited, seen))
    return claims + _class_claims(known, priors, treatment, fibre, part) + _contributed(known, treatment, fibre, part)


def _best(claims: Sequence[ColourStatement | Dye | Claim]) -> Basis:
    return min((claim.basis for claim in claims), key=list(Basis).index)


def layer_kind(told: Told) -> LayerKind | None:
    """Return what a statement counts as; a dye bath is never a print, and without a source it counts for nothing."""
    said = told.statement
    if said.process is Process.DYE_BATH:
        return LayerKind.DYE_BATH if said.basis in (Basis.PUBLISHED, Basis.ACCOUNT) else None
    return _KINDS.get(said.basis)


def _deviation(told: Told, treatment: Treatment, fibre: Fibre, part: Part) -> float | None:
    """Return how far a statement may be off for what is asked, or None when it says nothing about it."""
    said, kind = told.statement, layer_kind(told)
    if kind is None or said.part not in (part, Part.ALL):
        return None
    squares = [MEASURED_DEVIATION**2 if said.lab and kind is not LayerKind.DYE_BATH else DEVIATIONS[kind] ** 2]
    if said.treatment is not treatment:
        step = _NEAR_TREATMENT.get((treatment, said.treatment))
        if step is None:
            return None
        squares.append(step**2)
    if said.fibre is not fibre:
        squares.append(_OTHER_FIBRE**2)
    if told.rank in (Rank.GENUS, Rank.FAMILY):
        squares.append(_OTHER_RANK**2)
    return math.sqrt(sum(squares))


def dyes_of(known: Knowledge, part: Part) -> tuple[HeldDye, ...]:
    """Return the dye claims that count for a part: the plant's own, or else its genus's, or else its family's."""
    fitting = [held for held in known.dyes if part in held.dye.parts or Part.ALL in held.dye.parts]
    own = [held for held in fitting if held.rank not in (Rank.GENUS, Rank.FAMILY)]
    genus = [held for held in fitting if held.rank is Rank.GENUS]
    return tuple(own or genus or fitting)


def _class_claims(known: Knowledge, priors: Priors, treatment: Treatment, fibre: Fibre, part: Part) -> list[Claim]:
    """Return one claim for the plant's dye classes together: they lie in the same leaf, not side by side."""
    dyes = dyes_of(known, part)
    classes = sorted({held.dye.dye_class for held in dyes})
    found = [priors[each, treatment, fibre] for each in classes if (each, treatment, fibre) in priors]
    if not found:
        return []
    colours = [Lab(*prior.lab) for prior in found]
    mean = _mean(colours, [1 / len(found)] * len(found))
    variance = sum(p.spread**2 + difference(mean, c) ** 2 for p, c in zip(found, colours, strict=True)) / len(found)
    rank = dyes[0].rank
    if rank in (Rank.GENUS, Rank.FAMILY):
        variance += _OTHER_RANK**2
    basis = _best([held.dye for held in dyes])
    cited = tuple(sorted({held.dye.source for held in dyes if held.dye.source}))
    return [Claim(LayerKind.DYE_CLASS, basis, rank, mean, math.sqrt(variance), cited, tuple(colours))]


def _contributed(known: Knowledge, treatment: Treatment, fibre: Fibre, part: Part) -> list[Claim]:
    got = known.contributed.get((part, treatment, fibre))
    if got is None or got.lab is None or got.spread is None:
        return []
    # The centre of many prints is known better than the colour of one: its deviation shrinks with the printers.
    deviation = math.sqrt(MEASURED_DEVIATION**2 / 4 + got.spread**2 / max(1, got.colour_people))
    return [Claim(LayerKind.CONTRIBUTED, Basis.CONTRIBUTED, Rank.SPECIES, got.lab, deviation)]


def _layers(claims: Sequence[Claim]) -> tuple[Layer, ...]:
    """Put the claims of one kind and rank together, strongest kind first."""
    groups: dict[tuple[LayerKind, Rank], list[tuple[float, Claim]]] = defaultdict(list)
    for weight, claim in zip(_weights(claims) if claims else (), claims, strict=True):
        groups[claim.kind, claim.rank].append((weight, claim))
    layers = []
    for (kind, rank), members in groups.items():
        total = sum(weight for weight, _ in members)
        own = [claim for _, claim in members]
        lab, spread = combine(own)
        assert lab is not None and spread is not None
        cited = tuple(sorted({source for claim in own for source in claim.sources}))
        layers.append(Layer(kind, _best(own), rank, lab, spread, total, len(own), cited))
    return tuple(sorted(layers, key=lambda layer: (list(LayerKind).index(layer.kind), layer.rank)))


# -- strength -----------------------------------------------------------------------------------------------------


def strength(
    known: Knowledge, priors: Priors, treatment: Treatment, fibre: Fibre, part: Part = Part.LEAF
) -> tuple[float, ...]:
    """Return the probability of each grade, none to full; without any claim the base rate."""
    log = [math.log(chance) for chance in BASE_RATE]
    voices: dict[tuple[LayerKind, str, Rank], list[tuple[float, Grade]]] = defaultdict(list)
    for told in known.told:
        kind, said = layer_kind(told), told.statement
        trust = _trust(told, treatment, fibre, part)
        if kind is not None and said.strength is not None and trust:
            voices[kind, told.voice, told.rank].append((trust, said.strength))
    for (kind, _, _), rows in voices.items():
        # Only the rows that come nearest to what is asked speak for this voice.
        top = max(trust for trust, _ in rows)
        grades = [grade for trust, grade in rows if trust == top]
        for grade in grades:
            weighed = likelihood(grade, published_by_choice=kind is LayerKind.ACCOUNT)
            log = [old + top / len(grades) * math.log(new) for old, new in zip(log, weighed, strict=True)]
    for prior in _class_priors(known, priors, treatment, fibre, part):
        weighed = likelihood(prior, published_by_choice=False)
        log = [old + _CLASS_TRUST * math.log(new) for old, new in zip(log, weighed, strict=True)]
    got = known.contributed.get((part, treatment, fibre))
    if got is not None:
        for grade, count in zip(Grade, got.counts, strict=True):
            weighed = likelihood(grade, published_by_choice=False)
            log = [old + count * math.log(new) for old, new in zip(log, weighed, strict=True)]
    largest = max(log)
    raw = [math.exp(each - largest) for each in log]
    return tuple(each / sum(raw) for each in raw)


@cache
def likelihood(grade: Grade, *, published_by_choice: bool) -> tuple[float, ...]:
    """Return, for each true grade, the chance that a voice says `grade`: it falls by e with each grade it is off."""
    result = []
    for true in range(5):
        said = [math.exp(-abs(true - told)) for told in range(5)]
        if published_by_choice:
            said = [s * (_SELECTION if told >= Grade.CLEAR.number else 1) for told, s in enumerate(said)]
        result.append(said[grade.number] / sum(said))
    return tuple(result)


def thinned(posterior: Sequence[float], share: float) -> tuple[float, ...]:
    """Return the grades of a leaf that prints at `share` (0 to 1) of its best: each step is kept with that chance.

    Binomial thinning of the grade, which keeps it between 0 and 4 and scales its mean by `share`.
    """
    share = min(1.0, max(0.0, share))
    result = [0.0] * 5
    for best, chance in enumerate(posterior):
        for kept in range(best + 1):
            result[kept] += chance * math.comb(best, kept) * share**kept * (1 - share) ** (best - kept)
    return tuple(result)


def _trust(told: Told, treatment: Treatment, fibre: Fibre, part: Part) -> float:
    said, kind = told.statement, layer_kind(told)
    if kind not in _TRUST or said.part not in (part, Part.ALL):
        return 0.0
    trust = _TRUST[kind]
    if said.treatment is not treatment:
        trust *= _NEIGHBOUR
    if said.fibre is not fibre:
        trust *= _NEIGHBOUR
    return trust * (_NEIGHBOUR if told.rank in (Rank.GENUS, Rank.FAMILY) else 1)


def _class_priors(known: Knowledge, priors: Priors, treatment: Treatment, fibre: Fibre, part: Part) -> list[Grade]:
    """Return the strongest grade among the plant's dye classes, as one voice."""
    classes = {held.dye.dye_class for held in dyes_of(known, part)}
    grades = [priors[each, treatment, fibre].strength for each in classes if (each, treatment, fibre) in priors]
    return [max(grades, key=lambda grade: grade.number)] if grades else []


# -- words --------------------------------------------------------------------------------------------------------

_IN_WORDS = {
    LayerKind.CONTRIBUTED: "contributed prints",
    LayerKind.PUBLISHED_PRINT: ("a published print", "{} published prints"),
    LayerKind.ACCOUNT: ("one maker's account", "the accounts of {} makers"),
    LayerKind.DYE_BATH: ("a published dye bath", "{} published dye baths"),
    LayerKind.PRACTICE: "common practice",
    LayerKind.MEMORY: "memory",
    LayerKind.DYE_CLASS: "its dye class",
}


def _rests_on(layers: Sequence[Layer], known: Knowledge, part: Part) -> str:
    """Return one plain sentence on what the colour rests on."""
    if not layers:
        return f"Nothing is known of its colour; {PRINTED} of {TRIED} species tried on silk printed from the leaf."
    bits = []
    for layer in layers:
        words = _IN_WORDS[layer.kind]
        text = words if isinstance(words, str) else words[0] if layer.voices == 1 else words[1].format(layer.voices)
        if layer.rank in (Rank.GENUS, Rank.FAMILY):
            text += f" of the {layer.rank}"
        if layer.kind is LayerKind.DYE_CLASS and all(h.dye.basis is Basis.MEMORY for h in dyes_of(known, part)):
            text += " (from memory)"
        bits.append(text)
    listed = bits[0] if len(bits) == 1 else f"{', '.join(bits[:-1])} and {bits[-1]}"
    printed = any(layer.kind is LayerKind.PUBLISHED_PRINT for layer in layers)
    missing = "" if printed else "; no published print tells its colour"
    return f"Rests on {listed}{missing}."

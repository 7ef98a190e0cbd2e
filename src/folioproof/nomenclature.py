"""Reading scientific and common names as the codes of nomenclature write them (ICN, ICNCP).

`variants` turns what a person typed into the readings it may have, most literal first.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from .text import Folded, normalise

_QUOTED = re.compile(r"\s*(?:‘[^’]*’|'[^']*'(?=\s|$)|\"[^\"]*\"|“[^”]*”)\s*")
_LEAF_WORD = re.compile(r"\s+(?:leaf|leaves|foliage)$", re.IGNORECASE)
_RANK = r"(?:subsp|ssp|var|subvar|f|fo|forma|nothosubsp|nothovar)\.?"
_BINOMIAL = re.compile(
    r"^(?P<canonical>(?:[x×]\s*)?[A-Z][a-zë-]+\s+(?:[x×]\s*)?[a-zë-]{2,}(?:\s+" + _RANK + r"\s+[a-zë-]{2,})?)"
    r"\s+(?P<authors>(?:\(|[A-ZÀ-Þ]|d'|de\s|van\s|von\s).*)$"
)
_INITIAL = re.compile(r"^(?P<initial>[A-Z])\.\s*(?:[x×]\s*)?(?P<epithet>[a-zë-]{3,})$", re.IGNORECASE)
_OPEN_SPECIES = re.compile(r"^(?P<genus>[A-Z][a-zë-]+)\s+(?:spp?|species)\.?$", re.IGNORECASE)


#: BCP 47 tags that vernacular names may carry, with the language's name in English.
LANGUAGES = {
    "da": "Danish", "de": "German", "en": "English", "es": "Spanish", "fi": "Finnish", "fr": "French", "hi": "Hindi",
    "hi-Latn": "Hindi in Latin letters", "id": "Indonesian", "it": "Italian", "ja": "Japanese",
    "ja-Latn": "Japanese in Latin letters", "mi": "Māori", "ms": "Malay", "nl": "Dutch", "no": "Norwegian",
    "pl": "Polish", "pt": "Portuguese", "sv": "Swedish", "tr": "Turkish", "zh": "Chinese",
    "zh-Latn": "Chinese in pinyin",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Variant:
    """One reading of a query; only a reading that lost nothing may be exact."""

    folded: Folded
    lossless: bool
    said: str
    authors: str = ""


@dataclass(frozen=True, slots=True)
class Initial:
    """An abbreviated genus: A. rubrum."""

    letter: str
    epithet: Folded


def variants(text: str) -> tuple[Variant, ...]:
    """Return the readings of `text`, most literal first, without repeats.

    Lossless are the whole string and the string without its authors; a cultivar name, the word leaf, or a
    turned-round "maple, red" leaves something out, so it can only be confirmed.
    """
    found = [Variant(normalise(text), True, "as written")]
    if match := _OPEN_SPECIES.match(text.strip()):
        found.append(Variant(normalise(match["genus"]), True, "genus, species left open"))
    plain = _QUOTED.sub(" ", text).strip()
    if plain and plain != text.strip():
        found.append(Variant(normalise(plain), False, "without the cultivar name"))
    for source, lossless in ((text.strip(), True), (plain, False)):
        if match := _BINOMIAL.match(source):
            said = "without the authors" if lossless else "without cultivar name and authors"
            found.append(Variant(normalise(match["canonical"]), lossless, said, match["authors"]))
    if plain.count(",") == 1:
        head, tail = plain.split(",")
        found.append(Variant(normalise(f"{tail} {head}"), False, "turned round at the comma"))
    if (bare := _LEAF_WORD.sub("", plain)) != plain:
        found.append(Variant(normalise(bare), False, "without the word leaf"))
    unique: dict[Folded, Variant] = {}
    for variant in found:
        if variant.folded:
            unique.setdefault(variant.folded, variant)
    return tuple(unique.values())


def initial(text: str) -> Initial | None:
    """Return an abbreviated genus with its epithet ("A. rubrum"), or None."""
    match = _INITIAL.match(text.strip())
    return Initial(match["initial"].lower(), normalise(match["epithet"])) if match else None


def authors_differ(given: str, known: str) -> bool:
    """Tell whether two author strings clearly name different people: no shared abbreviation of either's words.

    "L." and "Linnaeus" agree by their letters; "Linnaeus" and "Kurtz" do not.
    """
    ours, theirs = (_author_words(each) for each in (given, known))
    if not ours or not theirs:
        return False
    return not any(a.startswith(b) or b.startswith(a) for a in ours for b in theirs)


def _author_words(text: str) -> list[str]:
    words = normalise(re.sub(r"\d{4}", " ", text)).split()
    return [word for word in words if word not in {"ex", "et", "and", "in", "f", "de", "van", "von"}]


def taxon_id(scientific_name: str) -> str:
    """Return the id of a record: the scientific name in lower case with hyphens, rank marks left out."""
    plain = re.sub(rf"\s{_RANK}\s", " ", scientific_name.lower().replace("×", "x"))
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def genus_of(scientific_name: str) -> str:
    """Return the genus of a species name, with the sign of a hybrid genus ("x Hesperotropsis")."""
    words = scientific_name.split()
    return " ".join(words[:2]) if words[0] in ("x", "×") else words[0]


def rotations(name: str) -> tuple[str, ...]:
    """Return a printed "Forsythia, white" also as "white Forsythia"; other names alone."""
    if name.count(",") == 1:
        head, tail = (part.strip() for part in name.split(","))
        if head and tail:
            return name, f"{tail} {head}"
    return (name,)

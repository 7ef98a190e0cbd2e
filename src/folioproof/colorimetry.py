"""Colours as numbers: CIELAB, the CIEDE2000 difference, the standard names, and how others see them.

Every colour is CIELAB under D65 for the 2 degree observer. The library of colour spaces is imported where it is
used, so that a command that needs no colour starts without it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from .finding import RefusedInputError
from .text import Folded, normalise, visible

if TYPE_CHECKING:
    from coloraide import Color

_SPACE = "lab-d65"
_HEX = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})", re.IGNORECASE)
_NUMBER = r"\s*([+-]?[0-9]+(?:\.[0-9]+)?)\s*"
_LAB = re.compile(rf"{_NUMBER},{_NUMBER},{_NUMBER}")
_FORMS = "write #rrggbb, L,a,b with decimal points, or a colour name"

#: CIEDE2000 divides a difference of lightness by at most this (S_L at lightness 0 or 100 is 1.747), and what chroma
#: and hue add is never negative: two colours are at least |dL| / 1.75 apart.
_LARGEST_LIGHTNESS_WEIGHT = 1.75


class Sight(StrEnum):
    """Whose eyes look at a colour."""

    ORDINARY = "ordinary"
    PROTAN = "protan"
    DEUTAN = "deutan"
    TRITAN = "tritan"


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour in CIELAB, D65, 2 degree observer."""

    lightness: float
    a: float
    b: float

    def as_list(self) -> list[float]:
        """Return [L, a, b] with one decimal, as pages and files show it."""
        return [round(value, 1) + 0.0 for value in (self.lightness, self.a, self.b)]


@dataclass(frozen=True, slots=True)
class ColourName:
    """A block of the ISCC-NBS system: its number in the standard, its name and its central colour."""

    number: int
    name: str
    lab: Lab
    hex: str


def _colour(lab: Lab) -> Color:
    from coloraide import Color

    return Color(_SPACE, [lab.lightness, lab.a, lab.b])


def _lab(colour: Color) -> Lab:
    return Lab(*colour.convert(_SPACE).coords(nans=False))


def difference(x: Lab, y: Lab) -> float:
    """Return the CIEDE2000 difference of two colours, all weights 1; about 1 can just be seen side by side."""
    return _formula()(_Numbers(x), _Numbers(y))


class _Numbers:
    """A colour as the formula of CIEDE2000 reads it, without the checks and copies that a Color makes of its numbers.

    They would take five times as long as the formula itself, and a build asks for it a million times.
    """

    __slots__ = ("CS_MAP", "_numbers")

    def __init__(self, lab: Lab) -> None:
        self.CS_MAP = _spaces()
        self._numbers = (lab.lightness, lab.a, lab.b)

    def convert(self, space: str) -> _Numbers:
        return self

    def coords(self, *, nans: bool) -> tuple[float, float, float]:
        return self._numbers


@cache
def _spaces() -> Mapping[str, Any]:
    from coloraide import Color

    return Color.CS_MAP


@cache
def _formula() -> Callable[[_Numbers, _Numbers], float]:
    from coloraide.distance.delta_e_2000 import DE2000

    formula: Any = DE2000()
    distance: Callable[[_Numbers, _Numbers], float] = formula.distance
    return distance


def in_gamut(lab: Lab) -> bool:
    """Say whether a screen that shows sRGB can show the colour as it is."""
    return _colour(lab).in_gamut("srgb")


def to_hex(lab: Lab) -> str:
    """Return the colour as #rrggbb, for show only.

    What sRGB cannot show loses chroma at its own lightness and hue in OkLCh until the rest can be clipped without a
    visible change: the method of CSS Color 4.
    """
    return _colour(lab).convert("srgb").fit("srgb", method="oklch-chroma").to_string(hex=True)


def from_hex(text: str) -> Lab:
    """Return the colour of #rrggbb or #rgb, read as sRGB."""
    from coloraide import Color

    if not _HEX.fullmatch(text.strip()):
        raise RefusedInputError(f"colour: {visible(text)[:40]!r} is not #rrggbb; write # and six of 0-9 and a-f")
    return _lab(Color(text.strip()))


def chroma(lab: Lab) -> float:
    """Return how far the colour is from gray (C*)."""
    return math.hypot(lab.a, lab.b)


def hue(lab: Lab) -> float:
    """Return the hue angle in degrees from 0 up to 360: 0 is red, 90 yellow, 180 green, 270 blue; gray has 0."""
    return math.degrees(math.atan2(lab.b, lab.a)) % 360


def seen_by(lab: Lab, sight: Sight) -> Lab:
    """Return the colour as a person with that sight may see it, in the worst case: one kind of cone is missing.

    For all three kinds the model of Brettel, Vienot and Mollon (1997) for dichromats. It starts from what a screen
    can show, so that a colour outside sRGB is first brought into it as for `to_hex`.
    """
    if sight is Sight.ORDINARY:
        return lab
    shown = _colour(lab).convert("srgb").fit("srgb", method="oklch-chroma")
    return _lab(shown.filter(sight.value, method="brettel").clip("srgb"))


def fold(name: str) -> Folded:
    """Return a colour name as it is compared: no case, no hyphens, gray for grey."""
    return Folded(normalise(name).replace("grey", "gray"))


class ColourNames:
    """The names of a standard, to be asked for the nearest to a colour or for the colour of a name."""

    def __init__(self, names: Sequence[ColourName]) -> None:
        self.names = tuple(names)
        self._by_name = {fold(each.name): each for each in self.names}
        self._nearest = lru_cache(maxsize=4096)(self._search)

    def find(self, text: str) -> ColourName | None:
        """Return the colour of exactly this name; case, hyphens, and gray or grey make no difference."""
        return self._by_name.get(fold(text))

    def nearest(self, lab: Lab) -> ColourName:
        """Return the name whose central colour is nearest by CIEDE2000; the lower number when two are equally near.

        The colour is taken to one hundredth, far below what can be seen, so that answers can be remembered.
        """
        return self._nearest(Lab(round(lab.lightness, 2), round(lab.a, 2), round(lab.b, 2)))

    def _search(self, lab: Lab) -> ColourName:
        """Try the names in the order of their plain distance; most are then ruled out by lightness alone."""
        apart_by, asked, best, smallest = _formula(), _Numbers(lab), self.names[0], math.inf
        point = (lab.lightness, lab.a, lab.b)
        for name in sorted(self.names, key=lambda n: math.dist(point, (n.lab.lightness, n.lab.a, n.lab.b))):
            if abs(name.lab.lightness - lab.lightness) > smallest * _LARGEST_LIGHTNESS_WEIGHT:
                continue
            apart = apart_by(asked, _Numbers(name.lab))
            if (apart, name.number) < (smallest, best.number):
                best, smallest = name, apart
        return best

    def resembling(self, text: str, words: Sequence[str] = ()) -> list[str]:
        """Return up to three names, the standard's or `words`, that a mistyped name may have meant; nearest first."""
        from rapidfuzz.fuzz import token_sort_ratio
        from rapidfuzz.process import extract

        known = [each.name for each in self.names] + [word for word in words if fold(word) not in self._by_name]
        hits = extract(fold(text), known, scorer=token_sort_ratio, processor=fold, score_cutoff=70, limit=3)
        return [name for name, *_ in hits]


def read_colour(text: str, names: ColourNames, words: Mapping[str, str] | None = None) -> Lab:
    """Return the colour that a person wrote: #rrggbb, #rgb, L,a,b (CIELAB), a standard name, or one of `words`.

    `words` leads from a plain word to a standard name. What cannot be read is refused in one line.
    """
    typed = visible(text).replace("−", "-")
    if not typed:
        raise RefusedInputError(f"colour: nothing was written; {_FORMS}")
    if typed.startswith("#"):
        return from_hex(typed)
    if numbers := _LAB.fullmatch(typed):
        return _checked(Lab(*map(float, numbers.groups())), typed)
    if re.search("[0-9]", typed):
        raise RefusedInputError(_why_no_colour(typed))
    meanings = {fold(word): name for word, name in (words or {}).items()}
    found = names.find(typed) or names.find(meanings.get(fold(typed), ""))
    if found is not None:
        return found.lab
    near = names.resembling(typed, tuple(words or ()))
    advice = f"did you mean {' or '.join(near)}?" if near else _FORMS
    raise RefusedInputError(f"colour: {typed[:40]!r} is no known colour name; {advice}")


def _why_no_colour(typed: str) -> str:
    """Say what is wrong with a text that holds digits but is neither #rrggbb nor L,a,b."""
    if "hunter" in typed.casefold():
        return "colour: Hunter L,a,b are other numbers than CIELAB; convert them first, or give the colour's name"
    if re.fullmatch("[0-9a-fA-F]{6}", typed):
        return f"colour: {typed!r} has no #; write #{typed.lower()}"
    return f"colour: {typed[:40]!r} is not three CIELAB numbers L,a,b such as 49.1,-16.5,34.4; {_FORMS}"


def _checked(lab: Lab, typed: str) -> Lab:
    """Return the colour, or refuse it when it is outside CIELAB or beyond what any surface can reflect.

    The limits are those of MacAdam for ideal surfaces under D65. Grays and whites are let through: paper with a
    brightener shines a little beyond them.
    """
    if not 0 <= lab.lightness <= 100:
        raise RefusedInputError(f"colour: L is {lab.lightness:g} in {typed[:40]!r}; write 0 (black) to 100 (white)")
    for name, value in (("a", lab.a), ("b", lab.b)):
        if not -128 <= value <= 127:
            raise RefusedInputError(f"colour: {name} is {value:g} in {typed[:40]!r}; write a number from -128 to 127")
    if chroma(lab) > 12 and not _colour(lab).in_gamut("macadam-limits"):
        raise RefusedInputError(f"colour: no print or leaf can have {typed[:40]!r}; check that it is L,a,b of CIELAB")
    return lab

"""Turning what a person typed into strings that can be compared.

Everything here works on one string at a time and knows nothing about plants or records. Both sides of every
comparison pass through the same functions; the loader stores their results, so `FOLDING_VERSION` must rise
whenever a result could change.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import NewType

FOLDING_VERSION = 3

#: A name folded by `normalise`; a type of its own, so that an unfolded name is never compared with a folded one.
Folded = NewType("Folded", str)

#: Longest input that is looked at; the longest printed plant names stay under 120 characters.
MAX_QUERY = 200

_EXPANSIONS = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "ß": "ss"}
)
_APOSTROPHES = frozenset("'’‘ʼʻ`´′")
_RANK_MARKS = frozenset(["subsp", "ssp", "var", "subvar", "f", "fo", "forma", "cv", "nothosubsp", "nothovar", "convar"])
#: Marks that sit on Latin, Greek or Cyrillic letters. Vowel signs of Indic scripts and the voicing marks of kana
#: are letters in all but name: dropping them would make different names equal.
_DIACRITICS = re.compile("[\u0300-\u036f\u1ab0-\u1aff\u1dc0-\u1dff\u20d0-\u20ff]")


def visible(text: str) -> str:
    """Return `text` on one line, without control, bidirectional or zero-width characters: fit to be echoed."""
    kept = (" " if c.isspace() else c for c in text if c.isspace() or unicodedata.category(c)[0] != "C")
    return " ".join("".join(kept).split())


def _fold_characters(text: str) -> str:
    decomposed = _DIACRITICS.sub("", unicodedata.normalize("NFKD", text))
    folded = unicodedata.normalize("NFC", decomposed.casefold()).translate(_EXPANSIONS)
    out = []
    for char in folded:
        kind = unicodedata.category(char)[0]
        if char in _APOSTROPHES or (kind == "C" and not char.isspace()):
            continue
        out.append(char if kind in "LNM" else " ")
    return "".join(out)


def normalise(text: str) -> Folded:
    """Fold case, diacritics, punctuation, hybrid sign and rank marks; keep every word that tells plants apart.

    "Citrus × limon", "citrus x limon" and "CITRUS LIMON" all give "citrus limon". A lone x is dropped only
    between words, and a rank mark only after two words, so that neither can eat an epithet.
    """
    words = _fold_characters(text).split()
    if len(words) > 1 and words[0] == "x":
        words = words[1:]
    last = len(words) - 1
    kept = [
        word for i, word in enumerate(words) if not (0 < i < last and (word == "x" or (i > 1 and word in _RANK_MARKS)))
    ]
    return Folded(" ".join(kept))


def joined(name: Folded) -> str:
    """Return the folded name without spaces, so that "black berry" meets "blackberry"."""
    return name.replace(" ", "")


_STARTS = {
    "ae": "e", "cn": "n", "ct": "t", "cz": "c", "dj": "j", "ea": "e", "eu": "u", "gn": "n", "kn": "n", "mc": "mac",
    "mn": "n", "oe": "e", "qu": "q", "ps": "s", "pt": "t", "ts": "s", "wr": "r", "x": "z",
}  # fmt: skip
_INNER = (("ae", "i"), ("ia", "a"), ("oe", "i"), ("oi", "a"), ("sc", "s"))
_LETTERS = str.maketrans({"e": "i", "o": "a", "u": "i", "y": "i", "k": "c", "z": "s", "h": None})
_ENDING = re.compile(r"(?:arum|[aeiouy][sm]|[aeiouy])$")
_DOUBLED = re.compile(r"(.)\1+")


@lru_cache(maxsize=4096)
def _sound_of_word(word: str, fold_ending: bool) -> str:
    for start in (word[:2], word[:1]):
        if start in _STARTS:
            word = _STARTS[start] + word[len(start) :]
            break
    if fold_ending and len(word) > 4:
        word = _ENDING.sub("a", word)
    head, tail = word[:1], word[1:]
    for old, new in _INNER:
        tail = tail.replace(old, new)
    return _DOUBLED.sub(r"\1", head + tail.translate(_LETTERS))


def sound_key(name: Folded) -> str:
    """Return a key that names which sound alike share.

    After the folding rules for scientific names of Rees, T. (2014) PLoS ONE 9(9): e107510: beginnings and vowels
    are folded in every word, Latin endings in every word after the first.
    """
    return " ".join(_sound_of_word(word, i > 0) for i, word in enumerate(name.split()))

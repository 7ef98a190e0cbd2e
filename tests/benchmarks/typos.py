"""A seeded generator of misspelt plant names.

Shares of the kinds of slip: single insertion, deletion, substitution and transposition together make up four slips in
five (from memory of Damerau, F.J. (1964) Commun. ACM 7(3):171-176; not looked up again); the split among the four, the
two-slip share and the share of lost spaces are assumptions of this benchmark, with nothing published behind them.
"""

from __future__ import annotations

import random

LETTERS = "abcdefghijklmnopqrstuvwxyz"
NEIGHBOURS = {
    "a": "sqe", "b": "vn", "c": "kxs", "d": "sft", "e": "iar", "f": "dgp", "g": "fh", "h": "gj", "i": "yeu", "j": "hk",
    "k": "cjl", "l": "kr", "m": "n", "n": "m", "o": "ua", "p": "bo", "q": "a", "r": "te", "s": "cz", "t": "dry",
    "u": "oi", "v": "bf", "w": "v", "x": "cz", "y": "iu", "z": "s",
}  # fmt: skip


def misspell(name: str, rng: random.Random) -> str:
    """Return `name` with one slip (four times in five) or two."""
    slips = 1 if rng.random() < 0.8 or len(name) < 8 else 2
    for _ in range(slips):
        name = _slip(name, rng)
    return name


def _slip(name: str, rng: random.Random) -> str:
    kind = rng.choices(("substitute", "delete", "insert", "swap", "double", "space"), (30, 25, 15, 15, 10, 5))[0]
    at = rng.choice([i for i, letter in enumerate(name) if letter != " "])
    letter = name[at]
    if kind == "substitute":
        return name[:at] + rng.choice(NEIGHBOURS.get(letter, LETTERS)) + name[at + 1 :]
    if kind == "delete" and len(name) > 3:
        return name[:at] + name[at + 1 :]
    if kind == "insert":
        return name[:at] + rng.choice(LETTERS) + name[at:]
    if kind == "swap" and name[at + 1 : at + 2].strip():
        return name[:at] + name[at + 1] + letter + name[at + 2 :]
    if kind == "space" and " " in name:
        return name.replace(" ", "", 1)
    return name[:at] + letter + name[at:]

"""From the pixels of a scan to CIELAB, by way of a neutral patch: white paper or a grey card. Needs the extra `scan`.

A patch whose lightness L* is known reflects Y = ((L* + 16) / 116)^3 of the light (18 % at L* 50, 88 % at L* 95). In
linear sRGB each channel is scaled so that the patch's median becomes Y; the same scaling then goes to every pixel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from skimage.color import deltaE_ciede2000, rgb2xyz, xyz2lab
from skimage.measure import label

from .finding import RefusedInputError
from .scan_file import Picture

#: x, y, width, height in pixels of the upright picture, from its upper left corner.
Box = tuple[int, int, int, int]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

#: What unprinted watercolour paper has, near enough; a card's own figure is better.
WHITE_LIGHTNESS = 95.0
CARD_LIGHTNESS = 50.0
_DARK = 40.0
_MOST_CLIPPED = 0.01
_TO_XYZ: Floats = rgb2xyz(np.eye(3))


@dataclass(frozen=True, slots=True)
class Neutral:
    """The patch that colours are corrected to: `gains` scale linear red, green and blue."""

    kind: str
    lightness: float
    box: Box | None
    gains: Floats
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class View:
    """The part of a picture that is measured, in CIELAB, each of its pixels the mean of `step` x `step`."""

    picture: Picture
    neutral: Neutral
    box: Box
    step: int
    lab: Floats
    clipped: Floats


def linear(values: NDArray[np.generic]) -> Floats:
    """Undo the sRGB transfer curve; `values` run from 0 to 255."""
    part = np.asarray(values, dtype=np.float64) / 255
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


_LINEAR: Floats = linear(np.arange(256))


def lab_of(light: Floats) -> Floats:
    """Return CIELAB (D65, 2 degrees) of linear sRGB."""
    found: Floats = xyz2lab(light @ _TO_XYZ)
    return found


def distance(one: Floats, other: Floats) -> Floats:
    """Return the colour differences by CIEDE2000."""
    found: Floats = deltaE_ciede2000(*np.broadcast_arrays(one, other))
    return found


def reflectance(lightness: float) -> float:
    """Return the share of light that a surface of this L* sends back."""
    return float(((lightness + 16) / 116) ** 3 if lightness > 8 else lightness / 903.3)


def lightness_of(share: float) -> float:
    """Return the L* of a surface that sends back this share of the light: `reflectance` the other way round."""
    return float(116 * share ** (1 / 3) - 16 if share > 0.008856 else 903.3 * share)


def inside(picture: Picture, box: Box | None, name: str) -> Box:
    """Return `box`, or the whole picture for None. Raises RefusedInputError when it reaches beyond the picture."""
    height, width = picture.pixels.shape[:2]
    if box is None:
        return 0, 0, width, height
    x, y, wide, high = box
    if min(x, y) < 0 or min(wide, high) < 1 or x + wide > width or y + high > height:
        raise RefusedInputError(
            f"{name} {x},{y},{wide},{high} reaches beyond the picture, which is {width} x {height} pixels"
        )
    return box


def neutral_patch(picture: Picture, kind: str, box: Box, lightness: float) -> Neutral:
    """Take the white paper (`white`) or the grey card (`card`) in `box` as neutral, at L* `lightness`.

    Raises RefusedInputError when the patch is too small, too dark or burnt out.
    """
    x, y, wide, high = inside(picture, box, f"--{kind}")
    if wide * high < 25:
        raise RefusedInputError(f"--{kind}: {wide} x {high} pixels are too few; draw a box of at least 5 x 5")
    light = _LINEAR[picture.pixels[y : y + high, x : x + wide]].reshape(-1, 3)
    said = []
    colours = lab_of(light[:: max(1, len(light) // 20_000)])
    if np.percentile(distance(colours, np.median(colours, axis=0)), 90) > 8:
        said.append(f"The --{kind} box is not of one colour: it should hold nothing but the {_NAMES[kind]}.")
    return _neutral(kind, light, lightness, box, said)


_NO_PAPER = "no white paper found near the border; point to it with --white x,y,w,h"
_NAMES = {"white": "paper", "card": "card"}


def _neutral(kind: str, light: Floats, lightness: float, box: Box | None, said: list[str]) -> Neutral:
    middle = np.median(light, axis=0)
    name = _NAMES[kind]
    if middle.max() >= 1:
        raise RefusedInputError(f"the {name} is burnt out (255 of 255): scan or photograph again with less light")
    wanted = reflectance(lightness)
    if lightness_of(float(middle @ _TO_XYZ[:, 1]) * reflectance(WHITE_LIGHTNESS) / wanted) < _DARK:
        raise RefusedInputError(f"too dark to correct by: give the {name} more light, or point --{kind} at it")
    if middle.min() < 0.002:
        raise RefusedInputError(f"the {name} lacks one of red, green and blue: it is not lit by white light")
    clipped = float(((light >= 1) | (light <= 0)).any(axis=1).mean())
    if clipped > _MOST_CLIPPED:
        said.append(f"{clipped:.0%} of the {name} is clipped: the colours may come out too dark.")
    chroma = float(np.hypot(*lab_of(middle)[1:]))
    if chroma > 20:
        said.append(f"The {name} looked strongly tinted (chroma {chroma:.0f}) before correction.")
    return Neutral(kind, lightness, box, wanted / middle, tuple(said))


def find_paper(picture: Picture, lightness: float = WHITE_LIGHTNESS) -> Neutral:
    """Take the brightest well-filled region of little colour near the border as the white paper.

    Raises RefusedInputError when there is none, or it is too dark or burnt out.
    """
    height, width = picture.pixels.shape[:2]
    step = _step(width, height, 60_000)
    skip = max(1, step // 4)
    light = _reduced(picture.pixels[::skip, ::skip], max(1, step // skip))
    lab = lab_of(light)
    border = np.ones(lab.shape[:2], dtype=bool)
    deep, wide = (max(2, round(0.15 * side)) for side in light.shape[:2])
    border[deep:-deep, wide:-wide] = False
    pale = np.hypot(lab[..., 1], lab[..., 2]) <= 40
    shades, _ = np.histogram(lab[border & pale][:, 0], bins=np.arange(0, 106))
    filled = np.convolve(shades, np.ones(5), mode="same") >= 0.1 * border.sum()
    if not filled.any():
        raise RefusedInputError(_NO_PAPER)
    shade = float(np.flatnonzero(filled).max()) - 1.5
    near = border & pale & (np.abs(lab[..., 0] - shade) <= 4)
    alike = np.linalg.norm(lab - np.median(lab[near], axis=0), axis=-1) <= 8
    pieces = label(alike, connectivity=2)
    # Nothing lies on piece 0, so that it comes out on top only when there is no piece at all.
    paper = alike & (pieces == np.bincount(pieces[near & alike], minlength=1).argmax())
    share = float(paper.mean())
    if share < 0.02:
        raise RefusedInputError(_NO_PAPER)
    said = [f"The paper was found by itself ({share:.0%} of the picture); --white x,y,w,h makes sure of it."]
    return _neutral("white", light[paper], lightness, None, said)


def view_of(picture: Picture, neutral: Neutral, box: Box | None) -> View:
    """Return the part of the picture in `box`, corrected, and made small enough to be looked at in a second."""
    x, y, wide, high = where = inside(picture, box, "--box")
    step = _step(wide, high, 1_000_000)
    pixels = picture.pixels[y : y + high, x : x + wide]
    lost: Floats = np.zeros(256)
    lost[[0, 255]] = 1
    clipped = _reduced(pixels, step, lost).max(axis=-1)
    return View(picture, neutral, where, step, lab_of(_reduced(pixels, step) * neutral.gains), clipped)


def _step(width: int, height: int, most: int) -> int:
    return max(1, int(np.ceil((width * height / most) ** 0.5)))


def _reduced(pixels: NDArray[np.uint8], step: int, table: Floats = _LINEAR) -> Floats:
    """Return the means of `table` over blocks of `step` x `step` pixels, one pass a place in the block."""
    high, wide = (max(1, side // step) for side in pixels.shape[:2])
    total: Floats = np.zeros((high, wide, 3))
    for down in range(step):
        for across in range(step):
            total += table[pixels[down::step, across::step][:high, :wide]]
    return total / step**2

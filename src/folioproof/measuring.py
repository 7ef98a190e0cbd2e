"""Measuring one print on a scan or photo: colour, how much of the shape transferred, edge, bleed.

Pure computation on arrays. Needs the extra `scan` (numpy, scipy, scikit-image); import it where it is used.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from scipy import ndimage
from skimage.filters import threshold_otsu
from skimage.measure import label

from .finding import RefusedInputError
from .print_edge import edge_widths
from .scan_colour import (
    CARD_LIGHTNESS,
    WHITE_LIGHTNESS,
    Box,
    Floats,
    Mask,
    View,
    distance,
    find_paper,
    inside,
    neutral_patch,
    view_of,
)
from .scan_file import Picture, read_image

__all__ = ["Box", "Measurement", "Picture", "measure", "read_image"]

#: Below these CIEDE2000 differences from the ground nothing is taken for print, nothing for bleed.
_FAINTEST_PRINT = 3.0
_FAINTEST_BLEED = 2.0
#: Colour as far off the ground as this counts as transferred, however much darker the rest of the print is.
_PLAIN_PRINT = 10.0
#: A soft edge fades below what can be seen two sigma out; its 35-65 % part is 0.77 sigma wide.
_EDGE_ENDS = 2.6
#: No print is lighter; a little is left for noise.
_WHITEST = 101.0
_SMALLEST = 24
_MANY_PIECES = 8
_SMALL = 60
_MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Measurement:
    """What one picture tells about one print.

    lab: median CIELAB (D65, 2 degrees) of the printed pixels.
    spread, spread_90: median and 90th percentile of their CIEDE2000 differences from `lab`.
    ground_lab: median CIELAB of the ground round the print; contrast: CIEDE2000 between the two.
    transferred: share (0 to 1) of the silhouette, holes filled, that carries print.
    edge_width_px, edge_width_mm: median distance over which the colour goes from 10 % to 90 % of the way from ground
        (or bleed) to print, straight across the outline; None where it cannot be told. One pixel is the least that can
        be seen.
    bleed: area of faint colour (CIEDE2000 above 2) beyond the edge, as a share of the silhouette's area.
    bleed_distance_px, bleed_distance_mm: mean distance of that colour from the outline; None where there is none.
    shape_box: x, y, width, height of the silhouette in pixels; shapes: how many pieces it has;
    shape_area_px, shape_area_mm2: its area.
    dpi: pixels an inch by the file, or None; all lengths in mm rest on it.
    reference: `white` or `card`; reference_box: where it was, None when the paper was found by itself;
        reference_lightness: the L* it was taken to have.
    grey: True when the picture holds no colour, so that only L* means anything.
    warnings: what makes the figures less sure, one sentence each.
    """

    lab: tuple[float, float, float]
    spread: float
    spread_90: float
    ground_lab: tuple[float, float, float]
    contrast: float
    transferred: float
    edge_width_px: float | None
    edge_width_mm: float | None
    bleed: float
    bleed_distance_px: float | None
    bleed_distance_mm: float | None
    shape_box: Box
    shapes: int
    shape_area_px: int
    shape_area_mm2: float | None
    dpi: float | None
    reference: str
    reference_box: Box | None
    reference_lightness: float
    grey: bool
    warnings: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the fields as JSON holds them, in their order."""
        return {key: list(value) if isinstance(value, tuple) else value for key, value in asdict(self).items()}


@dataclass(frozen=True, slots=True)
class _Shape:
    """Where the print lies in a view. `difference` is CIEDE2000 from the ground, `noise` what the bare ground has."""

    silhouette: Mask
    printed: Mask
    shapes: int
    ground: Floats
    smooth: Floats
    difference: Floats
    noise: float
    inner_radius: float


def measure(
    picture: Picture,
    *,
    white: Box | None = None,
    card: Box | None = None,
    white_lightness: float = WHITE_LIGHTNESS,
    card_lightness: float = CARD_LIGHTNESS,
    box: Box | None = None,
) -> Measurement:
    """Measure the print in `picture`, or in `box` of it, corrected to the white paper or the grey card.

    Without `white` or `card` the paper is looked for. Raises RefusedInputError when the picture cannot be corrected
    (too dark, burnt out, no white) or no print of a size that can be measured stands out from the ground.
    """
    inside(picture, box, "--box")
    if card is not None:
        neutral = neutral_patch(picture, "card", card, card_lightness)
    elif white is not None:
        neutral = neutral_patch(picture, "white", white, white_lightness)
    else:
        neutral = find_paper(picture, white_lightness)
    view = view_of(picture, neutral, box)
    shape = _find_shape(view)
    said = [*picture.warnings, *neutral.warnings, *_doubts(view, shape)]
    return _measured(view, shape, said)


def _measured(view: View, shape: _Shape, said: list[str]) -> Measurement:
    core = ndimage.binary_erosion(shape.printed, iterations=2)
    if core.sum() < 0.5 * shape.printed.sum():
        core = shape.printed
    colour = np.median(view.lab[core], axis=0)
    if colour[0] > _WHITEST:
        raise RefusedInputError(
            f"the print comes out lighter than white (L* {colour[0]:.0f}): the --{view.neutral.kind} box is not on it"
        )
    off = distance(shape.smooth[core], colour)
    width, steep = edge_widths(view, shape.silhouette, shape.ground, shape.inner_radius) or (None, 0.0)
    if width is None:
        said.append("The edge is too ragged, too soft or too faint for its width to be told.")
    bleed, reach = _bleed(shape, steep / view.step)
    reach_px = None if reach is None else round(reach * view.step, 2)
    dpi = view.picture.dpi
    area = int(shape.silhouette.sum()) * view.step**2
    return Measurement(
        lab=_rounded(colour),
        spread=round(float(np.median(off)), 2),
        spread_90=round(float(np.percentile(off, 90)), 2),
        ground_lab=_rounded(shape.ground),
        contrast=round(float(distance(colour, shape.ground)), 2),
        transferred=round(float(shape.printed.sum() / shape.silhouette.sum()), 3),
        edge_width_px=None if width is None else round(width, 2),
        edge_width_mm=_millimetres(width, dpi),
        bleed=round(bleed, 3),
        bleed_distance_px=reach_px,
        bleed_distance_mm=_millimetres(reach_px, dpi),
        shape_box=_bounds(view, shape.silhouette),
        shapes=shape.shapes,
        shape_area_px=area,
        shape_area_mm2=None if dpi is None else round(area * (_MM_PER_INCH / dpi) ** 2, 1),
        dpi=dpi,
        reference=view.neutral.kind,
        reference_box=view.neutral.box,
        reference_lightness=view.neutral.lightness,
        grey=view.picture.grey,
        warnings=tuple(said),
    )


def _rounded(lab: Floats) -> tuple[float, float, float]:
    # Adding zero turns -0.0 into 0.0.
    lightness, a, b = (round(float(value), 2) + 0.0 for value in lab)
    return lightness, a, b


def _millimetres(pixels: float | None, dpi: float | None) -> float | None:
    return None if pixels is None or dpi is None else round(pixels * _MM_PER_INCH / dpi, 3)


def _bounds(view: View, mask: Mask) -> Box:
    down, across = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    x, y = (corner + int(first) * view.step for corner, first in zip(view.box, (across[0], down[0]), strict=False))
    return x, y, int(across[-1] - across[0] + 1) * view.step, int(down[-1] - down[0] + 1) * view.step


def _find_shape(view: View) -> _Shape:
    if min(view.lab.shape[:2]) < _SMALLEST:
        raise RefusedInputError(f"the picture or --box is too small: under {_SMALLEST} pixels on one side")
    # The median takes off noise without shifting the outline of the print or of a gap.
    smooth: Floats = ndimage.median_filter(view.lab, size=(3, 3, 1))
    border = _border(view.lab.shape[:2])
    ground = _ground(smooth[border])
    difference = distance(smooth, ground)
    noise = float(np.median(difference[border]))
    floor = max(_FAINTEST_PRINT, 4 * noise)
    plain = difference > floor
    if not plain.any():
        raise RefusedInputError(_NO_SHAPE)
    # Otsu splits a dark print with pale parts in two; half of what most of its inside has keeps both.
    depth = _depth(plain)
    half = float(np.percentile(difference[depth >= 0.3 * depth.max()], 25)) / 2
    threshold = float(np.clip(threshold_otsu(difference), floor, max(floor, half)))
    silhouette, shapes = _silhouette(difference > threshold)
    radius = float(_depth(silhouette).max())
    across = 2 * view.step * (silhouette.sum() / np.pi) ** 0.5
    if across < _SMALLEST / 3 or radius < 2:
        raise RefusedInputError(_NO_SHAPE)
    if across < _SMALLEST:
        raise RefusedInputError(
            f"the print is too small: about {across:.0f} pixels across; scan it at a higher resolution"
        )
    printed = silhouette & (difference > max(floor, min(threshold, _PLAIN_PRINT)))
    return _Shape(silhouette, printed, shapes, ground, smooth, difference, noise, radius * view.step)


_NO_SHAPE = "no print stands out from the ground; draw --box x,y,w,h round it with a margin of bare ground"


def _border(size: tuple[int, ...]) -> Mask:
    border = np.ones(size, dtype=bool)
    deep = max(2, round(0.04 * min(size)))
    border[deep:-deep, deep:-deep] = False
    return border


def _ground(colours: Floats) -> Floats:
    """Return the median colour of the nearer half, so that a print which reaches the border weighs less."""
    middle = np.median(colours, axis=0)
    off = np.linalg.norm(colours - middle, axis=1)
    found: Floats = np.median(colours[off <= np.median(off)], axis=0)
    return found


def _silhouette(mask: Mask) -> tuple[Mask, int]:
    """Return the largest piece and all that have a tenth of its area, breaks closed and holes filled."""
    wide = max(2, round(0.02 * 2 * (mask.sum() / np.pi) ** 0.5))
    # A wide closing joins a speckled print but would fill the notches between teeth: only its inside is taken.
    closed = _closed(mask, wide)
    pieces = label(_closed(mask, 2) | (_depth(closed) > wide), connectivity=2)
    areas = np.bincount(pieces.ravel())
    areas[0] = 0
    kept = np.flatnonzero((areas > 0) & (areas >= 0.1 * areas.max()))
    return np.isin(pieces, kept), len(kept)


def _closed(mask: Mask, radius: int) -> Mask:
    """Return `mask` with breaks up to twice `radius` wide closed and holes filled."""
    padded = np.pad(mask, radius + 1)
    grown = ndimage.distance_transform_edt(~padded) <= radius
    closed = ndimage.distance_transform_edt(ndimage.binary_fill_holes(grown)) > radius
    return np.asarray(ndimage.binary_fill_holes(closed | padded))[radius + 1 : -radius - 1, radius + 1 : -radius - 1]


def _depth(mask: Mask) -> Floats:
    """Return how far each pixel lies inside `mask`; beyond the picture there is nothing."""
    depth: Floats = ndimage.distance_transform_edt(np.pad(mask, 1))
    return depth[1:-1, 1:-1]


def _bleed(shape: _Shape, steep: float) -> tuple[float, float | None]:
    """Return the share and the mean distance (in view pixels) of faint colour that lies beyond the soft edge.

    A soft edge alone is no bleed: only colour that goes farther than its steep part (35-65 %, `steep`) lets one expect
    starts one, and what lies between it and the outline is then counted with it.
    """
    away = ndimage.distance_transform_edt(~shape.silhouette)
    limit = (shape.silhouette.sum() / np.pi) ** 0.5
    faint = (shape.difference > max(_FAINTEST_BLEED, 3 * shape.noise)) & (away <= limit)
    pieces = label(faint | shape.silhouette, connectivity=1)
    faint &= ~shape.silhouette & np.isin(pieces, np.unique(pieces[shape.silhouette]))
    margin = _EDGE_ENDS * steep + 2
    far = ndimage.binary_opening(faint & (away > margin), iterations=1)
    if not far.any():
        return 0.0, None
    bled = far | (faint & (ndimage.distance_transform_edt(~far) <= margin + 1))
    return float(bled.sum() / shape.silhouette.sum()), float(away[bled].mean())


def _doubts(view: View, shape: _Shape) -> list[str]:
    said = []
    inner = shape.silhouette
    clipped = float(view.clipped[inner].mean())
    if clipped > 0.01:
        said.append(f"{clipped:.0%} of the print is clipped (a channel at 0 or 255): its colour is not exact.")
    if inner[[0, -1]].any() or inner[:, [0, -1]].any():
        said.append("The shape touches the edge of the picture or box: draw --box so that bare ground shows all round.")
    across = 2 * (inner.sum() / np.pi) ** 0.5
    bare = shape.difference[ndimage.distance_transform_edt(~inner) > across / 4]
    if bare.size and np.percentile(bare, 90) > 8:
        said.append("Other things lie beside the print, or the light is uneven: draw --box round the print alone.")
    elif bare.size and np.percentile(bare, 90) > 3:
        said.append("The ground is uneven, speckled or unevenly lit: faint print and bleed are not told from it.")
    if shape.shapes > _MANY_PIECES:
        said.append(f"The shape falls into {shape.shapes} pieces: what lies between them was left out.")
    if across * view.step < _SMALL:
        said.append("The print is small in the picture: edge and transfer are rough.")
    return said

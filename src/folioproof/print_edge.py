"""How sharp the outline of a print is, measured straight across it. Needs the extra `scan`."""

from __future__ import annotations

import numpy as np
from scipy import ndimage
from skimage.measure import find_contours

from .scan_colour import Floats, Mask, View, lab_of, linear

#: Neighbouring profiles are laid over one another and averaged, so that noise does not shorten the edge.
_TOGETHER = 5
_PLACES = 120
_FEWEST = 8
_FINENESS = 4
_LEAST_CONTRAST = 4.0
#: How much wider the 10-90 % part of an evenly soft edge is than its 35-65 % part. What lies beyond it is bleed.
_WHOLE = 3.33
#: Where the ground stays nearer to the print than this, something else lies beside it: no edge to measure.
_MOST_BLED = 0.35


def edge_widths(view: View, silhouette: Mask, ground: Floats, inner_radius: float) -> tuple[float, float] | None:
    """Return the median 10-90 % and 35-65 % widths of the outer edge in pixels of the picture; None if not to be told.

    The way from ground (or, where the print bled, from the bleed) to print is walked in CIELAB at the picture's full
    resolution. `inner_radius`, in the same pixels, is that of the largest circle in the silhouette: no profile reaches
    farther in.
    """
    points, normals = _outline(silhouette)
    if len(points) < _FEWEST:
        return None
    x, y = view.box[:2]
    places = points * view.step + (view.step - 1) / 2 + (y, x)
    reach = float(max(8, 4 * view.step))
    farthest = max(reach, 0.8 * inner_radius)
    while True:
        widths = _widths(view, places, normals, ground, reach)
        # A profile is long enough when the edge takes up little of it, so that its inner end has settled.
        if len(widths) >= _FEWEST:
            whole, steep = np.median(widths, axis=0)
            if whole <= 0.6 * reach:
                return float(whole), float(steep)
        if reach >= farthest:
            return None
        reach = min(2 * reach, farthest)


def _outline(silhouette: Mask) -> tuple[Floats, Floats]:
    """Return groups of neighbouring points on the outline and their outward normals, each groups x together x 2."""
    soft = ndimage.gaussian_filter(np.pad(silhouette, 3).astype(np.float64), 1)
    size = np.array(silhouette.shape)
    points, normals = [], []
    contours = [line for line in find_contours(soft, 0.5) if len(line) >= 40]
    per_place = max(_TOGETHER, sum(map(len, contours)) // _PLACES)
    for line in contours:
        ring = ndimage.uniform_filter1d(line[:-1] - 3, 5, axis=0, mode="wrap")
        along = np.roll(ring, -3, axis=0) - np.roll(ring, 3, axis=0)
        # find_contours walks round the higher values, the print, so that turning this way points outward.
        across = np.stack([-along[:, 1], along[:, 0]], axis=1)
        across /= np.maximum(np.linalg.norm(across, axis=1, keepdims=True), 1e-9)
        for start in range(0, len(ring) - _TOGETHER, per_place):
            group = slice(start, start + _TOGETHER)
            # Where the print runs out of the picture there is no edge to measure.
            if (ring[group] > 2).all() and (ring[group] < size - 3).all():
                points.append(ring[group])
                normals.append(across[group])
    return np.array(points), np.array(normals)


def _widths(view: View, places: Floats, normals: Floats, ground: Floats, reach: float) -> Floats:
    """Return the widths of the places that have one; none at all when fewer than half of them do."""
    steps = np.linspace(-reach, reach, int(2 * reach * _FINENESS) + 1)
    lab = _sampled(view, places[:, :, None] + normals[:, :, None] * steps[:, None])
    found = [each for profiles in lab if (each := _width(profiles, steps, ground)) is not None]
    return np.array(found if 2 * len(found) >= len(lab) else [])


def _sampled(view: View, where: Floats) -> Floats:
    """Return the corrected CIELAB at `where` (row, column), between pixels by linear interpolation."""
    rows, columns = where[..., 0], where[..., 1]
    pixels = view.picture.pixels
    channels = [
        ndimage.map_coordinates(pixels[..., channel], (rows, columns), output=np.float64, order=1, mode="nearest")
        for channel in range(3)
    ]
    return lab_of(linear(np.stack(channels, axis=-1)) * view.neutral.gains)


def _width(profiles: Floats, steps: Floats, ground: Floats) -> tuple[float, float] | None:
    """Return the 10-90 % and 35-65 % widths of the mean of neighbouring `profiles`, None without a clear edge."""
    deep = steps < 0.7 * steps[0]
    way = np.median(profiles[:, deep].reshape(-1, 3), axis=0) - ground
    length = float(way @ way)
    if length < _LEAST_CONTRAST**2:
        return None
    shares = (profiles - ground) @ way / length
    laid = []
    middle = len(steps) // 2
    for share in shares:
        crossing = _crossing(share, steps, middle)
        if abs(crossing) <= steps[-1] / 3:
            laid.append(np.interp(steps + crossing, steps, share))
    if len(laid) <= _TOGETHER // 2:
        return None
    mean = np.mean(laid, axis=0)
    steep = _rise(mean, steps, 0.35)
    if steep is None:
        return None
    foot = (steps > steep * _WHOLE) & (steps <= steep * _WHOLE * 1.6 + 1)
    bled = max(0.0, float(np.median(mean[foot]))) if foot.any() else 0.0
    if bled > _MOST_BLED:
        return None
    whole = _rise((mean - bled) / (1 - bled), steps, 0.1)
    return None if whole is None else (whole, steep)


def _rise(mean: Floats, steps: Floats, low: float) -> float | None:
    """Return the distance between the points nearest the middle where `mean` falls below `low` and below 1 - `low`."""
    middle = len(steps) // 2
    outer = np.flatnonzero(mean[middle:] < low)
    inner = np.flatnonzero(mean[: middle + 1] > 1 - low)
    if not (len(outer) and len(inner)):
        return None
    before = middle + int(outer[0]) - 1
    return _between(steps, mean, before, low) - _between(steps, mean, int(inner[-1]), 1 - low)


def _crossing(share: Floats, steps: Floats, middle: int) -> float:
    """Return where `share` falls through one half, nearest to the middle."""
    falls = np.flatnonzero((share[:-1] >= 0.5) & (share[1:] < 0.5))
    if not len(falls):
        return np.inf
    return _between(steps, share, int(falls[np.abs(falls - middle).argmin()]), 0.5)


def _between(steps: Floats, share: Floats, before: int, level: float) -> float:
    high, low = share[before], share[before + 1]
    return float(steps[before] + (steps[before + 1] - steps[before]) * (high - level) / max(high - low, 1e-9))

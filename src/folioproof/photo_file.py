"""Whether a photo tells where it was taken: phones write the exact place into every picture.

Only what a JPEG, PNG, WebP or TIFF keeps in Exif (a TIFF structure) or XMP (text) is looked at; nothing is decoded.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

_GPS_POINTER = 0x8825
_LATITUDE, _LONGITUDE = 2, 4
_XMP = (b"GPSLatitude", b"GPSLongitude")
#: What stands before the TIFF structure: at the start of a TIFF itself, in a JPEG, in a PNG, in a WebP.
_STARTS = (b"Exif\0\0", b"eXIf", b"EXIF")


def tells_place(content: bytes) -> bool:
    """Say whether the bytes of a photo hold a latitude or longitude."""
    if any(word in content for word in _XMP):
        return True
    return any(_has_place(content, start) for start in _structures(content))


def _structures(content: bytes) -> Iterator[int]:
    """Yield where a TIFF structure may begin."""
    yield 0
    for mark in _STARTS:
        at = content.find(mark)
        while at >= 0:
            begin = at + len(mark)
            yield from (begin, begin + 4)  # a WebP chunk has its length in between
            at = content.find(mark, begin)


def _has_place(content: bytes, start: int) -> bool:
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(content[start : start + 4])
    if order is None:
        return False
    try:
        (first,) = struct.unpack_from(f"{order}I", content, start + 4)
        pointer = dict(_entries(content, start + first, order)).get(_GPS_POINTER)
        if pointer is None:
            return False
        return bool({_LATITUDE, _LONGITUDE} & dict(_entries(content, start + pointer, order)).keys())
    except struct.error:
        return False


def _entries(content: bytes, at: int, order: str) -> Iterator[tuple[int, int]]:
    """Yield tag and value of each entry of a directory; raises struct.error where the bytes end before it does."""
    (count,) = struct.unpack_from(f"{order}H", content, at)
    for number in range(count):
        tag, _, _, value = struct.unpack_from(f"{order}HHII", content, at + 2 + 12 * number)
        yield tag, value

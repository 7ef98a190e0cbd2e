"""Reading a scan or a photo: size first, then pixels, turned upright and into sRGB. Needs the extra `scan`."""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image, ImageCms, ImageOps

from .finding import RefusedInputError
from .text import visible

MAX_BYTES = 100_000_000
MAX_PIXELS = 100_000_000
#: Only these are tried: other readers of the imaging library start programs or take file formats nobody scans to.
_FORMATS = ("PNG", "JPEG", "TIFF", "WEBP", "BMP", "GIF")
_GREY_MODES = ("1", "L", "LA", "I;16", "I;16B", "I;16L")
_MODES = (*_GREY_MODES, "P", "PA", "RGB", "RGBA", "RGBX")
#: What programs write when they do not know the resolution.
_EMPTY_DPI = (72, 96)


@dataclass(frozen=True, slots=True)
class Picture:
    """One picture as it is looked at.

    pixels: rows x columns x 3, 8-bit sRGB (of 16-bit files the upper eight bits).
    dpi: pixels an inch, where the file says it and can know it; else None.
    grey: True when the picture holds no colour at all.
    warnings: what a person should know about the file, one sentence each.
    """

    pixels: NDArray[np.uint8]
    dpi: float | None = None
    grey: bool = False
    warnings: tuple[str, ...] = ()


def read_image(path: Path) -> Picture:
    """Read a PNG, JPEG, TIFF, WebP or BMP file.

    Raises RefusedInputError when it is none, is damaged, has several frames, or is larger than 100 MB on disk or
    100 megapixels; both sizes are looked at before a single pixel is unpacked.
    """
    where = visible(str(path))
    data = _bytes_of(path, where)
    with warnings.catch_warnings():
        # The sizes are held to a stricter limit below; broken side notes in a file are no news to a printmaker.
        warnings.simplefilter("ignore")
        image = _opened(data, where)
        try:
            image.load()
            return _picture(image, where)
        except RefusedInputError:
            raise
        except Exception as error:  # decoders raise whatever comes to hand
            problem = visible(str(error)).rstrip(".") or type(error).__name__
            raise RefusedInputError(f"{where}: the file is damaged or cut short ({problem}); save it again") from None


def _bytes_of(path: Path, where: str) -> bytes:
    try:
        if not path.is_file():
            raise RefusedInputError(f"{where}: there is no such file")
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise RefusedInputError(f"{where}: {size / 1e6:.0f} MB is more than 100 MB; cut the picture to the print")
        return path.read_bytes()
    except (OSError, ValueError) as error:
        problem = getattr(error, "strerror", None) or error
        raise RefusedInputError(f"{where}: cannot be read ({problem})") from None


def _opened(data: bytes, where: str) -> Image.Image:
    too_large = f"{where}: the picture has more than 100 megapixels; cut it to the print or scan at 300 dpi"
    try:
        image = Image.open(io.BytesIO(data), formats=_FORMATS)
        frames = getattr(image, "n_frames", 1)
    except Image.DecompressionBombError:
        raise RefusedInputError(too_large) from None
    except Exception:  # decoders raise whatever comes to hand
        raise RefusedInputError(
            f"{where}: not a picture that can be read; save it as PNG, JPEG or TIFF (a phone's HEIC as JPEG)"
        ) from None
    if image.width * image.height > MAX_PIXELS:
        raise RefusedInputError(too_large)
    if frames > 1 and image.format != "MPO":  # an MPO is a phone's JPEG with a second, smaller view behind it
        raise RefusedInputError(f"{where}: {frames} frames or pages; save the one with the print by itself")
    if image.mode not in _MODES:
        raise RefusedInputError(f"{where}: {image.mode} colour; save the picture as 8- or 16-bit RGB")
    return image


def _picture(image: Image.Image, where: str) -> Picture:
    said: list[str] = []
    dpi = _resolution(image, said)
    profile = image.info.get("icc_profile")
    image = ImageOps.exif_transpose(image)
    if image.mode.startswith("I;16"):
        upright = Image.fromarray((np.asarray(image).astype(np.uint16) >> 8).astype(np.uint8)).convert("RGB")
    else:
        upright = _on_white(image, said)
    if profile and image.mode not in _GREY_MODES:
        upright = _in_srgb(upright, profile, said)
    pixels: NDArray[np.uint8] = np.asarray(upright)
    grey = all(np.array_equal(pixels[..., 0], pixels[..., other]) for other in (1, 2))
    if grey:
        said.append("The picture is greyscale: it tells how light the print is, not its colour.")
    return Picture(pixels, dpi, grey, tuple(said))


def _on_white(image: Image.Image, said: list[str]) -> Image.Image:
    if not (image.has_transparency_data or image.mode == "PA"):
        return image.convert("RGB")
    clear = image.convert("RGBA")
    if clear.getchannel("A").getextrema() != (255, 255):
        said.append("Parts of the picture are see-through; they were laid on white, which is not the paper's white.")
    ground = Image.new("RGBA", clear.size, "white")
    return Image.alpha_composite(ground, clear).convert("RGB")


def _in_srgb(image: Image.Image, profile: bytes, said: list[str]) -> Image.Image:
    """Phones and scanners often save in a wider colour space and name it in the file."""
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        turned = ImageCms.profileToProfile(image, source, ImageCms.createProfile("sRGB"), outputMode="RGB")
    except (ImageCms.PyCMSError, ImportError, OSError):
        said.append("The colour profile in the file cannot be used; the picture was taken as sRGB.")
        return image
    return image if turned is None else turned


def _resolution(image: Image.Image, said: list[str]) -> float | None:
    stated: Any = image.info.get("dpi")
    try:
        across, down = (float(value) for value in stated)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not (10 <= across <= 20_000 and abs(across - down) <= 0.01 * across) or round(across, 1) in _EMPTY_DPI:
        return None
    if ExifTags.Base.ExposureTime in image.getexif().get_ifd(ExifTags.IFD.Exif):
        said.append("A photo's resolution says nothing about its scale: lengths are in pixels only.")
        return None
    return round(across, 1)

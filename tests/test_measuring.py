"""Measuring prints on pictures whose colour, gaps, edge and bleed are known, because they are drawn here."""

from __future__ import annotations

import io
import json
import shutil
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

np = pytest.importorskip("numpy")
pytest.importorskip("skimage")

from PIL import Image, ImageCms, ImageFile  # noqa: E402
from scipy import ndimage  # noqa: E402
from skimage.color import deltaE_ciede2000, lab2rgb, rgb2lab  # noqa: E402

from folioproof import scan_file  # noqa: E402
from folioproof.cli import main  # noqa: E402
from folioproof.filling import fill_result  # noqa: E402
from folioproof.finding import FolioproofError, RefusedInputError  # noqa: E402
from folioproof.measuring import Measurement, Picture, measure, read_image  # noqa: E402
from folioproof.scan_colour import lab_of, linear, reflectance  # noqa: E402

SIZE = 256
PAPER = (95.0, 0.0, 0.0)
OLIVE = (45.0, -3.0, 22.0)
CORNER = (0, 0, 40, 40)
GAUSSIAN_RISE = 2.563  # from 10 % to 90 % of a blurred step, in sigmas
COLOURS = [(25.0, 1.0, 3.0), OLIVE, (40.0, 32.0, 18.0), (78.0, -2.0, 40.0), (30.0, 4.0, -20.0), (88.0, 1.0, 9.0)]


def radii() -> tuple[Any, Any]:
    rows, columns = np.mgrid[:SIZE, :SIZE] - SIZE / 2
    return np.hypot(rows, columns), np.arctan2(rows, columns)


def lobed(radius: float = 80, lobes: int = 5, depth: float = 0.2) -> Any:
    """A leaf of so many lobes: 1 inside, 0 outside."""
    away, angle = radii()
    return (away < radius * (1 + depth * np.cos(lobes * angle)) / (1 + depth)).astype(float)


def ellipse() -> Any:
    rows, columns = np.mgrid[:SIZE, :SIZE] - SIZE / 2
    return ((rows / 90) ** 2 + (columns / 50) ** 2 < 1).astype(float)


def drawn(cover: Any, colour: Any = OLIVE, paper: Any = PAPER, light: Any = 1.0, noise: float = 0.0) -> Any:
    """sRGB, 0 to 1, of print `colour` on `paper`; `light` colours the lamp, noise is in steps of 255."""
    lab = np.asarray(paper) * (1 - cover[..., None]) + np.asarray(colour) * cover[..., None]
    lit = np.clip(linear(lab2rgb(lab) * 255) * np.asarray(light), 0, 1)
    rgb = np.where(lit <= 0.0031308, lit * 12.92, 1.055 * lit ** (1 / 2.4) - 0.055)
    return np.clip(rgb + np.random.default_rng(7).normal(0, noise / 255, rgb.shape), 0, 1)


def eight(rgb: Any) -> Any:
    return np.round(rgb * 255).astype(np.uint8)


def picture(*given: Any, **more: Any) -> Picture:
    return Picture(eight(drawn(*given, **more)))


def off(measured: Any, wanted: Any) -> float:
    return float(deltaE_ciede2000(np.array(measured, dtype=float), np.array(wanted, dtype=float)))


def said(found: Measurement, words: str) -> bool:
    return any(words in warning for warning in found.warnings)


# Colour


def test_colours_come_from_the_same_formulas_as_skimage() -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (500, 3)).astype(np.uint8)
    assert np.abs(lab_of(linear(pixels)) - rgb2lab(pixels)).max() < 1e-6


@pytest.mark.parametrize("colour", COLOURS)
def test_the_colour_of_a_print(colour: tuple[float, ...]) -> None:
    found = measure(picture(lobed(), colour, noise=3), white=CORNER)
    assert off(found.lab, colour) < 0.8
    assert off(found.ground_lab, PAPER) < 0.8
    assert abs(found.contrast - off(colour, PAPER)) < 1.2
    assert found.spread <= found.spread_90 < 3
    assert found.transferred > 0.985
    assert abs(found.shape_area_px / lobed().sum() - 1) < 0.02


def test_a_photo_needs_no_box_for_its_white() -> None:
    found = measure(picture(ellipse(), noise=2, light=(0.9, 0.8, 0.7)))
    assert off(found.lab, OLIVE) < 0.8
    assert (found.reference, found.reference_box, found.reference_lightness) == ("white", None, 95)
    assert said(found, "found by itself")


@pytest.mark.parametrize("light", [(0.95, 0.8, 0.55), (0.6, 0.7, 0.9), (0.5, 0.5, 0.5), (0.75, 0.9, 0.7)])
def test_a_tinted_light_is_taken_out_by_white_and_by_card(light: tuple[float, ...]) -> None:
    cover = lobed()
    rgb = drawn(cover, light=light, noise=1)
    rgb[:40, -40:] = drawn(np.zeros((40, 40)), paper=(50, 0, 0), light=light)
    scan = Picture(eight(rgb))
    box = (40, 40, 176, 176)
    assert off(measure(scan, white=CORNER, box=box).lab, OLIVE) < 1
    by_card = measure(scan, card=(SIZE - 40, 0, 40, 40), box=box)
    assert off(by_card.lab, OLIVE) < 1.5
    assert by_card.reference == "card"
    uncorrected = rgb2lab(eight(rgb)[SIZE // 2, SIZE // 2])
    assert off(uncorrected, OLIVE) > 3


def test_a_card_of_another_lightness_and_a_creamier_paper() -> None:
    rgb = drawn(lobed(), paper=(90, 0, 6))
    rgb[:40, :40] = drawn(np.zeros((40, 40)), paper=(70, 0, 0))
    found = measure(Picture(eight(rgb)), card=CORNER, card_lightness=70, box=(41, 41, 174, 174))
    assert off(found.lab, OLIVE) < 0.8
    assert off(found.ground_lab, (90, 0, 6)) < 0.8
    assert reflectance(50) == pytest.approx(0.184, abs=0.001)


def test_white_of_another_lightness_lightens_the_print_with_it() -> None:
    dull = measure(picture(lobed()), white=CORNER, white_lightness=90)
    assert dull.ground_lab[0] == pytest.approx(90, abs=0.3)
    assert dull.lab[0] < OLIVE[0] - 1


def test_spread_tells_an_even_print_from_a_mottled_one() -> None:
    mottled = lobed() * np.where((np.arange(SIZE) // 10 % 2)[:, None], 1, 0.6)
    assert measure(picture(mottled), white=CORNER).spread_90 > 10
    assert measure(picture(lobed()), white=CORNER).spread_90 < 1


# Shape


@pytest.mark.parametrize("wanted", [0.93, 0.8, 0.6])
def test_the_share_that_transferred(wanted: float) -> None:
    leaf = lobed()
    rows, columns = np.mgrid[:SIZE, :SIZE] - SIZE / 2
    deep = ndimage.distance_transform_edt(leaf) > 16
    spots = [(r, c) for r in range(-84, 85, 21) for c in range(-84, 85, 21) if deep[r + SIZE // 2, c + SIZE // 2]]
    size = np.sqrt((1 - wanted) * leaf.sum() / len(spots) / np.pi)
    gaps = np.any([np.hypot(rows - r, columns - c) < size for r, c in spots], axis=0)
    truth = (leaf * ~gaps).sum() / leaf.sum()
    found = measure(picture(leaf * ~gaps, noise=2), white=CORNER)
    assert found.transferred == pytest.approx(truth, abs=0.02)
    assert found.shapes == 1
    assert off(found.lab, OLIVE) < 1


def test_a_pale_middle_is_print_too() -> None:
    leaf = lobed()
    pale = np.where(ndimage.distance_transform_edt(leaf) > 10, 0.3 * leaf, leaf)
    found = measure(picture(pale, (25, 0, 5), noise=2), white=CORNER)
    assert found.transferred > 0.98
    assert abs(found.shape_area_px / leaf.sum() - 1) < 0.02


def test_a_print_broken_through_to_the_ground_stays_one_shape() -> None:
    broken = lobed()
    broken[SIZE // 2 - 2 : SIZE // 2 + 1] = 0
    found = measure(picture(broken), white=CORNER)
    assert found.shapes == 1
    assert 0.96 < found.transferred < 0.995


def test_two_leaves_and_a_crumb() -> None:
    two = np.roll(lobed(45), 58, axis=1) + np.roll(lobed(38), -58, axis=1)
    two[20:26, 120:126] = 1
    found = measure(picture(two), white=CORNER)
    assert found.shapes == 2
    x, y, width, _ = found.shape_box
    assert y > 60
    assert 32 <= x <= 45
    assert width > 165


def test_box_keeps_to_one_of_two_leaves() -> None:
    two = np.roll(lobed(45), 58, axis=1) + np.roll(lobed(38), -58, axis=1)
    found = measure(picture(two), white=CORNER, box=(132, 70, 112, 116))
    assert found.shapes == 1
    assert abs(found.shape_area_px / lobed(45).sum() - 1) < 0.02
    assert found.shape_box[0] >= 132


# Edge and bleed


@pytest.mark.parametrize("sigma", [1.5, 3, 6])
@pytest.mark.parametrize("shape", [lobed, ellipse])
def test_the_width_of_a_blurred_edge(shape: Any, sigma: float) -> None:
    cover = ndimage.gaussian_filter(shape(), sigma)
    found = measure(picture(cover, noise=3), white=CORNER)
    assert found.edge_width_px == pytest.approx(GAUSSIAN_RISE * sigma, rel=0.06, abs=0.25)
    assert found.bleed < 0.01


def test_a_sharp_edge_is_one_pixel_and_millimetres_need_a_resolution() -> None:
    sharp = Picture(eight(drawn(lobed())), dpi=254.0)
    found = measure(sharp, white=CORNER)
    assert found.edge_width_px == pytest.approx(1, abs=0.2)
    assert found.edge_width_mm == pytest.approx(0.1 * found.edge_width_px, abs=0.001)
    assert found.shape_area_mm2 == pytest.approx(0.01 * found.shape_area_px, rel=0.01)
    bare = measure(Picture(sharp.pixels), white=CORNER)
    assert (bare.edge_width_mm, bare.bleed_distance_mm, bare.shape_area_mm2) == (None, None, None)


@pytest.mark.parametrize(("wide", "strength", "sigma"), [(14, 0.15, 0), (14, 0.3, 1.5), (25, 0.1, 1.5)])
def test_a_halo_is_bleed(wide: int, strength: float, sigma: float) -> None:
    leaf = lobed(70)
    away = ndimage.distance_transform_edt(1 - leaf)
    halo = (away > 0) & (away <= wide)
    found = measure(picture(ndimage.gaussian_filter(leaf + halo * strength, sigma), noise=2), white=CORNER)
    assert found.bleed == pytest.approx(halo.sum() / leaf.sum(), rel=0.08)
    assert found.bleed_distance_px == pytest.approx(away[halo].mean(), rel=0.08)
    assert found.edge_width_px == pytest.approx(GAUSSIAN_RISE * sigma, rel=0.1, abs=1.1)
    assert found.transferred > 0.98


def test_a_large_scan_is_measured_at_its_own_resolution() -> None:
    fine = ndimage.zoom(ndimage.gaussian_filter(lobed(), 1.0), 5, order=1)
    found = measure(picture(fine), white=(0, 0, 200, 200))
    assert fine.shape[0] ** 2 > 1_500_000
    assert found.edge_width_px == pytest.approx(5 * GAUSSIAN_RISE, rel=0.1)
    assert abs(found.shape_area_px / (25 * lobed().sum()) - 1) < 0.03
    assert off(found.lab, OLIVE) < 0.8


# What cannot be measured, and what is only said


@pytest.mark.parametrize(
    ("scan", "words"),
    [
        (lambda: picture(lobed(), light=0.03), "too dark"),
        (lambda: picture(lobed(), light=1.4), "burnt out"),
        (lambda: picture(lobed(), paper=(45, 60, 45)), "no white paper"),
        (lambda: picture(lobed() * 0), "no print stands out"),
        (lambda: picture(lobed() * 0, noise=5), "no print stands out"),
        (lambda: picture(lobed(9, depth=0)), "too small"),
        (lambda: picture(lobed(2, depth=0)), "no print stands out"),
        (lambda: Picture(np.full((1, 1, 3), 200, np.uint8)), "too small"),
        (lambda: Picture(np.full((300, 20, 3), 200, np.uint8)), "too small"),
        (lambda: Picture(np.random.default_rng(2).integers(0, 256, (99, 99, 3), dtype=np.uint8)), "no white paper"),
    ],
)
def test_refusals_are_one_clear_line(scan: Any, words: str) -> None:
    with pytest.raises(RefusedInputError, match=words) as caught:
        measure(scan())
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"white": (0, 0, SIZE + 1, 10)}, "reaches beyond"),
        ({"white": (-1, 0, 10, 10)}, "reaches beyond"),
        ({"card": (0, 0, 0, 10)}, "reaches beyond"),
        ({"white": CORNER, "box": (0, 0, 5, SIZE + 5)}, "reaches beyond"),
        ({"white": (0, 0, 4, 4)}, "too few"),
        ({"white": CORNER, "box": (0, 0, 20, 100)}, "too small"),
        ({"white": CORNER, "box": (0, 0, 40, 40)}, "no print"),
        ({"card": (150, 150, 10, 10), "card_lightness": 95}, "lighter than white|too dark"),
    ],
)
def test_boxes_that_cannot_be_right_are_refused(given: dict[str, Any], words: str) -> None:
    with pytest.raises(RefusedInputError, match=words):
        measure(picture(lobed(), (20, 0, 0) if "card" in given else OLIVE), **given)


def test_a_light_print_against_a_dark_card_is_seen_through() -> None:
    with pytest.raises(RefusedInputError, match="lighter than white"):
        measure(picture(lobed(), (97, 0, 0), paper=(70, 0, 0)), white=CORNER)


@pytest.mark.parametrize(
    ("scan", "words"),
    [
        (lambda: picture(np.roll(lobed(70), 104, axis=0)), "touches the edge"),
        (lambda: picture(lobed(), light=np.linspace(1, 0.6, SIZE)[:, None]), "uneven"),
        (lambda: picture(lobed(20)), "small in the picture"),
        (lambda: picture(lobed(), (0.5, 0, 0), noise=3), "of the print is clipped"),
        (lambda: picture(lobed(), noise=12, light=1.13), "of the paper is clipped"),
        (lambda: picture(lobed(), light=(0.95, 0.6, 0.2)), "strongly tinted"),
    ],
)
def test_doubts_are_said(scan: Any, words: str) -> None:
    found = measure(scan(), white=CORNER)
    assert said(found, words), found.warnings
    assert all("\n" not in warning and warning.endswith(".") for warning in found.warnings)


def test_a_white_box_that_holds_print_is_said() -> None:
    assert said(measure(picture(lobed()), white=(0, 0, SIZE, SIZE)), "not of one colour")


def test_json_holds_every_field() -> None:
    plain = measure(picture(lobed()), white=CORNER).as_json()
    assert json.loads(json.dumps(plain)) == plain
    assert set(plain) == set(Measurement.__slots__)
    assert plain["reference_box"] == list(CORNER)


def test_any_picture_gives_figures_or_one_line() -> None:
    chance = np.random.default_rng(10)
    measured = 0
    for turn in range(150):
        high, wide = chance.integers(20, 120, 2)
        clouds = ndimage.gaussian_filter(chance.random((high, wide, 3)), (*chance.uniform(0, 12, 2), 0))
        clouds = (clouds - clouds.min()) / np.ptp(clouds)
        scan = Picture(eight(clouds if turn % 2 else np.where(clouds > 0.6, 0.2, 0.9)))
        x, y = int(chance.integers(0, wide // 2)), int(chance.integers(0, high // 2))
        given = {("white", "card", "box")[turn % 3]: (x, y, int(wide // 2), int(high // 2))}
        try:
            found = measure(scan, **given)
        except RefusedInputError as error:
            assert "\n" not in str(error)
            continue
        measured += 1
        json.dumps(found.as_json(), allow_nan=False)
        assert 0 <= found.transferred <= 1
        assert found.bleed >= 0
    assert measured > 5


# Files


def saved(path: Path, image: Any, **how: Any) -> Path:
    (image if isinstance(image, Image.Image) else Image.fromarray(image)).save(path, **how)
    return path


def sixteen_bit_png(rgb: Any) -> bytes:
    values = np.round(rgb * 65535).astype(">u2")
    rows = b"".join(b"\0" + row.tobytes() for row in values)
    header = struct.pack(">IIBBBBB", values.shape[1], values.shape[0], 16, 2, 0, 0, 0)

    def chunk(name: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    parts = chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(rows)), chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif", "a.webp", "a.bmp"])
def test_the_usual_files_are_read_with_their_resolution(tmp_path: Path, name: str) -> None:
    how = {"quality": 95} if name in ("a.jpg", "a.webp") else {}
    path = saved(tmp_path / name, eight(drawn(lobed())), dpi=(300, 300), **how)
    read = read_image(path)
    assert read.dpi == (None if name == "a.webp" else pytest.approx(300, abs=0.2))
    assert off(measure(read, white=CORNER).lab, OLIVE) < 1


def test_sixteen_bits(tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    path.write_bytes(sixteen_bit_png(drawn(lobed())))
    assert off(measure(read_image(path), white=CORNER).lab, OLIVE) < 0.8
    grey = saved(tmp_path / "g.png", np.round(drawn(lobed(), (50, 0, 0))[..., 0] * 65535).astype(np.uint16))
    found = measure(read_image(grey), white=CORNER)
    assert found.lab[0] == pytest.approx(50, abs=0.6)
    assert found.grey


@pytest.mark.parametrize("dpi", [(72, 72), (96, 96), (300, 200), (1, 1)])
def test_an_empty_or_crooked_resolution_is_none(tmp_path: Path, dpi: tuple[int, int]) -> None:
    assert read_image(saved(tmp_path / "a.png", eight(drawn(lobed())), dpi=dpi)).dpi is None


def test_a_photos_resolution_is_no_scale_and_its_turn_is_followed(tmp_path: Path) -> None:
    exif = Image.Exif()
    exif[274] = 6
    exif.get_ifd(0x8769)[33434] = 0.01
    pixels = eight(drawn(lobed()))[:200]
    read = read_image(saved(tmp_path / "a.jpg", pixels, dpi=(300, 300), exif=exif))
    assert read.dpi is None
    assert any("scale" in warning for warning in read.warnings)
    assert read.pixels.shape == (SIZE, 200, 3)


def test_greyscale_is_said_whatever_the_file_calls_it(tmp_path: Path) -> None:
    grey = eight(drawn(lobed(), (45, 0, 0)))[..., 0]
    for name, pixels in (("l.png", grey), ("rgb.png", np.stack([grey] * 3, axis=-1))):
        found = measure(read_image(saved(tmp_path / name, pixels)), white=CORNER)
        assert found.grey
        assert said(found, "greyscale")
        assert found.lab[1:] == pytest.approx((0, 0), abs=0.05)


def test_see_through_parts_are_laid_on_white(tmp_path: Path) -> None:
    clear = np.dstack([eight(drawn(lobed())), np.full((SIZE, SIZE), 255, np.uint8)])
    assert read_image(saved(tmp_path / "full.png", clear)).warnings == ()
    clear[240:, :, 3] = 0
    read = read_image(saved(tmp_path / "part.png", clear))
    assert (read.pixels[240:] == 255).all()
    assert any("see-through" in warning for warning in read.warnings)
    assert off(measure(read, white=CORNER, box=(0, 0, SIZE, 240)).lab, OLIVE) < 0.8


def test_a_palette_is_read(tmp_path: Path) -> None:
    path = saved(tmp_path / "p.png", Image.fromarray(eight(drawn(lobed()))).quantize(64))
    assert off(measure(read_image(path), white=CORNER).lab, OLIVE) < 2


def test_a_colour_profile_is_followed_and_a_broken_one_said(tmp_path: Path) -> None:
    image = Image.fromarray(eight(drawn(lobed())))
    flat = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert off(measure(read_image(saved(tmp_path / "a.png", image, icc_profile=flat)), white=CORNER).lab, OLIVE) < 1
    broken = read_image(saved(tmp_path / "b.png", image, icc_profile=b"no profile" * 20))
    assert any("profile" in warning for warning in broken.warnings)


def wide_profile() -> bytes:
    """A matrix profile with the primaries of a wide display, the transfer curve a plain power of 2.2."""

    def s15(*values: float) -> bytes:
        return b"".join(struct.pack(">i", round(value * 65536)) for value in values)

    curve = b"curv\0\0\0\0" + struct.pack(">IHxx", 1, round(2.2 * 256))
    text = b"desc\0\0\0\0" + struct.pack(">I", 5) + b"wide\0" + bytes(78)
    tags = {
        b"desc": text,
        b"wtpt": b"XYZ \0\0\0\0" + s15(0.9642, 1, 0.8249),
        b"rXYZ": b"XYZ \0\0\0\0" + s15(0.6097, 0.3111, 0.0195),
        b"gXYZ": b"XYZ \0\0\0\0" + s15(0.2053, 0.6257, 0.0609),
        b"bXYZ": b"XYZ \0\0\0\0" + s15(0.1492, 0.0632, 0.7446),
        b"rTRC": curve,
        b"gTRC": curve,
        b"bTRC": curve,
    }
    table, body = struct.pack(">I", len(tags)), b""
    for name, data in tags.items():
        data += bytes(-len(data) % 4)
        table += name + struct.pack(">II", 128 + 4 + 12 * len(tags) + len(body), len(data))
        body += data
    head = struct.pack(">I4xI4s4s4s12x4s28x", 0, 0x02100000, b"mntr", b"RGB ", b"XYZ ", b"acsp") + s15(
        0.9642, 1, 0.8249
    )
    whole = head + bytes(128 - len(head)) + table + body
    return struct.pack(">I", len(whole)) + whole[4:]


def test_a_wide_colour_profile_brings_its_colours_back(tmp_path: Path) -> None:
    profile = wide_profile()
    srgb = Image.fromarray(eight(drawn(lobed(), (50, 40, 30))))
    wide = ImageCms.profileToProfile(
        srgb, ImageCms.createProfile("sRGB"), ImageCms.ImageCmsProfile(io.BytesIO(profile)), outputMode="RGB"
    )
    assert wide is not None
    found = measure(read_image(saved(tmp_path / "w.png", wide, icc_profile=profile)), white=CORNER)
    assert off(found.lab, (50, 40, 30)) < 1
    plain = measure(read_image(saved(tmp_path / "n.png", wide, icc_profile=None)), white=CORNER)
    assert off(plain.lab, (50, 40, 30)) > 3


def test_files_that_are_no_picture_are_refused_in_one_line(tmp_path: Path) -> None:
    good = saved(tmp_path / "good.png", eight(drawn(lobed(), noise=3))).read_bytes()
    jpeg = saved(tmp_path / "good.jpg", eight(drawn(lobed(), noise=3))).read_bytes()
    tiff = saved(tmp_path / "good.tif", eight(drawn(lobed())), compression="tiff_deflate").read_bytes()
    bad = {
        "empty.png": b"",
        "text.png": b"not a picture at all\n",
        "page.ps": b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\nshowpage\n",
        "vector.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        "cut.png": good[: len(good) // 2],
        "head.png": good[:40],
        "cut.jpg": jpeg[: len(jpeg) // 2],
        "cut.tif": tiff[: len(tiff) // 2],
        "spoilt.png": good[:900] + bytes(400) + good[1300:],
    }
    for name, content in bad.items():
        (tmp_path / name).write_bytes(content)
        with pytest.raises(RefusedInputError) as caught:
            read_image(tmp_path / name)
        assert name in str(caught.value)
        assert "\n" not in str(caught.value)
    for name in ("missing.png", ".", "a\0b.png"):
        with pytest.raises(RefusedInputError):
            read_image(tmp_path / name)


def test_every_cut_and_spoilt_byte_is_met_with_a_picture_or_a_line(tmp_path: Path) -> None:
    chance = np.random.default_rng(4)
    small = Image.fromarray(eight(drawn(lobed()))).resize((40, 40))
    for name in ("a.png", "a.jpg", "a.tif", "a.webp", "a.bmp", "a.gif"):
        whole = saved(tmp_path / name, small).read_bytes()
        for _ in range(40):
            content = bytearray(whole[: chance.integers(1, len(whole) + 1)])
            content[chance.integers(0, len(content))] = chance.integers(0, 256)
            (tmp_path / name).write_bytes(content)
            try:
                read_image(tmp_path / name)
            except RefusedInputError as error:
                assert "\n" not in str(error)


def test_several_frames_and_odd_colour_models_are_refused(tmp_path: Path) -> None:
    frames = [Image.new("RGB", (40, 40), colour) for colour in ("red", "blue")]
    for name in ("a.gif", "a.png", "a.tif", "a.webp"):
        frames[0].save(tmp_path / name, save_all=True, append_images=frames[1:])
        with pytest.raises(RefusedInputError, match="2 frames or pages"):
            read_image(tmp_path / name)
    frames[0].resize((20, 20)).save(tmp_path / "phone.jpg", format="MPO", save_all=True, append_images=frames[1:])
    assert read_image(tmp_path / "phone.jpg").pixels.shape == (20, 20, 3)
    saved(tmp_path / "c.tif", Image.new("CMYK", (40, 40)))
    with pytest.raises(RefusedInputError, match="CMYK"):
        read_image(tmp_path / "c.tif")


def test_sizes_are_refused_before_anything_is_unpacked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def unpack(*_: object) -> None:
        raise AssertionError("unpacked")

    monkeypatch.setattr(ImageFile.ImageFile, "load", unpack)
    for side in (10_001, 60_000):
        header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
        content = b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + header
        (tmp_path / "a.png").write_bytes(content + struct.pack(">I", zlib.crc32(b"IHDR" + header)) + b"\0\0\0\0IDAT")
        with pytest.raises(RefusedInputError, match="100 megapixels"):
            read_image(tmp_path / "a.png")
    with (tmp_path / "b.png").open("wb") as stream:
        stream.truncate(scan_file.MAX_BYTES + 1)
    monkeypatch.setattr(Path, "read_bytes", unpack)
    with pytest.raises(RefusedInputError, match="more than 100 MB"):
        read_image(tmp_path / "b.png")


# The command

OUTCOME = """\
# my third try
plant: quercus-robur
result:   # what came out
  # how strong, 0 to 4
  strength: 3
  lab: [50.5, 0.0, 0.0]  # by eye
  transferred:
  reaction: none   # nobody itched
notes: |
  result: not this one
  lab: nor this
"""


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["measure", *map(str, arguments)])


@pytest.fixture
def scan(tmp_path: Path) -> Path:
    return saved(tmp_path / "scan.png", eight(drawn(lobed(), noise=2)), dpi=(300, 300))


def test_the_command_says_it_in_words(scan: Path) -> None:
    result = run(scan, "--white", "0,0,40,40")
    assert result.exit_code == 0
    for words in ("ISCC-NBS", "#", "CIELAB L* 4", "of the shape", "mm (", "Bleed", "taken as L* 95"):
        assert words in result.output
    assert "Warning" not in result.output
    assert "found by itself" in run(scan).output


def test_the_command_in_json_is_one_object(scan: Path) -> None:
    result = run(scan, "--card", "0,0,40,40", "--card-lightness", "95", "--json")
    assert result.output.count("\n") == 1
    answer = json.loads(result.output)
    assert answer["colour_name"].endswith("olive")
    assert answer["hex"].startswith("#")
    assert off(answer["lab"], OLIVE) < 0.8


def test_wrong_usage_and_refusals_have_their_exit_codes(scan: Path, tmp_path: Path) -> None:
    for arguments in (["--white", "1,2,3"], ["--box", "a,b,c,d"], ["--white", "0,0,9,9", "--card", "0,0,9,9"]):
        assert run(scan, *arguments).exit_code == 2
    for arguments in ([tmp_path / "none.png"], [scan, "--white", "0,0,999,9"]):
        result = run(*arguments)
        assert result.exit_code == 1
        assert result.output.count("\n") == 1


def test_other_commands_start_without_the_heavy_libraries() -> None:
    code = "import sys, folioproof.cli; print([m for m in ('numpy', 'scipy', 'skimage', 'PIL') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


def test_without_the_extra_it_says_what_to_install(scan: Path) -> None:
    code = (
        "import sys; sys.modules['skimage'] = None; sys.modules['numpy'] = None\n"
        f"from folioproof.cli import main; main(['measure', {str(scan)!r}])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert done.stderr == "Error: measuring needs more libraries: pip install 'folioproof[scan]'\n"


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_into_fills_the_result_and_leaves_the_rest(scan: Path, tmp_path: Path, newline: str) -> None:
    outcome = tmp_path / "outcome.yml"
    outcome.write_bytes(OUTCOME.replace("\n", newline).encode())
    outcome.chmod(0o640)
    assert run(scan, "--white", "0,0,40,40", "--into", outcome).exit_code == 0
    text = outcome.read_bytes().decode()
    assert text.count("\n") == text.count(newline)
    lines = text.split(newline)
    old = OUTCOME.split("\n")
    changed = [line for line in lines if line not in old]
    assert [line.split(":")[0].strip() for line in changed] == [
        "lab_spread", "colour_basis", "bleed", "edge_width_mm", "lab", "transferred",
    ]  # fmt: skip
    assert [line for line in old if line not in lines] == ["  lab: [50.5, 0.0, 0.0]  # by eye", "  transferred:"]
    assert next(line for line in changed if " lab:" in line).endswith("]  # by eye")
    assert "  transferred: 1.0" in changed
    assert outcome.stat().st_mode & 0o777 == 0o640
    assert {path.name for path in tmp_path.iterdir()} == {"scan.png", "outcome.yml"}
    assert run(scan, "--white", "0,0,40,40", "--into", outcome).exit_code == 0
    assert outcome.read_bytes().decode() == text


@pytest.mark.parametrize(
    "text",
    ["plant: a\nresult:\n", "plant: a\nresult:", "result:  # empty\nplant: a\n", "plant: a\nresult:\n    clarity: 2\n"],
)
def test_into_an_empty_or_short_block(tmp_path: Path, text: str) -> None:
    outcome = tmp_path / "outcome.yml"
    outcome.write_text(text)
    fill_result(outcome, {"lab": (45.0, -3.0, 0.0), "colour_basis": "scan"})
    indent = "    " if "clarity" in text else "  "
    assert f"\n{indent}lab: [45.0, -3.0, 0.0]\n{indent}colour_basis: scan\n" in outcome.read_text()


@pytest.mark.parametrize(
    "text",
    [
        "plant: a\n",
        "result: {strength: 3}\n",
        "result: good\n",
        "result: [1, 2]\n",
        "result:\n  lab:\n    - 1\n    - 2\n    - 3\n",
        "result:\n  lab: [1,\n    2, 3]\n",
        "result:\n  ? lab\n  : [1, 2, 3]\n",
        "result:\n  lab: [1, 2, 3]\n  lab: [1, 2, 3]\n",
        "result:\n  strength: NO\n",
        "result:\n\tlab: 1\n",
        "a: 1\n---\nresult:\n  b: 1\n",
        "- result\n",
        "",
        "\ufeffresult:\n  a: 1\n",
    ],
)
def test_into_changes_nothing_where_there_is_a_doubt(tmp_path: Path, text: str) -> None:
    outcome = tmp_path / "outcome.yml"
    outcome.write_text(text, encoding="utf-8")
    with pytest.raises(RefusedInputError) as caught:
        fill_result(outcome, {"lab": (1.5, 2.0, 3.0), "bleed": 0.1})
    assert "\n" not in str(caught.value)
    assert outcome.read_text(encoding="utf-8") == text
    assert [path.name for path in tmp_path.iterdir()] == ["outcome.yml"]


def test_into_follows_a_link_and_refuses_what_is_not_there(scan: Path, tmp_path: Path) -> None:
    outcome = tmp_path / "outcome.yml"
    outcome.write_text(OUTCOME)
    (tmp_path / "link.yml").symlink_to(outcome)
    assert run(scan, "--into", tmp_path / "link.yml").exit_code == 0
    assert (tmp_path / "link.yml").is_symlink()
    assert "colour_basis: scan" in outcome.read_text()
    assert run(scan, "--into", tmp_path / "none.yml").exit_code == 1
    assert not (tmp_path / "none.yml").exists()


def test_a_greyscale_scan_is_not_written_as_a_colour(tmp_path: Path) -> None:
    grey = saved(tmp_path / "grey.png", eight(drawn(lobed(), (45, 0, 0)))[..., 0])
    outcome = tmp_path / "outcome.yml"
    outcome.write_text(OUTCOME)
    assert run(grey).exit_code == 0
    assert run(grey, "--into", outcome).exit_code == 1
    assert outcome.read_text() == OUTCOME


def test_a_failed_write_leaves_the_old_file(scan: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    outcome = tmp_path / "outcome.yml"
    outcome.write_text(OUTCOME)
    monkeypatch.setattr(shutil, "copymode", full)
    result = run(scan, "--into", outcome)
    assert result.exit_code == 1
    assert "nothing was changed" in result.output
    assert outcome.read_text() == OUTCOME
    assert {path.name for path in tmp_path.iterdir()} == {"scan.png", "outcome.yml"}


def test_what_is_meant_for_a_person_is_one_family_of_errors() -> None:
    assert issubclass(RefusedInputError, FolioproofError)

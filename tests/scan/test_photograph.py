"""Files of photographs as they come: what a camera wrote beside the picture is garbage, the file is cut, or is none."""

import struct
from contextlib import suppress

import numpy as np
import pytest
from PIL import Image, TiffImagePlugin

from bodygen.errors import InputError
from bodygen.scan.photo.photograph import FULL_FRAME_DIAGONAL_MM, read_photograph

WIDE, HIGH = 640, 400
HEAD = b"II*\0" + struct.pack("<I", 8)
"""The head of a little-endian TIFF, whose first directory follows at once (TIFF 6.0, section 2)."""


def rows(*entries, after=b""):
    """A directory of (tag, type, count, value) and what lies after it, with the head that EXIF 2.3 asks for."""
    packed = b"".join(struct.pack("<HHII", *one) for one in entries)
    return b"Exif\0\0" + HEAD + struct.pack("<H", len(entries)) + packed + struct.pack("<I", 0) + after


HOSTILE = {
    "no TIFF at all": b"Exif\0\0" + bytes(range(7, 200)),
    "nothing": b"Exif\0\0",
    "a head alone": b"Exif\0\0II*\0",
    "a directory outside the file": b"Exif\0\0II*\0" + struct.pack("<I", 2**32 - 2),
    "65535 entries of which none is there": b"Exif\0\0" + HEAD + b"\xff\xff",
    "an entry cut through": rows((0x0112, 3, 1, 6))[:-9],
    "an orientation far away": rows((0x0112, 3, 2**31, 2**31)),
    "an orientation of 99": rows((0x0112, 3, 1, 99)),
    "an orientation in words": rows((0x0112, 2, 4, int.from_bytes(b"six\0", "little"))),
    "an orientation of no kind": rows((0x0112, 77, 1, 6)),
    "its own directory outside the file": rows((0x8769, 4, 1, 2**31)),
    "its own directory is itself": rows((0x8769, 4, 1, 8)),
    "its own directory in words": rows((0x8769, 2, 4, int.from_bytes(b"abc\0", "little"))),
    "a focal length in words": rows((0x8769, 4, 1, 26), after=struct.pack("<HHHI4s", 1, 0xA405, 2, 4, b"abc\0")),
    "a focal length of n / 0": rows((0x8769, 4, 1, 26), after=struct.pack("<HHHIIIII", 1, 0xA405, 5, 1, 44, 0, 7, 0)),
}


def picture():
    """A ground with its left top corner dark, so that a turn shows."""
    pixels = np.full((HIGH, WIDE, 3), 190, np.uint8)
    pixels[: HIGH // 2, : WIDE // 2] = 20
    return Image.fromarray(pixels)


@pytest.mark.parametrize("kind", ["jpg", "webp", "png"])
@pytest.mark.parametrize("said", HOSTILE)
def test_a_good_picture_with_garbage_beside_it_is_read_upright_and_tells_no_lens(said, kind, tmp_path):
    picture().save(tmp_path / f"side.{kind}", exif=HOSTILE[said], quality=90)
    photo = read_photograph(tmp_path / f"side.{kind}")
    assert photo.rgb.shape == (HIGH, WIDE, 3)
    assert photo.rgb[20, 20].max() < 60
    assert photo.focal is None
    assert photo.scale == 1


@pytest.mark.parametrize("turn", range(1, 9))
def test_a_picture_held_any_way_comes_upright(turn, tmp_path):
    """EXIF 2.3, Orientation: where the picture's first row and first column are to lie, by its eight values."""
    place = {1: "top left", 2: "top right", 3: "low right", 4: "low left"}
    place |= {5: "top left", 6: "top right", 7: "low right", 8: "low left"}
    picture().save(tmp_path / "side.jpg", exif=rows((0x0112, 3, 1, turn)), quality=90)
    photo = read_photograph(tmp_path / "side.jpg")
    assert photo.rgb.shape == ((HIGH, WIDE, 3) if turn < 5 else (WIDE, HIGH, 3))
    row = 20 if place[turn].startswith("top") else -20
    column = 20 if place[turn].endswith("left") else -20
    assert photo.rgb[row, column].max() < 60
    assert photo.rgb[-row, -column].min() > 150


def test_a_turn_and_a_lens_that_can_be_read_are_believed_each_without_the_other(tmp_path):
    """26 mm on a full frame of 43.27 mm: a share of the picture's own diagonal."""
    lens = struct.pack("<HHHIII", 1, 0xA405, 3, 1, 26, 0)
    picture().save(tmp_path / "a.jpg", exif=rows((0x0112, 3, 1, 99), (0x8769, 4, 1, 38), after=lens))
    picture().save(tmp_path / "b.jpg", exif=rows((0x0112, 3, 1, 6), (0x8769, 4, 1, 2**31)))
    a, b = read_photograph(tmp_path / "a.jpg"), read_photograph(tmp_path / "b.jpg")
    assert a.focal == pytest.approx(26 / FULL_FRAME_DIAGONAL_MM * np.hypot(WIDE, HIGH))
    assert a.rgb.shape == (HIGH, WIDE, 3)
    assert b.focal is None
    assert b.rgb.shape == (WIDE, HIGH, 3)


def test_a_tiff_turned_on_its_side_comes_upright_once(tmp_path):
    said = TiffImagePlugin.ImageFileDirectory_v2()
    said[0x0112] = 6
    picture().save(tmp_path / "side.tif", tiffinfo=said)
    photo = read_photograph(tmp_path / "side.tif")
    assert photo.rgb.shape == (WIDE, HIGH, 3)
    assert photo.rgb[20, -20].max() < 60
    assert photo.scale == 1


def cut(folder):
    picture().save(folder / "a.jpg", quality=95)
    return (folder / "a.jpg").read_bytes()[:2000]


def huge(_folder):
    """A PNG's head of 20000 x 20000 pixels, 400 million, and none of them (PNG 3rd edition, 11.2.1)."""
    head = b"IHDR" + struct.pack(">IIBBBBB", 20000, 20000, 8, 2, 0, 0, 0)
    from zlib import crc32

    end = b"IEND"
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(one) - 4) + one + struct.pack(">I", crc32(one)) for one in (head, b"IDAT", end)
    )


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (cut, "not a picture that can be read (image file is truncated"),
        (lambda _: b"notes on a perch\n" * 40, "not a picture that can be read (no kind of file that is known)."),
        (lambda _: b"", "not a picture that can be read (no kind of file that is known)."),
        (huge, "20000 by 20000 pixels.\n    300 pixels or more a side, 250,000,000 at most in all"),
    ],
    ids=["cut", "text", "empty", "huge"],
)
def test_what_is_no_picture_gets_one_clear_line(content, said, tmp_path):
    file = tmp_path / "side.jpg"
    file.write_bytes(content(tmp_path))
    with pytest.raises(InputError) as refused:
        read_photograph(file)
    assert said in str(refused.value)
    assert len(refused.value.mistakes) == 1


def test_bytes_turned_over_anywhere_are_read_or_refused(tmp_path):
    """Forty files of each kind, eight bytes of each turned over, half of them in the first 700, where the heads are."""
    chance = np.random.default_rng(20310402)
    exif = rows((0x0112, 3, 1, 6), (0x8769, 4, 1, 38), after=struct.pack("<HHHIII", 1, 0xA405, 3, 1, 26, 0))
    small = picture().resize((320, 310))
    for kind in ("jpg", "png", "webp", "tif"):
        file = tmp_path / f"side.{kind}"
        small.save(file, exif=exif)
        whole = file.read_bytes()
        for _ in range(40):
            broken = bytearray(whole)
            for n in (*chance.integers(min(700, len(whole)), size=4), *chance.integers(len(whole), size=4)):
                broken[n] = chance.integers(256)
            file.write_bytes(bytes(broken))
            with suppress(InputError):
                assert min(read_photograph(file).rgb.shape[:2]) >= 1

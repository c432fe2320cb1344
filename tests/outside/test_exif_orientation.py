"""Every orientation of every kind of picture, against the words of the Exif standard.

Source: CIPA DC-008-2019 / JEITA CP-3451E (Exif 2.32), section 4.6.4 A, tag 0x0112 Orientation: for
each value 1 to 8, which side of the seen picture the 0th row and the 0th column are. The files are
built from that table pixel by pixel (``photo_files.as_stored``), with no library's own rotation.
"""

import sys
from pathlib import Path

import pytest
from PIL import Image

from studiolog.photos import PhotoStore, examine, make_thumbnails, picture_rgb

if (_TESTS := str(Path(__file__).parents[1])) not in sys.path:
    sys.path.insert(0, _TESTS)

import photo_files

KINDS = ("jpeg", "png", "webp", "tiff", "heic")
WIDTH, HEIGHT = 96, 64


def _middles(width: int, height: int) -> list[tuple[int, int]]:
    """The middle of each quarter: top left, top right, bottom left, bottom right."""
    xs, ys = (width // 4, width * 3 // 4), (height // 4, height * 3 // 4)
    return [(x, y) for y in ys for x in xs]


def _near(seen: tuple[int, ...], meant: tuple[int, ...]) -> bool:
    # 12 of 255: what JPEG and HEIC may do to a flat colour.
    return all(abs(a - b) <= 12 for a, b in zip(seen, meant, strict=True))


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", KINDS)
def test_seen_the_way_the_standard_says(kind: str, orientation: int, tmp_path: Path) -> None:
    stored = photo_files.as_stored(photo_files.quartered(WIDTH, HEIGHT), orientation)
    data = photo_files.saved(stored, kind, photo_files.exif_block(orientation))
    if kind == "heic" and orientation > 1:
        assert b"irot" in data or b"imir" in data, "the file must carry the turn a phone writes"

    facts = examine(data, "pot")
    assert (facts.kind, facts.orientation) == (kind, orientation)
    assert (facts.width, facts.height) == (WIDTH, HEIGHT)

    store = PhotoStore(tmp_path)
    sha256 = store.keep(data, facts.suffix)
    width, height, rgb = picture_rgb(store, sha256, facts.suffix, longest=1000)
    assert (width, height) == (WIDTH, HEIGHT)
    assert len(rgb) == 3 * WIDTH * HEIGHT
    for (x, y), meant in zip(_middles(width, height), photo_files.QUARTERS, strict=True):
        at = 3 * (y * width + x)
        assert _near(tuple(rgb[at : at + 3]), meant)

    for size, path in make_thumbnails(store, sha256, facts.suffix, sizes=(24, 48)).items():
        with Image.open(path) as small:
            assert small.size == (size, size * HEIGHT // WIDTH)
            assert small.getexif().get(0x0112, 1) == 1, "it would be turned again"
            for (x, y), meant in zip(_middles(*small.size), photo_files.QUARTERS, strict=True):
                assert _near(small.getpixel((x, y)), meant)


def test_the_builder_is_not_its_own_witness() -> None:
    """Two values written out by hand from the standard: 6 and 8 are a phone held upright.

    6: the 0th row is the visual right-hand side, the 0th column the visual top; 8: the 0th row is
    the visual left-hand side, the 0th column the visual bottom.
    """
    seen = Image.new("L", (2, 3))
    seen.putdata([1, 2, 3, 4, 5, 6])
    assert list(photo_files.as_stored(seen, 6).tobytes()) == [2, 4, 6, 1, 3, 5]
    assert list(photo_files.as_stored(seen, 8).tobytes()) == [5, 3, 1, 6, 4, 2]

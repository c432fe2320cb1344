"""Small pictures: right in colour whatever the original is made of, and always remakeable."""

import errno
import io
from pathlib import Path

import photo_files
import pytest
from PIL import Image, ImageCms

from studiolog.photos import (
    SIZES,
    PhotoStore,
    examine,
    make_thumbnails,
    picture_rgb,
    thumbnail_path,
)
from studiolog.photos.thumbnails import forget_thumbnails
from studiolog.problems import UserProblem


def _middle(store: PhotoStore, data: bytes, longest: int = 40) -> tuple[int, int, int]:
    facts = examine(data, "pot")
    sha256 = store.keep(data, facts.suffix)
    make_thumbnails(store, sha256, facts.suffix, sizes=(longest,))
    with Image.open(thumbnail_path(store, sha256, longest)) as small:
        assert small.mode == "RGB"
        pixel = small.getpixel((small.width // 2, small.height // 2))
    width, height, rgb = picture_rgb(store, sha256, facts.suffix, longest)
    at = 3 * (height // 2 * width + width // 2)
    assert all(abs(a - b) <= 4 for a, b in zip(rgb[at : at + 3], pixel, strict=True))
    return pixel


GREY_16 = Image.new("I;16", (60, 40), 128 * 257)
RUST = (160, 82, 45)
HALF_CLEAR = Image.new("RGBA", (60, 40), (0, 0, 0, 128))


@pytest.mark.parametrize(
    ("made_of", "kind", "colour"),
    [
        (Image.new("L", (60, 40), 128), "jpeg", (128, 128, 128)),
        (Image.new("RGB", (60, 40), RUST), "tiff", RUST),
        (Image.new("CMYK", (60, 40), (0, 255, 255, 0)), "jpeg", (254, 0, 0)),
        (Image.new("CMYK", (60, 40), (0, 255, 255, 0)), "tiff", (254, 0, 0)),
        (GREY_16, "png", (128, 128, 128)),
        (GREY_16, "tiff", (128, 128, 128)),
        (Image.new("I", (60, 40), 128 * 257), "tiff", (128, 128, 128)),
        (Image.new("RGB", (60, 40), RUST).quantize(8), "png", RUST),
        (Image.new("1", (60, 40), 1), "png", (255, 255, 255)),
        (Image.new("1", (60, 40), 1), "tiff", (255, 255, 255)),
        (Image.new("LA", (60, 40), (0, 128)), "png", (127, 127, 127)),
        (HALF_CLEAR, "png", (127, 127, 127)),
        (HALF_CLEAR, "webp", (127, 127, 127)),
        (HALF_CLEAR, "heic", (127, 127, 127)),
        (Image.new("LAB", (60, 40), (137, 128, 128)), "tiff", (128, 128, 128)),
    ],
    ids=lambda value: value.mode if isinstance(value, Image.Image) else None,
)
def test_any_make_of_picture_is_shown_right(
    store: PhotoStore, made_of: Image.Image, kind: str, colour: tuple[int, int, int]
) -> None:
    seen = _middle(store, photo_files.saved(made_of, kind))
    assert all(abs(a - b) <= 4 for a, b in zip(seen, colour, strict=True)), seen


def test_range_of_a_floating_point_scan_is_spread(store: PhotoStore) -> None:
    scan = Image.linear_gradient("L").convert("F").point(lambda value: value * (1 / 255) + 0.0)
    seen = _middle(store, photo_files.saved(scan, "tiff"))
    assert all(abs(value - 128) <= 4 for value in seen)


def test_first_frame_stands_for_a_moving_picture(store: PhotoStore) -> None:
    frames = [Image.new("RGB", (60, 40), colour) for colour in (RUST, (0, 0, 255))]
    for kind in ("png", "webp", "tiff"):
        data = photo_files.saved(frames[0], kind, save_all=True, append_images=frames[1:])
        seen = _middle(store, data)
        assert all(abs(a - b) <= 4 for a, b in zip(seen, RUST, strict=True))


def test_colours_follow_the_profile_in_the_file(store: PhotoStore) -> None:
    """A profile like sRGB but with straight tone curves: a stored 128 must be shown lighter.

    IEC 61966-2-1 encodes the linear share 128/255 as 1.055 × 0.502^(1/2.4) − 0.055 = 0.7367: 188.
    """
    linear = _linear_srgb_profile()
    picture = Image.new("RGB", (60, 40), (128, 128, 128))
    seen = _middle(store, photo_files.saved(picture, "png", icc_profile=linear))
    assert all(abs(value - 188) <= 2 for value in seen), seen


def _linear_srgb_profile() -> bytes:
    """The sRGB profile with its tone curves replaced by straight lines."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    for index in range(int.from_bytes(profile[128:132], "big")):
        entry = 132 + 12 * index
        if profile[entry + 1 : entry + 4] == b"TRC":
            at = int.from_bytes(profile[entry + 4 : entry + 8], "big")
            # A curve with no points is the identity (ICC.1, curveType).
            profile[at : at + 12] = b"curv" + bytes(8)
            profile[entry + 8 : entry + 12] = (12).to_bytes(4, "big")
    return (
        bytes(profile).replace(b"s\x00R\x00G\x00B", b"l\x00i\x00n\x00e").replace(b"sRGB", b"line")
    )


def test_damaged_profile_does_not_cost_the_picture(store: PhotoStore) -> None:
    picture = Image.new("RGB", (60, 40), RUST)
    seen = _middle(store, photo_files.saved(picture, "jpeg", icc_profile=b"not a profile" * 20))
    assert all(abs(a - b) <= 4 for a, b in zip(seen, RUST, strict=True))


def test_all_sizes_come_in_the_shape_of_the_picture(store: PhotoStore) -> None:
    data = photo_files.phone_jpeg(2400, 1800, orientation=6)
    sha256 = store.keep(data, ".jpg")
    paths = make_thumbnails(store, sha256, ".jpg")
    assert tuple(paths) == SIZES
    for size, path in paths.items():
        with Image.open(path) as small:
            assert small.size == (size, size * 3 // 4)
    assert store.read(sha256) == data


def test_large_size_may_be_a_third_larger_but_what_is_asked_for_is_exact(
    store: PhotoStore,
) -> None:
    sha256 = store.keep(photo_files.phone_jpeg(2000, 1500), ".jpg")
    sizes = {}
    for size, path in make_thumbnails(store, sha256, ".jpg").items():
        with Image.open(path) as small:
            sizes[size] = small.size
    assert sizes == {160: (160, 120), 480: (480, 360), 1600: (2000, 1500)}
    assert picture_rgb(store, sha256, ".jpg", 1600)[:2] == (1600, 1200)
    assert picture_rgb(store, sha256, ".jpg", 1600, loosely=True)[:2] == (2000, 1500)


def test_small_picture_is_not_enlarged_and_a_thin_one_not_lost(store: PhotoStore) -> None:
    small = store.keep(photo_files.phone_jpeg(90, 60), ".jpg")
    thin = store.keep(photo_files.saved(Image.new("RGB", (3000, 2)), "png"), ".png")
    with Image.open(make_thumbnails(store, small, ".jpg")[1600]) as same:
        assert same.size == (90, 60)
    with Image.open(make_thumbnails(store, thin, ".png")[160]) as line:
        assert line.size == (160, 1)


def test_cache_can_be_deleted_and_made_again(store: PhotoStore) -> None:
    sha256 = store.keep(photo_files.phone_jpeg(), ".jpg")
    first = {
        size: path.read_bytes() for size, path in make_thumbnails(store, sha256, ".jpg").items()
    }
    forget_thumbnails(store)
    forget_thumbnails(store)
    assert not store.thumbnails.exists()
    assert store.has(sha256)
    again = make_thumbnails(store, sha256, ".jpg")
    assert {size: path.read_bytes() for size, path in again.items()} == first
    again[160].write_bytes(b"")
    assert make_thumbnails(store, sha256, ".jpg")[160].stat().st_size > 0


def test_cache_may_lie_elsewhere(tmp_path: Path) -> None:
    store = PhotoStore(tmp_path / "photos", thumbnails=tmp_path / "cache")
    sha256 = store.keep(photo_files.phone_jpeg(), ".jpg")
    assert all(
        path.is_relative_to(tmp_path / "cache")
        for path in make_thumbnails(store, sha256, ".jpg").values()
    )


def test_damaged_thumbnail_is_passed_over_for_the_original(store: PhotoStore) -> None:
    sha256 = store.keep(photo_files.phone_jpeg(320, 240), ".jpg")
    make_thumbnails(store, sha256, ".jpg")[160].write_bytes(b"\xff\xd8\xff rubbish")
    thumbnail_path(store, sha256, 480).unlink()
    thumbnail_path(store, sha256, 1600).write_bytes(io.BytesIO().getvalue())
    width, height, rgb = picture_rgb(store, sha256, ".jpg", 160)
    assert (width, height, len(rgb)) == (160, 120, 160 * 120 * 3)


def test_missing_original_is_told(store: PhotoStore) -> None:
    with pytest.raises(UserProblem, match="missing"):
        make_thumbnails(store, "ab" * 32, ".jpg")
    with pytest.raises(UserProblem, match="missing"):
        picture_rgb(store, "ab" * 32, ".jpg", 480)


def test_thumbnail_that_breaks_off_leaves_nothing_and_is_told(
    store: PhotoStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    sha256 = store.keep(photo_files.phone_jpeg(), ".jpg")

    def full(source: object, goal: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("studiolog.photos.thumbnails.os.replace", full)
    with pytest.raises(UserProblem, match=r"cannot be written \(No space left on device\)"):
        make_thumbnails(store, sha256, ".jpg")
    assert not [path for path in store.thumbnails.rglob("*") if path.is_file()]

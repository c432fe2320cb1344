"""Small pictures for the screen: one decode gives all sizes. A cache, always safe to delete."""

import io
import os
import secrets
import shutil
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from studiolog.photos.kinds import kind_of
from studiolog.photos.picture import Opened, open_picture, turn_upright
from studiolog.photos.store import INCOMING, PhotoStore
from studiolog.problems import PhotoRefused, UserProblem

if TYPE_CHECKING:
    from PIL.Image import Image

# The longer side in pixels: a grid, a page, the whole screen.
SIZES = (160, 480, 1600)
# A large size may come out up to a third larger: a phone's picture, decoded at a half, is nearly
# right, and taking away the last few pixels would cost more than reading and hashing the file.
_LOOSE_FROM = 1000
_LOOSELY = 4 / 3
_JPEG_QUALITY = 82
_PAPER = (255, 255, 255)


def thumbnail_path(store: PhotoStore, sha256: str, size: int) -> Path:
    """Where the thumbnail with a longer side of ``size`` pixels is, or would be."""
    return store.thumbnails / str(size) / sha256[:2] / f"{sha256}.jpg"


def make_thumbnails(
    store: PhotoStore,
    sha256: str,
    suffix: str,
    sizes: Sequence[int] = SIZES,
    again: bool = False,
) -> dict[int, Path]:
    """Make the thumbnails that are not there yet, or all of them with ``again``.

    Returns size -> path. The longer side is the size, for sizes from 1000 on up to a third more;
    a picture smaller than a size is not enlarged. Raises UserProblem when
    the original is missing or unreadable, or the cache cannot be written.
    """
    paths = {size: thumbnail_path(store, sha256, size) for size in sizes}
    wanted = [size for size in sizes if again or not _is_made(paths[size])]
    if wanted:
        save_thumbnails(_open_original(store, sha256, suffix, max(wanted)), store, sha256, wanted)
    return paths


def save_thumbnails(
    opened: Opened, store: PhotoStore, sha256: str, sizes: Sequence[int] = SIZES
) -> None:
    """Write the thumbnails of a picture that is open already; each from the next larger one."""
    image = opened.image
    for step, size in enumerate(sorted(sizes, reverse=True)):
        image = _shrink(image, size, loosely=size >= _LOOSE_FROM)
        if step == 0:
            image = turn_upright(_as_srgb(image), opened.turn)
        _put(thumbnail_path(store, sha256, size), image)


def picture_rgb(
    store: PhotoStore, sha256: str, suffix: str, longest: int, loosely: bool = False
) -> tuple[int, int, bytes]:
    """The picture upright in sRGB, its longer side at most ``longest`` pixels.

    With ``loosely`` it may be up to a third more, where that saves a costly last shrink: for a
    view that scales and zooms by itself.

    Returns (width, height, three bytes a pixel, rows without padding). Taken from a thumbnail
    that is large enough, else from the original. Raises UserProblem when neither can be read.
    """
    from PIL.JpegImagePlugin import JpegImageFile

    for size in (size for size in SIZES if size >= longest):
        with suppress(OSError, SyntaxError):
            image: Image = JpegImageFile(
                io.BytesIO(thumbnail_path(store, sha256, size).read_bytes())
            )
            image.load()
            plain = image if image.mode == "RGB" else image.convert("RGB")
            image = _shrink(plain, longest, loosely)
            return (*image.size, image.tobytes())
    opened = _open_original(store, sha256, suffix, longest)
    image = turn_upright(_as_srgb(_shrink(opened.image, longest, loosely)), opened.turn)
    return (*image.size, image.tobytes())


def forget_thumbnails(store: PhotoStore) -> None:
    """Delete the whole cache; every thumbnail can be made again from its original."""
    with suppress(FileNotFoundError):
        shutil.rmtree(store.thumbnails)


def _open_original(store: PhotoStore, sha256: str, suffix: str, longest: int) -> Opened:
    data = store.read(sha256)
    kind = kind_of(data)
    name = f"The original {sha256[:12]}…{suffix}"
    if kind is None:
        raise PhotoRefused(f"{name} is damaged: bring it back from a backup.")
    return open_picture(data, kind, name, longest)


def _is_made(path: Path) -> bool:
    with suppress(OSError):
        return path.stat().st_size > 0
    return False


def _put(where: Path, image: "Image") -> None:
    """Write whole or not at all. Not synced: after a power cut it is simply made again."""
    incoming = where.with_name(f"{INCOMING}{secrets.token_hex(8)}")
    try:
        where.parent.mkdir(parents=True, exist_ok=True)
        try:
            # Straight into a file: encoding to memory keeps the other threads waiting.
            with incoming.open("xb") as file:
                image.save(file, "JPEG", quality=_JPEG_QUALITY)
            os.replace(incoming, where)
        finally:
            with suppress(OSError):
                incoming.unlink()
    except OSError as error:
        raise UserProblem(
            f"The small picture {where} cannot be written ({error.strerror or error}): "
            "check the space and the permissions of that folder."
        ) from error


def _shrink(image: "Image", longest: int, loosely: bool = False) -> "Image":
    from PIL.Image import Resampling

    if image.mode not in ("L", "RGB", "RGBA", "CMYK"):
        image = _plain(image)
    width, height = image.size
    share = longest / max(width, height)
    if share * (_LOOSELY if loosely else 1) >= 1:
        return image
    size = (max(1, round(width * share)), max(1, round(height * share)))
    profile = image.info.get("icc_profile")
    smaller = image.resize(size, Resampling.HAMMING, reducing_gap=1.0)
    if profile:
        smaller.info["icc_profile"] = profile
    return smaller


def _plain(image: "Image") -> "Image":
    """Palette, one bit, 16 bits, floating point, Lab: as 8 bits of grey, RGB or RGBA."""
    info = image.info
    mode = image.mode
    if mode == "1":
        plain = image.convert("L")
    elif mode.startswith("I;16"):
        # A plain conversion would clip instead of scale.
        plain = image.convert("I").point(lambda value: value * (1 / 257)).convert("L")
    elif mode in ("I", "F"):
        plain = _stretch(image)
    elif mode == "LAB":
        plain = _from_lab(image)
    elif mode in ("LA", "La", "PA", "RGBa") or (mode == "P" and "transparency" in info):
        plain = image.convert("RGBA")
    else:
        plain = image.convert("RGB")
    if "icc_profile" in info and mode != "LAB":
        plain.info["icc_profile"] = info["icc_profile"]
    return plain


def _stretch(image: "Image") -> "Image":
    """Spread whatever range a 32-bit picture uses over black to white; 16 bits keep their own."""
    low, high = (float(value) for value in image.getextrema())  # type: ignore[arg-type]
    if image.mode == "I" and low >= 0 and 255 < high <= 65535:
        low, high = 0.0, 65535.0
    elif image.mode == "I" and low >= 0 and high <= 255:
        low, high = 0.0, 255.0
    scale = 255.0 / (high - low) if high > low else 0.0
    return image.point(lambda value: value * scale + (-low * scale)).convert("L")


def _from_lab(image: "Image") -> "Image":
    from PIL import ImageCms

    converted = ImageCms.profileToProfile(
        image, ImageCms.createProfile("LAB"), ImageCms.createProfile("sRGB"), outputMode="RGB"
    )
    assert converted is not None
    return converted


def _as_srgb(image: "Image") -> "Image":
    """Colours as the picture's own profile means them, on white paper where it is see-through."""
    from PIL import Image as Images

    profile = image.info.get("icc_profile")
    if image.mode == "RGBA":
        paper = Images.new("RGB", image.size, _PAPER)
        paper.paste(image, mask=image.getchannel("A"))
        image = paper
    if profile:
        image = _follow_profile(image, profile)
    return image if image.mode == "RGB" else image.convert("RGB")


def _follow_profile(image: "Image", profile: bytes) -> "Image":
    from PIL import ImageCms

    try:
        meant = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if image.mode == "RGB" and "srgb" in ImageCms.getProfileDescription(meant).lower():
            return image
        converted = ImageCms.profileToProfile(
            image, meant, ImageCms.createProfile("sRGB"), outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError, ValueError):
        # A profile that is damaged or for another kind of ink says nothing about this picture.
        return image
    return image if converted is None else converted

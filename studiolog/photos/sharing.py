"""Pictures to give away: made small, and without anything the camera wrote beside them."""

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from studiolog.photos.store import PhotoStore
from studiolog.photos.thumbnails import picture_rgb
from studiolog.problems import UserProblem

LONGEST_PX = 900
_QUALITY = 84


@dataclass(frozen=True)
class SharedPictures:
    """JPEG files by the hash of their originals, and a sentence for each that can't be read."""

    jpegs: dict[str, bytes]
    missing: tuple[str, ...]


def share_jpeg(store: PhotoStore, sha256: str, suffix: str, longest: int = LONGEST_PX) -> bytes:
    """A picture as a new JPEG: upright, in sRGB, no Exif, no place, no thumbnail inside.

    Raises UserProblem when its original is missing or can't be read.
    """
    from PIL import Image

    wide, high, rows = picture_rgb(store, sha256, suffix, longest)
    written = io.BytesIO()
    # Built from bare pixels: there is nothing else it could carry along.
    Image.frombytes("RGB", (wide, high), rows).save(written, "JPEG", quality=_QUALITY)
    return written.getvalue()


def share_pictures(
    store: PhotoStore,
    wanted: Sequence[tuple[str, str]],
    step: Callable[[int, int, str], None],
    cancelled: Callable[[], bool],
    longest: int = LONGEST_PX,
) -> SharedPictures:
    """Pictures by (hash, suffix), as many as can be read; ends early when it is cancelled."""
    jpegs: dict[str, bytes] = {}
    missing = []
    for number, (sha256, suffix) in enumerate(wanted):
        if cancelled():
            break
        step(number, len(wanted), f"photo {number + 1} of {len(wanted)}")
        try:
            jpegs[sha256] = share_jpeg(store, sha256, suffix, longest)
        except UserProblem as problem:
            missing.append(problem.sentence)
    return SharedPictures(jpegs, tuple(missing))

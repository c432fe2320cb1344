"""Open the bytes of a picture: check them, decode them once, turn them upright.

Pillow and pillow-heif are imported when the first picture is opened, never before. The decoders
are called directly and not through Pillow's registry: what a file is was settled by its first
bytes, and no other decoder is to try its luck on it.
"""

import io
import struct
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from studiolog.photos.exif import ExifFacts, read_exif
from studiolog.photos.kinds import NAME_OF_KIND, Kind
from studiolog.problems import PhotoRefused

if TYPE_CHECKING:
    from PIL.Image import Image

# Four bytes a pixel: half a gigabyte while it is open. Phones reach 108 megapixels.
MOST_MEGAPIXELS = 120.0

# What decoders are known to raise on bytes that are not what they promise to be.
_DECODER_ERRORS = (
    OSError,
    SyntaxError,
    ValueError,
    TypeError,
    LookupError,
    ArithmeticError,
    EOFError,
    RuntimeError,
    MemoryError,
    AttributeError,
    struct.error,
    zlib.error,
    Warning,
)


@dataclass(frozen=True, slots=True)
class Opened:
    """A decoded picture.

    ``width`` and ``height`` are the whole picture's as it is to be seen, in pixels. ``image`` may
    be smaller (see ``open_picture``) and still needs ``turn``, an Exif orientation from 1 to 8.
    """

    image: "Image"
    width: int
    height: int
    turn: int
    exif: ExifFacts


def open_picture(data: bytes, kind: Kind, name: str, longest: int | None = None) -> Opened:
    """Decode the first frame of ``data`` to its last byte.

    With ``longest`` a JPEG may be decoded at a half, a quarter or an eighth, its longer side
    still at least that many pixels: every byte of it is read all the same. Raises PhotoRefused
    with a sentence naming the file when it is cut short, damaged, or too large to open.
    """
    if _is_cut_short(data, kind):
        raise _cut_short(name)
    from PIL.Image import DecompressionBombError

    block, body = _lift_exif_off(data) if kind == "jpeg" else (b"", data)
    try:
        image = _start(body, kind)
        width, height = image.size
        megapixels = width * height / 1e6
        if megapixels > MOST_MEGAPIXELS:
            raise PhotoRefused(
                f"{name} is {width} × {height} pixels ({megapixels:,.0f} megapixels); more than "
                f"{MOST_MEGAPIXELS:.0f} cannot be opened safely: save it smaller and add it again."
            )
        if kind == "jpeg":
            # All of it in one go: between blocks a decoder waits its turn among the threads.
            image.decodermaxblock = max(image.decodermaxblock, len(body))  # type: ignore[attr-defined]
        if kind == "jpeg" and longest is not None:
            # The box must have the picture's own shape: a square one is not reduced at all.
            share = longest / max(width, height)
            image.draft("RGB", (max(1, round(width * share)), max(1, round(height * share))))
        image.load()
    except (*_DECODER_ERRORS, DecompressionBombError) as error:
        if "truncated" in str(error).lower():
            raise _cut_short(name) from error
        raise PhotoRefused(
            f"{name} is a damaged {NAME_OF_KIND[kind]} picture and cannot be opened: "
            "copy it from the phone or camera again."
        ) from error
    if kind == "tiff":
        exif = read_exif(data)
    else:
        exif = read_exif(block or image.info.get("exif") or b"")
    turn = exif.orientation
    if kind == "tiff":
        # Pillow has turned it already, and gives the size as seen.
        turn = 1
    elif kind == "heic":
        # A HEIC carries its turn as a property of the picture (ISO/IEC 23008-12, irot and imir);
        # the decoder has applied it and set the tag to 1. Applying it twice is the usual mistake.
        turn = 1
        written = image.info.get("original_orientation")
        exif = ExifFacts(exif.taken_at, exif.utc_offset, written if written else 1)
    elif turn >= 5:
        width, height = height, width
    return Opened(image=image, width=width, height=height, turn=turn, exif=exif)


def _start(body: bytes, kind: Kind) -> "Image":
    stream = io.BytesIO(body)
    if kind == "jpeg":
        from PIL.JpegImagePlugin import JpegImageFile

        return JpegImageFile(stream)
    if kind == "png":
        from PIL.PngImagePlugin import PngImageFile

        return PngImageFile(stream)
    if kind == "webp":
        from PIL.WebPImagePlugin import WebPImageFile

        return WebPImageFile(stream)
    if kind == "tiff":
        from PIL.TiffImagePlugin import TiffImageFile

        return TiffImageFile(stream)
    from pillow_heif.as_plugin import HeifImageFile

    heif: Image = HeifImageFile(stream)
    return heif


def turn_upright(image: "Image", orientation: int) -> "Image":
    """Undo an Exif orientation (CIPA DC-008, tag 0x0112): where row 0 and column 0 were."""
    from PIL.Image import Transpose

    turn = {
        2: Transpose.FLIP_LEFT_RIGHT,
        3: Transpose.ROTATE_180,
        4: Transpose.FLIP_TOP_BOTTOM,
        5: Transpose.TRANSPOSE,
        6: Transpose.ROTATE_270,
        7: Transpose.TRANSVERSE,
        8: Transpose.ROTATE_90,
    }.get(orientation)
    return image if turn is None else image.transpose(turn)


def _cut_short(name: str) -> PhotoRefused:
    return PhotoRefused(
        f"{name} breaks off before its end: copy it from the phone or camera again."
    )


def _is_cut_short(data: bytes, kind: Kind) -> bool:
    """Whether the container itself says that bytes are missing at the end."""
    if kind == "jpeg":
        _, scan = _walk_segments(data)
        # Inside the scans no FF D9 can occur (ITU T.81, B.1.1.2): it is the end, or there is none.
        return data.rfind(b"\xff\xd9", scan) < 0
    if kind == "png":
        at = 8
        while at + 12 <= len(data):
            if data[at + 4 : at + 8] == b"IEND":
                return False
            at += 12 + int.from_bytes(data[at : at + 4], "big")
        return True
    if kind == "webp":
        return len(data) < 8 + int.from_bytes(data[4:8], "little")
    if kind == "heic":
        at = 0
        while at + 8 <= len(data):
            size = int.from_bytes(data[at : at + 4], "big")
            if size == 1:
                size = int.from_bytes(data[at + 8 : at + 16], "big")
            elif size == 0:
                return False
            if size < 8:
                return False
            at += size
        return at > len(data)
    return False


def _walk_segments(data: bytes) -> tuple[list[tuple[int, int, int]], int]:
    """The segments of a JPEG before its first scan as (marker, start, end), and where that is."""
    segments: list[tuple[int, int, int]] = []
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        length = int.from_bytes(data[at + 2 : at + 4], "big")
        end = at + 2 + length
        if marker == 0xDA:
            return segments, end
        segments.append((marker, at + 4, end))
        at = end
    return segments, at


def _lift_exif_off(data: bytes) -> tuple[bytes, bytes]:
    """The Exif block of a JPEG, and the same picture with the block made unreadable.

    The decoder would read the block too, only to learn dots per inch, and stumble over damage.
    """
    for marker, start, end in _walk_segments(data)[0]:
        if marker == 0xE1 and data[start : start + 6] == b"Exif\x00\x00":
            body = bytearray(data)
            body[start : start + 4] = b"exif"
            return data[start:end], bytes(body)
    return b"", data

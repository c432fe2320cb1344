"""Real picture files for tests, made quickly: as a phone writes them, and as they go wrong.

Orientation is built from the words of the standard and not with a library's own rotation:
CIPA DC-008-2019 (Exif 2.32), 4.6.4 A, tag 0x0112, says for each value where the 0th row and the
0th column of the stored picture are in the picture as seen.
"""

import io
import struct
import zlib
from datetime import datetime

from PIL import Image

# value: (the 0th row is the visual ..., the 0th column is the visual ...)
ZEROTH_ROW_AND_COLUMN = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}

# The quarters of the picture as seen: top left, top right, bottom left, bottom right.
QUARTERS = ((200, 30, 30), (30, 180, 30), (30, 30, 200), (230, 230, 230))


def quartered(width: int = 64, height: int = 48) -> Image.Image:
    """A picture as it is to be seen: a quarter each red, green, blue, pale."""
    picture = Image.new("RGB", (width, height))
    half_w, half_h = width // 2, height // 2
    for index, colour in enumerate(QUARTERS):
        left, top = (index % 2) * half_w, (index // 2) * half_h
        picture.paste(colour, (left, top, left + half_w, top + half_h))
    return picture


def as_stored(seen: Image.Image, orientation: int) -> Image.Image:
    """The rows and columns a camera stores so that ``orientation`` shows them as ``seen``."""
    width, height = seen.size
    row_side, column_side = ZEROTH_ROW_AND_COLUMN[orientation]
    rows_are_level = row_side in ("top", "bottom")
    stored = Image.new(seen.mode, (width, height) if rows_are_level else (height, width))
    from_, to = seen.load(), stored.load()
    for row in range(stored.height):
        for column in range(stored.width):
            at = {row_side: row, column_side: column}
            x = at["left"] if "left" in at else width - 1 - at["right"]
            y = at["top"] if "top" in at else height - 1 - at["bottom"]
            to[column, row] = from_[x, y]
    return stored


def exif_block(
    orientation: int | None = None,
    taken_at: datetime | str | None = None,
    *,
    time_tag: int = 0x9003,
    more: dict[int, object] | None = None,
) -> bytes:
    """An Exif block; a text for ``taken_at`` is written as it stands, however wrong."""
    exif = Image.Exif()
    if orientation is not None:
        exif[0x0112] = orientation
    if taken_at is not None:
        text = taken_at
        if isinstance(taken_at, datetime):
            text = taken_at.strftime("%Y:%m:%d %H:%M:%S")
        (exif if time_tag == 0x0132 else exif.get_ifd(0x8769))[time_tag] = text
    for tag, value in (more or {}).items():
        exif.get_ifd(0x8769)[tag] = value
    return exif.tobytes()


def saved(picture: Image.Image, kind: str, exif: bytes = b"", **options: object) -> bytes:
    """The bytes of ``picture`` as jpeg, png, webp, tiff or heic."""
    held = io.BytesIO()
    if kind == "heic":
        import pillow_heif

        pillow_heif.from_pillow(picture).save(held, quality=90, exif=exif or None)
        return held.getvalue()
    if kind == "jpeg":
        options = {"quality": 90, **options}
    elif kind == "webp":
        options = {"lossless": True, **options}
    if exif:
        options["exif"] = exif
    picture.save(held, kind.upper(), **options)
    return held.getvalue()


def phone_jpeg(
    width: int = 320,
    height: int = 240,
    taken_at: datetime | None = None,
    orientation: int = 1,
    shade: int = 0,
) -> bytes:
    """A JPEG as a phone writes it; ``width`` and ``height`` are as it is seen.

    Another ``shade`` gives another picture, and so another hash.
    """
    turned = orientation >= 5
    stored = Image.linear_gradient("L").resize((height, width) if turned else (width, height))
    tint = ((shade * 37) % 256, (shade * 91 + 80) % 256, (shade * 53 + 160) % 256)
    picture = Image.merge("RGB", [stored.point(lambda v, t=t: (v + t) // 2) for t in tint])
    return saved(picture, "jpeg", exif_block(orientation, taken_at), quality=80)


def png_claiming(width: int, height: int) -> bytes:
    """A PNG of a few hundred bytes whose header promises ``width`` × ``height`` pixels."""

    def chunk(name: bytes, body: bytes) -> bytes:
        checked = name + body
        return struct.pack(">I", len(body)) + checked + struct.pack(">I", zlib.crc32(checked))

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(4096)))
        + chunk(b"IEND", b"")
    )

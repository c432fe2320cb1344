"""What the camera wrote beside the picture: when it was taken, and which way up it was held.

Tags and their numbers: CIPA DC-008 (Exif 2.32), sections 4.6.4 and 4.6.5; the layout of the block
is that of TIFF 6.0, section 2. It is read here, and not through a picture library, because a
half-damaged block must never cost the picture: whatever cannot be read is simply not known.
"""

import re
import struct
from dataclasses import dataclass
from datetime import datetime

_ORIENTATION = 0x0112
_DATE_TIME = 0x0132
_EXIF_POINTER = 0x8769
_DATE_TIME_ORIGINAL = 0x9003
_DATE_TIME_DIGITIZED = 0x9004
_OFFSET_TIME = 0x9010
_OFFSET_TIME_ORIGINAL = 0x9011
_OFFSET_TIME_DIGITIZED = 0x9012
_SUB_SEC_TIME = 0x9290
_SUB_SEC_ORIGINAL = 0x9291
_SUB_SEC_DIGITIZED = 0x9292

# In the order of trust: the shutter, the scan, the last change to the file.
_TIMES = (
    (_DATE_TIME_ORIGINAL, _SUB_SEC_ORIGINAL, _OFFSET_TIME_ORIGINAL),
    (_DATE_TIME_DIGITIZED, _SUB_SEC_DIGITIZED, _OFFSET_TIME_DIGITIZED),
    (_DATE_TIME, _SUB_SEC_TIME, _OFFSET_TIME),
)
_WANTED = {tag for times in _TIMES for tag in times} | {_ORIENTATION, _EXIF_POINTER}
_BYTES_OF_TYPE = {1: 1, 2: 1, 3: 2, 4: 4, 7: 1, 13: 4}
_MOST_ENTRIES = 512

_WRITTEN_TIME = re.compile(
    r"^(\d{4})[:\-/](\d{1,2})[:\-/](\d{1,2})[ T](\d{1,2}):(\d{2})(?::(\d{2})(?:\.(\d+))?)?"
)
_WRITTEN_OFFSET = re.compile(r"^(?:[+-]\d{2}:\d{2}|Z)$")


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """``taken_at`` is the local time as the camera's clock wrote it, without a time zone.

    ``utc_offset`` is the offset the camera wrote beside it ("+02:00"), if it wrote one; it is
    never applied. ``orientation`` is 1 to 8, 1 when nothing or nonsense was written.
    """

    taken_at: datetime | None = None
    utc_offset: str | None = None
    orientation: int = 1


def read_exif(block: bytes) -> ExifFacts:
    """Read an Exif block, with or without its ``Exif\\0\\0`` head; a damaged one gives no facts."""
    body = block[6:] if block[:6] == b"Exif\x00\x00" else block
    tags = _read_tags(body)
    orientation = tags.get(_ORIENTATION)
    taken_at, utc_offset = None, None
    for time_tag, sub_second_tag, offset_tag in _TIMES:
        taken_at = _read_time(tags.get(time_tag), tags.get(sub_second_tag))
        if taken_at is not None:
            written = _text(tags.get(offset_tag))
            utc_offset = written if _WRITTEN_OFFSET.match(written) else None
            break
    return ExifFacts(
        taken_at=taken_at,
        utc_offset=utc_offset,
        orientation=orientation if isinstance(orientation, int) and 1 <= orientation <= 8 else 1,
    )


def _read_tags(body: bytes) -> dict[int, int | bytes]:
    order = {b"II": "<", b"MM": ">"}.get(body[:2])
    if order is None or len(body) < 8:
        return {}
    (first,) = struct.unpack_from(order + "I", body, 4)
    tags = _read_directory(body, order, first)
    inner = tags.get(_EXIF_POINTER)
    if isinstance(inner, int) and inner != first:
        # The outer directory wins: an inner orientation is no orientation of this picture.
        tags = _read_directory(body, order, inner) | tags
    return tags


def _read_directory(body: bytes, order: str, at: int) -> dict[int, int | bytes]:
    if at + 2 > len(body):
        return {}
    (count,) = struct.unpack_from(order + "H", body, at)
    tags: dict[int, int | bytes] = {}
    for index in range(min(count, _MOST_ENTRIES)):
        entry = at + 2 + 12 * index
        if entry + 12 > len(body):
            break
        tag, kind, amount = struct.unpack_from(order + "HHI", body, entry)
        width = _BYTES_OF_TYPE.get(kind)
        if tag not in _WANTED or width is None or amount == 0:
            continue
        size = width * amount
        start = entry + 8
        if size > 4:
            (start,) = struct.unpack_from(order + "I", body, start)
        if size > 256 or start + size > len(body):
            continue
        if kind in (3, 4, 13):
            (tags[tag],) = struct.unpack_from(order + ("H" if kind == 3 else "I"), body, start)
        else:
            tags[tag] = body[start : start + size]
    return tags


def _text(value: int | bytes | None) -> str:
    if not isinstance(value, bytes):
        return ""
    return value.split(b"\x00", 1)[0].decode("latin-1").strip()


def _read_time(written: int | bytes | None, sub_second: int | bytes | None) -> datetime | None:
    found = _WRITTEN_TIME.match(_text(written))
    if found is None:
        return None
    year, month, day, hour, minute = (int(part) for part in found.groups()[:5])
    second = int(found.group(6) or 0)
    fraction = found.group(7) or _text(sub_second)
    if not (fraction.isascii() and fraction.isdigit()):
        fraction = "0"
    try:
        return datetime(year, month, day, hour, minute, second, int(fraction[:6].ljust(6, "0")))
    except ValueError:
        # "0000:00:00 00:00:00" is what a camera writes whose clock was never set.
        return None

"""The five kinds of picture the journal keeps, told by their first bytes, never by their name."""

import re
from pathlib import PurePath
from typing import Literal

Kind = Literal["jpeg", "png", "webp", "tiff", "heic"]

# The suffix an original is kept under, whatever its own name was.
SUFFIX_OF_KIND: dict[Kind, str] = {
    "jpeg": ".jpg",
    "png": ".png",
    "webp": ".webp",
    "tiff": ".tif",
    "heic": ".heic",
}
KIND_OF_SUFFIX: dict[str, Kind] = {
    ".jpg": "jpeg",
    ".jpeg": "jpeg",
    ".jpe": "jpeg",
    ".jfif": "jpeg",
    ".png": "png",
    ".webp": "webp",
    ".tif": "tiff",
    ".tiff": "tiff",
    ".heic": "heic",
    ".heif": "heic",
    ".hif": "heic",
}
NAME_OF_KIND: dict[Kind, str] = {
    "jpeg": "JPEG",
    "png": "PNG",
    "webp": "WebP",
    "tiff": "TIFF",
    "heic": "HEIC",
}

_HEIC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"mif1", b"msf1"}
_AVIF_BRANDS = {b"avif", b"avis"}

# Only letters first: "Pasted 13.42" has no suffix.
_SUFFIX = re.compile(r"\.[a-z][a-z0-9]{0,5}$")


def suffix_of(name: str) -> str:
    """The suffix a name claims, in lower case with its dot; empty when it claims none."""
    found = _SUFFIX.search(PurePath(name).name.lower())
    return found.group() if found else ""


def kind_of(data: bytes) -> Kind | None:
    """The kind of picture ``data`` begins like, or None when it is none that is kept."""
    if data[:3] == b"\xff\xd8\xff":
        return "jpeg"
    if data[:8] == b"\x89PNG\r\n\x1a\n":
        return "png"
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "webp"
    if data[:4] in (b"II*\x00", b"MM\x00*", b"II+\x00", b"MM\x00+"):
        return "tiff"
    if data[4:8] == b"ftyp":
        brands = _brands(data)
        if brands & _HEIC_BRANDS and not brands & _AVIF_BRANDS:
            return "heic"
    return None


def _brands(data: bytes) -> set[bytes]:
    """The brands of an ISO base media file (ISO/IEC 14496-12, file type box)."""
    end = min(int.from_bytes(data[:4], "big"), 256, len(data))
    return {data[8:12]} | {data[at : at + 4] for at in range(16, end - 3, 4)}


def describe_stranger(data: bytes) -> str:
    """What a file that is no picture we keep seems to be, for the sentence that refuses it."""
    if data[:6] in (b"GIF87a", b"GIF89a"):
        return "a GIF picture"
    if data[:2] == b"BM" and data[6:10] == b"\x00\x00\x00\x00":
        return "a BMP picture"
    if data[:5] == b"%PDF-":
        return "a PDF document"
    if data[4:8] == b"ftyp":
        return "an AVIF picture" if _brands(data) & _AVIF_BRANDS else "a film"
    if data[:4] == b"PK\x03\x04":
        return "a packed archive or an office document"
    if b"\x00" not in data[:512]:
        return "text"
    return "no picture"

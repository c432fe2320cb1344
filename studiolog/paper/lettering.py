"""How wide words are on paper, estimated without a font.

The widths are those of DejaVu Sans, the widest of the plain faces usual on a desk (measured from
the font, rounded up): what fits by them fits in the face that is used. The painter of a page has
the last word: it makes letters smaller that are wider than their room.
"""

import unicodedata
from typing import Final

MM_PER_PT: Final = 25.4 / 72.0
LINE: Final = 1.3
"""From one line to the next, in parts of the size."""
ELLIPSIS: Final = "…"

_WIDTHS_EM: Final = (
    (0.28, "'ijl\u202f′"),
    (0.33, " ,.IJ·"),
    (0.40, "()-/:;[\\]ft|"),
    (0.50, '!"*_`r°–'),
    (0.56, "?Lcsz"),
    (0.60, "Fkvxy"),
    (0.65, "$0123456789EPSTYabdeghnopqu{}éß"),
    (0.70, "ABCKRVXZ"),
    (0.78, "&DGHNU"),
    (0.86, "#+<=>OQ^w~−"),
    (1.00, "%@MWm…½—"),
)
_EM_OF: Final = {letter: wide for wide, letters in _WIDTHS_EM for letter in letters}
_OTHER_EM, _FULL_EM = 0.8, 1.05
_BOLD = 1.16


def width_mm(text: str, size_pt: float, *, bold: bool = False) -> float:
    """How wide a line of text is at a size, rather too much than too little."""
    wide = sum(_em(letter) for letter in text)
    return wide * size_pt * MM_PER_PT * (_BOLD if bold else 1.0)


def _em(letter: str) -> float:
    known = _EM_OF.get(letter)
    if known is not None:
        return known
    if unicodedata.combining(letter) or unicodedata.category(letter) == "Cf":
        return 0.0
    base = unicodedata.normalize("NFD", letter)[0]
    if base in _EM_OF:
        return _EM_OF[base]
    return _FULL_EM if unicodedata.east_asian_width(letter) in "WF" else _OTHER_EM


def fit(
    text: str, room_mm: float, size_pt: float, *, smallest_pt: float, bold: bool = False
) -> tuple[str, float]:
    """A line that fits its room: whole at a size down to the smallest, else cut with dots."""
    wide = width_mm(text, size_pt, bold=bold)
    if wide <= room_mm:
        return text, size_pt
    size = size_pt * room_mm / wide
    if size >= smallest_pt:
        return text, size
    return cut(text, room_mm, smallest_pt, bold=bold), smallest_pt


def cut(text: str, room_mm: float, size_pt: float, *, bold: bool = False) -> str:
    """As much of a line as fits, with dots where the rest is left out."""
    if width_mm(text, size_pt, bold=bold) <= room_mm:
        return text
    room = room_mm - width_mm(ELLIPSIS, size_pt, bold=bold)
    kept = text[: _letters_within(text, room, size_pt, bold=bold)]
    return kept.rstrip() + ELLIPSIS


def wrap(text: str, room_mm: float, size_pt: float, *, bold: bool = False) -> list[str]:
    """Text broken into lines between its words; a word wider than the room is broken within."""
    gap = width_mm(" ", size_pt, bold=bold)
    lines: list[str] = []
    for paragraph in text.splitlines():
        line, long = "", 0.0
        for word in paragraph.split(" "):
            wide = width_mm(word, size_pt, bold=bold)
            if line and long + gap + wide <= room_mm:
                line, long = f"{line} {word}", long + gap + wide
                continue
            if line:
                lines.append(line)
            while wide > room_mm and len(word) > 1:
                fits = max(1, _letters_within(word, room_mm, size_pt, bold=bold))
                lines.append(word[:fits])
                word = word[fits:]
                wide = width_mm(word, size_pt, bold=bold)
            line, long = word, wide
        if line:
            lines.append(line)
    return lines


def _letters_within(text: str, room_mm: float, size_pt: float, *, bold: bool) -> int:
    """How many letters from the beginning fit the room."""
    em_mm = size_pt * MM_PER_PT * (_BOLD if bold else 1.0)
    wide = 0.0
    for number, letter in enumerate(text):
        wide += _em(letter) * em_mm
        if wide > room_mm:
            return number
    return len(text)

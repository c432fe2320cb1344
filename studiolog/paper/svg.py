"""A page as SVG: one self-contained picture, in millimetres."""

import re
from base64 import b64encode
from typing import assert_never
from xml.sax.saxutils import escape, quoteattr

from studiolog.paper.lettering import MM_PER_PT
from studiolog.paper.page import TONES, Box, Mark, Page, Path, Photo, Ring, Words

FACES = "Inter, 'Segoe UI', 'Helvetica Neue', Helvetica, Arial, sans-serif"
_ANCHORS = {"left": "start", "centre": "middle", "right": "end"}
# What XML 1.0 has no way to write.
_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write_svg(page: Page, key: str = "page") -> str:
    """The page as an ``svg`` element with its own size, name and description.

    ``key`` tells it from others in one document.
    """
    wide, high = _number(page.size.wide_mm), _number(page.size.high_mm)
    rows = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{wide}mm" height="{high}mm" '
        f'viewBox="0 0 {wide} {high}" font-family={_attribute(FACES)} '
        f'aria-labelledby="{key}-title {key}-description">',
        f'<title id="{key}-title">{write_text(page.title)}</title>',
        f'<desc id="{key}-description">{write_text(page.description)}</desc>',
        *(_write(mark) for mark in page.marks),
        "</svg>",
    ]
    return "\n".join(rows)


def _write(mark: Mark) -> str:
    if isinstance(mark, Words):
        weight = ' font-weight="600"' if mark.bold else ""
        return (
            f'<text x="{_number(mark.x_mm)}" y="{_number(mark.y_mm)}" '
            f'font-size="{_number(mark.size_pt * MM_PER_PT)}" '
            f'text-anchor="{_ANCHORS[mark.align]}" fill="{TONES[mark.tone]}"{weight}>'
            f"{write_text(mark.text)}</text>"
        )
    if isinstance(mark, Path):
        points = " ".join(f"{_number(x)},{_number(y)}" for x, y in mark.points)
        dash = ""
        if mark.dash:
            dash = f' stroke-dasharray="{" ".join(_number(part) for part in mark.dash)}"'
        return (
            f'<polyline points="{points}" fill="none" stroke="{TONES[mark.tone]}" '
            f'stroke-width="{_number(mark.thick_mm)}" stroke-linejoin="round"{dash}/>'
        )
    if isinstance(mark, Box):
        fill = TONES[mark.fill] if mark.fill else "none"
        return (
            f'<rect x="{_number(mark.x_mm)}" y="{_number(mark.y_mm)}" '
            f'width="{_number(mark.wide_mm)}" height="{_number(mark.high_mm)}" fill="{fill}" '
            + _stroke(mark.thick_mm, TONES[mark.tone])
        )
    if isinstance(mark, Ring):
        return (
            f'<circle cx="{_number(mark.x_mm)}" cy="{_number(mark.y_mm)}" '
            f'r="{_number(mark.radius_mm)}" fill="none" ' + _stroke(mark.thick_mm, TONES[mark.tone])
        )
    if isinstance(mark, Photo):
        return (
            f'<image x="{_number(mark.x_mm)}" y="{_number(mark.y_mm)}" '
            f'width="{_number(mark.wide_mm)}" height="{_number(mark.high_mm)}" '
            f'preserveAspectRatio="xMidYMid slice" aria-label={_attribute(mark.says)} '
            f'href="data:image/jpeg;base64,{b64encode(mark.jpeg).decode()}"/>'
        )
    assert_never(mark)


def _stroke(thick_mm: float, colour: str) -> str:
    if not thick_mm:
        return 'stroke="none"/>'
    return f'stroke="{colour}" stroke-width="{_number(thick_mm)}"/>'


def _number(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".") or "0"


def write_text(words: str) -> str:
    """Words as XML holds them; what it has no way to write is left out."""
    return escape(_UNWRITABLE.sub("", words))


def _attribute(words: str) -> str:
    return quoteattr(_UNWRITABLE.sub("", words))

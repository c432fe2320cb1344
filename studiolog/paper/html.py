"""Pages as one HTML file that needs nothing beside it: it opens, and prints, in any browser."""

from collections.abc import Sequence

from studiolog.paper.page import Page
from studiolog.paper.svg import write_svg, write_text

_STYLE = """
@page {{ size: {wide}mm {high}mm; margin: 0; }}
html, body {{ margin: 0; padding: 0; background: #ffffff; }}
svg {{ display: block; margin: 0 auto; max-width: 100%; height: auto; break-after: page; }}
svg:last-child {{ break-after: auto; }}
@media print {{ svg {{ width: {wide}mm; height: {high}mm; max-width: none; }} }}
"""


def write_html(pages: Sequence[Page], language: str = "en") -> str:
    """A whole HTML document with a page of paper for each page; at least one is needed."""
    if not pages:
        raise ValueError("an HTML document needs a page")
    size = pages[0].size
    drawn = [write_svg(page, f"page-{number}") for number, page in enumerate(pages, start=1)]
    style = _STYLE.format(wide=f"{size.wide_mm:g}", high=f"{size.high_mm:g}").strip()
    return "\n".join(
        (
            "<!DOCTYPE html>",
            f'<html lang="{language}" xmlns="http://www.w3.org/1999/xhtml">',
            '<head><meta charset="utf-8"/>',
            '<meta name="viewport" content="width=device-width"/>',
            f"<title>{write_text(pages[0].title)}</title>",
            f"<style>{style}</style></head>",
            "<body>",
            *drawn,
            "</body>",
            "</html>",
            "",
        )
    )

"""A review on paper and as one HTML file: in order, within the page, and whole in itself."""

import re
from base64 import b64decode
from html.parser import HTMLParser

from studiolog.paper.page import A4, LETTER, Page, Photo
from studiolog.paper.review_blocks import Block, Entry, PicturePair, ReviewPaper, Row, Side
from studiolog.paper.review_html import write_review_html
from studiolog.paper.review_page import lay_out_review
from tests.paper.test_firing_sheet import misplaced

JPEG = b"\xff\xd8\xff\xe0 a small picture \xff\xd9"


def pair(number: int, missing: bool = False) -> PicturePair:
    return PicturePair(
        f"Piece {number}, Ripple tumbler: Kelp, Chalk",
        Side(JPEG + b"raw" + bytes([number]), "raw glaze"),
        Side(b"" if missing else JPEG + b"fired" + bytes([number]), "fired"),
    )


PAPER = ReviewPaper(
    "Tern Yard",
    "Looking back on October 2026",
    (
        Block("numbers", "In numbers", figures=(
            Row("Pieces made", "24", "23 in September 2026"), Row("Firings", "4", "4"),
            Row("Pieces fired", "87", ""), Row("Pieces sent", "6", ""), Row("Pieces lost", "4", ""),
        )),
        Block("made", "Made", "24 pieces", rows=(
            Row("Ripple tumbler", "14 pieces", "1 run"),
            Row("A lantern house with a name far longer than there is room for", "1 piece",
                "1 run"),
        )),
        Block("pairs", "Before and after", pairs=tuple(pair(n, n == 3) for n in range(1, 8))),
        Block("lessons", "Lessons", entries=(
            Entry("Chalk < Kelp & never > 6. " * 60, "Piece 412, Ripple tumbler", "4 Oct 2026"),
            Entry("Slow is better.", "Firing 95", ""),
        )),
    ),
    ("1 photo is missing: the file was not where it should be.",),
)  # fmt: skip


def said(pages: tuple[Page, ...]) -> str:
    return " ".join(word for page in pages for word in page.words)


def test_every_page_holds_what_stands_on_it_on_either_paper() -> None:
    for size in (A4, LETTER):
        pages = lay_out_review(PAPER, size)
        assert len(pages) > 1
        for page in pages:
            assert misplaced(page) == []


def test_all_of_it_is_on_the_pages_and_the_pairs_in_order() -> None:
    pages = lay_out_review(PAPER, A4)
    told = said(pages)
    for words in ("Looking back on October 2026", "24", "Ripple tumbler", "Slow is better.",
                  "photo missing", "1 photo is missing"):  # fmt: skip
        assert words in told, words
    assert told.count("Chalk < Kelp & never > 6.") >= 55  # but for those broken over lines
    photos = [mark for page in pages for mark in page.marks if isinstance(mark, Photo)]
    assert [photo.jpeg[-1] for photo in photos] == [1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6, 7, 7]
    raw, fired = photos[0], photos[1]
    assert b"raw" in raw.jpeg
    assert b"fired" in fired.jpeg
    assert raw.x_mm < fired.x_mm
    assert (raw.y_mm, raw.wide_mm) == (fired.y_mm, fired.wide_mm)
    assert pages[0].description == (
        "Looking back on October 2026: in numbers, made, before and after, lessons"
    )


class Reader(HTMLParser):
    """What a browser would be sent to, and what it would show."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.sent_to: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        for name, value in attrs:
            if name in ("src", "href", "srcset", "action", "data", "poster", "background"):
                self.sent_to.append(value or "")

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def test_the_html_needs_nothing_beside_it_and_points_nowhere() -> None:
    html = write_review_html(PAPER)
    reader = Reader()
    reader.feed(html)
    assert not {"script", "link", "iframe", "object", "a", "base"} & set(reader.tags)
    assert all(one.startswith("data:image/jpeg;base64,") for one in reader.sent_to)
    assert len(reader.sent_to) == 13
    assert "http" not in html
    assert not re.search(r"url\(|@import", html)
    pictures = [b64decode(one.split(",", 1)[1]) for one in reader.sent_to]
    assert [one[-1] for one in pictures[:4]] == [1, 1, 2, 2]
    words = " ".join(reader.words)
    assert "Chalk < Kelp & never > 6." in words
    assert "photo missing" in words
    assert "@media print" in html


def test_of_what_was_not_chosen_nothing_is_there() -> None:
    nothing = ReviewPaper("Tern Yard", "Looking back on 2026", ())
    assert "Nothing was chosen to stand here." in write_review_html(nothing)
    (page,) = lay_out_review(nothing, A4)
    assert "Nothing was chosen to stand here." in said((page,))

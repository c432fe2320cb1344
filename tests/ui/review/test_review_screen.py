"""Looking back on the screen: a span, what goes in, and the page that is shared."""

import io
import re
from base64 import b64decode
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import pypdf
import pytest
from PIL import Image
from pytestqt.qtbot import QtBot
from sqlalchemy.orm import Session

from studiolog.craft.spans import Span
from studiolog.desktop.desk import Desk
from studiolog.desktop.notices import Notice
from studiolog.journal.orders import OrderDraft, OrderLineDraft, add_order
from studiolog.journal.photos import draft_picture
from studiolog.journal.pieces import PieceDraft, RunDraft, log_piece, log_run
from studiolog.journal.writing import add, change
from studiolog.photos.intake import PhotoFacts, take_in
from studiolog.photos.store import PhotoStore
from studiolog.records.orders import OrderLine, Shipment
from studiolog.records.pieces import Piece
from studiolog.ui.review.review_sheet import ReviewSheet
from studiolog.ui.review.screen import ReviewScreen
from tests.journal.conftest import Studio, enter_studio
from tests.photo_files import phone_jpeg
from tests.ui.conftest import OpenScreen

OCTOBER = Span(date(2026, 10, 1), date(2026, 10, 31))
NAMES = ("Alden", "Wedding", "ida@quay.example")


@pytest.fixture
def studio(desk: Desk) -> Studio:
    return enter_studio(desk.journal)


def take_photos(desk: Desk) -> list[PhotoFacts]:
    """Four photos as a phone writes them, with what it knows beside them."""
    sources = [
        (
            f"IMG_{number}.jpg",
            phone_jpeg(640 + number, 480, datetime(2026, 10, number, 9), shade=number),
        )
        for number in range(1, 5)
    ]
    return list(take_in(sources, PhotoStore(desk.journal.photo_folder), thumbnail_sizes=()).kept)


@pytest.fixture
def october(desk: Desk, studio: Studio) -> list[PhotoFacts]:
    """Two tumblers fired and pictured, six sent to a customer who is named in what was learned."""
    photos = take_photos(desk)

    def enter(session: Session) -> None:
        order = add_order(session, OrderDraft(
            whom="Wedding, the Aldens",
            lines=(OrderLineDraft(form_id=studio.tumbler, wanted=6, price=Decimal("24.50")),),
        ))  # fmt: skip
        line = session.query(OrderLine.id).scalar()
        run = log_run(session, RunDraft(made_on=date(2026, 10, 5), form_id=studio.tumbler,
                                        how_many=6, stage="finished"))  # fmt: skip
        shipment = add(session, Shipment(order_id=order, shipped_on=date(2026, 10, 30)))
        for piece in session.query(Piece).filter_by(run_id=run).all():
            change(session, Piece, piece.id, order_line_id=line, shipment_id=shipment)
        for place, day in enumerate((12, 4)):
            raw, fired = photos[2 * place], photos[2 * place + 1]
            log_piece(session, PieceDraft(
                form_id=studio.tumbler, stage="fired", made_on=date(2026, 9, 20),
                stages=(("fired", datetime(2026, 10, day)),),
                pictures=(draft_picture(raw, "glazed"), draft_picture(fired, "fired")),
                lesson=f"Lesson of day {day}. The Aldens wrote from ida@quay.example.",
            ))  # fmt: skip

    desk.journal.edit("October", enter)
    return photos


@pytest.fixture
def screen(open_screen: OpenScreen, october: list[PhotoFacts]) -> ReviewScreen:
    shown = open_screen(ReviewScreen)
    shown.show_span(OCTOBER)
    return shown


def make(screen: ReviewScreen, qtbot: QtBot) -> ReviewSheet:
    def sheets() -> list[ReviewSheet]:
        return [sheet for sheet in screen.findChildren(ReviewSheet) if sheet.isVisible()]

    screen.make()
    qtbot.waitUntil(lambda: bool(sheets()), timeout=10_000)
    return sheets()[0]


def read_pdf(file: Path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(file).pages).split())


def test_what_is_shared_names_no_customer_and_carries_nothing_of_the_camera(
    screen: ReviewScreen, qtbot: QtBot, tmp_path: Path
) -> None:
    assert screen.goes_in.left_out.text() == "2 passages that name a customer are left out."
    sheet = make(screen, qtbot)
    html_file, pdf_file = tmp_path / "review.html", tmp_path / "review.pdf"
    assert sheet.save(html_file)
    assert sheet.save(pdf_file)
    html, pdf = html_file.read_text(encoding="utf-8"), read_pdf(pdf_file)
    for name in NAMES:
        assert name not in html
        assert name not in pdf
        assert name.encode() not in pdf_file.read_bytes()
    for told in ("Looking back on October 2026", "Lesson of day 4.", "Lesson of day 12."):
        assert told in html, told
        assert told in pdf, told
    assert "http" not in html
    pictures = [b64decode(one) for one in re.findall(r"data:image/jpeg;base64,([^\"]+)", html)]
    assert len(pictures) == 4
    for jpeg in pictures:
        assert not Image.open(io.BytesIO(jpeg)).getexif()
        assert b"Exif" not in jpeg
    # Fired on the 4th before fired on the 12th; raw before fired. Their widths tell them apart.
    wide = [Image.open(io.BytesIO(jpeg)).width for jpeg in pictures]
    assert wide == [643, 644, 641, 642]
    sheet.close()


def test_only_what_is_ticked_goes_in(screen: ReviewScreen, qtbot: QtBot) -> None:
    page = screen.page
    assert page is not None
    first = next(note for note in page.notes if note.text == "Lesson of day 4.")
    screen.lessons.boxes[first.key].click()
    screen.pairs.boxes[page.pairs[0].key].click()
    screen.goes_in.boxes["sold"].click()
    sheet = make(screen, qtbot)
    told = " ".join(sheet.view.page.words) if sheet.view.page else ""
    assert "Lesson of day 12." in told
    assert "Lesson of day 4." not in told
    assert "Sold and sent" not in told
    assert "147" not in told  # no amounts unless they are asked for
    sheet.close()
    # Looked at again, it is as it was left; with money and customers ticked they stand there.
    screen.show_span(Span(date(2026, 9, 1), date(2026, 9, 30)))
    screen.show_span(OCTOBER)
    assert not screen.lessons.boxes[first.key].isChecked()
    screen.goes_in.boxes["sold"].click()
    screen.goes_in.money.click()
    screen.goes_in.customers.click()
    assert "Customers are named" in screen.goes_in.left_out.text()
    sheet = make(screen, qtbot)
    told = " ".join(sheet.view.page.words) if sheet.view.page else ""
    assert "147.00" in told
    assert "Wedding, the Aldens" in told
    sheet.close()


def test_a_photo_that_is_gone_is_said_and_the_rest_made(
    screen: ReviewScreen, desk: Desk, october: list[PhotoFacts], qtbot: QtBot
) -> None:
    store = PhotoStore(desk.journal.photo_folder)
    store.path(october[0].sha256, october[0].suffix).unlink()
    sheet = make(screen, qtbot)
    assert "The rest is made." in screen.goes_in.problem.sentence()
    told = " ".join(sheet.view.page.words) if sheet.view.page else ""
    assert "photo missing" in told
    assert "1 photo is missing" in told
    sheet.close()


def test_a_span_without_anything_says_so_and_days_the_wrong_way_round_are_refused(
    screen: ReviewScreen,
) -> None:
    screen.show_span(Span(date(2019, 1, 1), date(2019, 1, 31)))
    assert screen.empty.isVisible()
    assert not screen.columns.isVisible()
    screen.last.line.setText("3 Dec 2018")
    screen.last.line.setModified(True)
    screen.last.line.editingFinished.emit()
    assert "lies before the first" in screen.problem.sentence()
    screen.pick.setCurrentIndex(0)
    screen.pick.activated.emit(0)
    assert screen.first.day() == date.today().replace(day=1)


def test_reading_photos_can_be_stopped(screen: ReviewScreen, desk: Desk, qtbot: QtBot) -> None:
    screen.make()
    screen.stop()
    desk.jobs.wait()
    qtbot.wait(1)
    assert not screen.findChildren(ReviewSheet)
    assert screen.goes_in.make.isEnabled()
    assert not screen.goes_in.progress.isVisible()


def test_a_page_made_while_another_screen_is_looked_at_lies_over_nothing(
    screen: ReviewScreen, desk: Desk, qtbot: QtBot
) -> None:
    said: list[Notice] = []
    desk.notices.said.connect(said.append)
    screen.make()
    screen.hide()
    qtbot.waitUntil(lambda: bool(said), timeout=10_000)
    assert not screen.findChildren(ReviewSheet)
    assert said[0].action is not None
    screen.show()  # as the window does when it is asked for the review
    said[0].action()
    assert [sheet.isVisible() for sheet in screen.findChildren(ReviewSheet)] == [True]

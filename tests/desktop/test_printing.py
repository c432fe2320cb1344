"""The pages of paper as Qt paints them: one PDF page, its words to be found, nothing cut."""

import io
from pathlib import Path

import pypdf
import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPageSize, QPainter
from PySide6.QtPrintSupport import QPrintDialog, QPrinter, QPrinterInfo
from PySide6.QtWidgets import QApplication

from studiolog.desktop import printing, theme
from studiolog.paper.lettering import width_mm
from studiolog.paper.page import A4, LETTER, PageSize, Words
from studiolog.problems import UserProblem
from tests.paper.plans import CANDLING, CROWDED, GLAZE_SIX, lay_out

# A point is 1/72 inch: ISO 216 A4 and US Letter in whole points.
POINTS = {A4: (595, 842), LETTER: (612, 792)}


@pytest.mark.parametrize("size", [A4, LETTER], ids=lambda size: size.name)
def test_a_crowded_sheet_is_one_pdf_page_with_its_words(qapp: QApplication, size: PageSize) -> None:
    page = lay_out(CROWDED, size)
    # Read back by a library that has nothing to do with what wrote it.
    read = pypdf.PdfReader(io.BytesIO(printing.write_pdf([page])))
    assert len(read.pages) == 1
    box = read.pages[0].mediabox
    assert (round(box.width), round(box.height)) == POINTS[size]
    assert read.metadata is not None
    assert read.metadata.title == page.title
    found = "".join(read.pages[0].extract_text().split())
    for words in page.words:
        assert "".join(words.split()) in found


def test_pages_follow_each_other(qapp: QApplication) -> None:
    pages = [lay_out(plan, A4) for plan in (GLAZE_SIX, CANDLING)]
    read = pypdf.PdfReader(io.BytesIO(printing.write_pdf(pages)))
    assert ["Tern" in page.extract_text() for page in read.pages] == [True, False]
    with pytest.raises(ValueError, match="needs a page"):
        printing.write_pdf([])


def test_letters_take_no_more_room_than_was_reckoned(qapp: QApplication) -> None:
    for plan in (GLAZE_SIX, CROWDED):
        for mark in lay_out(plan, A4).marks:
            if not isinstance(mark, Words):
                continue
            font = QFont(theme.text_family())
            font.setPixelSize(1000)
            font.setWeight(QFont.Weight.DemiBold if mark.bold else QFont.Weight.Normal)
            size_mm = mark.size_pt * 25.4 / 72
            wide = QFontMetricsF(font).horizontalAdvance(mark.text) * size_mm / 1000
            assert wide <= 1.03 * width_mm(mark.text, mark.size_pt, bold=mark.bold), mark.text


def test_what_is_painted_stands_where_it_was_laid(qapp: QApplication) -> None:
    per_mm = 75 / 25.4
    image = QImage(
        round(A4.wide_mm * per_mm), round(A4.high_mm * per_mm), QImage.Format.Format_RGB32
    )
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    printing.paint_page(painter, lay_out(GLAZE_SIX, A4), per_mm)
    painter.end()

    def darkest(left: float, top: float, right: float, bottom: float) -> int:
        return min(
            image.pixelColor(x, y).lightness()
            for x in range(round(left * per_mm), round(right * per_mm))
            for y in range(round(top * per_mm), round(bottom * per_mm))
        )

    assert darkest(0, 0, 210, 11) == 255  # the margin
    assert darkest(25, 17, 80, 24) < 60  # the program's name
    assert darkest(12, 32, 100, 34) < 90  # the rule over the program


def test_without_a_printer_it_says_so_and_names_the_way_out(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(QPrinterInfo, "availablePrinterNames", list)
    with pytest.raises(UserProblem, match=r"No printer is set up.*Save the page as a PDF"):
        printing.print_pages([lay_out(GLAZE_SIX, A4)])


def test_on_another_paper_than_asked_for_nothing_is_cut(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def choose_smaller_paper(dialog: QPrintDialog) -> int:
        printer = dialog.printer()
        printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
        printer.setOutputFileName(str(tmp_path / "printed.pdf"))
        printer.setPageSize(QPageSize(QPageSize.PageSizeId.A5))
        return int(QPrintDialog.DialogCode.Accepted)

    monkeypatch.setattr(QPrinterInfo, "availablePrinterNames", lambda: ["the one in the shed"])
    monkeypatch.setattr(QPrintDialog, "exec", choose_smaller_paper)
    page = lay_out(GLAZE_SIX, A4)
    assert printing.print_pages([page])
    read = pypdf.PdfReader(tmp_path / "printed.pdf")
    assert len(read.pages) == 1
    places: list[tuple[float, float]] = []
    read.pages[0].extract_text(
        visitor_text=lambda text, cm, tm, _font, _size: (
            places.append(_place(cm, tm)) if text.strip() else None
        )
    )
    box = read.pages[0].mediabox
    assert len(places) > 100
    assert all(0 < x < box.width and 0 < y < box.height for x, y in places)

    monkeypatch.setattr(QPrintDialog, "exec", lambda _dialog: 0)
    assert not printing.print_pages([page])


def _place(cm: list[float], tm: list[float]) -> tuple[float, float]:
    """Where a piece of text stands on the page, in points."""
    x, y = tm[4], tm[5]
    return cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5]


def test_a_file_is_written_whole_or_not_at_all(qapp: QApplication, tmp_path: Path) -> None:
    page = lay_out(GLAZE_SIX, A4)
    printing.save_pdf([page], tmp_path / "sheet.pdf")
    printing.save_html([page], tmp_path / "sheet.html")
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "Cone 6 slow cool" in (tmp_path / "sheet.html").read_text(encoding="utf-8")
    (tmp_path / "taken.pdf").mkdir()
    with pytest.raises(UserProblem, match=r"taken\.pdf could not be written into .*another folder"):
        printing.save_pdf([page], tmp_path / "taken.pdf")
    assert sorted(file.name for file in tmp_path.iterdir()) == [
        "sheet.html", "sheet.pdf", "taken.pdf",
    ]  # fmt: skip


def test_the_usual_paper_is_that_of_the_land() -> None:
    # Unicode CLDR, paper sizes by territory.
    assert printing.usual_paper(QLocale("en_US")) is LETTER
    assert printing.usual_paper(QLocale("fr_CA")) is LETTER
    assert printing.usual_paper(QLocale("en_GB")) is A4
    assert printing.paper_named("US Letter") is LETTER
    assert printing.paper_named("papyrus") in (A4, LETTER)

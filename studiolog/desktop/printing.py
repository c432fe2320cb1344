"""Pages of paper on Qt's painters: on the screen, as PDF, on a printer.

Whatever paints them, they are the same values (`paper.page`).
"""

from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path as FilePath
from typing import Final, assert_never

from PySide6.QtCore import (
    QBuffer,
    QIODevice,
    QLineF,
    QLocale,
    QMarginsF,
    QPointF,
    QRectF,
    QSizeF,
    Qt,
)
from PySide6.QtGui import (
    QColor,
    QFont,
    QFontMetricsF,
    QImage,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QWidget

from studiolog.desktop import theme
from studiolog.paper.html import write_html
from studiolog.paper.lettering import MM_PER_PT
from studiolog.paper.page import (
    A4,
    LETTER,
    PAPERS,
    TONES,
    Box,
    Mark,
    Page,
    PageSize,
    Path,
    Photo,
    Ring,
    Words,
)
from studiolog.problems import UserProblem

_UNITS_PER_MM: Final = 40
"""Letters are sized in whole units, so these are small: 2.5 in a hundredth of an inch."""
_PDF_DPI: Final = 600
_LETTER_LANDS: Final = frozenset(
    {
        QLocale.Country.UnitedStates, QLocale.Country.Canada, QLocale.Country.Mexico,
        QLocale.Country.Belize, QLocale.Country.Chile, QLocale.Country.Colombia,
        QLocale.Country.CostaRica, QLocale.Country.ElSalvador, QLocale.Country.Guatemala,
        QLocale.Country.Nicaragua, QLocale.Country.Panama, QLocale.Country.Philippines,
        QLocale.Country.PuertoRico, QLocale.Country.Venezuela,
    }
)  # fmt: skip
"""Where paper is US Letter (Unicode CLDR, paper sizes by territory)."""


def usual_paper(locale: QLocale | None = None) -> PageSize:
    """The paper of a locale, the system's if none is given."""
    where = (locale or QLocale.system()).territory()
    return LETTER if where in _LETTER_LANDS else A4


def paper_named(name: str) -> PageSize:
    """The paper of a name as `PageSize` has it; else the usual one."""
    return next((paper for paper in PAPERS if paper.name == name), usual_paper())


def paint_page(painter: QPainter, page: Page, pixels_per_mm: float) -> None:
    """Paint a page with its corner where the painter stands; its white ground is not painted."""
    painter.save()
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.TextAntialiasing)
    painter.scale(pixels_per_mm / _UNITS_PER_MM, pixels_per_mm / _UNITS_PER_MM)
    for mark in page.marks:
        _paint(painter, mark)
    painter.restore()


def write_pdf(pages: Sequence[Page]) -> bytes:
    """Pages as a PDF file, its words as text that can be found and copied."""
    if not pages:
        raise ValueError("a PDF needs a page")
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_PDF_DPI)
    writer.setTitle(pages[0].title)
    writer.setCreator("Studiolog")
    _set_paper(writer, pages[0].size)
    _paint_pages(writer, pages, _PDF_DPI)
    return bytes(buffer.data().data())


def save_pdf(pages: Sequence[Page], file: FilePath) -> None:
    """Write pages as a PDF. Raises `UserProblem` if the file can't be written."""
    _save(file, write_pdf(pages))


def save_html(pages: Sequence[Page], file: FilePath) -> None:
    """Write pages as one HTML file. Raises `UserProblem` if the file can't be written."""
    _save(file, write_html(pages).encode())


def save_text(text: str, file: FilePath) -> None:
    """Write a text file whole, in UTF-8. Raises `UserProblem` if it can't be written."""
    _save(file, text.encode())


def print_pages(pages: Sequence[Page], parent: QWidget | None = None) -> bool:
    """Ask for a printer and print; False if the person left it.

    Raises `UserProblem` where no printer is set up, or the printer refuses.
    """
    try:
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter, QPrinterInfo
    except ImportError as problem:  # its system libraries are not there
        raise UserProblem(
            "This system has no printing for programs like this one. Save the page as a PDF and "
            "print that."
        ) from problem
    if not QPrinterInfo.availablePrinterNames():
        raise UserProblem(
            "No printer is set up on this computer. Save the page as a PDF and print it elsewhere."
        )
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(pages[0].title)
    _set_paper(printer, pages[0].size)
    dialog = QPrintDialog(printer, parent)
    if dialog.exec() != QPrintDialog.DialogCode.Accepted:
        return False
    printer.setFullPage(True)
    try:
        _paint_pages(printer, pages, printer.resolution())
    except OSError as problem:
        raise UserProblem(
            f"{printer.printerName()} took nothing: see whether it is switched on and has paper."
        ) from problem
    return True


def _set_paper(device: QPagedPaintDevice, size: PageSize) -> None:
    known = {A4.name: QPageSize.PageSizeId.A4, LETTER.name: QPageSize.PageSizeId.Letter}
    paper = (
        QPageSize(known[size.name])
        if size.name in known
        else QPageSize(QSizeF(size.wide_mm, size.high_mm), QPageSize.Unit.Millimeter)
    )
    device.setPageLayout(
        QPageLayout(
            paper, QPageLayout.Orientation.Portrait, QMarginsF(), QPageLayout.Unit.Millimeter
        )
    )


def _paint_pages(device: QPagedPaintDevice, pages: Sequence[Page], dots_per_inch: int) -> None:
    painter = QPainter()
    if not painter.begin(device):
        raise OSError("the device can't be painted on")
    for number, page in enumerate(pages):
        if number:
            device.newPage()
        paint_page(painter, page, _fitted(device, page) * dots_per_inch / 25.4)
    painter.end()


def _fitted(device: QPagedPaintDevice, page: Page) -> float:
    """1, or less where another paper was chosen in the end, so that nothing is cut."""
    paper = device.pageLayout().fullRect(QPageLayout.Unit.Millimeter)
    return min(1.0, paper.width() / page.size.wide_mm, paper.height() / page.size.high_mm)


def _save(file: FilePath, content: bytes) -> None:
    """Write a file whole or not at all: beside its place first, then into it."""
    beside = file.with_name(f".{file.name}.part")
    try:
        beside.write_bytes(content)
        beside.replace(file)
    except OSError as problem:
        with suppress(OSError):
            beside.unlink()
        raise UserProblem(
            f"{file.name} could not be written into {file.parent}: "
            f"{problem.strerror or problem}. Choose another folder."
        ) from problem


def _paint(painter: QPainter, mark: Mark) -> None:
    unit = _UNITS_PER_MM
    if isinstance(mark, Words):
        _write(painter, mark)
        return
    if isinstance(mark, Photo):
        _paint_photo(painter, mark)
        return
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(_pen(mark.thick_mm, TONES[mark.tone]))
    if isinstance(mark, Path):
        if mark.dash:
            pen = painter.pen()
            # Qt counts dashes in widths of the pen.
            pen.setDashPattern([part / mark.thick_mm for part in mark.dash])
            pen.setCapStyle(Qt.PenCapStyle.FlatCap)
            painter.setPen(pen)
        points = [QPointF(x * unit, y * unit) for x, y in mark.points]
        if len(points) == 2:
            painter.drawLine(QLineF(*points))
        else:
            painter.drawPolyline(QPolygonF(points))
    elif isinstance(mark, Box):
        if mark.fill:
            painter.setBrush(QColor(TONES[mark.fill]))
        painter.drawRect(
            QRectF(mark.x_mm * unit, mark.y_mm * unit, mark.wide_mm * unit, mark.high_mm * unit)
        )
    elif isinstance(mark, Ring):
        radius = mark.radius_mm * unit
        painter.drawEllipse(QPointF(mark.x_mm * unit, mark.y_mm * unit), radius, radius)
    else:
        assert_never(mark)


def _paint_photo(painter: QPainter, mark: Photo) -> None:
    """The middle of a picture, in the shape of its rectangle; nothing if it can't be read."""
    image = QImage.fromData(mark.jpeg)
    if image.isNull():
        return
    box = QRectF(*(one * _UNITS_PER_MM for one in
                   (mark.x_mm, mark.y_mm, mark.wide_mm, mark.high_mm)))  # fmt: skip
    scale = min(image.width() / box.width(), image.height() / box.height())
    wide, high = box.width() * scale, box.height() * scale
    part = QRectF((image.width() - wide) / 2, (image.height() - high) / 2, wide, high)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    painter.drawImage(box, image, part)
    painter.restore()


def _pen(thick_mm: float, colour: str) -> QPen:
    if not thick_mm:
        return QPen(Qt.PenStyle.NoPen)
    pen = QPen(QColor(colour), thick_mm * _UNITS_PER_MM)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def _write(painter: QPainter, mark: Words) -> None:
    unit = _UNITS_PER_MM
    font = _font(mark.size_pt, mark.bold)
    wide = QFontMetricsF(font).horizontalAdvance(mark.text)
    room = mark.room_mm * unit
    if wide > room:
        font = _font(mark.size_pt * room / wide, mark.bold)
        wide = QFontMetricsF(font).horizontalAdvance(mark.text)
    x = mark.x_mm * unit - {"left": 0.0, "centre": wide / 2, "right": wide}[mark.align]
    painter.setFont(font)
    painter.setPen(QColor(TONES[mark.tone]))
    painter.drawText(QPointF(x, mark.y_mm * unit), mark.text)


def _font(size_pt: float, bold: bool) -> QFont:
    font = QFont(theme.text_family())
    font.setPixelSize(max(1, int(size_pt * MM_PER_PT * _UNITS_PER_MM)))
    font.setWeight(QFont.Weight.DemiBold if bold else QFont.Weight.Normal)
    font.setHintingPreference(QFont.HintingPreference.PreferNoHinting)
    # A glyph of its own, for "fi" or a colon between figures (or a figure, hence no tnum), has no
    # letter behind it: neither "firing" nor "10:32" would be found in a PDF, or copied from it.
    for feature in ("liga", "calt"):
        font.setFeature(QFont.Tag(feature), 0)
    return font

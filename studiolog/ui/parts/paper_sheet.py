"""A page of paper as it will be printed, looked at first: printed, or saved as PDF or HTML."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from re import sub

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import (
    QDialog,
    QFileDialog,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import printing, theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import FOCUS_LINE
from studiolog.paper.page import PAPERS, Page, PageSize
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import primary_button
from studiolog.ui.parts.text import Words

MakePage = Callable[[PageSize], Page | Sequence[Page]]
_WHOLE, _WIDE = "whole", "wide"
_EDGE = 16
"""What is left of the window around the sheet."""
_LEAST_WIDE = 200
_ROUND_PAGE = 8


class PaperView(QWidget):
    """One page, painted as a printer would; white in the dark too, for paper is."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._page: Page | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    @property
    def page(self) -> Page | None:
        """What is shown."""
        return self._page

    def show_page(self, page: Page) -> None:
        """Show a page; a screen reader is told what is on it, and all its words."""
        self._page = page
        self.setAccessibleName(f"Page as it is printed: {page.description}")
        self.setAccessibleDescription(" ".join(page.words))
        self.update()

    def high_for(self, wide: int) -> int:
        """How high the page is at a width."""
        if self._page is None:
            return wide
        size = self._page.size
        return round((wide - 2 * _ROUND_PAGE) * size.high_mm / size.wide_mm) + 2 * _ROUND_PAGE

    def wide_for(self, high: int) -> int:
        """How wide the page is at a height."""
        if self._page is None:
            return high
        size = self._page.size
        return round((high - 2 * _ROUND_PAGE) * size.wide_mm / size.high_mm) + 2 * _ROUND_PAGE

    def paintEvent(self, event: QPaintEvent) -> None:
        page = self._page
        if page is None:
            return
        painter = QPainter(self)
        look = theme.current()
        frame = QRectF(self.rect()).adjusted(_ROUND_PAGE, _ROUND_PAGE, -_ROUND_PAGE, -_ROUND_PAGE)
        scale = min(frame.width() / page.size.wide_mm, frame.height() / page.size.high_mm)
        sheet = QRectF(0, 0, page.size.wide_mm * scale, page.size.high_mm * scale)
        sheet.moveCenter(frame.center())
        painter.fillRect(sheet, Qt.GlobalColor.white)
        if self.hasFocus():
            painter.setPen(QPen(look.color("cobalt"), FOCUS_LINE))
            painter.drawRect(sheet.adjusted(-3, -3, 3, 3))
        painter.setPen(QPen(look.color("line2"), 1))
        painter.drawRect(sheet)
        painter.translate(sheet.topLeft())
        printing.paint_page(painter, page, scale)
        painter.end()


class _Reel(QScrollArea):
    """The page whole, or as wide as there is room and scrolled by the arrow and page keys."""

    def __init__(self, view: PaperView) -> None:
        super().__init__()
        self._view, self._whole = view, True
        self.setWidget(view)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        # The dialog's own ground shows through.
        self.viewport().setAutoFillBackground(False)
        view.setAutoFillBackground(False)

    def set_whole(self, whole: bool) -> None:
        self._whole = whole
        self.fit()

    def minimumSizeHint(self) -> QSize:
        return QSize(_LEAST_WIDE, _LEAST_WIDE)

    def sizeHint(self) -> QSize:
        return QSize(620, 820)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit()

    def fit(self) -> None:
        """Give the page the size it is shown at."""
        wide, high = self.width() - 2, self.height() - 2
        if self._whole:
            self._view.resize(min(wide, self._view.wide_for(high)), high)
        else:
            wide -= self.verticalScrollBar().sizeHint().width()
            self._view.resize(wide, self._view.high_for(wide))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        bar = self.verticalScrollBar()
        steps = {
            Qt.Key.Key_Down: 40,
            Qt.Key.Key_Up: -40,
            Qt.Key.Key_PageDown: bar.pageStep(),
            Qt.Key.Key_PageUp: -bar.pageStep(),
            Qt.Key.Key_Home: -bar.maximum(),
            Qt.Key.Key_End: bar.maximum(),
        }
        step = steps.get(Qt.Key(event.key()))
        if step is None:
            super().keyPressEvent(event)
        else:
            bar.setValue(bar.value() + step)


class PaperSheet(QDialog):
    """Shows the page that ``make_page`` lays out for a paper; ``options`` stand before the paper.

    Several pages are shown one at a time, and printed and saved together. Call ``refresh`` when an
    option has changed. Esc closes it.
    """

    def __init__(
        self,
        desk: Desk,
        title: str,
        make_page: MakePage,
        options: Sequence[QWidget] = (),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._desk, self._make_page = desk, make_page
        self.setWindowTitle(title)
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self._pages: tuple[Page, ...] = ()
        self.view = PaperView()
        self.reel = _Reel(self.view)
        self.paper = SegmentedChoice("Paper", [Choice(size.name, size.name) for size in PAPERS])
        self.paper.choose(printing.paper_named(desk.settings.paper_name).name)
        self.paper.picked.connect(self._choose_paper)
        self.shown = SegmentedChoice(
            "Shown", [Choice(_WHOLE, "Whole page"), Choice(_WIDE, "As wide as fits")]
        )
        self.shown.choose(_WHOLE)
        self.shown.picked.connect(lambda which: self.reel.set_whole(which == _WHOLE))
        self.turn = SegmentedChoice("Page", keys="")
        self.turn.hide()
        self.turn.picked.connect(lambda _number: self._show_page())
        self.why_not = ProblemLine()
        self.print_button = primary_button("Print …")
        self.pdf_button = QPushButton("Save as PDF …")
        self.html_button = QPushButton("Save as HTML …")
        self.close_button = QPushButton("Close")
        for button, act in (
            (self.print_button, self.print),
            (self.pdf_button, partial(self._ask_file, "pdf", "PDF (*.pdf)")),
            (self.html_button, partial(self._ask_file, "html", "HTML (*.html)")),
            (self.close_button, self.reject),
        ):
            button.setAccessibleName(button.text())
            button.setAutoDefault(False)
            button.clicked.connect(lambda _on=False, act=act: act())
        self._lay_out(title, options)
        self.refresh()
        self._take_size()
        self.print_button.setFocus()

    def _lay_out(self, title: str, options: Sequence[QWidget]) -> None:
        choices = FlowLayout(spacing=16, line_spacing=8)
        for widget in (*options, self.paper, self.shown, self.turn):
            choices.addWidget(widget)
        feet = FlowLayout(spacing=8, line_spacing=8)
        for button in (self.print_button, self.pdf_button, self.html_button, self.close_button):
            feet.addWidget(button)
        head = QHBoxLayout()
        head.addWidget(Words(title, "figure", 600))
        head.addStretch(1)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 20)
        rows.setSpacing(12)
        rows.addLayout(head)
        rows.addLayout(choices)
        rows.addWidget(self.reel, 1)
        rows.addWidget(self.why_not)
        rows.addLayout(feet)

    def _take_size(self) -> None:
        size = QSize(theme.current().px(680), 960)
        parent = self.parentWidget()
        if parent is not None:
            size = size.boundedTo(parent.window().size() - QSize(2 * _EDGE, 2 * _EDGE))
        self.resize(size)

    def refresh(self) -> None:
        """Lay the page out anew."""
        size = printing.paper_named(str(self.paper.chosen() or ""))
        try:
            made = self._make_page(size)
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.why_not.say("")
        self._pages = (made,) if isinstance(made, Page) else tuple(made)
        count = len(self._pages)
        self.turn.set_choices([Choice(n, f"Page {n}") for n in range(1, count + 1)])
        if self.turn.chosen() is None:
            self.turn.choose(1)
        self.turn.setVisible(count > 1)
        self._show_page()

    def _show_page(self) -> None:
        number = self.turn.chosen()
        self.view.show_page(self._pages[number - 1 if isinstance(number, int) else 0])
        self.reel.fit()

    def print(self) -> None:
        """Ask for a printer; without one the sheet says so."""
        page = self.view.page
        if page is None:
            return
        try:
            printed = printing.print_pages(self._pages, self)
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            self.pdf_button.setFocus()
            return
        if printed:
            self._desk.notices.say(f"Printed: {page.title}.")
            self.accept()

    def save(self, file: Path) -> bool:
        """Save the page as what the file's name says: PDF, or HTML. True if it was saved."""
        page = self.view.page
        if page is None:
            return False
        write = (
            printing.save_html if file.suffix.lower() in (".html", ".htm") else printing.save_pdf
        )
        try:
            write(self._pages, file)
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return False
        self.why_not.say("")
        self._desk.notices.say(f"Saved {file.name} in {file.parent}.")
        return True

    def _choose_paper(self, name: object) -> None:
        self._desk.settings.paper_name = str(name)
        self.refresh()

    def _ask_file(self, ending: str, kinds: str) -> None:
        page = self.view.page
        if page is None:
            return
        name = f"{file_stem(page.title)}.{ending}"
        path, _kind = QFileDialog.getSaveFileName(self, "Save the page", name, kinds)
        if path:
            file = Path(path)
            self.save(file if file.suffix else file.with_suffix(f".{ending}"))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            here = self.focusWidget()
            if isinstance(here, QPushButton):
                here.click()
            return
        super().keyPressEvent(event)


def file_stem(title: str) -> str:
    """A title as a file name every system takes."""
    return sub(r"\s+", " ", sub(r'[\x00-\x1f<>:"/\\|?*]', " ", title)).strip(" .")[:80] or "page"

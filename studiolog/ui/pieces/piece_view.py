"""The page of one piece: its sections in columns that follow the width."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QFrame,
    QGridLayout,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import ANY_WIDTH, COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.piece_lines import PieceLink
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import delete_piece
from studiolog.journal.tools import set_kind
from studiolog.ui.pieces.details import Details
from studiolog.ui.pieces.firing_section import FiringSection
from studiolog.ui.pieces.header import PieceHeader
from studiolog.ui.pieces.inspections_section import InspectionsSection
from studiolog.ui.pieces.layers_card import LayersCard
from studiolog.ui.pieces.life_sections import StagesSection, StepsSection
from studiolog.ui.pieces.notes_sections import NextTimeSection, NoteSection
from studiolog.ui.pieces.page_edits import PageEdits
from studiolog.ui.pieces.photos_panel import PhotosPanel
from studiolog.ui.pieces.sizes_section import SizesSection
from studiolog.ui.pieces.story_section import StorySection

ONE_BELOW = 800
NARROW_BELOW = 1280
WIDE_ABOVE = 1600
_TYPING = (QLineEdit, QPlainTextEdit, QComboBox)


class PieceView(QWidget):
    """Header, details, and three columns; below 1280 wide the right one moves under the others.

    With the largest text in a small window all stand in one column.
    """

    piece_asked = Signal(int)
    list_asked = Signal()
    outdated = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.edits = PageEdits(desk, self)
        self._neighbours: tuple[PieceLink | None, PieceLink | None] = (None, None)
        self._arranged: str = ""
        # The page's own keys work at once; the Tab key starts from it and does not come back.
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self._build()
        self._connect()

    def _build(self) -> None:
        edits = self.edits
        self.header = PieceHeader(edits)
        self.details = Details(edits)
        self.details.hide()
        self.photos = PhotosPanel(edits)
        self.layers = LayersCard(edits)
        self.firings = FiringSection(edits)
        self.inspections = InspectionsSection(edits)
        self.sizes = SizesSection(edits)
        self.story = StorySection(edits)
        self.stages = StagesSection(edits)
        self.steps = StepsSection(edits)
        self.next_time = NextTimeSection(edits)
        self.lesson = NoteSection(edits, "lesson", "Lesson", "What this piece taught", "head")
        self.notes = NoteSection(edits, "notes", "Notes", "Anything else")
        self._left = _column(self.photos, self.sizes, self.stages)
        self._middle = _column(self.layers, self.story, self.steps)
        self._right = QWidget()
        self._right_grid = QGridLayout(self._right)
        self._right_grid.setContentsMargins(0, 0, 0, 0)
        self._right_grid.setHorizontalSpacing(COLUMN_GAP)
        self._right_grid.setVerticalSpacing(20)
        self._of_kiln = _column(self.firings)
        self._of_eye = _column(self.inspections)
        self._of_words = _column(self.next_time, self.lesson, self.notes)
        page = QWidget()
        self._page = page
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(COLUMN_GAP)
        self._grid.setVerticalSpacing(COLUMN_GAP)
        rows = QVBoxLayout(page)
        rows.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN, 16)
        rows.setSpacing(0)
        rows.addWidget(self.header)
        rows.addWidget(self.details)
        rows.addLayout(self._grid)
        rows.addStretch(1)
        self.scroller = QScrollArea()
        self.scroller.setWidgetResizable(True)
        self.scroller.setFrameShape(QFrame.Shape.NoFrame)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.scroller)
        self._arrange()

    def _connect(self) -> None:
        self.edits.outdated.connect(self.outdated)
        self.header.piece_asked.connect(self.piece_asked)
        self.header.list_asked.connect(self.list_asked)
        self.header.details_asked.connect(self.toggle_details)
        self.header.like_asked.connect(self.log_like)
        self.header.delete_asked.connect(self.delete)
        self.header.kind_asked.connect(self.turn_kind)
        self.details.closed.connect(self._close_details)
        self.story.relate_asked.connect(self._relate)
        theme.current().changed.connect(self._arrange)
        app = QApplication.instance()
        if isinstance(app, QApplication):
            app.focusChanged.connect(self._follow_focus)

    # What is shown

    def show_page(
        self,
        page: PiecePage,
        neighbours: tuple[PieceLink | None, PieceLink | None] = (None, None),
    ) -> None:
        """Show a piece; ``neighbours`` are those before and after it in the list."""
        anew = self.edits.page is None or self.edits.page.piece_id != page.piece_id
        self.edits.page = page
        self._neighbours = neighbours
        if anew:
            self.details.hide()
            self.scroller.verticalScrollBar().setValue(0)
        self.setAccessibleName(self.edits.name().capitalize())
        self.header.show_page(page, *neighbours)
        if self.details.isVisibleTo(self):
            self.details.show_page(page)
        self.photos.show_page(page)
        self.layers.show_page(page, anew)
        self.firings.show_page(page, anew)
        self.inspections.show_page(page, anew)
        self.sizes.show_page(page)
        self.story.show_page(page)
        self.stages.show_page(page)
        self.steps.show_page(page, anew)
        for note in (self.next_time, self.lesson, self.notes):
            note.show_page(page)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Columns by the width there is; the photo and the section share one height."""
        # Larger text needs larger columns: the limits are for text at 100 per cent.
        look = theme.current()
        wide = self.width() / (look.text_scale / 100)
        limits = ((ONE_BELOW, "one"), (NARROW_BELOW, "narrow"), (WIDE_ABOVE + 1, "usual"))
        how = next((name for limit, name in limits if wide < limit), "wide")
        # Header, strip, and the first lines of what is beneath stay in sight.
        tall = min(max(self.height() - 330, 380), 660)
        self.photos.frame.setFixedHeight(tall)
        self.layers.setMinimumHeight(tall + look.px(92))
        arranged = f"{how} {look.text_scale}"
        if arranged == self._arranged:
            return
        self._arranged = arranged
        for column in (self._left, self._middle, self._right):
            self._grid.removeWidget(column)
        for place in range(3):
            self._grid.setColumnStretch(place, 0)
        for column in (self._left, self._middle, self._right):
            column.setMinimumWidth(0)
            column.setMaximumWidth(ANY_WIDTH)
        self._arrange_right(narrow=how == "narrow")
        if how == "one":
            for row, column in enumerate((self._left, self._middle, self._right)):
                self._grid.addWidget(column, row, 0)
            self._grid.setColumnStretch(0, 1)
            return
        self._grid.addWidget(self._left, 0, 0)
        self._grid.addWidget(self._middle, 0, 1)
        if how == "narrow":
            self._grid.addWidget(self._right, 1, 0, 1, 2)
            self._grid.setColumnStretch(0, 1)
            self._grid.setColumnStretch(1, 1)
            return
        self._grid.addWidget(self._right, 0, 2)
        if how == "wide":
            # The photo takes the extra width; text columns never widen.
            self._middle.setFixedWidth(look.px(480))
            self._right.setFixedWidth(look.px(392))
            self._grid.setColumnStretch(0, 1)
        else:
            for place, stretch in enumerate((520, 448, 360)):
                self._grid.setColumnStretch(place, stretch)

    def _arrange_right(self, narrow: bool) -> None:
        """One under the other; side by side where the column lies under the main ones."""
        parts = (self._of_kiln, self._of_eye, self._of_words)
        for part in parts:
            self._right_grid.removeWidget(part)
        if narrow:
            places = ((0, 0, 1), (0, 1, 2), (1, 0, 1))
        else:
            places = ((0, 0, 1), (1, 0, 1), (2, 0, 1))
        for part, (row, column, rows) in zip(parts, places, strict=True):
            self._right_grid.addWidget(part, row, column, rows, 1)
        self._right_grid.setColumnStretch(0, 1)
        self._right_grid.setColumnStretch(1, 1 if narrow else 0)
        for row in range(3):
            self._right_grid.setRowStretch(row, 0)
        self._right_grid.setRowStretch(3, 1)

    # What is done

    def toggle_details(self) -> None:
        """Open or close the fields of number, form, clay, day and the rest."""
        if self.details.isVisibleTo(self):
            self._close_details()
        elif self.edits.page is not None:
            self.details.show_page(self.edits.page)
            self.details.show()
            self.scroller.ensureWidgetVisible(self.details)
            self.details.number.setFocus(Qt.FocusReason.OtherFocusReason)

    def _close_details(self) -> None:
        self.details.hide()
        self.header.details.setFocus(Qt.FocusReason.OtherFocusReason)

    def _relate(self) -> None:
        if not self.details.isVisibleTo(self):
            self.toggle_details()
        self.scroller.ensureWidgetVisible(self.details)
        self.details.parent_number.setFocus(Qt.FocusReason.OtherFocusReason)

    def log_like(self) -> None:
        """Open the quick log with all but number and photos filled in from this piece."""
        if self.edits.page is not None:
            self.desk.show("quick_log", 0, {"like": self.edits.page.piece_id})

    def turn_kind(self) -> None:
        """Say that the piece is a tool, or ware after all."""
        page = self.edits.page
        if page is None:
            return
        kind = "ware" if page.kind == "tool" else "tool"
        if kind == "ware":
            self.edits.run("Make ware of", lambda session: set_kind(session, page.piece_id, kind))
        elif self.edits.run(
            "Make a tool of", lambda session: set_kind(session, page.piece_id, kind)
        ):
            self.desk.notices.say(
                "It is a tool now, and stands among the tools.",
                "Open it there",
                lambda: self.desk.show("tool", page.piece_id),
            )

    def delete(self) -> None:
        """Delete the piece; undo brings it back."""
        page = self.edits.page
        if page is None:
            return
        name = self.edits.name()
        if self.edits.run("Delete", lambda session: delete_piece(session, page.piece_id)):
            self.desk.notices.say(
                f"{name[0].upper()}{name[1:]} is deleted.", "Undo", self.desk.edits.undo
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The page's own keys; a text field that has the keyboard never lets them come here."""
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if not plain or isinstance(QApplication.focusWidget(), _TYPING):
            super().keyPressEvent(event)
            return
        before, after = self._neighbours
        doing: dict[Qt.Key, Callable[[], object]] = {
            Qt.Key.Key_Left: partial(self._go, before),
            Qt.Key.Key_Right: partial(self._go, after),
            Qt.Key.Key_A: partial(self._push_divider, -0.02),
            Qt.Key.Key_D: partial(self._push_divider, 0.02),
            Qt.Key.Key_S: self._turn_scale,
            Qt.Key.Key_I: self._inspect,
            Qt.Key.Key_N: self._note_next_time,
            Qt.Key.Key_E: self.toggle_details,
            Qt.Key.Key_L: self.layers.toggle_editor,
            Qt.Key.Key_M: self.stages.ask,
            Qt.Key.Key_Escape: self.list_asked.emit,
        }
        do = doing.get(Qt.Key(event.key()))
        if do is None:
            super().keyPressEvent(event)
        else:
            do()
            event.accept()

    def _go(self, link: PieceLink | None) -> None:
        if link is not None:
            self.piece_asked.emit(link.piece_id)

    def _push_divider(self, by: float) -> None:
        self.photos.frame.set_divider(self.photos.frame.divider() + by)

    def _turn_scale(self) -> None:
        self.photos.frame.set_true_scale(not self.photos.frame.is_true_scale())

    def _inspect(self) -> None:
        self.inspections.inspect_again()
        self.scroller.ensureWidgetVisible(self.inspections.editor, 0, 24)

    def _note_next_time(self) -> None:
        self.scroller.ensureWidgetVisible(self.next_time, 0, 24)
        self.next_time.note.edit()

    def _follow_focus(self, _old: QObject | None, now: QObject | None) -> None:
        if isinstance(now, QWidget) and self._page.isAncestorOf(now) and self.isVisible():
            self.scroller.ensureWidgetVisible(now, 0, 24)


def _column(*parts: QWidget) -> QWidget:
    column = QWidget()
    column.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
    rows = QVBoxLayout(column)
    rows.setContentsMargins(0, 0, 0, 0)
    rows.setSpacing(20)
    for part in parts:
        rows.addWidget(part)
    rows.addStretch(1)
    return column

"""A list with a page beside it: how glazes, clays, forms, kilns and programs are shown.

Screens subclass `ListAndPage` and pages `ThingPage`; what they share is here: choosing, adding,
archiving, deleting, editing in place with the problem said where it happened.
"""

from abc import abstractmethod
from collections.abc import Callable, Sequence
from typing import Any, ClassVar

from PySide6.QtCore import QEvent, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.named_head import NamedHead
from studiolog.ui.parts.property_sheet import PropertySheet
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, Section
from studiolog.ui.parts.side_list import ListRow, SideList

_ANY_WIDTH = 16_777_215  # px, Qt's word for no limit


class TwoColumns(QWidget):
    """A wide column and a narrow one at its right, which moves under it where room is short."""

    def __init__(
        self, fold_below: int = 820, side_wide: int = 0, parent: QWidget | None = None
    ) -> None:
        """Below ``fold_below`` px they stand under each other. ``side_wide`` px is the width of
        the narrow column; 0 gives it three parts of seven."""
        super().__init__(parent)
        self._fold_below, self._side_wide = fold_below, side_wide
        self.main, self.side = QVBoxLayout(), QVBoxLayout()
        for column in (self.main, self.side):
            column.setContentsMargins(0, 0, 0, 0)
            column.setSpacing(24)
        self._main, self._side = QWidget(), QWidget()
        self._main.setLayout(self.main)
        self._side.setLayout(self.side)
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(COLUMN_GAP)
        self._grid.setVerticalSpacing(24)
        self._folded: bool | None = None
        self._lay(False)

    def minimumSizeHint(self) -> QSize:
        """Qt: one column under the other is the narrowest."""
        wide = max(one.minimumSizeHint().width() for one in (self._main, self._side))
        return QSize(wide, super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def event(self, event: QEvent) -> bool:
        """Qt: what the columns need may have changed with what they show."""
        if event.type() == QEvent.Type.LayoutRequest:
            self._fold()
        return super().event(event)

    def _fold(self) -> None:
        # The columns share the width 4 to 3, unless one of them needs more.
        needed = COLUMN_GAP + sum(one.minimumSizeHint().width() for one in (self._main, self._side))
        self._lay(self.width() < max(needed, theme.current().px(self._fold_below)))

    def _lay(self, folded: bool) -> None:
        if folded == self._folded:
            return
        self._folded = folded
        top = Qt.AlignmentFlag.AlignTop
        self._grid.removeWidget(self._main)
        self._grid.removeWidget(self._side)
        self._grid.addWidget(self._main, 0, 0, top)
        if folded:
            self._grid.addWidget(self._side, 1, 0, top)
        else:
            self._grid.addWidget(self._side, 0, 1, top)
        self._grid.setColumnStretch(0, 4)
        self._grid.setColumnStretch(1, 0 if folded or self._side_wide else 3)
        wide = theme.current().px(self._side_wide) if self._side_wide and not folded else 0
        self._side.setMinimumWidth(wide)
        self._side.setMaximumWidth(wide or _ANY_WIDTH)


class ThingHead(NamedHead):
    """The head of a thing's page: it may be archived or deleted."""

    def __init__(self, noun: str, picture: QWidget | None = None) -> None:
        super().__init__(f"Name of the {noun}", "Name", picture)
        self.archive = QPushButton("Archive")
        self.delete = QPushButton("Delete")
        self.add_action(self.delete)
        self.add_action(self.archive)


class ThingPage(QWidget):
    """A page of one thing. Subclasses build their sections into ``body`` and show their page.

    ``page_asked`` carries where the next page of its uses starts.
    """

    noun: ClassVar[str] = ""
    page_asked = Signal(int)

    def __init__(self, desk: Desk, picture: QWidget | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.ident = 0
        self.head = ThingHead(self.noun, picture)
        self.body = TwoColumns()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 8, 32)
        rows.setSpacing(8)
        rows.addWidget(self.head)
        rows.addWidget(self.body)
        rows.addStretch(1)
        self.setMaximumWidth(theme.current().px(1360))
        self.head.name.edited.connect(lambda text: self.keep("name", text))

    @abstractmethod
    def show_page(self, page: Any) -> None:
        """Show a page as the journal read it."""

    @abstractmethod
    def change(self, session: Session, **fields: Any) -> None:
        """Change fields of the thing shown."""

    def keep(self, key: str, value: object, sheet: PropertySheet | None = None) -> bool:
        """Keep one field; what is wrong is said at the field, or under the head."""
        label = f"Change {self.head.name.text() or self.noun}"
        try:
            self.desk.edits.run(label, lambda session: self.change(session, **{key: value}))
        except UserProblem as problem:
            sentence = problem.fields.get(key, problem.sentence)
            if sheet is None or not sheet.set_problem(key, sentence):
                self.head.problem.say(problem.sentence)
            return False
        self.head.problem.say("")
        return True

    def run(self, label: str, edit: Callable[[Session], Any], say: Callable[[str], None]) -> bool:
        """Run an edit; a problem's sentence goes to ``say``, which is told "" when all is well."""
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            say(problem.sentence)
            return False
        say("")
        return True

    def add_sheet(self, title: str, sheet: PropertySheet) -> Section:
        """A section with a sheet of properties, each kept as it is typed."""
        section = Section(title)
        section.add(sheet)
        sheet.changed.connect(lambda key, value: self.keep(key, value, sheet))
        return section


class ListAndPage(Screen):
    """A screen with a list at the left and the page of what is chosen beside it."""

    noun: ClassVar[str] = ""
    plural: ClassVar[str] = ""
    counted: ClassVar[str] = "pieces"
    empty: ClassVar[tuple[str, str]] = ("", "")

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._ident = 0
        self._start = 0
        self.build()
        desk.settings.changed.connect(self._hear_setting)
        theme.current().changed.connect(self._give_room)

    # What a subclass answers

    @abstractmethod
    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        """The list."""

    @abstractmethod
    def read_page(self, session: Session, ident: int, start: int) -> Any:
        """The page of one thing, None if it is gone."""

    @abstractmethod
    def make_page(self) -> ThingPage:
        """The widget that shows a page."""

    def make_new_more(self) -> QWidget | None:
        """What else may be said while a new thing is being named."""
        return None

    @abstractmethod
    def add(self, session: Session, name: str) -> int:
        """Enter a new thing."""

    @abstractmethod
    def archive(self, session: Session, ident: int, archived: bool) -> None:
        """Archive a thing or take it back."""

    @abstractmethod
    def delete(self, session: Session, ident: int) -> None:
        """Delete a thing nothing uses."""

    # Building

    def build(self) -> None:
        self.side = SideList(self.plural, self.noun, self.counted, self.make_new_more())
        self.page = self.make_page()
        self.page_view = QScrollArea()
        self.page_view.setWidgetResizable(True)
        self.page_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.page_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.page_view.setWidget(self.page)
        self.page_view.setAlignment(Qt.AlignmentFlag.AlignLeft)
        self.nothing = EmptyState(*self.empty, f"New {self.noun}")
        holder = QWidget()
        rows = QVBoxLayout(holder)
        rows.setContentsMargins(0, 48, 0, 0)
        rows.addWidget(self.nothing, 0, Qt.AlignmentFlag.AlignTop)
        rows.addStretch(1)
        holder.setMaximumWidth(theme.current().px(560))
        self.stack = QStackedWidget()
        self.stack.addWidget(holder)
        self.stack.addWidget(self.page_view)
        row = QHBoxLayout(self)
        row.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN - 8, 0)
        row.setSpacing(COLUMN_GAP + 8)
        row.addWidget(self.side)
        row.addWidget(self.stack, 1)
        self.side.chosen.connect(self._choose)
        self.side.add_asked.connect(self.add_named)
        self.side.archived_asked.connect(lambda _on: self.reload())
        self.nothing.acted.connect(self.side.start_new)
        self.page.page_asked.connect(self._turn)
        self.page.head.archive.clicked.connect(self.toggle_archived)
        self.page.head.delete.clicked.connect(self.delete_shown)

    # What a person does

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show one thing; 0 leaves what is shown. ``more`` "new" starts a new one."""
        if row_id and row_id != self._ident:
            self._ident, self._start = row_id, 0
            self.side.filter.clear()
            self.page_view.verticalScrollBar().setValue(0)
        self.mark_stale()
        if more == "new":
            self.side.start_new()

    def add_named(self, name: str) -> None:
        """Enter a new thing under a name, and show it."""
        try:
            ident = self.desk.edits.run(
                f"Add {self.noun} {' '.join(name.split())}",
                lambda session: self.add(session, name),
            )
        except UserProblem as problem:
            self.side.new_name.set_problem(problem.fields.get("name", problem.sentence))
            return
        self.show_thing(ident)
        self.side.end_new()

    def toggle_archived(self) -> None:
        """Archive what is shown, or take it back into the pickers."""
        archived = not self._archived
        label = f"{'Archive' if archived else 'Take back'} {self._title}"
        if self.desk.edits.try_run(
            label, lambda session: self.archive(session, self._ident, archived)
        ):
            where = "hidden from the pickers" if archived else "in the pickers again"
            self.desk.notices.say(f"{self._title} is {where}.", "Undo", self.desk.edits.undo)

    def delete_shown(self) -> None:
        """Delete what is shown; if something uses it, the sentence under the head says what."""
        title, ident = self._title, self._ident
        try:
            self.desk.edits.run(f"Delete {title}", lambda session: self.delete(session, ident))
        except UserProblem as problem:
            self.page.head.problem.say(problem.sentence)
            return
        self.desk.notices.say(f"{title} is deleted.", "Undo", self.desk.edits.undo)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (
            (("N",), f"new {self.noun}"),
            (("F",), "filter"),
            (("↑", "↓"), "through the list"),
            (("Enter",), "change in place"),
            (("Ctrl", "Z"), "undo"),
        )

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._give_room()

    def _give_room(self) -> None:
        self.side.take_room(self.width())

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if not self.isAncestorOf(QApplication.focusWidget() or self.window()):
            # Before there is a list the keyboard stands at what begins it.
            first = self.side.list if self._ident else self.nothing.action
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers():
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_N:
            self.side.start_new()
        elif event.key() == Qt.Key.Key_F:
            self.side.filter.setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            super().keyPressEvent(event)

    # Reading

    def reload(self) -> None:
        """Read the list and the page of what is chosen anew."""
        every = self.desk.read(lambda session: self.read_rows(session, True))
        with_archived = self.side.archived.isChecked()
        rows = [row for row in every if with_archived or not row.archived]
        self.side.archived.setVisible(with_archived or len(rows) < len(every))
        page = None
        if self._ident:
            page = self._read(self._ident)
        if page is None and rows:
            self._ident, self._start = rows[0].ident, 0
            page = self._read(self._ident)
        if page is None:
            self._ident = 0
        self.side.show_rows(rows, self._ident)
        self._show(page)

    def _read(self, ident: int) -> Any:
        return self.desk.read(lambda session: self.read_page(session, ident, self._start))

    def _show(self, page: Any) -> None:
        self.stack.setCurrentIndex(0 if page is None else 1)
        if page is None:
            return
        if self.page.ident != self._ident:
            self.page.head.problem.say("")
        self.page.ident = self._ident
        self._archived = page.archived
        self._title = getattr(page, "title", page.name)
        self.page.head.name.set_text(page.name)
        self.page.head.archive.setText("Take back" if page.archived else "Archive")
        self.page.head.archive.setAccessibleName(self.page.head.archive.text())
        self.page.show_page(page)

    def _choose(self, ident: int) -> None:
        if ident != self._ident:
            self._ident, self._start = ident, 0
            self.page_view.verticalScrollBar().setValue(0)
            self._show(self._read(ident))
            self.paint_when_laid()

    def _turn(self, start: int) -> None:
        self._start = start
        self._show(self._read(self._ident))
        self.paint_when_laid()

    def _hear_setting(self, key: str) -> None:
        if key == "temperature_unit":
            # After the pages have written their columns in the new unit.
            QTimer.singleShot(0, self, self.mark_stale)

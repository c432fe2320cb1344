"""The next kiln: planned loads, and the page of one."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QScrollArea,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.load_list import LoadLine, LoadList, read_load_list
from studiolog.journal.load_page import LoadPage, read_load_page
from studiolog.journal.loads import delete_load
from studiolog.problems import UserProblem
from studiolog.ui.loads.begin_sheet import BeginSheet
from studiolog.ui.loads.light_sheet import LightSheet
from studiolog.ui.loads.load_view import LoadView
from studiolog.ui.loads.print_sheet import show_load_sheet
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState
from studiolog.ui.parts.side_list import ListRow, SideList
from studiolog.ui.parts.text import Text

_EMPTY = (
    "Plan the next kiln.",
    "Choose the kiln and the kind of firing, put in what waits, and let it be packed onto the "
    "kiln's own shelves: what fits, what is left out, what to look at before it is lit.",
)


class LoadsScreen(Screen):
    """Loads by the day they are planned for, lit ones last; N plans a new one."""

    kinds = frozenset(
        {"load", "kiln", "firing", "piece", "run", "form", "clay", "glaze", "order", "set"}
        | {"program", "limit", "studio"}
    )
    title = "The next kiln"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._ident = 0
        self._build()
        self._connect()

    def _build(self) -> None:
        self.side = SideList("The next kiln", "load", "pieces")
        self.side.archived.hide()
        self.waiting = Text("", "secondary", tone="ink2", wrap=True)
        self.side.add_foot(self.waiting)
        self.view = LoadView(self.desk, self.today)
        self.page_view = QScrollArea()
        self.page_view.setWidgetResizable(True)
        self.page_view.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.page_view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.page_view.setWidget(self.view)
        self.nothing = EmptyState(*_EMPTY, "Plan a load")
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

    def _connect(self) -> None:
        self.side.chosen.connect(self._choose)
        self.side.new_button.clicked.disconnect()
        self.side.new_button.clicked.connect(lambda: self.begin())
        self.side.list.installEventFilter(self)
        self.nothing.acted.connect(lambda: self.begin())
        self.view.light_asked.connect(self.light)
        self.view.print_asked.connect(self.print_load)
        self.view.delete_asked.connect(self.delete)
        theme.current().changed.connect(self._give_room)

    @staticmethod
    def today() -> date:
        """The day of the clock."""
        return date.today()

    # What a person does

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show a load; ``more`` ("new", kiln id) or ("new", kiln id, kind) plans a new one."""
        if row_id and row_id != self._ident:
            self._ident = row_id
            self.page_view.verticalScrollBar().setValue(0)
        self.mark_stale()
        if isinstance(more, tuple) and more and more[0] == "new":
            self.begin(*more[1:])

    def begin(self, kiln_id: int = 0, kind: str = "glaze") -> None:
        """Plan a new load."""
        sheet = BeginSheet(self.desk, self.today(), kiln_id, kind, self.window())
        sheet.begun.connect(self._show_begun)
        sheet.show()

    def _show_begun(self, load_id: int) -> None:
        self.show_thing(load_id)
        # What asked for it may be gone now, and a button beside it would have the keyboard.
        self.side.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def light(self) -> None:
        """Ask when the load is lit."""
        page = self.view.page
        if page is not None:
            LightSheet(self.desk, page, datetime.now(), self.window()).show()

    def print_load(self) -> None:
        """Show the load as it is printed."""
        page = self.view.page
        if page is not None:
            show_load_sheet(self.desk, page, self.window())

    def delete(self) -> None:
        """Delete the planned load; its pieces wait again."""
        page = self.view.page
        if page is None:
            return
        load_id, title = page.load_id, page.title
        try:
            self.desk.edits.run(f"Delete {title}", lambda session: delete_load(session, load_id))
        except UserProblem as problem:
            self.view.problem.say(problem.sentence)
            return
        self.desk.notices.say(f"{title} is deleted.", "Undo", self.desk.edits.undo)

    # Reading

    def reload(self) -> None:
        """Read the list and the load shown anew."""
        found = self.desk.read(read_load_list)
        ids = [line.load_id for line in found.loads]
        if self._ident not in ids:
            # One that was lit long ago is still shown when it is asked for.
            page = self._read() if self._ident else None
            if page is None:
                self._ident = ids[0] if ids else 0
                page = self._read()
        else:
            page = self._read()
        self.side.show_rows([_row(line) for line in found.loads], self._ident)
        self.side.archived.hide()
        self.waiting.setText(_say_waiting(found))
        self.stack.setCurrentIndex(0 if page is None else 1)
        self.nothing.set_sentence(_EMPTY[0], f"{_EMPTY[1]} {_say_waiting(found)}".strip())
        if page is not None:
            self.view.show_page(page)

    def _read(self) -> LoadPage | None:
        ident, today = self._ident, self.today()
        if not ident:
            return None
        return self.desk.read(lambda session: read_load_page(session, ident, today))

    def _choose(self, ident: int) -> None:
        if ident != self._ident:
            self._ident = ident
            self.page_view.verticalScrollBar().setValue(0)
            page = self._read()
            if page is not None:
                self.view.show_page(page)
                self.stack.setCurrentIndex(1)
            self.paint_when_laid()

    # The window

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return (
            (("N",), "new load"),
            (("Space",), "next piece"),
            (("←", "→"), "move it 5 mm"),
            (("PgUp", "PgDn"), "another shelf"),
            (("R",), "turn"),
            (("T",), "catch tile"),
            (("P",), "leave it there"),
            (("Del",), "take out"),
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
            first = self.side.list if self._ident else self.nothing.action
            first.setFocus(Qt.FocusReason.OtherFocusReason)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: Space leads from the list, which has no use for it, to the pieces on the shelves."""
        if (
            watched is self.side.list
            and isinstance(event, QKeyEvent)
            and event.type() == QEvent.Type.KeyPress
            and event.key() == Qt.Key.Key_Space
            and self.view.board.isVisible()
        ):
            self.view.board.setFocus(Qt.FocusReason.ShortcutFocusReason)
            QApplication.sendEvent(self.view.board, event)
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers():
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_N:
            self.begin()
        elif event.key() == Qt.Key.Key_F:
            self.side.filter.setFocus(Qt.FocusReason.ShortcutFocusReason)
        else:
            super().keyPressEvent(event)


def _row(line: LoadLine) -> ListRow:
    if line.firing is not None:
        quiet = f"lit as firing {line.firing}"
    elif line.planned_on is not None:
        quiet = f"planned for {write_day(line.planned_on)}"
    else:
        quiet = "no day yet"
    left = line.pieces - line.placed
    if left and line.firing is None:
        quiet += f", {left} without a place"
    return ListRow(line.load_id, line.title, quiet, line.pieces, look="kiln")


def _say_waiting(found: LoadList) -> str:
    if not found.bisque and not found.glaze:
        inside = any(line.firing is None and line.pieces for line in found.loads)
        return "All that waits is in a load." if inside else "Nothing waits for a kiln."
    told = [
        f"{_count(pieces)} for the {kiln}"
        for pieces, kiln in ((found.bisque, "bisque"), (found.glaze, "glaze kiln"))
        if pieces
    ]
    return f"In no load yet: {', '.join(told)}."


def _count(pieces: int) -> str:
    return "1 piece" if pieces == 1 else f"{pieces} pieces"

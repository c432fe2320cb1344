"""The list of pieces: a line to filter by, and rows that open with Enter."""

from dataclasses import replace
from functools import partial

from PySide6.QtCore import QModelIndex, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QListView,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from studiolog.craft.units import THIN
from studiolog.craft.words import STAGES
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import PAGE_MARGIN
from studiolog.journal.clays import list_clays
from studiolog.journal.glazes import list_glazes
from studiolog.journal.piece_list import PieceFilter, find_piece_ids
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.section import EmptyState, PageTitle, Text, link_button
from studiolog.ui.parts.swatch import ClayLook, GlazeLook
from studiolog.ui.pieces.piece_rows import PieceDelegate, PieceListModel

_ANY = 0
_ANY_STAGE = ""
_WAIT_MS = 120
# The first rows are shown at once; the others are listed while nothing else is to be done.
_FIRST, _STRETCH = 300, 4000


class _Rows(QListView):
    """The rows; Enter opens the one chosen."""

    opened = Signal(QModelIndex)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.opened.emit(self.currentIndex())
            event.accept()
        elif event.text().strip() and not event.modifiers():
            event.ignore()  # letters belong to the list (F), not to Qt's search by first letter
        else:
            super().keyPressEvent(event)


class PieceListView(QWidget):
    """Filter line, pickers, how many answer, and the rows."""

    piece_asked = Signal(int)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk = desk
        self.wanted = PieceFilter()
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(_WAIT_MS)
        self._rest: list[int] = []
        self._more = QTimer(self)
        self._more.setInterval(0)
        self._more.timeout.connect(self._read_more)
        self._build()
        self._connect()

    def _build(self) -> None:
        self.title = PageTitle("Pieces")
        self.text = LineField("", hint="Number, name, form, clay, glaze or a word of the notes")
        self.text.line.setAccessibleName("Filter pieces")
        self.text.line.setObjectName("filter")
        self.text.line.setClearButtonEnabled(True)
        self.stage = PickOne("Stage", hint="Any stage")
        self.stage.set_choices(
            [
                Choice(_ANY_STAGE, "any stage"),
                *(Choice(key, words) for key, words in STAGES.items()),
            ]
        )
        self.stage.choose(_ANY_STAGE)
        self.clay = PickOne("Clay", hint="Any clay")
        self.glaze = PickOne("Glaze", hint="Any glaze")
        for picker in (self.stage, self.clay, self.glaze):
            picker.setMinimumWidth(theme.current().px(150))
        self.clear = link_button("Show all")
        self.count = Text("", "secondary", tone="ink3")
        line = QHBoxLayout()
        line.setSpacing(12)
        line.addWidget(self.text, 3)
        for picker in (self.stage, self.clay, self.glaze):
            line.addWidget(picker, 1)
        line.addWidget(self.clear)
        line.addWidget(self.count)
        self.model = PieceListModel(self.desk, self)
        self.rows = _Rows()
        self.rows.setObjectName("pieces")
        self.rows.setAccessibleName("Pieces")
        self.rows.setModel(self.model)
        self.rows.setItemDelegate(PieceDelegate(self.desk, self.rows))
        self.rows.setUniformItemSizes(True)
        self.rows.setMouseTracking(True)
        self.rows.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.rows.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.empty = EmptyState(
            "No piece logged yet.",
            "Each pot, tile or tool you want to learn from gets a number here, with its photos, "
            "its layers and what was seen.",
            "Log the first piece",
        )
        self.nothing = EmptyState("No piece answers.", "", "Show all pieces")
        self.stack = QStackedWidget()
        for widget in (self.rows, self.empty, self.nothing):
            self.stack.addWidget(widget)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(PAGE_MARGIN, 0, PAGE_MARGIN, 8)
        rows.setSpacing(12)
        rows.addWidget(self.title)
        rows.addLayout(line)
        rows.addWidget(self.stack, 1)

    def _connect(self) -> None:
        self.text.line.textChanged.connect(lambda _text: self._timer.start())
        self.text.line.returnPressed.connect(self._enter_rows)
        self._timer.timeout.connect(self._filter)
        self.stage.picked.connect(lambda _id: self._filter())
        self.clay.picked.connect(lambda _id: self._filter())
        self.glaze.picked.connect(lambda _id: self._filter())
        self.clear.clicked.connect(self.show_all)
        self.nothing.acted.connect(self.show_all)
        self.empty.acted.connect(self._log)
        self.rows.opened.connect(self._open)
        self.rows.clicked.connect(self._open)
        self.desk.pictures.ready.connect(lambda sha, _longest: self.model.picture_came(sha))
        self.desk.pictures.missing.connect(lambda sha, _longest, _why: self.model.picture_came(sha))
        theme.current().changed.connect(self.rows.scheduleDelayedItemsLayout)

    def _log(self) -> None:
        self.desk.show("quick_log")

    def _open(self, index: QModelIndex) -> None:
        ids = self.model.ids()
        if index.isValid() and index.row() < len(ids):
            self.piece_asked.emit(ids[index.row()])

    def _enter_rows(self) -> None:
        """Enter in the filter goes on to the rows; with one answer it opens it."""
        self._timer.stop()
        self._filter()
        if self.model.rowCount() == 1:
            self._open(self.model.index(0))
        elif self.model.rowCount():
            self.rows.setFocus(Qt.FocusReason.OtherFocusReason)
            self.rows.setCurrentIndex(self.model.index(0))

    def _filter(self) -> None:
        stage = self.stage.chosen()
        self.wanted = replace(
            self.wanted,
            text=self.text.text(),
            stage=str(stage) if stage else None,
            clay_id=_chosen_id(self.clay),
            glaze_id=_chosen_id(self.glaze),
        )
        self.reload()

    def show_all(self) -> None:
        """Take all filters away."""
        self.wanted = PieceFilter()
        self.text.set_text("")
        self._timer.stop()
        self.stage.choose(_ANY_STAGE)
        self.clay.choose(_ANY)
        self.glaze.choose(_ANY)
        self.reload()

    def show_filter(self, wanted: PieceFilter) -> None:
        """List what another place asks for."""
        self.show_all()
        self.text.set_text(wanted.text)
        self._timer.stop()
        self.wanted = wanted
        self.reload()
        self.stage.choose(wanted.stage or _ANY_STAGE)
        self.clay.choose(wanted.clay_id or _ANY)
        self.glaze.choose(wanted.glaze_id or _ANY)

    def reload(self) -> None:
        """Read the list anew; the row chosen stays chosen."""
        chosen = self.chosen()
        clays = self.desk.read(partial(list_clays, counted=False))
        kept = [self.wanted.glaze_id] if self.wanted.glaze_id else []
        glazes = self.desk.read(partial(list_glazes, counted=False, kept=kept))
        self.clay.set_choices(
            [
                Choice(_ANY, "any clay"),
                *(Choice(c.clay_id, c.name, ClayLook(c.name, c.colour, c.specks)) for c in clays),
            ]
        )
        self.clay.choose(self.wanted.clay_id or _ANY)
        self.glaze.set_choices(
            [
                Choice(_ANY, "any glaze"),
                *(
                    Choice(g.glaze_id, g.title, GlazeLook(g.title, g.colour, g.pattern))
                    for g in glazes
                ),
            ]
        )
        self.glaze.choose(self.wanted.glaze_id or _ANY)
        wanted = self.wanted
        self._more.stop()
        self._rest = []
        ids = self.desk.read(lambda session: find_piece_ids(session, wanted, limit=_FIRST))
        self.model.show_ids(ids)
        filtered = wanted != PieceFilter()
        self.clear.setVisible(filtered)
        if len(ids) == _FIRST:
            self.count.setText("")
            self._more.start()
        else:
            self._show_count()
        self.stack.setCurrentWidget(self.rows if ids else self.nothing if filtered else self.empty)
        self.nothing.set_sentence("No piece answers.", _say_filter(wanted))
        self.choose(chosen)

    def _read_more(self) -> None:
        """List a stretch more; all of them become rows at once, when the last is known."""
        wanted, last = self.wanted, (self._rest or self.model.ids())[-1]
        some = self.desk.read(
            lambda session: find_piece_ids(session, wanted, after=last, limit=_STRETCH)
        )
        self._rest.extend(some)
        if len(some) < _STRETCH:
            self._more.stop()
            self.model.add_ids(self._rest)
            self._rest = []
            self._show_count()

    def _read_all(self) -> None:
        while self._more.isActive():
            self._read_more()

    def _show_count(self) -> None:
        count = self.model.rowCount()
        many = f"{count:,}".replace(",", THIN)
        self.count.setText(f"{many} piece{'' if count == 1 else 's'}")

    def chosen(self) -> int | None:
        """The piece of the row chosen."""
        index = self.rows.currentIndex()
        ids = self.model.ids()
        return ids[index.row()] if index.isValid() and index.row() < len(ids) else None

    def choose(self, piece_id: int | None) -> None:
        """Choose the row of a piece, if it is listed."""
        if piece_id is None:
            return
        if piece_id not in self.model.ids():
            self._read_all()
        ids = self.model.ids()
        if piece_id in ids:
            index = self.model.index(ids.index(piece_id))
            self.rows.setCurrentIndex(index)
            self.rows.scrollTo(index)

    def ids(self) -> tuple[int, ...]:
        """The pieces listed, in order."""
        self._read_all()
        return self.model.ids()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if event.key() == Qt.Key.Key_F and (control or not event.modifiers()):
            self.text.setFocus(Qt.FocusReason.ShortcutFocusReason)
            self.text.line.selectAll()
        else:
            super().keyPressEvent(event)


def _chosen_id(picker: PickOne) -> int | None:
    chosen = picker.chosen()
    return chosen if isinstance(chosen, int) and chosen != _ANY else None


def _say_filter(wanted: PieceFilter) -> str:
    parts = []
    if wanted.text:
        parts.append(f"“{wanted.text}” stands in no number, name, glaze or note that was listed.")
    if wanted.stage or wanted.clay_id or wanted.glaze_id or wanted.run_id:
        parts.append("Take a filter away, or show all.")
    return " ".join(parts)

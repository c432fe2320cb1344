"""The pieces: their list, and the page of one."""

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.journal.piece_lines import PieceLink
from studiolog.journal.piece_list import PieceFilter
from studiolog.journal.piece_page import PiecePage, read_piece_page
from studiolog.problems import UserProblem
from studiolog.ui.parts.screen import Screen
from studiolog.ui.pieces.piece_list_view import PieceListView
from studiolog.ui.pieces.piece_view import PieceView


class PiecesScreen(Screen):
    """Show a piece with ``show_thing(piece_id)``, the list with 0.

    ``more`` may be a mapping: ``ids`` are the pieces one came from, in order, for Left and Right;
    ``run_id``, ``stage``, ``clay_id``, ``glaze_id`` and ``text`` filter the list.
    """

    kinds = frozenset(
        {"piece", "firing", "run", "glaze", "clay", "form", "kiln", "photo", "order", "set"}
    )
    title = "Pieces"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._piece_id = 0
        self._came_from: tuple[int, ...] = ()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.list = PieceListView(self.desk)
        self.view = PieceView(self.desk)
        self.stack = QStackedWidget()
        self.stack.addWidget(self.list)
        self.stack.addWidget(self.view)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.addWidget(self.stack)

    def _connect(self) -> None:
        self.list.piece_asked.connect(self._open_from_list)
        self.view.piece_asked.connect(self._step_to)
        self.view.list_asked.connect(lambda: self.show_thing(0))
        self.view.outdated.connect(self.reload)

    def piece_id(self) -> int:
        """The piece shown; 0 for the list."""
        return self._piece_id

    def show_thing(self, row_id: int, more: object = None) -> None:
        """Show a piece, or the list with 0."""
        self._came_from = ()
        if isinstance(more, dict):
            self._came_from = tuple(more.get("ids", ()))
            known = ("text", "stage", "clay_id", "glaze_id", "run_id", "counted")
            asked = {name: more[name] for name in known if name in more}
            if asked:
                self.list.show_filter(PieceFilter(**asked))
        shown, self._piece_id = self._piece_id, row_id
        self._stale = True
        self.freshen()
        if self._piece_id:
            self.view.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.list.choose(shown)
            self.list.rows.setFocus(Qt.FocusReason.OtherFocusReason)

    def _open_from_list(self, piece_id: int) -> None:
        self.show_thing(piece_id)

    def _step_to(self, piece_id: int) -> None:
        """To the piece before or after; the list one came from stays the same."""
        ids = self._came_from
        self.show_thing(piece_id)
        if ids:
            self._came_from = ids
            self.reload()

    def reload(self) -> None:
        """Read the list or the page anew. A piece that is gone leads back to the list."""
        if self._piece_id:
            piece_id = self._piece_id
            try:
                page = self.desk.read(lambda session: read_piece_page(session, piece_id))
            except UserProblem as problem:
                self.desk.notices.warn(problem.sentence)
                self._piece_id = 0
            else:
                self.show_page(page)
                return
        self.list.reload()
        self.stack.setCurrentWidget(self.list)

    def show_page(self, page: PiecePage) -> None:
        """Show the page of a piece."""
        self.view.show_page(page, self._neighbours(page))
        self.stack.setCurrentWidget(self.view)

    def _neighbours(self, page: PiecePage) -> tuple[PieceLink | None, PieceLink | None]:
        """The pieces before and after in the list one came from; else by number."""
        ids = self._came_from or self.list.ids()
        if page.piece_id not in ids or not (self._came_from or self._is_filtered()):
            return page.previous, page.following
        at = ids.index(page.piece_id)
        return self._link(ids, at - 1), self._link(ids, at + 1)

    def _is_filtered(self) -> bool:
        return self.list.wanted != PieceFilter()

    def _link(self, ids: tuple[int, ...], at: int) -> PieceLink | None:
        if not 0 <= at < len(ids):
            return None
        from studiolog.journal.piece_list import read_piece_rows

        rows = self.desk.read(lambda session: read_piece_rows(session, [ids[at]]))
        if not rows:
            return None
        return PieceLink(rows[0].piece_id, rows[0].number, rows[0].name)

    def foot(self) -> tuple[tuple[tuple[str, ...], str], ...]:
        """The keys of what is shown."""
        if not self._piece_id:
            return ((("F",), "filter"), (("Enter",), "open"))
        return (
            (("←", "→"), "piece before, after"),
            (("A", "D"), "move divider"),
            (("S",), "true scale or matched"),
            (("I",), "inspect again"),
            (("N",), "next-time note"),
            (("E",), "details"),
            (("L",), "layers"),
            (("M",), "moved to"),
        )

"""Findings: a question as a sentence, answered three ways, with the evidence of every rate."""

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import ANY_WIDTH, COLUMN_GAP, PAGE_MARGIN
from studiolog.journal.finding import FindingRow, Hit, read_rows
from studiolog.journal.findings_page import (
    CellPage,
    FindingsPage,
    read_cell_page,
    read_findings_page,
    usual_question,
)
from studiolog.journal.layer_words import GlazeName, WordedLayer, write_layers
from studiolog.journal.matrix import Columns, MatrixColumn
from studiolog.journal.question import Question
from studiolog.journal.question_reading import read_question
from studiolog.journal.questions import (
    KeptLine,
    delete_question,
    keep_question,
    rename_question,
)
from studiolog.journal.remarks import Remark, read_remarks
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.findings.chosen_cell import find_cell, first_cell
from studiolog.ui.findings.evidence import Evidence
from studiolog.ui.findings.kept_menu import KeptMenu
from studiolog.ui.findings.matrix_view import MatrixView
from studiolog.ui.findings.piece_grid import PieceGrid
from studiolog.ui.findings.piece_source import PieceSource
from studiolog.ui.findings.piece_table import PieceTable
from studiolog.ui.findings.question_bar import QuestionBar
from studiolog.ui.findings.side_column import SideColumn
from studiolog.ui.findings.words import (
    fault_word,
    say_counts,
    say_pieces,
    title_of_cell,
)
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState, ErrorState, link_button
from studiolog.ui.parts.text import Words

_NARROW, _SIDE = 1280, 340
_VIEWS = (Choice("matrix", "Matrix"), Choice("gallery", "Pictures"), Choice("table", "Table"))
_COLUMNS = (Choice("clay", "by clay"), Choice("cone", "by cone"), Choice("level", "by level"))


class FindingsScreen(Screen):
    """How often does a fault show, and on what."""

    kinds = frozenset(
        {"piece", "firing", "glaze", "clay", "kiln", "run", "photo", "question", "material"}
        | {"limit"}
    )
    title = "Findings"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self._question: Question | None = None
        self._columns: Columns = "clay"
        self._page: FindingsPage | None = None
        self._cell: tuple[int, int] | None = None
        self._cell_page: CellPage | None = None
        self._listed = "answer"  # or "left out", "cell"
        self._build()
        self._connect()

    def _build(self) -> None:
        self.bar = QuestionBar()
        self.counts = Words("", "secondary", tone="ink2")
        self.list_left_out = link_button("List them")
        self.view = SegmentedChoice("View", _VIEWS, keys="mpb")
        self.view.choose("matrix")
        self.columns = SegmentedChoice("Columns", _COLUMNS, keys="123")
        self.columns.choose("clay")
        self.kept = KeptMenu()
        self.matrix = MatrixView()
        self._cell_source = PieceSource(self._read_rows)
        self._list_source = PieceSource(self._read_rows)
        self.evidence = Evidence(self._cell_source, self.desk.pictures)
        self.list_title = Words("", "head", 600)
        self.list_all = link_button("All that answer")
        self.grid = PieceGrid(self._list_source, self.desk.pictures)
        self.table = PieceTable(self._list_source)
        self.side = SideColumn()
        self.blocked = ErrorState("Nothing answers this.", "Drop it")
        self.empty = EmptyState(
            "Findings say how often a fault shows, on which clay, under which glazes, and at "
            "which cone.",
            "Log a test tumbler with its clay and glazes, and look at it after its firing: "
            "each piece that was looked at counts.",
            "Log the first test",
        )
        self._lay_out()

    def _lay_out(self) -> None:
        told = FlowLayout(spacing=4, line_spacing=2)
        told.addWidget(self.counts)
        told.addWidget(self.list_left_out)
        counts = QHBoxLayout()
        counts.setSpacing(16)
        counts.addLayout(told, 1)
        counts.addWidget(self.kept, 0, Qt.AlignmentFlag.AlignTop)
        ways = FlowLayout(spacing=16, line_spacing=8)
        ways.addWidget(self.view)
        ways.addWidget(self.columns)
        heading = QHBoxLayout()
        heading.addWidget(self.list_title)
        heading.addWidget(self.list_all)
        heading.addStretch(1)
        main = QVBoxLayout()
        main.setSpacing(12)
        main.addLayout(ways)
        main.addWidget(self.matrix)
        main.addLayout(heading)
        main.addWidget(self.grid, 1)
        main.addWidget(self.table, 1)
        main.addSpacing(8)
        main.addWidget(self.evidence)
        main.addStretch(0)
        self._answer = QWidget()
        self._split = QBoxLayout(QBoxLayout.Direction.LeftToRight, self._answer)
        self._split.setContentsMargins(0, 0, 0, 0)
        self._split.setSpacing(COLUMN_GAP)
        self._split.addLayout(main, 1)
        self._split.addWidget(self.side)
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.setContentsMargins(PAGE_MARGIN, 16, PAGE_MARGIN, 16)
        rows.setSpacing(8)
        rows.addWidget(self.bar)
        rows.addLayout(counts)
        rows.addWidget(self.blocked)
        rows.addWidget(self.empty)
        rows.addWidget(self._answer, 1)
        self._area = QScrollArea()
        self._area.setWidgetResizable(True)
        self._area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._area.setWidget(page)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self._area)

    def _connect(self) -> None:
        self.bar.asked.connect(self.ask)
        self.view.picked.connect(lambda _view: self._show_view())
        self.columns.picked.connect(self._cut_by)
        self.matrix.chosen.connect(self._choose_cell)
        self.matrix.opened.connect(lambda _row, _column: self._list_cell())
        self.evidence.opened.connect(self._open_piece)
        self.evidence.all_asked.connect(self._list_cell)
        self.grid.opened.connect(self._open_piece)
        self.table.opened.connect(self._open_piece)
        self.list_left_out.clicked.connect(self._list_left_out)
        self.list_all.clicked.connect(self._list_answer)
        self.side.test_asked.connect(self._log_test)
        self.side.plan_asked.connect(self._lay_out_plan)
        self.side.cell_asked.connect(self._go_to_cell)
        self.blocked.acted.connect(self._drop_blocker)
        self.empty.acted.connect(lambda: self.desk.show("quick_log"))
        self.kept.asked.connect(self._ask_kept)
        self.kept.keep_asked.connect(self._keep)
        self.kept.rename_asked.connect(self._rename)
        self.kept.delete_asked.connect(self._forget)

    # Reading

    def reload(self) -> None:
        """Read the answer anew; the chosen cell stays chosen if it is still there."""
        if self._question is None:
            self._question = self.desk.read(usual_question)
        question, columns = self._question, self._columns
        page = self.desk.read(lambda session: read_findings_page(session, question, columns))
        self.show_page(page)

    def ask(self, question: Question) -> None:
        """Ask something else."""
        self._question = question
        self._listed = "answer"
        self._cell = self._cell_page = None
        self._stale = False
        self.reload()

    def show_thing(self, row_id: int, more: object = None) -> None:
        """``more``: a question, or a sentence (or ``{"question": sentence}``) that says one."""
        said = more.get("question") if isinstance(more, dict) else more
        if isinstance(said, Question):
            self.ask(said)
        elif isinstance(said, str):
            self._ask_sentence(said)

    def show_page(self, page: FindingsPage) -> None:
        """Show a question with its answer."""
        self._page = page
        self.bar.show_question(page.question, page.names)
        self.kept.show_kept(page.kept)
        counts = page.answer.counts
        self.counts.setText(say_counts(page.question, counts))
        unknown = sorted(page.names.glaze(one) for one in page.answer.no_formula)
        self.counts.setToolTip(f"No formula: {', '.join(unknown)}" if unknown else "")
        self.list_left_out.setVisible(bool(counts.left_out))
        self.blocked.setVisible(page.met_by_none)
        blocker = page.blocker
        if page.met_by_none:
            if blocker is not None:
                self.blocked.set_sentence(
                    f"No piece meets all of this. Without “{blocker.text}”, "
                    f"{say_pieces(blocker.pieces)} would."
                )
                self.blocked.action.setText(f"Drop “{blocker.text}”")
            else:
                self.blocked.set_sentence("No piece meets this, nor with any one part dropped.")
                self.blocked.action.setText(f"Ask only about {fault_word(page.question)}")
        self.empty.setVisible(not page.pieces_in_journal)
        self.counts.setVisible(bool(page.pieces_in_journal))
        # Before anything was tried the matrix still says what could be.
        nothing = page.met_by_none or not (page.matrix.rows and page.matrix.columns)
        self._answer.setVisible(not nothing)
        self._show_matrix(page)
        self._show_view()

    def _show_matrix(self, page: FindingsPage) -> None:
        before, old = self._cell, self._cell_page
        self._cell, self._cell_page = None, None
        self.matrix.show_matrix(page.matrix, page.question)
        self.side.show_matrix(page.matrix, page.question)
        at = find_cell(page, old) if before and old else None
        at = at or first_cell(page)
        if at is not None:
            self.matrix.choose(*at)
        else:
            self.side.show_remarks(self._remarks_of_all(page))

    def _remarks_of_all(self, page: FindingsPage) -> tuple[Remark, ...]:
        return self.desk.read(
            lambda session: read_remarks(session, page.question, page.matrix, page.answer.hits)
        )

    def _choose_cell(self, row: int, column: int) -> None:
        page = self._page
        if page is None:
            return
        self._cell = (row, column)
        found = self.desk.read(
            lambda session: read_cell_page(session, page.answer.asked, page.matrix, row, column)
        )
        self._cell_page = found
        self.evidence.show_cell(page.question, found)
        self.side.show_cell(row, column, found)
        self.side.show_remarks(found.remarks)

    def _read_rows(self, piece_ids: Sequence[int]) -> dict[int, FindingRow]:
        zone = self._question.zone if self._question else ""
        return self.desk.read(lambda session: read_rows(session, piece_ids, zone))

    # Three views

    def _show_view(self) -> None:
        chosen = self.view.chosen()
        matrix = chosen == "matrix"
        self.matrix.setVisible(matrix)
        self.columns.setVisible(matrix)
        self.evidence.setVisible(matrix and self._cell_page is not None)
        self.grid.setVisible(chosen == "gallery")
        self.table.setVisible(chosen == "table")
        self.side.setVisible(matrix)
        self.list_title.setVisible(not matrix)
        self.list_all.setVisible(not matrix and self._listed != "answer")
        if not matrix:
            self._show_list()

    def _show_list(self) -> None:
        page = self._page
        if page is None:
            return
        hits: tuple[Hit, ...] = page.answer.hits
        order = "those so first" if page.question.asks_surface() else "worst first"
        title = f"{say_pieces(len(hits))}, {order}"
        if self._listed == "left out":
            hits = page.answer.left_out
            title = f"{say_pieces(len(hits))} left out"
        elif self._listed == "cell" and self._cell_page is not None and self._cell is not None:
            hits = self._cell_page.all_hits
            title = f"{title_of_cell(page.matrix, *self._cell)}: {say_pieces(len(hits))}"
        self.list_title.setText(title)
        self._list_source.show_hits(hits)
        self.grid.show_again()
        self.table.show_again()

    def _list(self, what: str) -> None:
        self._listed = what
        if self.view.chosen() == "matrix":
            self.view.choose("gallery")
        self._show_view()
        (self.grid if self.view.chosen() == "gallery" else self.table).setFocus()

    def _list_left_out(self) -> None:
        self._list("left out")

    def _list_answer(self) -> None:
        self._list("answer")

    def _list_cell(self) -> None:
        if self._cell_page is not None and self._cell_page.all_hits:
            self._list("cell")
        elif self._cell_page is not None:
            self.side.ask_test()

    def _cut_by(self, columns: Columns) -> None:
        self._columns = columns
        self.reload()

    # What one does here

    def _open_piece(self, piece_id: int) -> None:
        self.desk.show("piece", piece_id)

    def _go_to_cell(self, row: int, column: int) -> None:
        self.matrix.choose(row, column)
        self.matrix.setFocus()

    def _swap(self) -> None:
        """Move to the row where the two glazes lie the other way round."""
        if self._page is None or self._cell is None:
            return
        row, column = self._cell
        over, under = self._page.matrix.rows[row].key
        for place, head in enumerate(self._page.matrix.rows):
            if under and head.key == (under, over):
                self.matrix.choose(place, column)
                return

    def _log_test(self, row: int, column: int, pieces: int) -> None:
        if self._page is None:
            return
        head, cut = self._page.matrix.rows[row], self._page.matrix.columns[column]
        zone = self._page.question.zone or "outside"
        laid = [part for part in (head.under, head.over) if part is not None]
        layers = [WordedLayer(part.glaze_id, zone) for part in laid]
        names = [GlazeName(part.glaze_id, part.title) for part in laid]
        prefill: dict[str, object] = {"layers": write_layers(layers, names)}
        clay_id = self._clay_of(cut)
        if clay_id is not None:
            prefill["clay_id"] = clay_id
        self.desk.show("quick_log", 0, {"prefill": prefill, "pieces": pieces})

    def _lay_out_plan(self, row: int, column: int) -> None:
        """Two glazes are tried each way up, one alone in steps of thickness."""
        if self._page is None:
            return
        head, cut = self._page.matrix.rows[row], self._page.matrix.columns[column]
        glazes = tuple(part.glaze_id for part in (head.under, head.over) if part is not None)
        title = title_of_cell(self._page.matrix, row, column)
        asked = f"{title}: {fault_word(self._page.question)}?"
        kind = "over_under" if len(glazes) > 1 else "thickness"
        wanted = PlanWanted(kind, glazes, self._clay_of(cut), asked[:1].upper() + asked[1:])
        self.desk.show("plan", 0, wanted)

    def _clay_of(self, cut: MatrixColumn) -> int | None:
        assert self._page is not None
        if self._page.matrix.by != "clay":
            return self._page.question.clay_id
        return cut.key if isinstance(cut.key, int) else None

    def _drop_blocker(self) -> None:
        if self._page is None:
            return
        blocker = self._page.blocker
        question = self._page.question
        self.ask(question.without(blocker.key) if blocker else Question(fault=question.fault))

    # Kept questions

    def _ask_kept(self, line: KeptLine) -> None:
        self._ask_sentence(line.sentence)

    def _ask_sentence(self, said: str) -> None:
        names = self._page.names if self._page else None
        if names is None:
            self.freshen()
            names = self._page.names if self._page else None
        if names is None:
            return
        reading = read_question(said, names)
        if reading.unread:
            self.bar.line.open(said)
            self.bar.line.show()
            self.bar.line.edit.setFocus()
        else:
            self.ask(reading.question)

    def _keep(self, name: str) -> None:
        question = self._question
        if question is None:
            return
        self._edit_kept(
            f"Keep question {name}", lambda session: keep_question(session, name, question)
        )

    def _rename(self, line: KeptLine, name: str) -> None:
        self._edit_kept(
            f"Rename question {line.name}",
            lambda session: rename_question(session, line.question_id, name, line.version),
        )

    def _edit_kept(self, label: str, edit: Callable[[Session], object]) -> None:
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            self.kept.name.set_problem(problem.fields.get("name", problem.sentence))
            return
        self.kept.put_away()

    def _forget(self, line: KeptLine) -> None:
        self.desk.edits.try_run(
            f"Forget question {line.name}",
            lambda session: delete_question(session, line.question_id),
        )

    # Keys and sizes

    def foot(self) -> tuple[tuple[str, str], ...]:
        return (
            ("/", "change the question"),
            ("←→↑↓", "move cell"),
            ("↵", "open its pieces"),
            ("O", "swap which is on top"),
            ("TL", "log the test, lay out a plan"),
            ("MPB", "matrix, pictures, table"),
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier:
            super().keyPressEvent(event)
            return
        typed = event.text().lower()
        views = {"m": "matrix", "p": "gallery", "b": "table"}
        cuts = {"1": "clay", "2": "cone", "3": "level"}
        if typed == "/":
            self.bar.start_typing()
        elif typed in views:
            self.view.pick(views[typed])
            widget = {"m": self.matrix, "p": self.grid, "b": self.table}[typed]
            widget.setFocus()
        elif typed in cuts and self.view.chosen() == "matrix":
            self.columns.pick(cuts[typed])
        elif typed == "o":
            self._swap()
        elif typed == "t":
            self.side.ask_test()
        elif typed == "l":
            self.side.ask_plan()
        elif event.key() == Qt.Key.Key_Escape and self._listed != "answer":
            self._list_answer()
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self.empty.isVisibleTo(self):
            self.empty.action.setFocus()
        elif self.view.chosen() == "matrix" and not self.bar.line.isVisible():
            self.matrix.setFocus()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        look = theme.current()
        narrow = self.width() < look.px(_NARROW)
        way = QBoxLayout.Direction.TopToBottom if narrow else QBoxLayout.Direction.LeftToRight
        self._split.setDirection(way)
        if narrow:
            self.side.setMinimumWidth(0)
            self.side.setMaximumWidth(ANY_WIDTH)
        else:
            self.side.setFixedWidth(look.px(_SIDE))

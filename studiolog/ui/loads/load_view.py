"""The page of a load: its shelves from above and from the side, what waits, what to look at."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.money import show_money
from studiolog.craft.units import show_quantity
from studiolog.craft.ware.load_plan import LoadPlan
from studiolog.craft.words import FIRING_KINDS
from studiolog.desktop.desk import Desk
from studiolog.journal.load_page import LoadPage, LoadPiece
from studiolog.journal.load_pieces import add_of_order, add_pieces, add_typed, take_out
from studiolog.journal.load_places import (
    keep_plan,
    move_piece,
    set_by_hand,
    set_catch_tile,
    stack_piece,
    turn_piece,
)
from studiolog.journal.load_shelves import set_cone_packs
from studiolog.journal.load_ware import read_cone_of_load
from studiolog.journal.load_warnings import LoadWarning
from studiolog.journal.loads import change_load
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.loads.board import LoadBoard
from studiolog.ui.loads.board_drawing import TrayGroup
from studiolog.ui.loads.load_looks import looks_of, tray_groups
from studiolog.ui.loads.packing_bar import PackingBar
from studiolog.ui.loads.planned_as import PlannedAs
from studiolog.ui.loads.shelf_rows import ShelfRows
from studiolog.ui.loads.side_view import FillBar, SideView
from studiolog.ui.loads.waiting_rows import WaitingSection
from studiolog.ui.loads.warning_rows import LikingsSection, WarningsSection
from studiolog.ui.parts.fields import EditableNote, ProblemLine, write_day
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import PageTitle, Section, primary_button
from studiolog.ui.parts.text import Caption, Figure, Text

_BECOMES = {"bisque": "bisque", "glaze": "fired", "test": "fired", "decoration": "fired"}
_HOW = (
    "Drag a piece, or choose one and move it: arrows 5 mm, with Shift 1 mm; PgUp and PgDn to "
    "another shelf; R turns, S stacks raw ware on its like, T sets a catch tile, P leaves it there "
    "when packed anew, Del takes it out; Space goes through the pieces."
)


class LoadView(QWidget):
    """Everything of one load; edits are kept at once, each with its own undo."""

    light_asked = Signal()
    print_asked = Signal()
    delete_asked = Signal()

    def __init__(self, desk: Desk, today: Callable[[], date]) -> None:
        super().__init__()
        self.desk, self._today = desk, today
        self._page: LoadPage | None = None
        self._reasons: dict[int, str] = {}
        self.title = PageTitle("")
        self.light = primary_button("Light it …")
        self.print_button = QPushButton("Print …")
        self.delete = QPushButton("Delete")
        for button, asked in (
            (self.delete, self.delete_asked),
            (self.print_button, self.print_asked),
            (self.light, self.light_asked),
        ):
            button.setAccessibleName(button.text())
            button.clicked.connect(asked)
            self.title.add_action(button)
        self.firing_line = QHBoxLayout()
        self.problem = ProblemLine()
        self.board = LoadBoard()
        self.packing = PackingBar(desk)
        self.told = Caption(_HOW, "ink2", wrap=True)
        self.shelf_rows = ShelfRows(desk)
        self.waiting = WaitingSection()
        self.side_view = SideView()
        self.fill = FillBar()
        self.warnings = WarningsSection()
        self.likings = LikingsSection()
        self.planned = PlannedAs(desk, today)
        self.note = EditableNote("Notes", hint="Add a note to this load")
        self.body = TwoColumns(fold_below=900)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        shelves = Section("Shelves", "seen from above, door at the front")
        for part in (self.packing, self.board, self.told):
            shelves.add(part)
        self.shelves = shelves
        full = Section("How full")
        self.figures = QHBoxLayout()
        self.by_area, self.by_volume = Figure("By area", ""), Figure("By volume", "")
        self.count = Figure("Pieces", "")
        self.figures.setSpacing(32)
        for figure in (self.by_area, self.by_volume, self.count):
            self.figures.addWidget(figure)
        self.figures.addStretch(1)
        full.add(self.figures)
        full.add(self.fill)
        full.add(self.side_view)
        self.cost = Section("What it costs")
        self.cost_words = Text("", "secondary", wrap=True)
        self.cost_forms = Text("", "secondary", tone="ink2", wrap=True)
        self.cost.add(self.cost_words)
        self.cost.add(self.cost_forms)
        plan = Section("Planned as", link="The kiln's shelves")
        plan.link_opened.connect(self._open_kiln)
        plan.add(self.planned)
        self.assumed = Text("", "secondary", tone="ochre", wrap=True)
        plan.add(self.assumed)
        plan.add(self.note)
        for section in (shelves, self.waiting, self.shelf_rows):
            self.body.main.addWidget(section)
        for section in (full, self.warnings, self.likings, self.cost, plan):
            self.body.side.addWidget(section)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 8, 32)
        rows.setSpacing(8)
        rows.addWidget(self.title)
        rows.addLayout(self.firing_line)
        rows.addWidget(self.problem)
        rows.addWidget(self.body)
        rows.addStretch(1)

    def _connect(self) -> None:
        board = self.board
        board.moved.connect(self._move)
        board.stack_asked.connect(self._stack)
        board.turn_asked.connect(self._turn)
        board.tile_asked.connect(self._toggle_tile)
        board.pin_asked.connect(self._toggle_pin)
        board.out_asked.connect(self._take_out)
        board.opened.connect(self._open_piece)
        board.told.connect(self._tell)
        board.chosen_changed.connect(self._hear_chosen)
        self.packing.proposed.connect(self._show_proposal)
        self.packing.settled.connect(self._keep_proposal)
        self.packing.left.connect(self._show_kept)
        self.waiting.put_in.connect(self._put_in)
        self.waiting.typed.connect(self._put_typed)
        self.waiting.order_asked.connect(self._put_order)
        self.warnings.cure_asked.connect(self._cure)
        self.warnings.pieces_meant.connect(self._mean)
        for shown in (self.waiting, self.warnings):
            shown.opened.connect(self.desk.show)
        self.planned.changed.connect(self._change)
        self.note.edited.connect(lambda text: self._change("notes", text))

    # Showing

    @property
    def page(self) -> LoadPage | None:
        """What is shown."""
        return self._page

    def show_page(self, page: LoadPage) -> None:
        """Show a load."""
        if self._page is None or self._page.load_id != page.load_id:
            self._reasons = {}
            self.problem.say("")
            self.packing.forget()
            self.board.choose(None)
            self.told.setText(_HOW)
        self._page = page
        lit = page.firing is not None
        self.title.set_title(page.title, _say_when(page))
        self._show_firing(page)
        self.light.setVisible(not lit)
        self.delete.setVisible(not lit)
        self.light.setEnabled(page.placed > 0)
        self.packing.show_page(page)
        self._show_kept()
        self.shelf_rows.setVisible(not lit)
        self.shelf_rows.show_page(page)
        self.waiting.setVisible(not lit)
        self.waiting.show_waiting(
            page.waiting, FIRING_KINDS[page.kind], read_cone_of_load(page.cone)
        )
        self._show_full(page)
        self.warnings.setVisible(not lit)
        self.warnings.show_warnings(page.warnings, page.fallen)
        self.likings.show_likings(page.likings)
        self._show_cost(page)
        self.planned.show_page(page)
        self.planned.setEnabled(not lit)
        self.assumed.setText(" ".join(page.inside.assumed))
        self.assumed.setVisible(bool(page.inside.assumed))
        self.note.set_text(page.notes)

    def _show_firing(self, page: LoadPage) -> None:
        while (item := self.firing_line.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        if page.firing is None:
            return
        ident, number = page.firing
        mark = NumberMark("firing", number, ident)
        mark.opened.connect(self.desk.show)
        self.firing_line.addWidget(Text("It was lit as", "body", tone="ink2"))
        self.firing_line.addWidget(mark)
        self.firing_line.addStretch(1)

    def _show_kept(self) -> None:
        page = self._page
        if page is None:
            return
        self.board.show_plan(
            page.plan, looks_of(page), self._tray(page), editable=page.firing is None
        )

    def _show_full(self, page: LoadPage) -> None:
        fill = page.fill
        worth = 100 * fill.by_area >= page.worth_percent
        self.by_area.set_value(
            show_quantity(100 * fill.by_area, "%"), "worth firing" if worth else ""
        )
        self.by_volume.set_value(show_quantity(100 * fill.by_volume, "%"))
        left = len(page.unplaced)
        self.count.set_value(str(page.placed), f"{left} without a place" if left else "")
        self.fill.show_fill(fill, page.worth_percent, _BECOMES[page.kind])
        stages = {key: piece.ware.stage for key, piece in page.pieces.items()}
        heats = {level.level_id: level.words for level in page.levels}
        self.side_view.show_plan(page.plan, stages, heats)

    def _show_cost(self, page: LoadPage) -> None:
        cost = page.cost
        parts = []
        if cost.kwh is not None:
            parts.append(f"About {show_quantity(cost.kwh, 'kWh')}")
        if cost.cost is not None:
            parts.append(show_money(cost.cost, cost.currency))
        words = ", ".join(parts)
        if cost.per_piece is not None:
            words += f": {show_money(cost.per_piece, cost.currency)} a piece"
        sentences = [f"{words}." if words else "", cost.cheapest, *cost.missing]
        self.cost_words.setText(" ".join(filter(None, sentences)))
        self.cost_words.setVisible(any(sentences))
        shared = [
            f"{name}: {show_money(each, cost.currency)} each" for name, _count, each in cost.by_form
        ]
        self.cost_forms.setText(
            f"By the ground they take: {'; '.join(shared)}." if len(shared) > 1 else ""
        )
        self.cost_forms.setVisible(len(shared) > 1)

    def _tray(self, page: LoadPage) -> tuple[TrayGroup, ...]:
        return tray_groups(page.unplaced, self._reasons, page.placed > 0)

    # Packing

    def _show_proposal(self, plan: LoadPlan) -> None:
        """What the packer has so far; nothing is kept yet."""
        page = self._page
        if page is None:
            return
        reasons = {left.key: left.words for left in plan.left_out}
        left = [page.pieces[key] for key in reasons if key in page.pieces]
        self.board.show_plan(
            plan, looks_of(page), tray_groups(left, reasons, True), editable=False, faint=True
        )

    def _keep_proposal(self, plan: LoadPlan) -> None:
        page = self._page
        if page is None:
            return
        self._reasons = {left.key: left.words for left in plan.left_out}
        load_id, shelves = page.load_id, plan.shelves
        self._run(f"Pack {page.title}", lambda session: keep_plan(session, load_id, shelves))
        if self._reasons:
            count = len(self._reasons)
            pieces = "1 piece is" if count == 1 else f"{count} pieces are"
            self.told.setText(f"{pieces} left out: {next(iter(self._reasons.values()))}")

    # Edits

    def _run(self, label: str, edit: Callable[[Session], Any]) -> bool:
        try:
            self.desk.edits.run(label, edit)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return False
        self.problem.say("")
        return True

    def _piece(self, key: int) -> LoadPiece | None:
        return self._page.pieces.get(key) if self._page is not None else None

    def _on_piece(self, verb: str, key: int, edit: Callable[[Session, int], Any]) -> None:
        page, piece = self._page, self._piece(key)
        if page is None or piece is None:
            return
        load_id = page.load_id
        if self._run(f"{verb} {_low(piece.label)}", lambda session: edit(session, load_id)):
            self.board.setFocus(Qt.FocusReason.OtherFocusReason)
            if self._piece(key) is not None:
                self.board.choose(key)
                self._tell(self.board.say_piece(key))

    def _move(self, key: int, position: int, x_mm: float, y_mm: float) -> None:
        page = self._page
        shelf = page.shelf_of(position) if page is not None else None
        if shelf is None:
            return
        shelf_id = shelf.shelf_id
        self._on_piece(
            "Move",
            key,
            lambda session, load_id: move_piece(session, load_id, key, shelf_id, x_mm, y_mm),
        )

    def _stack(self, key: int, on_key: int) -> None:
        self._on_piece(
            "Stack",
            key,
            lambda session, load_id: stack_piece(session, load_id, key, on_key),
        )

    def _turn(self, key: int) -> None:
        page = self._page
        if page is None or key not in page.plan.wares:
            return
        turns = page.plan.wares[key].footprint.turns_deg
        if len(turns) < 2:
            self._tell("It is round: turning changes nothing.")
            return
        self._on_piece(
            "Turn", key, lambda session, load_id: turn_piece(session, load_id, key, turns[1])
        )

    def _toggle_tile(self, key: int) -> None:
        piece = self._piece(key)
        on = piece is not None and not piece.on_tile
        self._on_piece(
            "Set on a catch tile:" if on else "Take the tile from under",
            key,
            lambda session, load_id: set_catch_tile(session, load_id, [key], on),
        )

    def _toggle_pin(self, key: int) -> None:
        piece = self._piece(key)
        if piece is not None and piece.shelf_id is None:
            self._tell("It has no place yet to be left at.")
            return
        on = piece is not None and not piece.by_hand
        self._on_piece(
            "Leave in place:" if on else "Let be moved:",
            key,
            lambda session, load_id: set_by_hand(session, load_id, [key], on),
        )

    def _take_out(self, key: int) -> None:
        self._on_piece("Take out", key, lambda session, load_id: take_out(session, load_id, [key]))

    def _put_in(self, ids: Sequence[int], name: str) -> None:
        page = self._page
        if page is not None:
            load_id, count = page.load_id, len(ids)
            what = f"{count} × {name}" if count > 1 else name
            self._put(f"Put {what} into the load", lambda s: add_pieces(s, load_id, ids))

    def _put_typed(self, text: str) -> None:
        page = self._page
        if page is None:
            return
        load_id = page.load_id
        try:
            self.desk.edits.run(
                f"Put {text} into the load", lambda session: add_typed(session, load_id, text)
            )
        except UserProblem as problem:
            self.waiting.numbers.set_problem(problem.sentence)
            return
        self.waiting.numbers.set_text("")
        self.packing.offer()

    def _put_order(self, order_id: int, number: int) -> None:
        page = self._page
        if page is not None:
            load_id = page.load_id
            self._put(
                f"Put order {number} into the load",
                lambda session: add_of_order(session, load_id, order_id),
            )

    def _put(self, label: str, edit: Callable[[Session], Any]) -> None:
        if self._run(label, edit):
            self.packing.offer()

    def _cure(self, warning: LoadWarning) -> None:
        page = self._page
        if page is None:
            return
        load_id, pieces = page.load_id, warning.pieces
        if warning.cure == "tile":
            without = len(page.unplaced)
            if self._run("Set catch tiles", partial(_tile_all, load_id, pieces)):
                # A tile is wider than its piece: who has no room for it is packed anew.
                after = self._page
                if after is not None and len(after.unplaced) > without:
                    self.packing.offer()
        elif warning.cure == "out":
            self._run("Take pieces out", lambda session: take_out(session, load_id, pieces))
        elif warning.cure == "pack":
            self._run("Set cone packs", lambda session: set_cone_packs(session, load_id))

    def _mean(self, pieces: Sequence[int]) -> None:
        if pieces:
            at = self.board.chosen
            after = pieces.index(at) + 1 if at in pieces else 0
            self.board.setFocus(Qt.FocusReason.OtherFocusReason)
            self.board.choose(pieces[after % len(pieces)])

    def _change(self, key: str, value: object) -> None:
        page = self._page
        if page is None:
            return
        load_id, version, today = page.load_id, page.version, self._today()

        def edit(session: Session) -> None:
            change_load(session, load_id, today, version, **{key: value})

        try:
            self.desk.edits.run(f"Change {page.title}", edit)
        except UserProblem as problem:
            if not self.planned.set_problem(key, problem.fields.get(key, problem.sentence)):
                self.problem.say(problem.sentence)
            self.planned.show_page(page)
            return
        self.problem.say("")

    def _hear_chosen(self, key: object) -> None:
        if key is None:
            self.told.setText(_HOW)

    def _tell(self, words: str) -> None:
        self.told.setText(words or _HOW)
        self.board.setAccessibleDescription(words)

    def _open_piece(self, key: int) -> None:
        self.desk.show("piece", key)

    def _open_kiln(self) -> None:
        if self._page is not None:
            self.desk.show("kiln", self._page.kiln_id)


def _tile_all(load_id: int, pieces: Sequence[int], session: Session) -> None:
    set_catch_tile(session, load_id, pieces, True)


def _say_when(page: LoadPage) -> str:
    if page.firing is not None:
        return ""
    words = []
    if page.planned_on is not None:
        words.append(f"planned for {write_day(page.planned_on)}")
    day, why = page.earliest
    first = f"it can be lit from {write_day(day)} on. {why}" if day else why
    words.append(first.strip())
    said = "; ".join(words)
    return said[:1].upper() + said[1:]


def _low(words: str) -> str:
    return words[:1].lower() + words[1:]

"""The head of a piece's page: its mark, its name, its facts, and where to go from here."""

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QMenu, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from studiolog.craft.words import FAULTS
from studiolog.desktop import theme
from studiolog.desktop.tokens import BUTTON_HEIGHT
from studiolog.journal.held_pieces import HeldFor
from studiolog.journal.piece_lines import PieceLink
from studiolog.journal.piece_page import PiecePage
from studiolog.journal.pieces import change_piece
from studiolog.ui.parts.fields import EditableText
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel, give_icon
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Text, link_button
from studiolog.ui.parts.severity import SEVERITY_WORDS
from studiolog.ui.parts.stage_bar import StageChip
from studiolog.ui.parts.text import Words
from studiolog.ui.pieces.looks import after_words, short_day
from studiolog.ui.pieces.page_edits import PageEdits, clear

_PAST = {
    "crazing": "Crazed",
    "crawling": "Crawled",
    "pinhole": "Pinholed",
    "running": "Ran",
    "blister": "Blistered",
    "shivering": "Shivered",
    "dunting": "Dunted",
    "bloating": "Bloated",
    "warping": "Warped",
    "crack": "Cracked",
    "dry": "Dry or underfired",
    "speck": "Specked",
    "colour_off": "Colour off",
}

_LONGEST_LINK = 44  # letters
_MOST_TOOLS = 5


class FaultChip(QWidget):
    """The worst fault as a chip on its wash: ``Crazed after 3 weeks``."""

    def __init__(self, fault: str, severity: int, days: int | None) -> None:
        super().__init__()
        words = _PAST.get(fault, FAULTS[fault].capitalize())
        if days is not None and days > 3:
            words += f" after {after_words(days)}"
        row = QHBoxLayout(self)
        row.setContentsMargins(8, 0, 8, 0)
        row.setSpacing(6)
        row.addWidget(IconLabel(fault, "rust", 16))
        row.addWidget(Text(words, "secondary", 600, "rust"))
        self.setFixedHeight(theme.current().px(24))
        self.setAccessibleName(f"{words}, {SEVERITY_WORDS[severity]}")
        self.setToolTip(self.accessibleName())
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._dress()
        theme.current().changed.connect(self._dress)

    def _dress(self) -> None:
        wash = theme.current().tokens.rustwash
        self.setStyleSheet(f"FaultChip {{ background: {wash}; border-radius: 4px; }}")


class PieceHeader(QWidget):
    """80 px: everything a potter calls the piece by, each part changed where it stands."""

    piece_asked = Signal(int)
    list_asked = Signal()
    details_asked = Signal()
    like_asked = Signal()
    delete_asked = Signal()
    move_asked = Signal(str)
    kind_asked = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._build()

    def _build(self) -> None:
        self._mark = NumberMark("piece", None, None, 48)
        self.title = EditableText("Title", "", "Piece", "title", 600)
        self.title.setObjectName("title")
        self.title.edited.connect(self._rename)
        self._facts_holder = QWidget()
        self._facts = FlowLayout(self._facts_holder, spacing=5, line_spacing=2)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self._facts_holder.setSizePolicy(policy)
        words = QVBoxLayout()
        words.setSpacing(0)
        words.addWidget(self.title)
        words.addWidget(self._facts_holder)
        self._chips = QHBoxLayout()
        self._chips.setSpacing(8)
        self._more = QPushButton("More")
        self._more.setAccessibleName("More to do with this piece")
        self._more.setMenu(self._make_menu())
        self._back = QPushButton()
        self._on = QPushButton()
        for button, sign in ((self._back, "arrow_left"), (self._on, "arrow_right")):
            give_icon(button, sign, "ink", 12)
            button.setMinimumWidth(theme.current().px(64))
        self._on.setLayoutDirection(Qt.LayoutDirection.RightToLeft)
        self._back.clicked.connect(lambda: self._go(-1))
        self._on.clicked.connect(lambda: self._go(+1))
        self._to: dict[int, int] = {}
        self._all = link_button("All pieces")
        self._all.clicked.connect(self.list_asked)
        self._ways = QWidget()
        ways = QHBoxLayout(self._ways)
        ways.setContentsMargins(0, 0, 0, 0)
        ways.setSpacing(16)
        ways.addLayout(self._chips)
        ways.addStretch(1)
        ways.addWidget(self._all)
        ways.addWidget(self._more)
        steps = QHBoxLayout()
        steps.setSpacing(8)
        steps.addWidget(self._back)
        steps.addWidget(self._on)
        ways.addLayout(steps)
        self._upper = QHBoxLayout()
        self._upper.setSpacing(16)
        self._upper.addWidget(self._mark)
        self._upper.addLayout(words, 1)
        self._upper.addWidget(self._ways)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 12, 0, 12)
        self._rows.setSpacing(12)
        self._rows.addLayout(self._upper)
        self._under = False

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._arrange()

    def _arrange(self) -> None:
        """Chips and ways beside the name where it is whole there, else under it."""
        px = theme.current().px
        name = max(px(280), min(self.title.sizeHint().width(), px(480)))
        beside = self._mark.sizeHint().width() + name + self._ways.sizeHint().width() + 2 * 16
        under = self.width() < beside
        if under != self._under:
            self._under = under
            (self._upper if under else self._rows).removeWidget(self._ways)
            (self._rows if under else self._upper).addWidget(self._ways)

    def _make_menu(self) -> QMenu:
        menu = QMenu(self)
        for words, signal in (
            ("Log another like this", self.like_asked),
            ("Edit details\tE", self.details_asked),
        ):
            action = QAction(words, menu)
            action.triggered.connect(partial(_say, signal))
            menu.addAction(action)
        self._kind = QAction("It is a tool", menu)
        self._kind.triggered.connect(partial(_say, self.kind_asked))
        menu.addAction(self._kind)
        menu.addSeparator()
        delete = QAction("Delete this piece", menu)
        delete.setToolTip("Undo brings it back")
        delete.triggered.connect(partial(_say, self.delete_asked))
        menu.addAction(delete)
        return menu

    def _go(self, way: int) -> None:
        if way in self._to:
            self.piece_asked.emit(self._to[way])

    def _rename(self, title: str) -> None:
        page = self._edits.page
        if page is None:
            return
        kept = self._edits.run(
            "Rename", partial(_change, page, title="" if title == _form_name(page) else title)
        )
        if not kept and self._edits.page is not None:
            self.title.set_text(self._edits.page.name)

    def show_page(self, page: PiecePage, before: PieceLink | None, after: PieceLink | None) -> None:
        """Show a piece; ``before`` and ``after`` are its neighbours in the list one came from."""
        self._mark.set_number(page.number, None)
        self.title.set_text(page.name)
        self.setAccessibleName(f"Piece {page.number or ''} {page.name}")
        self._kind.setText("It is ware after all" if page.kind == "tool" else "It is a tool")
        clear(self._facts)
        for widget in (*self._fact_widgets(page), *self._tool_widgets(page)):
            self._facts.addWidget(widget)
        self._facts.addWidget(self._fresh_details())
        clear(self._chips)
        self._chips.addWidget(StageChip(page.stage))
        worst = page.worst_fault
        if worst is not None:
            self._chips.addWidget(FaultChip(*worst))
        self._to = {}
        for way, button, link in ((-1, self._back, before), (1, self._on, after)):
            button.setVisible(link is not None)
            if link is not None:
                self._to[way] = link.piece_id
                number = "–" if link.number is None else str(link.number)
                button.setText(number)
                button.setAccessibleName(f"{'Before' if way < 0 else 'After'}: piece {number}")
                button.setToolTip(f"{link.name} ({'Left' if way < 0 else 'Right'})")
        for button in (self._back, self._on):
            button.setFixedHeight(theme.current().px(BUTTON_HEIGHT))
        self._arrange()

    def _fresh_details(self) -> QWidget:
        # The row of facts is built anew; the link goes with it.
        self.details = link_button("Edit details")
        self.details.setToolTip("Number, form, clay, day, where it is kept, what it came from (E)")
        self.details.clicked.connect(self.details_asked)
        return self.details

    def _fact_widgets(self, page: PiecePage) -> list[QWidget]:
        parts: list[str] = []
        if page.clay is not None:
            parts.append(page.clay.name)
        else:
            parts.append("Clay not said")
        if page.made_on is not None:
            verb = "thrown" if page.form is None or page.form.shape == "thrown" else "made"
            parts.append(f"{verb} {short_day(page.made_on)}")
        if page.form is not None and page.title:
            parts.insert(0, page.form.name)
        found: list[QWidget] = []
        tail = _kept_words(page.kept_where)
        if page.stage == "lost" and page.lost_why:
            tail = f"lost: {page.lost_why}" + (f", {tail}" if tail else "")
        if page.run is not None:
            found.append(Words(f"{', '.join(parts)}, run", "body", tone="ink2"))
            mark = NumberMark("run", page.run.number, page.run.run_id)
            mark.opened.connect(self._edits.desk.show)
            found.append(mark)
            place = f"piece {page.run.place} of {page.run.pieces}"
            found.append(Words(f"{place}, {tail}" if tail else place, "body", tone="ink2"))
            found += self._plan_link(page)
        else:
            words = ", ".join(filter(None, (*parts, tail)))
            found.append(Words(words, "body", tone="ink2"))
        if page.held_for is not None:
            found.append(self._held_link(page.held_for))
        return found

    def _held_link(self, held: HeldFor) -> QWidget:
        """The way to the order it is set aside for or left with, or to its set."""
        link = link_button(held.words, most=_LONGEST_LINK)
        link.clicked.connect(partial(self._edits.desk.show, held.kind, held.row_id))
        return link

    def _tool_widgets(self, page: PiecePage) -> list[QWidget]:
        """The tools it was made with; of a tool the way to what it was used on."""
        if page.kind == "tool":
            link = link_button("A tool")
            link.setToolTip("Its sizes, and what it was used on")
            link.clicked.connect(partial(self._edits.desk.show, "tool", page.piece_id))
            return [link]
        if not page.tools:
            return []
        found: list[QWidget] = [Words("made with", "body", tone="ink2")]
        for tool in page.tools[:_MOST_TOOLS]:
            mark = NumberMark("piece", tool.number, tool.tool_id)
            mark.setToolTip(f"{tool.title} {tool.number}")
            mark.setAccessibleName(f"Tool {tool.number}, {tool.title}")
            mark.opened.connect(partial(self._open_tool, tool.tool_id))
            found.append(mark)
        if len(page.tools) == 1:
            found.append(Words(page.tools[0].title, "body", tone="ink2"))
        return found

    def _open_tool(self, tool_id: int, _kind: str, _ident: int) -> None:
        self._edits.desk.show("tool", tool_id)

    def _plan_link(self, page: PiecePage) -> list[QWidget]:
        """The way to the test plan whose tile it is."""
        plan = page.plan
        if plan is None:
            return []
        link = link_button(f"Plan {plan.code}")
        link.setAccessibleName(f"Plan {plan.code}, {plan.name}")
        link.setToolTip(f"{plan.name}: {plan.words}")
        link.clicked.connect(partial(self._open_plan, plan.plan_id))
        return [link]

    def _open_plan(self, plan_id: int) -> None:
        self._edits.desk.show("plan", plan_id)


def _say(signal: object, _checked: bool = False) -> None:
    signal.emit()  # type: ignore[attr-defined]


def _kept_words(where: str) -> str:
    """``kept on the test shelf``; a bare place is set apart: ``kept: test shelf``."""
    if not where:
        return ""
    leads = where.split()[0].lower() in ("on", "in", "at", "by", "under", "with", "near")
    return f"kept {where}" if leads else f"kept: {where}"


def _form_name(page: PiecePage) -> str:
    return page.form.name if page.form is not None else ""


def _change(page: PiecePage, session: object, **fields: object) -> None:
    change_piece(session, page.piece_id, page.version, **fields)  # type: ignore[arg-type]

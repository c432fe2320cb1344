"""Items of a review with a box each: ticked, it goes into the page to share."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.review_pairs import Pair
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text, Words
from studiolog.ui.review.pair_view import PairView

_SHOWN = 12


@dataclass(frozen=True)
class Item:
    """One thing that may go in: what it says, of what, and where it leads (a noun and an id)."""

    key: str
    text: str
    where: str
    leads_to: tuple[str, int] | None = None


class TickedSection(Section):
    """``ticked`` carries a key and whether it goes in; ``opened`` a noun and an id."""

    ticked = Signal(str, bool)
    opened = Signal(str, int)

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self._all = False
        self.boxes: dict[str, QCheckBox] = {}

    def _begin(self, count: int) -> None:
        clear_layout(self.body)
        self.boxes.clear()
        self.setVisible(count > 0)

    def _box(self, key: str, about: str, without: Collection[str]) -> QCheckBox:
        box = QCheckBox()
        box.setChecked(key not in without)
        box.setAccessibleName(f"Goes in: {about}")
        box.toggled.connect(lambda on: self.ticked.emit(key, on))
        self.boxes[key] = box
        return box

    def _offer_rest(self, left: int, show: Callable[[], None]) -> None:
        if left <= 0:
            return
        words = "one more" if left == 1 else f"the other {left}"
        more = link_button(f"Show {words}")
        more.setAccessibleName(f"{self.title.text()}: show {words}")

        def show_all() -> None:
            self._all = True
            show()

        more.clicked.connect(lambda _on=False: show_all())
        self.body.addWidget(more, 0, Qt.AlignmentFlag.AlignLeft)


class NotesSection(TickedSection):
    """Lessons, next times, tests or questions, each a few lines."""

    def show_items(self, items: Sequence[Item], without: Collection[str], quiet: str = "") -> None:
        """Show items, the first dozen until the rest is asked for."""
        self._begin(len(items))
        self.set_quiet(quiet)
        shown = items if self._all else items[:_SHOWN]
        for item in shown:
            self.add(self._row(item, without))
        self._offer_rest(len(items) - len(shown), lambda: self.show_items(items, without, quiet))

    def _row(self, item: Item, without: Collection[str]) -> QWidget:
        row = QWidget()
        across = QHBoxLayout(row)
        across.setContentsMargins(0, 2, 0, 4)
        across.setSpacing(10)
        box = self._box(item.key, f"{item.text[:60]}, {item.where}", without)
        across.addWidget(box, 0, Qt.AlignmentFlag.AlignTop)
        lines = QVBoxLayout()
        lines.setSpacing(0)
        lines.addWidget(Text(item.text, "body", wrap=True))
        leads_to = item.leads_to
        if leads_to is not None:
            link = link_button(item.where, most=90)
            link.clicked.connect(lambda _on=False: self.opened.emit(*leads_to))
            lines.addWidget(link, 0, Qt.AlignmentFlag.AlignLeft)
        elif item.where:
            lines.addWidget(Words(item.where, "secondary", tone="ink3"))
        across.addLayout(lines, 1)
        return row


class PairsSection(TickedSection):
    """Before and after, in the order they were fired, two or three abreast."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Before and after", parent)
        self._desk = desk
        self._grid = QGridLayout()

    def show_pairs(self, pairs: Sequence[Pair], without: Collection[str], more: int) -> None:
        """Show those that go in, and all once they are asked for."""
        self._begin(len(pairs))
        shown = [pair for pair in pairs if self._all or pair.key not in without][: 10 * _SHOWN]
        of = f"{len(pairs) - len([p for p in pairs if p.key in without])} of {len(pairs)} go in"
        self.set_quiet(f"{of}; {more} older pairs are not shown" if more else of)
        grid = self._grid = QGridLayout()
        grid.setHorizontalSpacing(20)
        grid.setVerticalSpacing(14)
        across = self._across()
        for place, pair in enumerate(shown):
            grid.addWidget(self._cell(pair, without), place // across, place % across)
        for column in range(across):
            grid.setColumnStretch(column, 1)
        self.add(grid)
        left = len(pairs) - len(shown)
        self._offer_rest(left, lambda: self.show_pairs(pairs, without, more))

    def _across(self) -> int:
        wide = max(self.width(), theme.current().px(560))
        return max(1, min(3, wide // theme.current().px(270)))

    def _cell(self, pair: Pair, without: Collection[str]) -> QWidget:
        cell = QWidget()
        lines = QVBoxLayout(cell)
        lines.setContentsMargins(0, 0, 0, 0)
        lines.setSpacing(2)
        lines.addWidget(PairView(self._desk, pair))
        under = QHBoxLayout()
        under.setSpacing(8)
        under.addWidget(self._box(pair.key, pair.words, without), 0, Qt.AlignmentFlag.AlignTop)
        words = Words(pair.words, "secondary")
        under.addWidget(words, 1)
        lines.addLayout(under)
        return cell

    def minimumSizeHint(self) -> QSize:
        """Qt: pictures give way."""
        return QSize(theme.current().px(220), super().minimumSizeHint().height())

"""The kiln load, level by level, seen from above; pieces go in and out by their numbers."""

import re
from collections.abc import Sequence
from functools import partial

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.firing.cones import show_cone
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.firing_load import put_in_load, take_out_of_load
from studiolog.journal.firing_page import FiringPage, LevelPage, LoadPiece
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.kiln_shelf import KilnShelf, ShelfLevel, ShelfPiece
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text

_SHAPES = {"thrown": "round", "box": "box", "tile": "hex"}
_USUAL_SHELF_MM = 450.0
_SHELF = re.compile(r"shelf \d{1,3}")
"""As a load that was lit names the shelf of a piece, where several stand in its level."""


class LoadSection(Section):
    """A shelf for each level, and a line to type numbers into."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Kiln load", "seen from above, door at the bottom edge", parent=parent)
        self._desk = desk
        self._page: FiringPage | None = None
        self._shelves: dict[tuple[int, str], KilnShelf] = {}
        self.grid = QGridLayout()
        self.grid.setHorizontalSpacing(12)
        self.grid.setVerticalSpacing(4)
        self.key = Caption("", "ink2", wrap=True)
        self.without = Text("", "secondary", tone="ochre", wrap=True)
        self.level = SegmentedChoice("Level")
        self.numbers = LineField("", hint="388, 390-395, run 57")
        self.numbers.line.setAccessibleName("Numbers of the pieces")
        self.put_in = QPushButton("Put in")
        self.take_out = QPushButton("Take out")
        for button in (self.put_in, self.take_out):
            button.setAccessibleName(f"{button.text()} the pieces typed")
            button.setAutoDefault(False)
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(self.numbers, 1)
        line.addWidget(self.put_in)
        line.addWidget(self.take_out)
        rows = QVBoxLayout()
        rows.setSpacing(8)
        rows.addWidget(self.level)
        rows.addLayout(line)
        self.add(self.grid)
        self.add(self.key)
        self.add(self.without)
        self.add(rows)
        self.put_in.clicked.connect(self.put_typed_in)
        self.take_out.clicked.connect(self.take_typed_out)
        self.numbers.line.returnPressed.connect(self.put_typed_in)

    def show_page(self, page: FiringPage, meant: int | None = None) -> None:
        """Show the load; ``meant`` is the piece that one came from."""
        self._page = page
        wanted = [(level.level_id, which) for level in page.levels for which in _shelves_in(level)]
        if list(self._shelves) != wanted:
            self._make_shelves(wanted)
        for level in page.levels:
            for which in _shelves_in(level):
                shown = _shelf_of(page, level, which)
                self._shelves[level.level_id, which].show_level(shown, meant)
        self._size_shelves()
        self.level.set_choices([Choice(lev.level_id, lev.name) for lev in page.levels])
        if self.level.chosen() is None and page.levels:
            self.level.choose(page.levels[0].level_id)
        self.level.setVisible(len(page.levels) > 1)
        faulty = [piece for piece in page.pieces if piece.faults]
        words = f"{len(page.pieces)} pieces" if len(page.pieces) != 1 else "1 piece"
        if faulty:
            words += f"; a cross is a fault seen: {len(faulty)} of {len(page.pieces)}"
        self.key.setText(words + "." if page.pieces else "Nothing in the load yet.")
        names = ", ".join(piece.label for piece in page.unlevelled[:8])
        more = "" if len(page.unlevelled) <= 8 else f" and {len(page.unlevelled) - 8} more"
        self.without.setText(f"On no level yet: {names}{more}. Put them on one by number.")
        self.without.setVisible(bool(page.unlevelled))

    def shelf(self, level_id: int) -> KilnShelf:
        """The shelf of one level; of several the lowest."""
        return next(shelf for key, shelf in self._shelves.items() if key[0] == level_id)

    def put_typed_in(self) -> None:
        """Put the pieces typed on the chosen level."""
        self._change("Put pieces into", put_in_load, self.level.chosen())

    def take_typed_out(self) -> None:
        """Take the pieces typed out of the load."""
        self._change("Take pieces out of", take_out_of_load)

    def _change(self, words: str, edit: object, *level: object) -> None:
        page = self._page
        text = self.numbers.text()
        if page is None:
            return
        if not text:
            self.numbers.set_problem("Type the numbers of the pieces, like 388, 390-395, run 57.")
            return
        assert callable(edit)
        try:
            self._desk.edits.run(
                f"{words} firing {page.number}",
                lambda session: edit(session, page.firing_id, *level, text),
            )
        except UserProblem as problem:
            self.numbers.set_problem(problem.sentence)
        else:
            self.numbers.set_text("")

    def _make_shelves(self, wanted: Sequence[tuple[int, str]]) -> None:
        for old in self._shelves.values():
            self.grid.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._shelves = {}
        for place, (level_id, which) in enumerate(wanted):
            shelf = KilnShelf()
            shelf.piece_chosen.connect(partial(self._open, level_id))
            self._shelves[level_id, which] = shelf
            self.grid.addWidget(shelf, place // 3, place % 3)

    def _size_shelves(self) -> None:
        """A square shelf each, and the caption under it."""
        abreast = max(1, min(3, len(self._shelves)))
        wide = max(96, (self.width() - 12 * (abreast - 1)) // abreast)
        px = theme.current().px
        for shelf in self._shelves.values():
            shelf.setFixedHeight(min(wide, px(170)) + px(26))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._size_shelves()

    def _open(self, _level_id: int, piece_id: int) -> None:
        self._desk.show("piece", piece_id)


def _shelves_in(level: LevelPage) -> tuple[str, ...]:
    """The shelves of a level that its pieces name ("shelf 2"), "" where none does."""
    named = {piece.position for piece in level.pieces if _SHELF.fullmatch(piece.position)}
    if len(named) < 2:
        return ("",)
    return tuple(sorted(named, key=lambda name: int(name.split()[1])))


def _shelf_of(page: FiringPage, level: LevelPage, which: str) -> ShelfLevel:
    across = page.shelf_across_mm or _USUAL_SHELF_MM
    square = page.shelf_shape != "rectangle" or page.shelf_deep_mm is None
    deep = across if square else page.shelf_deep_mm or across
    names = _shelves_in(level)
    # What names no shelf is set on the lowest: somebody put it in by its number alone.
    pieces = [
        piece
        for piece in level.pieces
        if piece.position == which or (which == names[0] and piece.position not in names)
    ]
    area = sum(3.1416 / 4 * piece.across_mm**2 for piece in pieces)
    ground = across * deep * (3.1416 / 4 if page.shelf_shape == "round" else 1.0)
    # A pack was read at the level, and is drawn once.
    cones = level.cones if which == names[0] else ()
    return ShelfLevel(
        f"{level.name.capitalize()}{f', {which}' if which else ''}",
        across,
        deep,
        tuple(_shelf_piece(piece, across, deep) for piece in pieces),
        round_shelf=page.shelf_shape == "round" and page.shelf_across_mm is not None,
        cones=tuple(show_cone(cone.cone) for cone in cones),
        aimed_cone=show_cone(page.cone) if page.cone else "",
        fill_percent=min(100.0, 100 * area / ground) if pieces else None,
    )


def _shelf_piece(piece: LoadPiece, across_mm: float, deep_mm: float) -> ShelfPiece:
    known = piece.shelf_x is not None and piece.shelf_y is not None
    return ShelfPiece(
        piece.piece_id,
        piece.label,
        _SHAPES.get(piece.shape, "round"),
        piece.across_mm,
        x_mm=(piece.shelf_x or 0.0) * across_mm if known else None,
        y_mm=(piece.shelf_y or 0.0) * deep_mm if known else None,
        fault=piece.faults,
    )

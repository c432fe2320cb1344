"""The materials: those on the shelf, those that are known besides, and the page of one."""

from collections.abc import Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QPushButton

from studiolog.craft.glaze.materials import shipped_materials
from studiolog.journal.material_page import MaterialPage, read_material_page, shipped_ident
from studiolog.journal.materials import (
    MaterialLine,
    add_material,
    change_material,
    delete_material,
    list_materials,
    put_on_shelf,
    shipped_not_on_shelf,
)
from studiolog.journal.session import Session
from studiolog.journal.shopping import show_mass
from studiolog.ui.materials.material_view import MaterialView
from studiolog.ui.materials.shopping_sheet import open_shopping_list
from studiolog.ui.parts.basis_mark import BasisLook
from studiolog.ui.parts.list_and_page import ListAndPage
from studiolog.ui.parts.side_list import ListRow

SHELF, IDLE, KNOWN = "On the shelf", "Neither used nor counted", "Known, not on the shelf"


class MaterialsScreen(ListAndPage):
    """Raw materials with their analyses in lots, what is left of them, and what to buy."""

    kinds = frozenset(
        {"material", "material_lot", "lot_oxide", "stock_change", "recipe_line", "glaze", "bucket"}
        | {"layer", "limit", "test_plan"}
    )
    title = "Materials"
    noun, plural, counted = "material", "Materials", "recipes"
    empty = (
        "Name your materials.",
        "Their pages keep the supplier's analyses in dated lots, what is on the shelf, and what it "
        "cost.",
    )

    def build(self) -> None:
        super().build()
        self.shopping = QPushButton("Shopping list")
        self.shopping.setToolTip("S")
        self.side.add_foot(self.shopping)
        self.shopping.clicked.connect(self.open_shopping)
        assert isinstance(self.page, MaterialView)
        self.page.shelf_asked.connect(self.put_shown_on_shelf)

    def read_rows(self, session: Session, archived: bool) -> Sequence[ListRow]:
        rows = [
            ListRow(
                line.material_id,
                line.name,
                _quiet(line),
                line.recipes,
                line.archived,
                _mark(line),
                "recipes",
                IDLE if line.idle else SHELF,
            )
            for line in sorted(list_materials(session, archived=archived), key=_is_idle)
        ]
        shipped = shipped_materials()
        known = [
            ListRow(
                shipped_ident(place),
                shipped[place].name,
                ", ".join(shipped[place].also),
                0,
                False,
                BasisLook(shipped[place].basis if shipped[place].analysis.is_given else ""),
                "recipes",
                KNOWN,
            )
            for place in shipped_not_on_shelf(session)
        ]
        return rows + sorted(known, key=lambda row: row.title.casefold())

    def read_page(self, session: Session, ident: int, start: int) -> MaterialPage | None:
        return read_material_page(session, ident)

    def make_page(self) -> MaterialView:
        return MaterialView(self.desk)

    def add(self, session: Session, name: str) -> int:
        return add_material(session, name)

    def archive(self, session: Session, ident: int, archived: bool) -> None:
        change_material(session, ident, archived=archived)

    def delete(self, session: Session, ident: int) -> None:
        delete_material(session, ident)

    def put_shown_on_shelf(self) -> None:
        """Put the known material that is shown on the shelf, and show its own page."""
        if self._ident >= 0:
            return
        place = -1 - self._ident
        label = f"Put {shipped_materials()[place].name} on the shelf"
        made = self.desk.edits.run(label, partial(put_on_shelf, place=place))
        self.show_thing(made)
        self.desk.notices.say(f"{self._title} is on the shelf.", "Undo", self.desk.edits.undo)

    def open_shopping(self) -> None:
        """Show what is to be bought."""
        open_shopping_list(self.desk, date.today(), self)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        before, (keys, does), last = super().foot()[:3], super().foot()[3], super().foot()[4:]
        does = "put on the shelf" if self._ident < 0 else does
        return (*before, (("S",), "shopping list"), (keys, does), *last)

    def _show(self, page: MaterialPage | None) -> None:
        super()._show(page)
        self.foot_changed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        enter = event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
        if event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            super().keyPressEvent(event)
        elif event.key() == Qt.Key.Key_S:
            self.open_shopping()
        elif enter and self._ident < 0:
            self.put_shown_on_shelf()
        else:
            super().keyPressEvent(event)


def _is_idle(line: MaterialLine) -> bool:
    return line.idle


def _quiet(line: MaterialLine) -> str:
    stock = line.stock
    words = []
    if stock.grams is not None:
        words.append(f"{'low: ' if stock.is_low else ''}{show_mass(stock.grams)}")
    if not line.basis:
        words.append("no analysis")
    return ", ".join(words)


def _mark(line: MaterialLine) -> BasisLook | str:
    return "warning" if line.stock.is_low else BasisLook(line.basis)

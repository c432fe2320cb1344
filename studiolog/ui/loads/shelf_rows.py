"""The shelves of a load one by one: the posts above each, its cone pack; more of them, or fewer."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.units import show_number
from studiolog.craft.words import SHELF_PARTS
from studiolog.desktop.desk import Desk
from studiolog.journal.load_page import LoadPage, LoadShelfLine
from studiolog.journal.load_shelves import (
    add_shelf,
    change_shelf,
    remove_shelf,
    set_cone_pack,
    set_cone_pack_on,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Text


class ShelfRows(Section):
    """A row a shelf, the top one first; each change is kept at once."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Shelves and posts", "the top one first", parent=parent)
        self._desk = desk
        self._page: LoadPage | None = None
        self.problem = ProblemLine()
        self.rows = QVBoxLayout()
        self.rows.setSpacing(8)
        self.part = PickOne(
            "Part of the new shelf", [Choice(key, word) for key, word in SHELF_PARTS.items()]
        )
        self.part.choose("full")
        self.high = NumberField("", "mm", None, 0)
        self.high.line.setAccessibleName("Room above the new shelf, mm")
        self.add_button = QPushButton("Add a shelf")
        self.add_button.setAccessibleName("Add a shelf on top")
        self.add_button.setAutoDefault(False)
        new = FlowLayout(spacing=12, line_spacing=8)
        for part in (Text("On top", "secondary", tone="ink2"), self.part, self.high):
            new.addWidget(part)
        new.addWidget(self.add_button)
        self.posts = Caption("", wrap=True)
        self.add(self.problem)
        self.add(self.rows)
        self.add(new)
        self.add(self.posts)
        self.add_button.clicked.connect(self.add_one)
        self.high.line.returnPressed.connect(self.add_one)

    def show_page(self, page: LoadPage) -> None:
        """Show the shelves of a load; one that was lit can't be changed."""
        if self._page is None or self._page.load_id != page.load_id:
            self.problem.say("")
        self._page = page
        clear_layout(self.rows)
        for line in reversed(page.shelves):
            self.rows.addWidget(self._row(page, line))
        heights = ", ".join(show_number(height) for height in page.inside.posts_mm)
        stacked = page.plan.rules.posts_stacked
        left = page.inside.shelves - sum(line.part == "full" for line in page.shelves)
        self.posts.setText(
            f"Posts of {heights} mm, up to {stacked} on each other. "
            f"{max(0, left)} whole shelves are left of {page.inside.shelves}."
        )
        if not self.high.text() and page.inside.posts_mm:
            self.high.set_value(page.inside.posts_mm[len(page.inside.posts_mm) // 2])

    def _row(self, page: LoadPage, line: LoadShelfLine) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        flow = FlowLayout(spacing=12, line_spacing=4)
        name = f"Shelf {line.position}"
        part = "" if line.part == "full" else f", {SHELF_PARTS[line.part]}"
        flow.addWidget(Text(f"{name}{part}, {line.level}", "secondary", 600))
        shelf = page.plan.shelf(line.position)
        top = not any(
            "full" in (line.part, one.part) or one.part == line.part
            for one in page.shelves
            if one.position > line.position
        )
        if top:
            flow.addWidget(Text(f"{show_number(shelf.clear_mm)} mm up to the lid", "secondary"))
        else:
            high = NumberField("", "mm above", line.clear_mm, 0)
            high.line.setAccessibleName(f"Posts above shelf {line.position}, mm")
            high.value_changed.connect(partial(self._change_height, line, high))
            flow.addWidget(high)
        has_pack = shelf.pack_mm is not None
        pack = link_button("Take its cone pack away" if has_pack else "Set a cone pack")
        pack.setAccessibleName(f"{pack.text()}: shelf {line.position}")
        pack.clicked.connect(partial(self._toggle_pack, line, has_pack))
        drop = link_button("Remove")
        drop.setAccessibleName(f"Remove shelf {line.position}")
        drop.clicked.connect(partial(self._remove, line))
        flow.addWidget(pack)
        flow.addWidget(drop)
        row.addLayout(flow, 1)
        return holder

    def add_one(self) -> None:
        """Set a shelf on top of the others."""
        page = self._page
        if page is None:
            return
        try:
            high = self.high.value()
        except UserProblem:
            return
        if not high or high <= 0:
            self.high.set_problem("Say how much room is above it, in mm.")
            return
        load_id, part = page.load_id, str(self.part.chosen() or "full")
        self._run("Add a shelf", lambda session: add_shelf(session, load_id, high, part))

    def _change_height(self, line: LoadShelfLine, field: NumberField, value: object) -> None:
        if value is None:
            field.set_value(line.clear_mm)
            return
        high = float(str(value))
        kept = self._run(
            f"Change the posts above shelf {line.position}",
            lambda session: change_shelf(session, line.shelf_id, clear_mm=high),
        )
        if not kept:
            field.set_value(line.clear_mm)

    def _toggle_pack(self, line: LoadShelfLine, has_pack: bool, _checked: bool = False) -> None:
        if has_pack:
            self._run(
                f"Take the cone pack off shelf {line.position}",
                lambda session: set_cone_pack(session, line.shelf_id, None),
            )
        else:
            self._run(
                f"Set a cone pack on shelf {line.position}",
                lambda session: set_cone_pack_on(session, line.shelf_id),
            )

    def _remove(self, line: LoadShelfLine, _checked: bool = False) -> None:
        self._run(
            f"Remove shelf {line.position}", lambda session: remove_shelf(session, line.shelf_id)
        )
        self.add_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def _run(self, label: str, edit: Callable[[Session], Any]) -> bool:
        try:
            self._desk.edits.run(label, edit)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return False
        self.problem.say("")
        return True

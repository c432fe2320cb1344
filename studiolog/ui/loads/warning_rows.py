"""What to look at before a load is lit, each with its evidence as marks and what cures it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.journal.load_page import LevelLiking
from studiolog.journal.load_warnings import URGENT, Evidence, LoadWarning
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.marks import Kind, NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Text

CURES = {
    "tile": "Set them on catch tiles",
    "pack": "Set cone packs",
    "out": "Take them out",
}


class WarningsSection(Section):
    """``cure_asked`` carries a warning, ``pieces_meant`` the ids it is about, ``opened`` a mark."""

    cure_asked = Signal(object)
    pieces_meant = Signal(object)
    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Before it is lit", parent=parent)
        self.rows = QVBoxLayout()
        self.rows.setSpacing(14)
        self.none = Text("Nothing is known that speaks against it.", "secondary", tone="ink2")
        self.add(self.none)
        self.add(self.rows)

    def show_warnings(self, warnings: Sequence[LoadWarning], fallen: Sequence[str]) -> None:
        """Show what to look at; ``fallen`` are sentences of pieces that left their stage."""
        clear_layout(self.rows)
        for sentence in fallen:
            self.rows.addWidget(self._row("rust", sentence, ()))
        for number, warning in enumerate(warnings, start=1):
            tone = "rust" if warning.weight == URGENT else "ochre"
            self.rows.addWidget(self._row(tone, warning.words, warning.evidence, warning, number))
        self.none.setVisible(not warnings and not fallen)
        urgent = sum(one.weight == URGENT for one in warnings) + len(fallen)
        self.set_quiet(f"{urgent} to settle" if urgent else "", "rust" if urgent else "ink3")

    def _row(
        self,
        tone: str,
        words: str,
        evidence: Sequence[Evidence],
        warning: LoadWarning | None = None,
        number: int = 0,
    ) -> QWidget:
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(IconLabel("warning", tone, 16), 0, Qt.AlignmentFlag.AlignTop)
        body = QVBoxLayout()
        body.setSpacing(4)
        said = Text(words, "secondary", tone="ink" if tone == "rust" else "ink2", wrap=True)
        body.addWidget(said)
        if evidence or (warning is not None and (warning.cure or warning.pieces)):
            body.addLayout(self._feet(evidence, warning, number))
        row.addLayout(body, 1)
        return holder

    def _feet(
        self, evidence: Sequence[Evidence], warning: LoadWarning | None, number: int
    ) -> FlowLayout:
        feet = FlowLayout(spacing=6, line_spacing=4)
        for mark in evidence:
            kind: Kind = "firing" if mark.kind == "firing" else "piece"
            shown = NumberMark(kind, mark.number, mark.ident)
            shown.setAccessibleName(f"{shown.accessibleName()}, evidence of warning {number}")
            shown.opened.connect(self.opened)
            feet.addWidget(shown)
        if warning is not None and warning.pieces:
            which = link_button("Show them")
            which.setAccessibleName(f"Show the pieces of warning {number}")
            which.clicked.connect(partial(self._mean, warning))
            feet.addWidget(which)
        if warning is not None and warning.cure:
            cure = link_button(CURES[warning.cure])
            cure.setAccessibleName(f"{CURES[warning.cure]}: warning {number}")
            cure.clicked.connect(partial(self._ask_cure, warning))
            feet.addWidget(cure)
        return feet

    def _mean(self, warning: LoadWarning, _checked: bool = False) -> None:
        self.pieces_meant.emit(warning.pieces)

    def _ask_cure(self, warning: LoadWarning, _checked: bool = False) -> None:
        self.cure_asked.emit(warning)


class LikingsSection(Section):
    """Which levels the ware likes, and what tells it."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Levels they like", parent=parent)
        self.rows = QVBoxLayout()
        self.rows.setSpacing(10)
        self.add(self.rows)

    def show_likings(self, likings: Sequence[LevelLiking]) -> None:
        """Show them; without any the section goes."""
        clear_layout(self.rows)
        alike: dict[str, list[str]] = {}
        for one in likings:
            count = f"{len(one.pieces)} × " if len(one.pieces) > 1 else ""
            head = f"{count}{one.name}{f', {one.glazes}' if one.glazes else ''}"
            alike.setdefault(one.liking.why, []).append(head)
        for why, heads in alike.items():
            self.rows.addWidget(Text("; ".join(heads), "secondary", 600, wrap=True))
            self.rows.addWidget(Text(why, "secondary", tone="ink2", wrap=True))
        self.setVisible(bool(likings))

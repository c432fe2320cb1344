"""What goes into the page to share: sections, money, customers; and the button that makes it."""

from collections.abc import Mapping

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QProgressBar, QPushButton, QWidget

from studiolog.journal.review import Review
from studiolog.paper.review_blocks import SECTIONS
from studiolog.ui.parts.fields import ProblemLine
from studiolog.ui.parts.section import Section, primary_button
from studiolog.ui.parts.text import Caption, Text


class WhatGoesIn(QWidget):
    """``changed`` tells that a section or the money was ticked, ``customers_asked`` carries
    whether customers are to be named, ``make_asked`` and ``stop_asked`` run the job."""

    changed = Signal()
    customers_asked = Signal(bool)
    make_asked = Signal()
    stop_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.section = Section("What goes in", "into the page to share")
        self.boxes: dict[str, QCheckBox] = {}
        for key, words in SECTIONS.items():
            self.boxes[key] = self._box(words, checked=True)
            self.boxes[key].setAccessibleName(f"Section: {words}")
        self.money = self._box("Amounts of money", checked=False)
        self.customers = QCheckBox("Customers by name")
        self.customers.toggled.connect(self.customers_asked)
        self.section.body.insertSpacing(len(SECTIONS), 8)
        self.section.add(self.customers)
        self.left_out = Text("", "secondary", tone="ink2", wrap=True)
        self.section.add(self.left_out)
        self.share = Section("Share it")
        self.make = primary_button("Make the page")
        self.progress = QProgressBar()
        self.progress.setTextVisible(False)
        self.progress.setAccessibleName("Photos read")
        self.stop = QPushButton("Stop")
        self.stop.setAccessibleName("Stop reading photos")
        self.at = Caption("", wrap=True)
        self.problem = ProblemLine()
        buttons = QHBoxLayout()
        buttons.setSpacing(8)
        buttons.addWidget(self.make)
        buttons.addWidget(self.stop)
        buttons.addStretch(1)
        self.share.add(buttons)
        for part in (self.progress, self.at, self.problem):
            self.share.add(part)
        self.share.add(
            Caption(
                "As PDF or as one HTML file, looked at first. Photos are made small and lose what "
                "the camera wrote into them: time, place and device.",
                wrap=True,
            )
        )
        self.make.clicked.connect(self.make_asked)
        self.stop.clicked.connect(self.stop_asked)
        self.show_busy(False)

    def _box(self, words: str, *, checked: bool) -> QCheckBox:
        box = QCheckBox(words)
        box.setChecked(checked)
        box.toggled.connect(lambda _on: self.changed.emit())
        self.section.add(box)
        return box

    def sections(self) -> frozenset[str]:
        """The keys of the sections ticked."""
        return frozenset(key for key, box in self.boxes.items() if box.isChecked())

    def show_review(self, review: Review, counts: Mapping[str, int]) -> None:
        """Say what there is: sections without anything can't be ticked, and are said to be so."""
        for key, box in self.boxes.items():
            box.setEnabled(bool(counts.get(key)))
        self.money.setEnabled(review.taken is not None or review.taken_before is not None)
        if review.customers:
            words = "Customers are named: look at the page before you give it away."
        elif review.left_out:
            one = review.left_out == 1
            words = (
                f"{review.left_out} {'passage that names' if one else 'passages that name'} a "
                f"customer {'is' if one else 'are'} left out."
            )
        else:
            words = "No customer is named in it."
        self.left_out.setText(words)
        self.make.setEnabled(not review.empty)

    def show_busy(self, busy: bool, done: int = 0, total: int = 0, what: str = "") -> None:
        """Show how far the photos are, or nothing."""
        self.stop.setVisible(busy)
        self.progress.setVisible(busy)
        self.at.setVisible(busy)
        self.make.setEnabled(not busy)
        self.progress.setRange(0, max(total, 1))
        self.progress.setValue(done)
        self.at.setText(f"Reading {what}" if what else "Reading the photos")

"""A bucket on the page of its glaze: one line, opened to its history and quick entry."""

from collections.abc import Callable
from datetime import date
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.units import show_quantity
from studiolog.journal.buckets import BucketPage, ChangeLine, GlazeBuckets, delete_change
from studiolog.journal.glazes import change_bucket, delete_bucket
from studiolog.journal.session import Session
from studiolog.ui.glazes.bucket_entry import BucketEntry
from studiolog.ui.glazes.bucket_words import (
    say_change,
    say_dry,
    say_gravity,
    say_gravity_now,
    say_left,
    say_litres,
    say_state,
)
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import ProblemLine, write_day
from studiolog.ui.parts.icon import IconButton
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption, Text, Words

AS_MIXED = (
    Property("mixed_on", "Mixed on", "day"),
    Property("dry_g", "Dry", "number", "g", 1, 0.1),
    Property("water_g", "Water", "number", "g", 1, 0),
    Property("specific_gravity", "Specific gravity as mixed", "number", "", 3, 1.01, 2.99),
    Property("adjustments", "Note", hint="What was changed while mixing"),
)


class BucketRow(QWidget):
    """``toggled`` carries the id when its line is pressed."""

    toggled = Signal(int)

    def __init__(
        self,
        page: ThingPage,
        bucket_id: int,
        today: Callable[[], date],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._page, self.bucket_id = page, bucket_id
        self._bucket: BucketPage | None = None
        self._open = False
        self.line = link_button("")
        self.told = Words("", "body")
        self.left = Words("", "secondary", tone="ink2")
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(self.line, 0, Qt.AlignmentFlag.AlignTop)
        head.addWidget(self.told, 1)
        head.addWidget(self.left)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 6, 0, 6)
        rows.setSpacing(8)
        rows.addLayout(head)
        self.details = QWidget()
        self.details.hide()
        rows.addWidget(self.details)
        self._build_details(today)
        self.line.clicked.connect(lambda: self.toggled.emit(self.bucket_id))

    def _build_details(self, today: Callable[[], date]) -> None:
        body = QVBoxLayout(self.details)
        body.setContentsMargins(0, 0, 0, 12)
        body.setSpacing(10)
        self.state = Text("", "body", wrap=True)
        self.gravity = Text("", "secondary", tone="ink2", wrap=True)
        self.by_form = Text("", "secondary", tone="ink2", wrap=True)
        self.weighed = Text("", "secondary", tone="ink2", wrap=True)
        self.entry = BucketEntry(self._page, self.bucket_id, today)
        self.problem = ProblemLine()
        self._history = QGridLayout()
        self._history.setContentsMargins(0, 0, 0, 0)
        self._history.setHorizontalSpacing(12)
        self._history.setVerticalSpacing(2)
        self._history.setColumnStretch(1, 1)
        self.as_mixed = PropertySheet(AS_MIXED, 3)
        self.as_mixed_link = link_button("As it was mixed")
        self.used_up = QCheckBox("Used up")
        self.delete_link = link_button("Delete this bucket")
        for widget in (self.state, self.gravity, self.by_form, self.entry):
            body.addWidget(widget)
        body.addLayout(self._history)
        body.addWidget(self.problem)
        body.addWidget(self.weighed)
        feet = QHBoxLayout()
        feet.setSpacing(16)
        feet.addWidget(self.used_up)
        feet.addWidget(self.as_mixed_link)
        feet.addStretch(1)
        feet.addWidget(self.delete_link)
        body.addLayout(feet)
        body.addWidget(self.as_mixed)
        self.as_mixed.hide()
        self.as_mixed_link.clicked.connect(
            lambda: self.as_mixed.setVisible(self.as_mixed.isHidden())
        )
        self.as_mixed.changed.connect(self._keep)
        self.used_up.clicked.connect(lambda on: self._keep("used_up", on))
        self.delete_link.clicked.connect(self._delete)

    def show_bucket(self, bucket: BucketPage, glaze: GlazeBuckets) -> None:
        """Show a bucket as it is now."""
        self._bucket = bucket
        day = write_day(bucket.mixed_on)
        self.line.setText(day)
        self._name_line()
        self.told.setText(_say_line(bucket))
        self.told.set_tone("ink3" if bucket.used_up else "ink")
        left = ""
        if bucket.pieces_left is not None and not bucket.state.emptied:
            left = f"{say_left(bucket.pieces_left)} left"
        self.left.setText(left)
        self.left.setVisible(bool(left))
        self.state.setText(say_state(bucket))
        gravity = say_gravity_now(bucket)
        self.gravity.setText(f"Specific gravity {gravity}." if gravity else "")
        self.gravity.setVisible(bool(gravity))
        forms = "; ".join(f"{form}: {say_left(left)}" for form, left in bucket.left_by_form)
        many = len(bucket.left_by_form) > 1
        self.by_form.setText(
            f"It still glazes {forms}, if it can be used to the last." if many else ""
        )
        self.by_form.setVisible(many)
        lines = " · ".join(
            f"{line.material} {show_quantity(line.weighed_g or line.wanted_g, 'g', 1)}"
            for line in bucket.lines
        )
        self.weighed.setText(f"Weighed into it: {lines}." if lines else "")
        self.weighed.setVisible(bool(lines))
        self.entry.show_bucket(bucket, glaze)
        self._show_history(bucket.changes)
        self.as_mixed.show_values(vars(bucket))
        self.used_up.setChecked(bucket.used_up)
        self.used_up.setAccessibleName(f"Used up: the bucket of {day}")
        self.as_mixed_link.setAccessibleName(f"As it was mixed: the bucket of {day}")
        self.delete_link.setAccessibleName(f"Delete the bucket of {day}")

    def set_open(self, opened: bool) -> None:
        """Show or hide its history."""
        self._open = opened
        self.details.setVisible(opened)
        self._name_line()

    def show_as_mixed(self) -> None:
        """Let its figures be typed."""
        self.as_mixed.show()
        self.as_mixed.field("dry_g").setFocus()

    def _name_line(self) -> None:
        act = "close" if self._open else "open"
        self.line.setAccessibleName(f"Bucket of {self.line.text()}: {act} its history")

    def _show_history(self, changes: tuple[ChangeLine, ...]) -> None:
        clear_layout(self._history)
        for place, change in enumerate(changes):
            day, said = write_day(change.on), say_change(change)
            when = Caption(day)
            when.setMinimumHeight(when.sizeHint().height() + 4)
            words = Text(said, "secondary", wrap=True)
            take_out = IconButton("cross", f"Take out: {said}, {day}", "ink3")
            take_out.clicked.connect(partial(self._take_out, change))
            self._history.addWidget(when, place, 0)
            self._history.addWidget(words, place, 1)
            self._history.addWidget(take_out, place, 2)

    def _label(self, what: str) -> str:
        day = write_day(self._bucket.mixed_on) if self._bucket is not None else ""
        return f"{what} the bucket of {self._page.head.name.text()} of {day}"

    def _take_out(self, change: ChangeLine) -> None:
        self._page.run(
            self._label("Take a row out of the history of"),
            lambda session: delete_change(session, change.change_id),
            self.problem.say,
        )

    def _keep(self, key: str, value: object) -> None:
        bucket = self._bucket
        if bucket is None:
            return

        def edit(session: Session) -> None:
            change_bucket(session, bucket.bucket_id, bucket.version, **{key: value})

        self._page.run(self._label("Change"), edit, self.problem.say)

    def _delete(self) -> None:
        self._page.run(
            self._label("Delete"),
            lambda session: delete_bucket(session, self.bucket_id),
            self.problem.say,
        )


def _say_line(bucket: BucketPage) -> str:
    """``7.1 l at 1.45, 5.1 kg dry``, in the line of a bucket."""
    state = bucket.state
    if bucket.used_up:
        return "used up"
    words = ""
    if state.volume_ml is not None:
        words = say_litres(state.volume_ml)
    if state.specific_gravity is not None:
        gravity = say_gravity(round(state.specific_gravity, 2))
        words = f"{words} at {gravity}" if words else f"specific gravity {gravity}"
    if state.dry_g is not None:
        words = ", ".join(filter(None, (words, f"{say_dry(state.dry_g)} dry")))
    return words or "how much is in it is not known"

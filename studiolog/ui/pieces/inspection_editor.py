"""One inspection filled in: a day, for each fault looked for how much was seen, the surface."""

from collections.abc import Sequence
from datetime import date

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.craft.words import FAULTS
from studiolog.desktop import theme
from studiolog.journal.inspections import (
    FaultDraft,
    InspectionDraft,
    SurfaceDraft,
    delete_inspection,
    log_inspection,
)
from studiolog.journal.piece_changes import rewrite_inspection
from studiolog.journal.piece_lines import FaultLine, InspectionLine
from studiolog.problems import UserProblem
from studiolog.ui.parts.fields import DayField, LineField, ProblemLine
from studiolog.ui.parts.icon import IconLabel
from studiolog.ui.parts.section import Caption, Hairline, Text, link_button, primary_button
from studiolog.ui.parts.severity import SeverityPicker
from studiolog.ui.parts.surface_words import SurfaceWords
from studiolog.ui.pieces.page_edits import PageEdits, clear


class FaultEdit(QWidget):
    """One fault: a picker, and once it was looked for, where and a note."""

    zone_asked = Signal(str)

    def __init__(
        self, fault: str, line: FaultLine | None = None, zones: Sequence[str] = ()
    ) -> None:
        super().__init__()
        self.fault = fault
        words = FAULTS[fault].capitalize()
        self.picker = SeverityPicker(words, line.severity if line else None)
        self.picker.setObjectName(f"severity_{fault}")
        self._words, self._line = words, line
        self.zone: LineField | None = None
        self.note: LineField | None = None
        self._detail: QWidget | None = None
        name = QHBoxLayout()
        name.setSpacing(6)
        name.addWidget(IconLabel(fault, "ink", 16))
        name.addWidget(Text(words, "secondary", 500, wrap=True), 1)
        holder = QWidget()
        holder.setLayout(name)
        name.setContentsMargins(0, 0, 0, 0)
        holder.setFixedWidth(theme.current().px(92))
        top = QHBoxLayout()
        top.setSpacing(4)
        top.addWidget(holder)
        top.addWidget(self.picker)
        top.addStretch(1)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(2)
        self._rows.addLayout(top)
        self.picker.picked.connect(lambda _severity: self._follow())
        self._follow()

    def _make_detail(self) -> QWidget:
        """Where and a note: made when first wanted, for most faults are only looked for."""
        zone, note = (self._line.zone, self._line.note) if self._line else ("", "")
        self.zone = LineField("", zone, "where (empty: whole piece)")
        self.zone.line.setAccessibleName(f"{self._words}: where")
        self.note = LineField("", note, "note")
        self.note.line.setAccessibleName(f"{self._words}: note")
        more = link_button("Another zone")
        more.setAccessibleName(f"{self._words}: read another zone too")
        more.clicked.connect(lambda: self.zone_asked.emit(self.fault))
        detail = QWidget()
        under = QHBoxLayout(detail)
        under.setContentsMargins(22, 0, 0, 2)
        for field in (self.zone, self.note):
            field.line.setMinimumWidth(theme.current().px(72))
        under.setSpacing(6)
        under.addWidget(self.zone, 3)
        under.addWidget(self.note, 3)
        under.addWidget(more)
        self._rows.addWidget(detail)
        return detail

    def _follow(self) -> None:
        severity = self.picker.severity()
        said = self._line is not None and bool(self._line.zone or self._line.note)
        wanted = severity is not None and (severity > 0 or said)
        if wanted and self._detail is None:
            self._detail = self._make_detail()
        if self._detail is not None:
            self._detail.setVisible(wanted)

    def look(self) -> None:
        """Looked for, none seen; what was seen already stays."""
        if self.picker.severity() is None:
            self.picker.set_severity(0)
            self._follow()

    def draft(self) -> FaultDraft | None:
        """The reading; None if the fault was not looked for."""
        severity = self.picker.severity()
        if severity is None:
            return None
        zone = self.zone.text() if self.zone is not None else ""
        note = self.note.text() if self.note is not None else ""
        return FaultDraft(self.fault, severity, zone, note)


class InspectionEditor(QWidget):
    """All faults as rows. Ctrl D: looked for all, none seen. Ctrl Enter keeps, Esc leaves."""

    closed = Signal()

    def __init__(self, edits: PageEdits, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._edits = edits
        self._line: InspectionLine | None = None
        self.rows: list[FaultEdit] = []
        self._build()

    def _build(self) -> None:
        self._head = Text("Inspect", "body", 600)
        self.day = DayField("Looked on")
        self.stress = QCheckBox("Stress tested")
        self.stress.setToolTip("Hot and cold water, freezer or oven: crazing was provoked")
        self.stress.setAccessibleName("Stress tested")
        self.surface = SurfaceWords()
        self.note = LineField("Note", hint="drips stop 3 mm above the foot")
        self.all_none = link_button("Looked for all, none seen")
        self.all_none.setToolTip("Ctrl D")
        self.problem = ProblemLine()
        self.save = primary_button("Save inspection")
        cancel = QPushButton("Cancel")
        self.delete = link_button("Delete")
        self.delete.setAccessibleName("Delete this inspection")
        top = QHBoxLayout()
        top.setSpacing(12)
        top.addWidget(self.day)
        top.addWidget(self.stress, 0, Qt.AlignmentFlag.AlignBottom)
        top.addStretch(1)
        self._list = QVBoxLayout()
        self._list.setSpacing(2)
        keys = QHBoxLayout()
        keys.addWidget(Caption("0 none seen to 3 severe, − not looked", wrap=True), 1)
        keys.addWidget(self.all_none)
        foot = QHBoxLayout()
        foot.setSpacing(8)
        foot.addWidget(self.delete)
        foot.addStretch(1)
        foot.addWidget(cancel)
        foot.addWidget(self.save)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 4, 0, 8)
        rows.setSpacing(8)
        rows.addWidget(Hairline())
        rows.addWidget(self._head)
        rows.addLayout(top)
        rows.addLayout(keys)
        rows.addLayout(self._list)
        rows.addWidget(Text("Surface: a letter says a word", "secondary", 600))
        rows.addWidget(self.surface)
        rows.addWidget(self.note)
        rows.addWidget(self.problem)
        rows.addLayout(foot)
        self.all_none.clicked.connect(self.look_for_all)
        self.save.clicked.connect(self.keep)
        cancel.clicked.connect(self.closed)
        self.delete.clicked.connect(self.delete_it)

    def open(self, line: InspectionLine | None) -> None:
        """Change an inspection, or begin a new one, today, with None."""
        self._line = line
        self.problem.say("")
        self._head.setText("Change inspection" if line is not None else "Inspect again")
        self.day.set_day(line.looked_on if line is not None else date.today())
        self.stress.setChecked(line.stress_tested if line is not None else False)
        self.note.set_text(line.note if line is not None else "")
        self.delete.setVisible(line is not None)
        self.surface.show_words(
            [SurfaceDraft(one.word, one.zone) for one in line.surfaces] if line is not None else [],
            self._glazed_zones(),
        )
        clear(self._list)
        self.rows = []
        for fault in FAULTS:
            read: list[FaultLine | None] = []
            if line is not None:
                read += [one for one in line.faults if one.fault == fault]
            for reading in read or [None]:
                self._put(FaultEdit(fault, reading), len(self.rows))
        self.rows[0].picker.setFocus(Qt.FocusReason.OtherFocusReason)

    def _glazed_zones(self) -> tuple[str, ...]:
        page = self._edits.page
        return tuple(dict.fromkeys(one.zone for one in page.layers)) if page is not None else ()

    def _put(self, row: FaultEdit, place: int) -> None:
        row.zone_asked.connect(self.add_zone)
        self.rows.insert(place, row)
        self._list.insertWidget(place, row)

    def add_zone(self, fault: str) -> None:
        """Read the same fault on another zone."""
        places = [place for place, row in enumerate(self.rows) if row.fault == fault]
        row = FaultEdit(fault)
        self._put(row, places[-1] + 1)
        row.picker.setFocus(Qt.FocusReason.OtherFocusReason)

    def look_for_all(self) -> None:
        """Every fault not said yet: looked for, none seen."""
        for row in self.rows:
            row.look()

    def draft(self) -> InspectionDraft:
        """The inspection as filled in. Raises `UserProblem`."""
        day = self.day.day()
        if day is None:
            sentence = "Say on which day you looked."
            self.day.set_problem(sentence)
            raise UserProblem(sentence)
        if day > date.today():
            sentence = "That day is still to come: write the day you looked."
            self.day.set_problem(sentence)
            raise UserProblem(sentence)
        found = [row.draft() for row in self.rows]
        return InspectionDraft(
            looked_on=day,
            faults=tuple(one for one in found if one is not None),
            surfaces=self.surface.words(),
            stress_tested=self.stress.isChecked(),
            note=self.note.text(),
        )

    def keep(self) -> None:
        """Write the inspection; what is wrong is said beneath."""
        page, line = self._edits.page, self._line
        if page is None:
            return
        try:
            draft = self.draft()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        if not (draft.faults or draft.surfaces or draft.note):
            self.problem.say(
                "Say for at least one fault what you saw, a word for the surface, or write a note."
            )
            return
        if line is None:
            kept = self._edits.run(
                "Inspect",
                lambda session: log_inspection(session, page.piece_id, draft),
                self.problem,
            )
        else:
            kept = self._edits.run(
                "Change an inspection of",
                lambda session: rewrite_inspection(
                    session, line.inspection_id, line.version, line.reading_versions, draft
                ),
                self.problem,
            )
        if kept:
            self.closed.emit()

    def delete_it(self) -> None:
        """Delete the inspection; undo brings it back."""
        line = self._line
        if line is None:
            return
        if self._edits.run(
            "Delete an inspection of",
            lambda session: delete_inspection(session, line.inspection_id),
            self.problem,
        ):
            self._edits.desk.notices.say(
                "The inspection is deleted.", "Undo", self._edits.desk.edits.undo
            )
            self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        control = event.modifiers() & Qt.KeyboardModifier.ControlModifier
        if control and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.keep()
        elif control and event.key() == Qt.Key.Key_D:
            self.look_for_all()
        elif event.key() == Qt.Key.Key_Escape:
            self.closed.emit()
        else:
            super().keyPressEvent(event)

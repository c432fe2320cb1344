"""A load is lit: when, under which number and title, and what is still to settle before."""

from __future__ import annotations

from datetime import datetime, time, timedelta

from PySide6.QtWidgets import QHBoxLayout, QWidget

from studiolog.craft.days import write_day
from studiolog.desktop.desk import Desk
from studiolog.journal.load_lighting import LightDraft, light_load
from studiolog.journal.load_page import LoadPage
from studiolog.journal.load_warnings import URGENT
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.fields import DayField, LineField
from studiolog.ui.parts.keep_sheet import KeepSheet
from studiolog.ui.parts.text import Text


class LightSheet(KeepSheet):
    """Makes the firing of a load and shows its page."""

    enter_keeps = True

    def __init__(
        self, desk: Desk, page: LoadPage, now: datetime, parent: QWidget | None = None
    ) -> None:
        super().__init__(f"Light {page.title}", "Light it", parent)
        self._desk, self._page = desk, page
        self._latest = now.date() + timedelta(days=1)
        planned = page.planned_on or now.date()
        day = planned if now.date() <= planned <= self._latest else now.date()
        self.day = DayField("Day", day, "future", now.date)
        self.time = LineField("Time", f"{now:%H:%M}", "7:30")
        self.title_field = LineField("Title", "", "what it is called, if anything")
        row = QHBoxLayout()
        row.setSpacing(24)
        row.addWidget(self.day)
        row.addWidget(self.time)
        row.addStretch(1)
        self.body.addWidget(Text(_say_what(page), "body", wrap=True))
        urgent = [one for one in page.warnings if one.weight == URGENT]
        for warning in urgent:
            self.body.addWidget(CautionLine(warning.words))
        self.body.addLayout(row)
        self.body.addWidget(self.title_field)
        self.body.addStretch(1)
        self.take_size(560, 320 + 60 * len(urgent))
        self.time.line.setFocus()

    def keep(self) -> None:
        """Light it: the firing is made with everything where it stands."""
        try:
            started = self._started()
            draft = LightDraft(started_at=started, title=self.title_field.text())
            load_id = self._page.load_id
            firing_id = self._desk.edits.run(
                f"Light {self._page.title}",
                lambda session: light_load(session, load_id, draft),
            )
        except UserProblem as problem:
            self.why_not.say(problem.sentence)
            return
        self.accept()
        self._desk.show("firing", firing_id)

    def _started(self) -> datetime:
        day = self.day.day()
        if day is None:
            raise UserProblem("Say on which day it is lit.")
        if day > self._latest:
            raise UserProblem(
                f"{write_day(day)} is still to come: light it on that day, or the evening before "
                "where the controller waits."
            )
        return datetime.combine(day, read_time(self.time.text()))


def read_time(text: str) -> time:
    """A time of the day as typed: "7:30", "7.30", "0730", "7". Raises `UserProblem`."""
    plain = text.strip().replace(".", ":").replace("h", ":").strip(":")
    if plain.isdecimal() and len(plain) in (3, 4):
        plain = f"{plain[:-2]}:{plain[-2:]}"
    hours, _, minutes = plain.partition(":")
    if hours.isdecimal() and (minutes or "0").isdecimal():
        hour, minute = int(hours), int(minutes or "0")
        if hour < 24 and minute < 60:
            return time(hour, minute)
    raise UserProblem(f"“{text.strip()}” is no time of the day: write it like 7:30.")


def _say_what(page: LoadPage) -> str:
    placed = page.placed - sum(
        page.pieces[key].shelf_id is not None for key in page.fallen_ids if key in page.pieces
    )
    words = "1 piece goes" if placed == 1 else f"{placed} pieces go"
    words += f" into {page.kiln}"
    if page.program:
        words += f" with {page.program}"
    words += "."
    left = len(page.unplaced)
    if left:
        words += f" {left} without a place {'waits' if left == 1 else 'wait'} on."
    if page.fallen_ids:
        words += f" {len(page.fallen_ids)} that left the stage it had stays out."
    return words

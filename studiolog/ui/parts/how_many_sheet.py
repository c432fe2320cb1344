"""How many can be begun at once: the forms, the cover, the weather and the hands; then the sum."""

from collections.abc import Hashable
from functools import partial
from typing import ClassVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.craft.words import COVERS, DRYING_WEATHERS
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.form_choices import list_form_names
from studiolog.journal.how_many import USUAL_COVER, Asked, WorkingTime, read_how_many
from studiolog.journal.stage_times import read_stage_times
from studiolog.problems import UserProblem
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.sum_lines import SumLines
from studiolog.ui.parts.text import Figure, Text
from studiolog.ui.parts.working_time_words import (
    say_chance,
    say_count,
    say_needed,
    say_untimed,
    say_wrapping,
)

_NONE = 0


class HowManySheet(KeepSheet):
    """``start_asked`` carries what a run that follows is to be given: form and count."""

    scrolls: ClassVar[bool] = True
    start_asked = Signal(object)

    def __init__(self, desk: Desk, form_id: int | None = None, parent: QWidget | None = None):
        super().__init__("How many at once", "Start a run of so many", parent)
        self.desk = desk
        self.page: WorkingTime | None = None
        self.leave_button.setText("Close")
        self.leave_button.setAccessibleName("Close")
        self._times = desk.read(read_stage_times)  # read once: it is asked at every letter
        forms = [
            Choice(form.form_id, form.name, note=form.note)
            for form in desk.read(partial(list_form_names, by_name=False))
        ]
        self.form = PickOne("Form", forms, "Type part of a form's name" if forms else "No form yet")
        self.beside = PickOne("And as many of", [Choice(_NONE, "nothing else"), *forms])
        self.cover = PickOne("Standing", [Choice(key, word) for key, word in COVERS.items()])
        self.weather = PickOne(
            "Weather", [Choice(key, word) for key, word in DRYING_WEATHERS.items()]
        )
        self.hands = NumberField("At the bench", "", None, 0, 1, 40)
        self.hours = NumberField("Hours a day", "h", None, 1, 0.5, 24)
        self.form.choose(form_id if form_id else (forms[0].ident if forms else None))
        self.beside.choose(_NONE)
        self.cover.choose(USUAL_COVER)
        self.weather.choose("usual")
        self._build()
        for pick in (self.form, self.beside, self.cover, self.weather):
            pick.picked.connect(lambda _ident: self.refresh())
        for field in (self.hands, self.hours):
            field.line.textChanged.connect(lambda _text: self.refresh())
        self.take_size(980, 720)
        self.refresh()
        self.form.setFocus()

    def _build(self) -> None:
        look = theme.current()
        asked = FlowLayout(spacing=16, line_spacing=10)
        for words, pick in (
            ("Form", self.form),
            ("And as many of", self.beside),
            ("Standing", self.cover),
            ("Weather", self.weather),
        ):
            holder = QWidget()
            box = labelled(words, pick)
            box.setContentsMargins(0, 0, 0, 0)
            holder.setLayout(box)
            pick.setMinimumWidth(look.px(150))
            asked.addWidget(holder)
        asked.addWidget(self.hands)
        asked.addWidget(self.hours)
        self.body.addLayout(asked)
        self.at_once = Figure("At once", "–")
        self.binding = Text("", "body", wrap=True)
        self.wrapping = CautionLine()
        self.untimed = Text("", "secondary", tone="ochre", wrap=True)
        self.sum = SumLines("The sum")
        self.counts = SumLines("Other counts")
        self.covers = SumLines("Under each cover")
        self.changes = SumLines("What changes it")
        self._columns = TwoColumns(760)
        answer = Section("The sum")
        for part in (self.at_once, self.binding, self.wrapping, self.untimed, self.sum):
            answer.add(part)
        self._columns.main.addWidget(answer)
        self._columns.main.addStretch(1)
        for title, lines in (
            ("More or fewer", self.counts),
            ("Standing otherwise", self.covers),
            ("What changes it", self.changes),
        ):
            section = Section(title)
            section.add(lines)
            self._columns.side.addWidget(section)
        self._columns.side.addStretch(1)
        self.body.addWidget(self._columns)
        self.body.addStretch(1)

    def asked(self) -> Asked:
        """What is asked. Raises `UserProblem` for hands or hours that can't be."""
        hands, hours = self.hands.value(), self.hours.value()
        return Asked(
            str(self.cover.chosen()),
            str(self.weather.chosen()),
            None if hands is None else round(hands),
            hours,
        )

    def form_ids(self) -> tuple[int, ...]:
        """The forms asked for, one or two."""
        chosen: list[Hashable | None] = [self.form.chosen(), self.beside.chosen()]
        return tuple(dict.fromkeys(one for one in chosen if isinstance(one, int) and one))

    def refresh(self) -> None:
        """Tell the answer anew, or why there is none."""
        try:
            asked = self.asked()
            forms = self.form_ids()
            self.page = self.desk.read(
                partial(read_how_many, form_ids=forms, asked=asked, times=self._times)
            )
        except UserProblem as problem:
            self.page = None
            self._show_none(problem.sentence)
            return
        self.hands.line.setPlaceholderText(str(self.page.hands))
        self.hours.line.setPlaceholderText(f"{self.page.hours_a_day:g}")
        if self.page.size is None:
            self._show_none(self.page.problem)
        else:
            self._show(self.page)

    def _show_none(self, sentence: str) -> None:
        self.why_not.say(sentence)
        self.keep_button.setEnabled(False)
        self._columns.hide()

    def _show(self, page: WorkingTime) -> None:
        size = page.size
        assert size is not None
        self.why_not.say("")
        self._columns.show()
        self.keep_button.setEnabled(size.pieces > 0 and len(page.names) == 1)
        quiet = (
            f"with {say_chance(size.chance)} chance that one dries first"
            if size.bound_by == "workable"
            else ""
        )
        self.at_once.set_value(say_count(page, size.pieces), quiet)
        self.binding.setText(size.binding)
        self.wrapping.say(say_wrapping(size))
        self.untimed.setText(say_untimed(size.untimed))
        self.untimed.setVisible(bool(size.untimed))
        self.sum.show_lines([(term.words, term.value) for term in size.terms])
        self.counts.show_lines([say_needed(one) for one in size.by_count])
        self.covers.show_lines(
            [(one.words, say_count(page, one.pieces)) for one in page.by_cover],
            list(COVERS).index(page.asked.cover),
        )
        self.changes.show_lines(
            [(one.words, say_count(page, one.pieces)) for one in page.changes]
            or [("nothing tried here: cover, weather, one more at the bench", "the same")]
        )

    def keep(self) -> None:
        """Start a run of so many."""
        page = self.page
        if page is None or page.size is None or not page.size.pieces:
            return
        self.start_asked.emit({"form_id": page.form_ids[0], "how_many": page.size.pieces})
        self.accept()


def open_how_many(desk: Desk, form_id: int | None, parent: QWidget) -> HowManySheet:
    """Open the sheet over a screen; a run that is asked for starts on the bench."""
    sheet = HowManySheet(desk, form_id, parent)
    sheet.start_asked.connect(lambda given: desk.show("bench", 0, {"start run": given}))
    sheet.finished.connect(sheet.deleteLater)
    sheet.open()
    return sheet

"""Look back: a span of the studio's year, to read, and as a page to share."""

from collections.abc import Sequence
from datetime import date
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QApplication, QScrollArea, QVBoxLayout, QWidget

from studiolog.craft.spans import Span, usual_spans
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.jobs import Progress
from studiolog.desktop.tokens import PAGE_MARGIN
from studiolog.journal.review import Review, read_review
from studiolog.journal.review_pairs import Pair
from studiolog.paper.review_blocks import Chosen, ReviewPaper, compose_review, wanted_shots
from studiolog.photos.sharing import SharedPictures, share_pictures
from studiolog.photos.store import PhotoStore
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import DayField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.list_and_page import TwoColumns
from studiolog.ui.parts.screen import Screen
from studiolog.ui.parts.section import EmptyState
from studiolog.ui.parts.text import Text, Words
from studiolog.ui.review.numbers import NumberSections
from studiolog.ui.review.review_sheet import ReviewSheet
from studiolog.ui.review.ticked import Item, NotesSection, PairsSection
from studiolog.ui.review.what_goes_in import WhatGoesIn

_TWO_DAYS = "two days"
_JOB = "photos of a review"
PAIRS_AT_FIRST = 12
_SPAN_WORDS = {
    "this month": "This month", "last month": "Last month", "this quarter": "This quarter",
    "last quarter": "Last quarter", "this year": "This year", "last year": "Last year",
    _TWO_DAYS: "Any two days",
}  # fmt: skip


class ReviewScreen(Screen):
    """What goes in is remembered while the screen stands, and nowhere else."""

    kinds = frozenset(
        {"piece", "run", "firing", "order", "form", "glaze", "plan", "idea", "question", "photo",
         "studio"}
    )  # fmt: skip
    title = "Look back"

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(desk, parent)
        self.page: Review | None = None
        self._today = date.today()
        self._span = usual_spans(self._today)["this quarter"]
        self._without: set[str] = set()
        self._met: set[str] = set()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.head = Words("Look back", "title", 600)
        self.said = Text("", "body", tone="ink2", wrap=True)
        self.pick = PickOne("Span", [Choice(key, words) for key, words in _SPAN_WORDS.items()])
        self.pick.choose("this quarter")
        self.pick.setMinimumWidth(theme.current().px(150))
        self.first = DayField("From", self._span.first_on)
        self.last = DayField("To", self._span.last_on)
        self.problem = ProblemLine()
        spans = FlowLayout(spacing=16, line_spacing=8)
        holder = QWidget()
        box = labelled("Span", self.pick)
        box.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(box)
        for part in (holder, self.first, self.last):
            spans.addWidget(part)
        self.empty = EmptyState(
            "Nothing happened in this span.",
            "No ware was begun, nothing was fired, sent or lost, and nothing was written down. "
            "Choose another span above.",
        )
        self.numbers = NumberSections()
        self.pairs = PairsSection(self.desk)
        self.lessons = NotesSection("Lessons")
        self.next_times = NotesSection("Next time")
        self.tests = NotesSection("Tests and what they told")
        self.questions = NotesSection("Open questions")
        self.goes_in = WhatGoesIn()
        self.columns = TwoColumns(900, 300)
        for part in (self.numbers, *self._ticked()):
            self.columns.main.addWidget(part)
        self.columns.main.addStretch(1)
        for beside in (self.goes_in.section, self.goes_in.share):
            self.columns.side.addWidget(beside)
        self.columns.side.addStretch(1)
        page = QWidget()
        rows = QVBoxLayout(page)
        rows.setContentsMargins(PAGE_MARGIN, 16, PAGE_MARGIN, 32)
        rows.setSpacing(12)
        title = QVBoxLayout()
        title.setSpacing(0)
        title.addWidget(self.head)
        title.addWidget(self.said)
        rows.addLayout(title)
        rows.addLayout(spans)
        rows.addWidget(self.problem)
        rows.addWidget(self.empty)
        rows.addWidget(self.columns)
        rows.addStretch(1)
        page.setMaximumWidth(theme.current().px(1440))
        self.reel = QScrollArea()
        self.reel.setWidgetResizable(True)
        self.reel.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.reel.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reel.setWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.reel)

    def _ticked(self) -> tuple[PairsSection | NotesSection, ...]:
        return (self.pairs, self.lessons, self.next_times, self.tests, self.questions)

    def _connect(self) -> None:
        self.pick.picked.connect(self._take_span)
        self.first.day_changed.connect(lambda _day: self._take_days())
        self.last.day_changed.connect(lambda _day: self._take_days())
        for section in self._ticked():
            section.ticked.connect(self._tick)
            section.opened.connect(self.desk.show)
        self.goes_in.customers_asked.connect(lambda _on: self.mark_stale())
        self.goes_in.make_asked.connect(self.make)
        self.goes_in.stop_asked.connect(self.stop)
        self.desk.jobs.progressed.connect(self._show_progress)

    def foot(self) -> Sequence[tuple[Sequence[str], str]]:
        return ((("Tab",), "to the next item"), (("Space",), "in or out"))

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the keyboard starts at the span."""
        super().showEvent(event)
        if not self.isAncestorOf(QApplication.focusWidget() or self.window()):
            self.pick.setFocus(Qt.FocusReason.OtherFocusReason)

    # The span

    def show_span(self, span: Span, key: str = _TWO_DAYS) -> None:
        """Look back on a span."""
        self._span = span
        self.pick.choose(key)
        self.first.set_day(span.first_on)
        self.last.set_day(span.last_on)
        self.problem.say("")
        self.mark_stale()

    def _take_span(self, key: object) -> None:
        span = usual_spans(self._today).get(str(key))
        if span is not None:
            self.show_span(span, str(key))
        else:
            self.first.setFocus()

    def _take_days(self) -> None:
        try:
            first, last = self.first.day(), self.last.day()
            if first is None or last is None:
                raise UserProblem("Give both days: the first and the last.")
            span = Span(first, last)
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        if span != self._span:
            self.show_span(span)

    # Reading and showing

    def reload(self) -> None:
        """Read the span anew."""
        self._today = date.today()
        span, customers = self._span, self.goes_in.customers.isChecked()
        self.show_page(
            self.desk.read(
                partial(
                    read_review, first_on=span.first_on, last_on=span.last_on, customers=customers
                )
            )
        )

    def show_page(self, page: Review) -> None:
        """Show a review as the journal read it; what was ticked out stays out."""
        self.page = page
        self._stale = False
        words = page.span.words
        so_far = " so far" if page.span.first_on <= self._today < page.span.last_on else ""
        self.said.setText(f"{words}{so_far}, beside {page.before.words}")
        self.empty.setVisible(page.empty)
        self.columns.setVisible(not page.empty or bool(page.questions))
        self._choose_some(page.pairs)
        self.numbers.show_review(page, money=True)
        self.pairs.show_pairs(page.pairs, self._without, page.more_pairs)
        items = items_of(page)
        self.lessons.show_items(items["lessons"], self._without)
        self.next_times.show_items(items["next times"], self._without)
        self.tests.show_items(items["tests"], self._without)
        still = sum(one.open for one in page.questions)
        settled = len(page.questions) - still
        quiet = f"{still} open" + (f", {settled} settled in this span" if settled else "")
        self.questions.show_items(items["questions"], self._without, quiet)
        counts = {key: len(some) for key, some in items.items()}
        counts |= {
            "numbers": 1,
            "made": len(page.made),
            "fired": len(page.fired),
            "sold": len(page.sold),
            "lost": len(page.lost),
            "pairs": len(page.pairs),
        }
        self.goes_in.show_review(page, counts)

    def _choose_some(self, pairs: Sequence[Pair]) -> None:
        """Of many pairs a dozen go in at first, spread over the span."""
        fresh = [pair.key for pair in pairs if pair.key not in self._met]
        self._met |= set(fresh)
        if len(fresh) > PAIRS_AT_FIRST:
            step = len(fresh) / PAIRS_AT_FIRST
            some = {fresh[int(place * step)] for place in range(PAIRS_AT_FIRST)}
            self._without |= set(fresh) - some

    def _tick(self, key: str, goes_in: bool) -> None:
        if goes_in:
            self._without.discard(key)
        else:
            self._without.add(key)

    # Sharing

    def chosen(self) -> Chosen:
        """What goes into the page to share."""
        return Chosen(
            self.goes_in.sections(), frozenset(self._without), self.goes_in.money.isChecked()
        )

    def make(self) -> None:
        """Read the photos on another thread, then show the page."""
        page = self.page
        if page is None:
            return
        chosen = self.chosen()
        wanted = [(shot.sha256, shot.suffix) for shot in wanted_shots(page, chosen)]
        self.goes_in.problem.say("")
        self.goes_in.show_busy(True, 0, len(wanted))
        self.desk.jobs.start(
            _JOB,
            partial(_read_photos, str(self.desk.journal.photo_folder), wanted),
            partial(self._open_sheet, page, chosen),
            self._fail,
        )

    def stop(self) -> None:
        """Read no more photos; nothing is made."""
        self.desk.jobs.cancel(_JOB)
        self.goes_in.show_busy(False)
        self.goes_in.make.setFocus()

    def _open_sheet(self, page: Review, chosen: Chosen, pictures: SharedPictures) -> None:
        self.goes_in.show_busy(False)
        if pictures.missing:
            self.goes_in.problem.say(
                f"{pictures.missing[0]} The rest is made."
                if len(pictures.missing) == 1
                else f"{len(pictures.missing)} photos are missing: {pictures.missing[0]} "
                "The rest is made."
            )
        paper = compose_review(page, chosen, pictures.jpegs)
        if self.isVisible():
            self._open_page(paper)
        else:
            # Another screen is looked at by now: nothing is laid over it unasked.
            self.desk.notices.say(
                "The page to share is made.", "Open", lambda: self._lead_to(paper)
            )

    def _lead_to(self, paper: ReviewPaper) -> None:
        self.desk.show("review")
        self._open_page(paper)

    def _open_page(self, paper: ReviewPaper) -> None:
        sheet = ReviewSheet(self.desk, paper, self)
        sheet.finished.connect(sheet.deleteLater)
        sheet.open()

    def _fail(self, problem: Exception) -> None:
        self.goes_in.show_busy(False)
        if not isinstance(problem, UserProblem):
            raise problem
        self.goes_in.problem.say(problem.sentence)

    def _show_progress(self, key: str, done: int, total: int, what: str) -> None:
        if key == _JOB and self.desk.jobs.is_running(_JOB):
            self.goes_in.show_busy(True, done, total, what)


def items_of(page: Review) -> dict[str, list[Item]]:
    """The single items of a review by section."""
    notes = {
        kind: [
            Item(note.key, note.text, note.of_what, (note.noun, note.noun_id))
            for note in page.notes
            if note.kind == kind
        ]
        for kind in ("lesson", "next time")
    }
    tests = [
        Item(
            plan.key,
            f"{plan.question} {plan.lesson or 'Nothing is said of it yet.'}".strip(),
            f"Plan {plan.code}, {plan.name}: {plan.looked_at} of {plan.tiles} tiles looked at",
            ("plan", plan.plan_id),
        )
        for plan in page.tests
    ]
    questions = [
        Item(
            one.key,
            one.title,
            " ".join(filter(None, (one.text, f"Answered: {one.answer}" if one.answer else ""))),
        )
        for one in page.questions
    ]
    return {
        "lessons": notes["lesson"],
        "next times": notes["next time"],
        "tests": tests,
        "questions": questions,
    }


def _read_photos(
    folder: str, wanted: Sequence[tuple[str, str]], progress: Progress
) -> SharedPictures:
    from pathlib import Path

    return share_pictures(PhotoStore(Path(folder)), wanted, progress.step, progress.cancelled)

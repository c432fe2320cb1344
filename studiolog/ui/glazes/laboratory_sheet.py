"""Asking a laboratory: the limits standards name, and the request that goes with the pieces."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QGuiApplication, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QGridLayout,
    QHeaderView,
    QPlainTextEdit,
    QPushButton,
    QTableWidget,
    QTableWidgetItem,
    QWidget,
)

from studiolog.craft.glaze.cautions import NO_PROOF
from studiolog.craft.glaze.food_contact import (
    ARTICLES,
    KINDS,
    LOCAL_RULES,
    METHODS,
    ONLY_A_TEST,
    ContactLimit,
    LaboratoryRequest,
    limits_for,
)
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_hazards import read_laboratory
from studiolog.paper.laboratory_page import lay_out_laboratory_request
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import LineField, write_day
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.table import ROW, dress_table
from studiolog.ui.parts.text import Caption, Text

_HEADS = ("Rule", "For", "Metal", "Figure", "What it is")
_FIGURE = 3
_WIDE, _HIGH = 860, 820


class LaboratorySheet(KeepSheet):
    """The potter says which article it is; the metals come from the recipe."""

    scrolls = True

    def __init__(self, desk: Desk, glaze_id: int, parent: QWidget | None = None) -> None:
        self._facts = desk.read(lambda session: read_laboratory(session, glaze_id))
        super().__init__(
            f"Asking a laboratory about {self._facts.title}", "Copy the request", parent
        )
        self._desk = desk
        self.leave_button.setText("Close")
        self.leave_button.setAccessibleName("Close")
        self._build()
        self._connect()
        self.method.choose(next(iter(METHODS)))
        if self._facts.ware:
            self.ware.choose(0)
            self._take_ware(0)
        self.refresh()
        self.take_size(_WIDE, _HIGH)
        self.article.setFocus()

    def _build(self) -> None:
        self.article = PickOne(
            "Used as",
            [Choice(key, word) for key, word in ARTICLES.items()],
            "Flatware, cup, cooking ware …",
        )
        self.method = PickOne("Test method", [Choice(key, word) for key, word in METHODS.items()])
        self.ware = PickOne(
            "Pieces from the journal",
            [
                Choice(place, f"{one.clay}, {one.firing}")
                for place, one in enumerate(self._facts.ware)
            ],
        )
        self.clay = LineField("Clay", hint="the clay the pieces are of")
        self.firing = LineField("Firing", hint="fired to cone 6 in oxidation")
        self.request = QPlainTextEdit()
        self.request.setReadOnly(True)
        self.request.setTabChangesFocus(True)
        self.request.setPlaceholderText(
            "Say above what the pieces are used as, of which clay and from which firing."
        )
        self.request.setAccessibleName("Request to the laboratory")
        self.request.setFixedHeight(theme.current().px(120))
        self.print_button = QPushButton("Print or save …")
        self.print_button.setAccessibleName("Print or save the request")
        self.print_button.setAutoDefault(False)
        self.table = _LimitTable()
        self.read_on = Caption("", wrap=True)
        for pick in (self.article, self.method, self.ware):
            pick.setMinimumContentsLength(8)
            pick.setSizeAdjustPolicy(PickOne.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(12)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        grid.addLayout(labelled("Used as", self.article), 0, 0)
        grid.addLayout(labelled("Test method", self.method), 0, 1)
        if self._facts.ware:
            grid.addLayout(labelled("Pieces from the journal", self.ware), 1, 0, 1, 2)
        grid.addWidget(self.clay, 2, 0)
        grid.addWidget(self.firing, 2, 1)
        self.body.addLayout(grid)
        metals = ", ".join(self._facts.metals)
        self.body.addWidget(
            Caption(
                f"To look for: {metals}. Lead and cadmium are always asked for; the others are in "
                "the recipe.",
                wrap=True,
            )
        )
        words = Section("The request")
        words.add(self.request)
        self.body.addWidget(words)
        limits = Section("What standards name")
        limits.add(self.table)
        limits.add(self.read_on)
        for told in (LOCAL_RULES, ONLY_A_TEST, NO_PROOF):
            limits.add(Text(told, "secondary", tone="ink2", wrap=True))
        self.body.addWidget(limits)
        self.body.addStretch(1)
        self.feet.insertWidget(self.feet.indexOf(self.leave_button), self.print_button)

    def _connect(self) -> None:
        self.article.picked.connect(self.refresh)
        self.method.picked.connect(self.refresh)
        self.ware.picked.connect(self._take_ware)
        for line in (self.clay, self.firing):
            line.line.textChanged.connect(self.refresh)
        self.print_button.clicked.connect(self.print_request)

    def wanted(self) -> LaboratoryRequest:
        """The request as it stands. Raises UserProblem until it is said what the ware is."""
        article = self.article.chosen()
        if article is None:
            raise UserProblem("Say what the pieces are used as: a form does not tell.")
        return LaboratoryRequest(
            self._facts.title,
            self.clay.text(),
            self.firing.text(),
            str(article),
            self._facts.metals,
            str(self.method.chosen()),
        )

    def refresh(self, *_: object) -> None:
        """Write the request and list the limits anew."""
        try:
            words, problem = self.wanted().words, ""
        except UserProblem as found:
            words, problem = "", found.sentence
        self.request.setPlainText(words)
        self.why_not.say(problem)
        self.keep_button.setEnabled(bool(words))
        self.print_button.setEnabled(bool(words))
        article = self.article.chosen()
        limits = limits_for(None if article is None else str(article), self._facts.metals)
        self.table.show_limits(limits)
        days = ", ".join(write_day(day) for day in sorted({one.read_on for one in limits}))
        self.read_on.setText(f"Figures read on {days}. A row's tool-tip says how it is judged.")

    def keep(self) -> None:
        """Put the request on the clipboard; the sheet stays."""
        QGuiApplication.clipboard().setText(self.request.toPlainText())
        self._desk.notices.say("Copied the request to the laboratory.")
        self.why_not.say("")

    def print_request(self) -> None:
        """Show the page to print, or to save as a file."""
        wanted = self.wanted()
        PaperSheet(
            self._desk,
            "Request to a laboratory",
            partial(lay_out_laboratory_request, wanted),
            parent=self,
        ).open()

    def _take_ware(self, place: object) -> None:
        one = self._facts.ware[int(str(place))]
        self.clay.set_text(one.clay)
        self.firing.set_text(one.firing)


class _LimitTable(QTableWidget):
    """The figures that speak of an article; not to be changed, for they are others' rules."""

    def __init__(self) -> None:
        super().__init__(0, len(_HEADS))
        dress_table(self)
        self.setAccessibleName("Limits that standards name")
        self.setHorizontalHeaderLabels(list(_HEADS))
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setWordWrap(True)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        head = self.horizontalHeader()
        head.setStretchLastSection(False)
        mode = QHeaderView.ResizeMode
        for column in range(len(_HEADS)):
            narrow = column in (2, _FIGURE)
            head.setSectionResizeMode(column, mode.ResizeToContents if narrow else mode.Stretch)

    def show_limits(self, limits: tuple[ContactLimit, ...]) -> None:
        """Show figures, one a row."""
        self.setRowCount(len(limits))
        for row, one in enumerate(limits):
            figure = f"{one.limit} {one.unit}"
            cells = (one.rule, one.article, one.metal_word, figure, KINDS[one.kind])
            basis = ". ".join(
                filter(None, (one.judged, f"Source: {one.source}", f"Known: {one.confidence}"))
            )
            for column, text in enumerate(cells):
                item = QTableWidgetItem(text)
                item.setToolTip(basis)
                side = (
                    Qt.AlignmentFlag.AlignRight if column == _FIGURE else Qt.AlignmentFlag.AlignLeft
                )
                item.setTextAlignment(side | Qt.AlignmentFlag.AlignVCenter)
                item.setFlags(Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable)
                self.setItem(row, column, item)
        QTimer.singleShot(0, self, self._fit)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        QTimer.singleShot(0, self, self._fit)

    def _fit(self) -> None:
        """Each row as high as its words need, and the table as high as its rows."""
        self.resizeRowsToContents()
        least = theme.current().px(ROW)
        high = self.horizontalHeader().sizeHint().height() + 2
        for row in range(self.rowCount()):
            self.setRowHeight(row, max(least, self.rowHeight(row) + 8))
            high += self.rowHeight(row)
        self.setFixedHeight(high)

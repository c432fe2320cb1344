"""The logs that wait to be described, above the list of firings: a line each with its curve."""

from __future__ import annotations

from collections import OrderedDict
from datetime import datetime
from functools import partial
from typing import Any

from PySide6.QtCore import QRectF, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QAbstractItemView, QWidget

from studiolog.craft.units import show_duration
from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.waiting import (
    WaitingLine,
    count_waiting,
    list_waiting,
    read_waiting_curve,
)
from studiolog.ui.firings.written import write_heat, write_stamp
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.plots.curve_sums import thin_to_columns
from studiolog.ui.plots.plot_brushwork import Frame, draw_curve, pen

_ROW_HIGH = 52
_MOST_ROWS = 4
_CURVES_KEPT = 200
_KEYS = {
    Qt.Key.Key_Return: "describe",
    Qt.Key.Key_Enter: "describe",
    Qt.Key.Key_Delete: "delete",
}


class WaitingSection(Section):
    """Lines of logs; hidden when none waits and none was set aside.

    ``describe_asked``, ``aside_asked``, ``back_asked`` and ``delete_asked`` carry the ids chosen.
    """

    describe_asked = Signal(object)
    aside_asked = Signal(object)
    back_asked = Signal(object)
    delete_asked = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Waiting to be described", parent=parent)
        self._desk = desk
        self._aside = False
        self._curves: OrderedDict[int, tuple[Any, Any]] = OrderedDict()
        self.list = PaintedList(
            "Logs waiting to be described",
            _ROW_HIGH,
            self._paint,
            PaintedRows(self._say, lambda line: line.name),
            _KEYS,
        )
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.describe = link_button("Describe")
        self.aside = link_button("Set aside")
        self.aside.setToolTip("No firing: kept and known again, and asked about no more")
        self.delete = link_button("Delete")
        for at, act in enumerate((self.describe, self.aside, self.delete)):
            self.head.insertWidget(1 + at, act)
        self.head.setSpacing(16)
        self.add(self.list)
        self.list.key_pressed.connect(self._press)
        self.list.doubleClicked.connect(lambda _index: self._press("describe"))
        self.list.selectionModel().selectionChanged.connect(lambda *_: self._settle())
        self.describe.clicked.connect(lambda: self._press("describe"))
        self.aside.clicked.connect(lambda: self._press("aside"))
        self.delete.clicked.connect(lambda: self._press("delete"))
        self.link_opened.connect(self._turn)
        theme.current().changed.connect(self._fit)
        self.hide()

    def read(self) -> None:
        """Read what waits; the lines chosen stay chosen."""
        waiting, aside = self._desk.read(count_waiting)
        self._aside = self._aside and aside > 0
        self.setVisible(waiting + aside > 0)
        if not waiting + aside:
            self.list.show_rows((), -1)
            return
        chosen = set(self.chosen_ids())
        lines = self._desk.read(partial(list_waiting, set_aside=self._aside))
        self._curves.clear()  # one may have grown
        places = [at for at, line in enumerate(lines) if line.waiting_id in chosen]
        self.list.show_rows(lines, places[0] if places else 0 if lines else -1)
        model = self.list.model()
        for place in places[1:]:
            self.list.selectionModel().select(
                model.index(place, 0), self.list.selectionModel().SelectionFlag.Select
            )
        self.set_title("Logs set aside" if self._aside else "Waiting to be described")
        self.set_quiet(str(aside if self._aside else waiting))
        other = "Show those waiting" if self._aside else f"{aside} set aside" if aside else ""
        self.set_link(other)
        self._fit()
        self._settle()

    def chosen_ids(self) -> list[int]:
        """The logs chosen, from the top down."""
        rows = self.list.rows()
        places = sorted(index.row() for index in self.list.selectedIndexes())
        return [rows[place].waiting_id for place in places if place < len(rows)]

    def choose(self, waiting_id: int) -> None:
        """Choose one log alone."""
        for place, line in enumerate(self.list.rows()):
            if line.waiting_id == waiting_id:
                self.list.setCurrentIndex(self.list.model().index(place, 0))

    def _turn(self) -> None:
        self._aside = not self._aside
        self.read()
        self.list.setFocus()

    def _press(self, what: str) -> None:
        ids = self.chosen_ids()
        if not ids:
            return
        if what == "delete":
            self.delete_asked.emit(ids)
        elif what == "aside":
            (self.back_asked if self._aside else self.aside_asked).emit(ids)
        else:
            self.describe_asked.emit(ids)

    def _settle(self) -> None:
        chosen = len(self.chosen_ids())
        words = f"Describe {chosen} together…" if chosen > 1 else "Describe…"
        self.describe.setText(words)
        self.describe.setAccessibleName(words)
        aside = "Let it wait again" if self._aside else "Set aside"
        self.aside.setText(aside)
        self.aside.setAccessibleName(f"{aside}: the logs chosen")
        self.delete.setAccessibleName("Delete the logs chosen")
        for act in (self.describe, self.aside, self.delete):
            act.setEnabled(chosen > 0)

    def _fit(self) -> None:
        """As high as its lines, a few at most; fewer with larger text."""
        high = theme.current().px(_ROW_HIGH)
        scale = theme.current().text_scale
        most = 1 if scale > 150 else round(_MOST_ROWS * 100 / scale)
        rows = max(1, min(most, len(self.list.rows())))
        self.list.setFixedHeight(rows * high + 2)

    # A line

    def _say(self, line: WaitingLine) -> str:
        unit = self._desk.settings.temperature_unit
        parts = [
            f"{line.name}, {_started(line)}, {show_duration(line.duration_s)}",
            f"peak {write_heat(line.peak_c, unit)}",
        ]
        if line.cone:
            parts.append(say_heat(line))
        parts += [f"asks: {question}" for question in line.questions]
        return ", ".join(parts)

    def _paint(self, painter: QPainter, box: QRectF, line: WaitingLine, _chosen: bool) -> None:
        px = theme.current().px
        unit = self._desk.settings.temperature_unit
        narrow = box.width() < px(700)
        curve = QRectF(box.left() + 12, box.top() + 7, px(96), box.height() - 14)
        self._paint_curve(painter, curve, line.waiting_id)
        left = curve.right() + 16
        room = box.right() - 8 - left
        first = room * (0.55 if narrow else 0.36)
        second = room - first if narrow else room * 0.22
        self._write_pair(
            painter,
            QRectF(left, box.top(), first - 12, box.height()),
            _started(line),
            f"{show_duration(line.duration_s)}, {line.name}",
        )
        cone = f"cone {line.cone}" if line.cone else "no cone"
        interval = line.interval if line.interval != line.cone else ""
        asks = f"{len(line.questions)} to answer" if line.questions else ""
        under = (asks if narrow and asks else interval and f"from {interval}") or ""
        self._write_pair(
            painter,
            QRectF(left + first, box.top(), second - 12, box.height()),
            f"{write_heat(line.peak_c, unit)}, {cone}",
            under,
            "rust" if narrow and asks else "ink2",
        )
        if narrow:
            return
        rest = QRectF(left + first + second, box.top(), room - first - second, box.height())
        if line.questions:
            more = len(line.questions) - 1
            behind = f"and {more} more to answer" if more else ""
            self._write_pair(painter, rest, line.questions[0], behind, "rust", 400)
        else:
            write(painter, rest, "Nothing open", tone="ink3", size=SECONDARY)

    def _write_pair(
        self,
        painter: QPainter,
        box: QRectF,
        over: str,
        under: str,
        tone: str = "ink2",
        weight: int = 600,
    ) -> None:
        if not under:
            write(painter, box, over, weight, "ink" if weight > 400 else tone)
            return
        half = (box.height() - 10) / 2
        write(
            painter,
            QRectF(box.left(), box.top() + 5, box.width(), half),
            over,
            weight,
            "ink" if weight > 400 else tone,
        )
        write(
            painter,
            QRectF(box.left(), box.top() + 5 + half, box.width(), half),
            under,
            tone=tone,
            size=SECONDARY,
        )

    def _paint_curve(self, painter: QPainter, box: QRectF, waiting_id: int) -> None:
        at_s, celsius = self._curve_of(waiting_id, int(box.width()))
        painter.setPen(pen("line2", 1.0))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        if len(at_s) > 1:
            frame = Frame(
                box, at_s[0], max(at_s[-1], at_s[0] + 60), 0.0, max(float(celsius.max()), 1.0)
            )
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            draw_curve(painter, frame, at_s, celsius, pen("rust", 1.5))
            painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)

    def _curve_of(self, waiting_id: int, columns: int) -> tuple[Any, Any]:
        """A curve as it comes into sight, thinned; the last few stay at hand."""
        if waiting_id not in self._curves:
            at_s, celsius = self._desk.read(partial(read_waiting_curve, waiting_id=waiting_id))
            self._curves[waiting_id] = thin_to_columns(at_s, celsius, columns)
            if len(self._curves) > _CURVES_KEPT:
                self._curves.popitem(last=False)
        return self._curves[waiting_id]


def _started(line: WaitingLine) -> str:
    if line.starts_at is not None:
        return write_stamp(line.starts_at)
    return "No date in the file"


def guess_start(line: WaitingLine) -> datetime | None:
    """When a log without a date may have started: when its file was written, less its length."""
    from datetime import timedelta

    if line.starts_at is not None or line.written_at is None:
        return line.starts_at
    guess = line.written_at - timedelta(seconds=line.duration_s)
    return guess.replace(second=0, microsecond=0)


def say_heat(line: WaitingLine) -> str:
    """ "cone 6 +0.2, from 6 −0.2 to 7", or "cone below 022" where no cone was reached."""
    told = f"cone {line.cone}"
    return told if line.interval == line.cone else f"{told}, from {line.interval}"

"""The list of forms by what an hour of their work brings, against what it is to earn."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPen
from PySide6.QtWidgets import QWidget

from studiolog.craft.money import show_money
from studiolog.desktop import theme
from studiolog.desktop.tokens import SECONDARY
from studiolog.journal.costs import CostsPage, FormCostLine
from studiolog.ui.parts.painted_list import PaintedList, PaintedRows, write

HIGH = 76


@dataclass(frozen=True)
class Shown:
    """A form with what its row says; ``most`` is the longest bar, in money an hour."""

    line: FormCostLine
    currency: str
    most: Decimal

    @property
    def earns(self) -> str:
        """What an hour brings, in words."""
        earns = self.line.cost.earns_an_hour
        if earns is not None:
            return f"{show_money(earns, self.currency)} an hour"
        return "no price" if self.line.cost.price is None else "no minutes"

    @property
    def verdict(self) -> tuple[str, str]:
        """Whether it pays for its hours, and the tone it is said in."""
        match self.line.cost.pays:
            case True:
                return "pays for its hours", "celadon"
            case False:
                return "does not pay for its hours", "rust"
        return "", "ink3"

    @property
    def costs(self) -> str:
        """What a good one costs, in words."""
        cost = self.line.cost
        if not cost.known and cost.work_cost is None:
            return "cost not known"
        least = "at least " if cost.missing or cost.untimed or cost.hour_rate is None else ""
        return f"costs {least}{show_money(cost.cost, self.currency)}"

    @property
    def words(self) -> str:
        """The row in words, for a screen reader."""
        told = (self.line.name, self.costs, self.earns, self.verdict[0])
        return ", ".join(filter(None, told))


class CostRows(PaintedList):
    """The forms as rows; letters are left to the screen."""

    def __init__(self, parent: QWidget | None = None) -> None:
        model = PaintedRows(lambda row: str(row.words), lambda row: str(row.line.name))
        super().__init__("Forms by what an hour brings", HIGH, _paint, model, parent=parent)

    def show_costs(self, page: CostsPage, chosen_id: int) -> None:
        """Show the forms, one of them chosen, without telling anyone."""
        earned = [line.cost.earns_an_hour or Decimal(0) for line in page.lines]
        most = max((*earned, page.hour_rate or Decimal(0)), default=Decimal(0))
        place = next((i for i, line in enumerate(page.lines) if line.form_id == chosen_id), -1)
        self.show_rows(_shown(page.lines, page.currency, most), place)


def _shown(lines: Sequence[FormCostLine], currency: str, most: Decimal) -> list[Shown]:
    return [Shown(line, currency, most) for line in lines]


def _paint(painter: QPainter, box: QRectF, shown: Shown, chosen: bool) -> None:
    look = theme.current()
    inner = box.adjusted(12, look.px(8), -12, -look.px(8))
    third = inner.height() / 3
    upper = QRectF(inner.left(), inner.top(), inner.width(), third)
    wide = write(painter, upper, shown.earns, tone="ink2", size=SECONDARY, right=True)
    write(painter, upper.adjusted(0, 0, -wide - 12, 0), shown.line.name, 600)
    middle = upper.translated(0, third)
    words, tone = shown.verdict
    wide = write(painter, middle, words, 500, tone, SECONDARY, right=True) if words else 0.0
    room = middle.adjusted(0, 0, -wide - 12, 0)
    write(painter, room, shown.costs, tone="ink2", size=SECONDARY)
    lower = upper.translated(0, 2 * third)
    high = look.px(6)
    track = QRectF(lower.left(), lower.center().y() - high / 2, lower.width(), high)
    painter.fillRect(track, look.color("paper" if chosen else "sunk"))
    cost = shown.line.cost
    if cost.earns_an_hour is not None and shown.most > 0:
        part = max(0.0, float(cost.earns_an_hour / shown.most))
        fill = look.color("rustfill" if cost.pays is False else "celadonfill")
        painter.fillRect(QRectF(track.left(), track.top(), track.width() * part, high), fill)
    if cost.hour_rate is not None and shown.most > 0:
        x = track.left() + (track.width() - 2) * float(cost.hour_rate / shown.most)
        painter.setPen(QPen(look.color("ink"), 1.5))
        painter.drawLine(QPointF(x, track.top() - 3), QPointF(x, track.bottom() + 3))

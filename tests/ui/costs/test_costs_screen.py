"""What a good piece costs, read as a sum, and what an hour of the work brings."""

from decimal import Decimal

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel

from studiolog.desktop.desk import Desk
from studiolog.journal.studio import read_terms, set_terms
from studiolog.ui.costs.cost_view import CostView
from studiolog.ui.costs.screen import CostsScreen
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def words_of(view: CostView) -> str:
    """All that stands on the page, in reading order."""
    QApplication.processEvents()  # what was put into a layout is shown by it in its turn
    labels = [label for label in view.findChildren(QLabel) if label.isVisibleTo(view)]
    return " | ".join(label.text() for label in labels)


def test_the_sum_is_read_line_by_line_and_the_rate_is_kept(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    desk.edits.run("Currency", lambda session: set_terms(session, currency="€"))
    screen = open_screen(CostsScreen, 1280, 720)
    assert [row.line.name for row in screen.list.rows()] == ["Ripple tumbler", "Soup bowl"]
    assert "at least" in screen.list.current_row().costs
    assert "the cost is without work" in words_of(screen.view)

    screen.rate.line.setFocus()
    QTest.keyClicks(screen.rate.line, "24")
    QTest.keyClick(screen.rate.line, Qt.Key.Key_Return)
    assert desk.read(read_terms).hour_rate == Decimal(24)
    row = screen.list.current_row()
    assert row.verdict == ("pays for its hours", "celadon")
    assert "pays for its hours" in row.words
    told = words_of(screen.view)
    for words in ("clay", "share of the glaze firing", "thrown", "trimmed", "in all"):
        assert words in told
    assert "its share by size of the 4 firings it stood in" in told
    assert "is to earn 24.00" in screen.view.hour.accessibleName()
    assert "Not known: clay, share of the bisque and glaze." in screen.view.lacking.text()
    assert "price" in screen.view.bar.accessibleDescription()

    # A rate that can't be is said at the field, and the one kept stays.
    screen.rate.line.selectAll()
    QTest.keyClicks(screen.rate.line, "a lot")
    QTest.keyClick(screen.rate.line, Qt.Key.Key_Return)
    assert "not an amount" in screen.rate.problem()
    assert desk.read(read_terms).hour_rate == Decimal(24)

    # By keys to the bowl, of which less is known.
    screen.list.setFocus()
    QTest.keyClick(screen.list, Qt.Key.Key_Down)
    assert "Soup bowl" in screen.view.title.accessibleName() or "Soup bowl" in words_of(screen.view)
    assert screen.list.current_row().earns == "no price"
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: asked.append((kind, ident)))
    screen.view.to_form.click()
    assert asked == [("form", studio.bowl)]


def test_before_there_is_a_form_the_page_says_what_it_needs(
    desk: Desk, open_screen: OpenScreen
) -> None:
    screen = open_screen(CostsScreen, 1280, 720)
    assert screen.stack.currentIndex() == 0
    assert "clay weight, steps and price" in screen.empty.accessibleName() + " ".join(
        label.text() for label in screen.empty.findChildren(QLabel)
    )

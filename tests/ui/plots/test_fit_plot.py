"""The plot of fit: what was looked for and seen, and the keyboard from glaze to glaze."""

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from studiolog.desktop import theme
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.plots.fit_plot import FitPlot, PlotChance, PlotGlaze, PlotThreshold
from tests.ui.plots.test_small_plots import count_colour

CURVE = [PlotChance(5 + n / 10, n / 40, max(0.0, n / 40 - 0.1), n / 40) for n in range(41)]
HALF = PlotThreshold(7.0, 6.5, 7.6, "half of them from 7.0")


def glaze(number: int, expansion: float, **counts: int) -> PlotGlaze:
    look = GlazeLook(f"Glaze {number}", "#48654C", number)
    return PlotGlaze(number, look, expansion, words=f"Glaze {number} told.", **counts)


@pytest.fixture
def plot(qtbot: QtBot) -> FitPlot:
    made = FitPlot("Chance of crazing")
    qtbot.addWidget(made)
    made.resize(600, made.height())
    made.show()
    return made


def test_seen_none_seen_and_not_looked_at_are_drawn_apart(plot: FitPlot):
    def show(**counts: int) -> tuple[int, int]:
        plot.show_fit([glaze(1, 6.0, **counts)], CURVE, HALF, "Thin evidence.")
        return count_colour(plot, "rust"), count_colour(plot, "celadon")

    rust, celadon = show(seen=3)
    assert rust > 30
    assert celadon == 0
    rust, celadon = show(unstressed=3)
    assert rust == 0
    assert celadon > 5
    assert show(stressed=3)[1] > celadon, "a stress test fills the ring"
    assert show() == (0, 0)
    theme.current().set_setting("dark")
    plot.grab()
    theme.current().set_setting("light")


def test_the_keyboard_goes_from_glaze_to_glaze(plot: FitPlot, qtbot: QtBot):
    plot.show_fit([glaze(1, 6.0), glaze(2, 6.1, seen=1), glaze(3, 8.0)], CURVE, HALF, "Told.")
    told: list[int] = []
    plot.chosen.connect(told.append)
    for key in (Qt.Key.Key_Right, Qt.Key.Key_Right, Qt.Key.Key_End, Qt.Key.Key_Left):
        QTest.keyClick(plot, key)
    assert told == [1, 2, 3, 2]
    assert plot.accessibleDescription() == "Glaze 2 told. Told."
    with qtbot.waitSignal(plot.opened) as opened:
        QTest.keyClick(plot, Qt.Key.Key_Return)
    assert opened.args == [2]
    # Read again, it stands where it stood; a glaze that is gone is left.
    plot.show_fit([glaze(2, 6.3), glaze(3, 8.0)], CURVE, HALF, "Told.")
    assert plot.selected() is not None
    assert plot.selected().glaze_id == 2
    plot.show_fit([glaze(3, 8.0)], CURVE, HALF, "Told.")
    assert plot.selected() is None


def test_a_click_on_a_swatch_stands_on_its_glaze(plot: FitPlot):
    many = [glaze(n, 6.0 + n / 50) for n in range(1, 7)]
    plot.show_fit(many, CURVE, HALF, "Told.")
    placed = plot._place(plot._frame())
    boxes = [one.box for one in placed]
    apart = [a.intersects(b) for n, a in enumerate(boxes) for b in boxes[n + 1 :]]
    rows = {one.row for one in placed}
    assert len(rows) > 1
    assert not any(apart)
    third = placed[2]
    QTest.mouseClick(plot, Qt.MouseButton.LeftButton, pos=third.box.center().toPoint())
    assert plot.selected() == third.glaze
    far = QPointF(plot._frame().rect.right() - 2, plot._frame().rect.center().y()).toPoint()
    QTest.mouseClick(plot, Qt.MouseButton.LeftButton, pos=far)
    assert plot.selected() == third.glaze


def test_few_glazes_take_less_room_than_many(plot: FitPlot):
    plot.show_fit([glaze(1, 6.0)], CURVE, HALF, "Told.")
    low = plot.height()
    plot.show_fit([glaze(n, 6.0 + n / 100) for n in range(12)], CURVE, HALF, "Told.")
    assert plot.height() > low
    plot.show_fit([], [], HALF, "Nothing.")
    plot.grab()

"""Fit on the page of a glaze: its chance on each clay, and a version made to cure it."""

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QWidget
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.journal.fit import read_glaze_fit
from studiolog.journal.glaze_formula import read_formula
from studiolog.journal.limits import set_limit
from studiolog.ui.glazes.fit_section import FitSection
from studiolog.ui.glazes.fit_suggestion import SuggestionView
from studiolog.ui.glazes.glaze_view import GlazeView
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.parts.chance_bar import ChanceBar
from studiolog.ui.parts.rate_bar import RateBar
from tests.crazed_yard import CrazedYard, enter_crazed_yard
from tests.ui.conftest import OpenScreen


@pytest.fixture
def yard(desk: Desk) -> CrazedYard:
    return enter_crazed_yard(desk.journal)


@pytest.fixture
def screen(yard: CrazedYard, open_screen: OpenScreen) -> GlazesScreen:
    return open_screen(GlazesScreen, 1216, 1400)


@pytest.fixture
def section(screen: GlazesScreen) -> FitSection:
    assert isinstance(screen.page, GlazeView)
    return screen.page.fit


def words_in(root: QWidget) -> str:
    QApplication.processEvents()
    return "\n".join(one.text() for one in root.findChildren(QLabel) if one.isVisibleTo(root))


def buttons(root: QWidget) -> dict[str, QPushButton]:
    QApplication.processEvents()
    return {
        one.accessibleName(): one for one in root.findChildren(QPushButton) if one.isVisibleTo(root)
    }


def test_each_clay_has_its_chance_in_words_and_numbers(desk, yard, section):
    told = words_in(section)
    assert section.quiet.text().startswith("calculated 7.1 ±1")
    assert "Appen" in section.quiet.text()
    fit = desk.read(lambda s: read_glaze_fit(s, yard.chalk))
    red = fit.chances[0]
    percent = f"{round(100 * red.chance.mean)}\u202f%"
    assert f"Crazing is likely: {percent}" in told
    assert "Crazing seen on 4 of 6 pieces; 1 of the others stress-tested. Thin evidence" in told
    assert "Not known yet: nothing was looked at on this clay" in told
    bars = [one for one in section.findChildren(ChanceBar) if one.isVisibleTo(section)]
    assert len(bars) == 2
    assert bars[0].accessibleName().startswith(f"Crazing on Iron-red stoneware: {percent}")
    bars[0].grab()


def test_what_would_help_becomes_a_version_to_test(
    desk: Desk, yard: CrazedYard, screen: GlazesScreen, section: FitSection, qtbot: QtBot
):
    buttons(section)["What would help against crazing on Iron-red stoneware?"].click()
    qtbot.waitUntil(lambda: bool(section.suggestions.findChildren(SuggestionView)), timeout=20_000)
    told = words_in(section.suggestions)
    assert "would bring the chance of crazing on Iron-red stoneware under 5" in told
    views = section.suggestions.findChildren(SuggestionView)
    # The first is open, the others open where one looks.
    assert [one.detail.isHidden() for one in views] == [False] + [True] * (len(views) - 1)
    assert "Unity formula" in told
    assert "SiO₂:Al₂O₃" in told
    views[-1].toggle()
    assert not views[-1].detail.isHidden()
    makers = [name for name in buttons(section) if name.startswith("Make a new version")]
    assert len(set(makers)) == len(views), "each says which"
    chosen = views[0].suggestion
    views[0].make.click()
    page = screen.page
    assert isinstance(page, GlazeView)
    assert page.ident != yard.chalk
    assert "To test against crazing on Iron-red stoneware" in page.note.text()
    made = page.ident
    formula = desk.read(lambda s: read_formula(s, made))
    assert formula.expansion_ppm_k == pytest.approx(chosen.after.expansion_ppm_k, abs=1e-6)
    assert section.suggestions.isHidden()
    desk.edits.undo()
    assert desk.read(lambda s: read_glaze_fit(s, made)) is None


def test_what_lies_on_the_safe_side_is_offered_no_help(desk, yard, screen, section):
    screen.show_thing(yard.shop)
    assert "With a recipe, its fit on each clay is told here." in words_in(section)
    bars = section.findChildren(ChanceBar)
    assert not [one for one in bars if one.isVisibleTo(section)]
    screen.show_thing(yard.oat)
    assert "What would help against crazing on Buff stoneware?" in buttons(section)
    desk.edits.run("Limit", lambda s: set_limit(s, "safe_chance", 0.5))
    assert not [name for name in buttons(section) if name.startswith("What would help")]


def test_an_edit_that_tells_nothing_of_fit_leaves_its_rows_and_their_keyboard(
    desk: Desk, yard: CrazedYard, screen: GlazesScreen, section: FitSection
) -> None:
    ask = buttons(section)["What would help against crazing on Iron-red stoneware?"]
    ask.setFocus()
    assert isinstance(screen.page, GlazeView)
    rates = screen.page.rates.findChildren(RateBar)
    screen.page.keep("notes", "Stir long.")
    assert section.window().focusWidget() is ask
    assert screen.page.rates.findChildren(RateBar) == rates
    # Another glaze has rows of its own.
    screen.show_thing(yard.oat)
    assert "What would help against crazing on Buff stoneware?" in buttons(section)
    assert ask not in buttons(section).values()


def test_esc_puts_away_what_would_help_and_the_keyboard_goes_back(
    yard: CrazedYard, section: FitSection, qtbot: QtBot
) -> None:
    ask = buttons(section)["What would help against crazing on Iron-red stoneware?"]
    ask.click()
    stop = buttons(section)["Stop looking for what would help on Iron-red stoneware"]
    stop.setFocus()
    qtbot.keyClick(stop, Qt.Key.Key_Escape)
    assert not section.suggestions.isVisible()
    assert section.window().focusWidget() is ask

"""A potter reads the screen in bright and in dim light: the colours must hold in both.

Contrast is the formula of W3C, *Web Content Accessibility Guidelines 2.2*, "relative luminance"
and "contrast ratio"; 4.5 for text is its success criterion 1.4.3, 3.0 for marks its 1.4.11.
"""

from collections.abc import Iterator

import pytest
from PySide6.QtGui import QColor, QFont, QFontInfo, QPalette
from PySide6.QtWidgets import QApplication, QLabel, QPushButton

from studiolog.desktop import theme
from studiolog.desktop.theme import Theme, contrast, relative_luminance
from studiolog.desktop.tokens import BODY, CAPTION, DARK, LIGHT, TITLE, Tokens

BOTH = pytest.mark.parametrize("tokens", [LIGHT, DARK], ids=["light", "dark"])
GROUNDS = ("paper", "sheet", "sunk")


@pytest.fixture
def plain_app(qapp: QApplication) -> Iterator[QApplication]:
    before = (qapp.style().objectName(), qapp.palette(), qapp.font())
    yield qapp
    qapp.setStyleSheet("")
    qapp.setStyle(before[0])
    qapp.setPalette(before[1])
    qapp.setFont(before[2])


def test_contrast_is_that_of_the_guidelines() -> None:
    # W3C WCAG 2.2: white has luminance 1, black 0, and their contrast is 21 : 1.
    assert relative_luminance("#FFFFFF") == pytest.approx(1.0)
    assert relative_luminance("#000000") == 0.0
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21.0)
    # The lightest grey text on white that meets 4.5 is #767676 (W3C technique G18 tools).
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#FFFFFF") < 4.5


@BOTH
@pytest.mark.parametrize("text", ["ink", "ink2", "ink3", "cobalt", "rust", "celadon", "ochre"])
@pytest.mark.parametrize("ground", GROUNDS)
def test_text_can_be_read_on_every_ground(tokens: Tokens, text: str, ground: str) -> None:
    assert contrast(getattr(tokens, text), getattr(tokens, ground)) >= 4.5


@BOTH
@pytest.mark.parametrize("name", ["cobalt", "rust", "celadon", "ochre"])
def test_text_can_be_read_on_its_own_wash(tokens: Tokens, name: str) -> None:
    assert contrast(getattr(tokens, name), getattr(tokens, f"{name}wash")) >= 4.5


@BOTH
def test_ink_can_be_read_where_things_are_selected_or_primary(tokens: Tokens) -> None:
    assert contrast(tokens.ink, tokens.cobaltwash) >= 4.5
    assert contrast(tokens.oncobalt, tokens.cobalt) >= 4.5
    assert contrast(tokens.paper, tokens.ink) >= 4.5


@BOTH
@pytest.mark.parametrize("ground", ["paper", "sheet"])
def test_borders_of_controls_can_be_seen(tokens: Tokens, ground: str) -> None:
    assert contrast(tokens.line2, getattr(tokens, ground)) >= 3.0


@BOTH
def test_a_number_can_be_read_on_the_stage_it_counts(tokens: Tokens) -> None:
    for stage, fill in tokens.stage_fill.items():
        assert contrast(tokens.stage_number[stage], fill) >= 4.5, stage


def test_choosing_dark_repaints_and_choosing_light_goes_back(qapp: QApplication) -> None:
    look = Theme("light")
    heard: list[bool] = []
    look.changed.connect(lambda: heard.append(look.tokens.dark))
    look.set_setting("dark")
    look.set_setting("dark")
    look.set_setting("light")
    assert heard == [True, False]
    assert look.color("paper") == QColor(LIGHT.paper)


def test_text_grows_to_twice_its_size_and_no_further(qapp: QApplication) -> None:
    look = Theme("light")
    assert look.font(BODY).pixelSize() == 13
    look.set_text_scale(150)
    assert look.font(TITLE, 600).pixelSize() == 42
    look.set_text_scale(900)
    assert look.text_scale == 200
    look.set_text_scale(10)
    assert look.text_scale == 100
    assert look.font(CAPTION).pixelSize() >= 11


def test_figures_stand_in_columns_whatever_font_the_system_has(qapp: QApplication) -> None:
    font = Theme("light").font(BODY)
    tag = QFont.Tag.fromString("tnum")
    assert tag is not None
    assert font.featureValue(tag) == 1
    assert font.family()
    assert QFontInfo(font).pixelSize() == 13


def test_the_application_wears_the_theme(plain_app: QApplication) -> None:
    look = Theme("light")
    look.apply(plain_app)
    assert plain_app.palette().color(QPalette.ColorRole.Window) == QColor(LIGHT.paper)
    assert plain_app.style().name().lower() == "fusion" or plain_app.styleSheet()
    look.set_setting("dark")
    assert plain_app.palette().color(QPalette.ColorRole.Window) == QColor(DARK.paper)
    assert DARK.cobalt in plain_app.styleSheet()
    assert LIGHT.cobalt not in plain_app.styleSheet()


def test_a_button_keeps_its_height_when_it_gets_the_focus(plain_app: QApplication) -> None:
    Theme("light").apply(plain_app)
    button, primary = QPushButton("Add log file"), QPushButton("Save")
    primary.setProperty("role", "primary")
    assert button.sizeHint().height() == 32
    assert primary.sizeHint().height() == 32


def test_a_toned_label_takes_the_token(plain_app: QApplication) -> None:
    Theme("dark").apply(plain_app)
    label = QLabel("1 lost")
    label.setProperty("tone", "rust")
    label.ensurePolished()
    assert label.palette().color(QPalette.ColorRole.WindowText) == QColor(DARK.rust)


def test_there_is_one_theme(qapp: QApplication) -> None:
    assert theme.current() is theme.current()

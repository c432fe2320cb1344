"""The theme in use: which tokens, which fonts, and Qt told about both.

Everything that paints asks ``current()``. The theme follows the system's colour scheme unless the
person chose light or dark, and carries the text scale (100 to 200 per cent) into pixel sizes.
"""

from functools import lru_cache
from pathlib import Path
from typing import Literal, cast

from PySide6.QtCore import QObject, Qt, QTemporaryDir, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QFontInfo, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QStyleFactory

from studiolog.desktop.style_sheet import write_style_sheet
from studiolog.desktop.tokens import BODY, DARK, LIGHT, Tokens

Setting = Literal["system", "light", "dark"]
SMALLEST_SCALE, LARGEST_SCALE = 100, 200  # per cent
_DISPLAY_FROM_PX = 15


def relative_luminance(colour: QColor | str) -> float:
    """Relative luminance, 0 black to 1 white, as W3C WCAG 2.2 defines it."""
    shade = QColor(colour)

    def linear(channel: float) -> float:
        return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4

    return (
        0.2126 * linear(shade.redF())
        + 0.7152 * linear(shade.greenF())
        + 0.0722 * linear(shade.blueF())
    )


def contrast(one: QColor | str, other: QColor | str) -> float:
    """Contrast ratio of two colours, 1 to 21 (W3C WCAG 2.2)."""
    low, high = sorted((relative_luminance(one), relative_luminance(other)))
    return (high + 0.05) / (low + 0.05)


# A system font a fifth wider than Inter, and the cut of it that keeps the pages' measure.
_NARROWER = {"DejaVu Sans": "DejaVu Sans Condensed"}


@lru_cache(maxsize=1)
def _families() -> tuple[str, str]:
    """The text and display families: Inter where the system has it, else its own UI font."""
    known = set(QFontDatabase.families())
    # The system may name an alias; what it stands for is what has a narrower cut.
    text = QFontInfo(QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)).family()
    if "Inter" in known:
        text = "Inter"
    elif _NARROWER.get(text) in known:
        text = _NARROWER[text]
    display = "Inter Display" if text == "Inter" and "Inter Display" in known else text
    return text, display


def text_family() -> str:
    """The family of plain text, for what is painted at sizes of its own (paper)."""
    return _families()[0]


class Theme(QObject):
    """Tokens, fonts and colours in use; ``changed`` fires after Qt has been told."""

    changed = Signal()

    def __init__(self, setting: Setting = "system", text_scale: int = 100) -> None:
        super().__init__()
        self._setting: Setting = setting
        self._text_scale = self._clamped(text_scale)
        self._app: QApplication | None = None
        self._glyphs: QTemporaryDir | None = None
        self._tokens = self._wanted()
        # Made once each: painters ask for them thousands of times a second.
        self._colours: dict[str, QColor] = {}
        self._fonts: dict[tuple[tuple[int, int], int, bool], QFont] = {}
        app = QGuiApplication.instance()
        if app is not None:
            QGuiApplication.styleHints().colorSchemeChanged.connect(self._follow)

    # What painters read

    @property
    def tokens(self) -> Tokens:
        return self._tokens

    @property
    def setting(self) -> Setting:
        return self._setting

    @property
    def text_scale(self) -> int:
        """Per cent, 100 to 200."""
        return self._text_scale

    def px(self, size: float) -> int:
        """A pixel length that grows with the text, such as a row height."""
        return round(size * self._text_scale / 100)

    def color(self, name: str) -> QColor:
        """The colour of a token by its name, for example ``color("ink3")``."""
        made = self._colours.get(name)
        if made is None:
            made = self._colours[name] = QColor(cast(str, getattr(self._tokens, name)))
        return QColor(made)

    def font(self, size_line: tuple[int, int], weight: int = 400, tabular: bool = True) -> QFont:
        """A font of one of the type tokens, scaled, with figures of equal width."""
        made = self._fonts.get((size_line, weight, tabular))
        if made is None:
            made = self._make_font(size_line, weight, tabular)
            self._fonts[(size_line, weight, tabular)] = made
        return QFont(made)

    def _make_font(self, size_line: tuple[int, int], weight: int, tabular: bool) -> QFont:
        text, display = _families()
        large = size_line[0] >= _DISPLAY_FROM_PX and weight >= 500
        font = QFont(display if large else text)
        font.setPixelSize(self.px(size_line[0]))
        font.setWeight(QFont.Weight(weight))
        if tabular:
            font.setFeature(QFont.Tag("tnum"), 1)
        return font

    # What the person sets

    def set_setting(self, setting: Setting) -> None:
        """Follow the system, or stay light or dark."""
        if setting != self._setting:
            self._setting = setting
            self._refresh()

    def set_text_scale(self, percent: int) -> None:
        """Text size, kept between 100 and 200 per cent."""
        scale = self._clamped(percent)
        if scale != self._text_scale:
            self._text_scale = scale
            self._refresh()

    def apply(self, app: QApplication) -> None:
        """Give the application its style, palette, font and style sheet, and keep them up."""
        if self._app is app and app.styleSheet() == self._sheet():
            return  # dressing again would have Qt polish every widget there is
        self._app = app
        fusion = QStyleFactory.create("Fusion")
        if fusion is not None:
            app.setStyle(fusion)
        self._dress(app)

    # Inside

    @staticmethod
    def _clamped(percent: int) -> int:
        return max(SMALLEST_SCALE, min(LARGEST_SCALE, int(percent)))

    def _wanted(self) -> Tokens:
        if self._setting == "system":
            if QGuiApplication.instance() is None:
                return LIGHT
            dark = QGuiApplication.styleHints().colorScheme() == Qt.ColorScheme.Dark
            return DARK if dark else LIGHT
        return DARK if self._setting == "dark" else LIGHT

    def _follow(self) -> None:
        if self._setting == "system" and self._wanted() is not self._tokens:
            self._refresh()

    def _refresh(self) -> None:
        self._tokens = self._wanted()
        self._colours.clear()
        self._fonts.clear()
        if self._app is not None:
            self._dress(self._app)
        self.changed.emit()

    def _dress(self, app: QApplication) -> None:
        app.setPalette(self.palette())
        app.setFont(self.font(BODY))
        app.setStyleSheet(self._sheet())

    def _sheet(self) -> str:
        if self._glyphs is None:
            self._glyphs = QTemporaryDir()
        return write_style_sheet(self._tokens, self.px, Path(self._glyphs.path()))

    def palette(self) -> QPalette:
        """The tokens as Qt's palette roles."""
        tokens, role, group = self._tokens, QPalette.ColorRole, QPalette.ColorGroup
        palette = QPalette()
        for colour_role, name in (
            (role.Window, "paper"),
            (role.WindowText, "ink"),
            (role.Base, "sheet"),
            (role.AlternateBase, "paper"),
            (role.Text, "ink"),
            (role.PlaceholderText, "ink3"),
            (role.Button, "sheet"),
            (role.ButtonText, "ink"),
            (role.BrightText, "rust"),
            (role.Highlight, "cobalt"),
            (role.HighlightedText, "oncobalt"),
            (role.Accent, "cobalt"),
            (role.Link, "cobalt"),
            (role.LinkVisited, "cobalt"),
            (role.ToolTipBase, "ink"),
            (role.ToolTipText, "paper"),
            (role.Light, "sheet"),
            (role.Midlight, "sunk"),
            (role.Mid, "line"),
            (role.Dark, "line2"),
            (role.Shadow, "line2"),
        ):
            palette.setColor(colour_role, self.color(name))
        for colour_role in (role.WindowText, role.Text, role.ButtonText):
            palette.setColor(group.Disabled, colour_role, QColor(tokens.line2))
        return palette


_current: list[Theme] = []


def current() -> Theme:
    """The one theme of this program; made when first asked for."""
    if not _current:
        _current.append(Theme())
    return _current[0]

"""The one style sheet, written from the tokens: what Qt's own controls look like.

Print-like: hairlines, no shadow, no gradient. Focus is a 2 px cobalt line.
"""

from collections.abc import Callable
from pathlib import Path

from studiolog.desktop.tokens import (
    BODY,
    BUTTON_HEIGHT,
    CAPTION,
    RADIUS_CARD,
    RADIUS_CHIP,
    RADIUS_DIALOG,
    SECONDARY,
    Tokens,
)
from studiolog.shipped import resource


def _glyph(folder: Path, name: str, colour: str) -> str:
    """Write an icon in one colour for the style sheet to point at; gives its path."""
    target = folder / f"{name}-{colour[1:]}.svg"
    if not target.exists():
        drawn = resource("icons", f"{name}.svg").read_text(encoding="utf-8")
        target.write_text(drawn.replace("currentColor", colour), encoding="utf-8")
    return target.as_posix()


def write_style_sheet(t: Tokens, px: Callable[[float], int], glyph_folder: Path) -> str:
    """The style sheet of one theme; ``px`` scales with the text."""
    # A control's box is 32 px: content + padding + 1 px border on each side.
    inner = px(BUTTON_HEIGHT) - 2
    down = _glyph(glyph_folder, "arrow_down", t.ink2)
    up = _glyph(glyph_folder, "arrow_up", t.ink2)
    tick = _glyph(glyph_folder, "check", t.oncobalt)
    return f"""
QToolTip {{ background: {t.ink}; color: {t.paper}; border: 0; padding: 4px 8px;
    font-size: {px(SECONDARY[0])}px; }}

QPushButton {{ min-height: {inner}px; max-height: {inner}px; padding: 0 12px;
    border: 1px solid {t.line2}; border-radius: {RADIUS_CARD}px; background: {t.sheet};
    color: {t.ink}; font-size: {px(BODY[0])}px; font-weight: 500; }}
QPushButton:hover {{ background: {t.sunk}; }}
QPushButton:pressed, QPushButton:checked {{ background: {t.cobaltwash}; }}
QPushButton:focus {{ border: 2px solid {t.cobalt}; padding: 0 11px;
    min-height: {inner - 2}px; max-height: {inner - 2}px; }}
QPushButton:disabled {{ color: {t.line2}; border-color: {t.line}; background: transparent; }}
QPushButton[role="primary"] {{ background: {t.cobalt}; border-color: {t.cobalt};
    color: {t.oncobalt}; font-weight: 600; }}
QPushButton[role="primary"]:hover, QPushButton[role="primary"]:pressed {{
    background: {t.ink}; border-color: {t.ink}; color: {t.paper}; }}
QPushButton[role="primary"]:focus {{ border: 2px solid {t.ink}; }}
QPushButton[role="primary"]:disabled {{ background: {t.sunk}; border-color: {t.line};
    color: {t.ink3}; }}
QPushButton[role="link"] {{ min-height: {px(20)}px; max-height: {px(20)}px; padding: 0;
    border: 0; border-bottom: 2px solid transparent; border-radius: 0;
    background: transparent; color: {t.cobalt}; font-size: {px(SECONDARY[0])}px;
    font-weight: 500; }}
QPushButton[role="link"]:hover {{ border-bottom-color: {t.line2}; }}
QPushButton[role="link"]:focus {{ border: 0; border-bottom: 2px solid {t.cobalt}; padding: 0;
    min-height: {px(20)}px; max-height: {px(20)}px; background: {t.cobaltwash}; }}
QPushButton[role="link"]:disabled {{ color: {t.ink3}; background: transparent; }}

QToolButton {{ border: 2px solid transparent; border-radius: {RADIUS_CARD}px;
    background: transparent; color: {t.ink}; padding: 4px; }}
QToolButton:hover {{ background: {t.sunk}; }}
QToolButton:pressed, QToolButton:checked {{ background: {t.cobaltwash}; }}
QToolButton:focus {{ border-color: {t.cobalt}; }}

QLineEdit, QComboBox, QSpinBox, QDoubleSpinBox, QDateEdit, QAbstractSpinBox {{
    min-height: {inner}px; max-height: {inner}px; padding: 0 10px;
    border: 1px solid {t.line2}; border-radius: {RADIUS_CARD}px; background: {t.sheet};
    color: {t.ink}; placeholder-text-color: {t.ink3};
    selection-background-color: {t.cobalt}; selection-color: {t.oncobalt};
    font-size: {px(BODY[0])}px; }}
QLineEdit:focus, QComboBox:focus, QSpinBox:focus, QDoubleSpinBox:focus, QDateEdit:focus {{
    border: 2px solid {t.cobalt}; padding: 0 9px;
    min-height: {inner - 2}px; max-height: {inner - 2}px; }}
QLineEdit:disabled, QComboBox:disabled {{ color: {t.ink3}; border-color: {t.line};
    background: transparent; }}
QLineEdit[problem="true"] {{ border-color: {t.rust}; }}
QAbstractSpinBox QLineEdit, QAbstractSpinBox QLineEdit:focus {{ border: 0; padding: 0 0 0 8px;
    background: transparent; min-height: {inner - 4}px; }}
QLineEdit[role="bare"] {{ border: 0; border-radius: 0; background: transparent; padding: 0;
    min-height: {px(20)}px; max-height: {px(40)}px; }}
QLineEdit[role="bare"]:focus {{ border: 0; border-bottom: 2px solid {t.cobalt}; border-radius: 0;
    padding: 0; min-height: {px(20)}px; max-height: {px(40)}px; background: {t.sheet}; }}
QComboBox::drop-down {{ border: 0; width: 24px; }}
QComboBox::down-arrow {{ image: url({down}); width: 12px; height: 12px; }}
QComboBox QLineEdit, QComboBox QLineEdit:focus {{ border: 0; padding: 0; background: transparent;
    min-height: {inner - 4}px; }}
QSpinBox::up-button, QDoubleSpinBox::up-button {{ border: 0; width: 20px; }}
QSpinBox::down-button, QDoubleSpinBox::down-button {{ border: 0; width: 20px; }}
QSpinBox::up-arrow, QDoubleSpinBox::up-arrow {{ image: url({up}); width: 10px; height: 10px; }}
QSpinBox::down-arrow, QDoubleSpinBox::down-arrow {{ image: url({down}); width: 10px;
    height: 10px; }}
QPlainTextEdit, QTextEdit {{ border: 1px solid {t.line2}; border-radius: {RADIUS_CARD}px;
    background: {t.sheet}; color: {t.ink}; padding: 5px 6px;
    placeholder-text-color: {t.ink3};
    selection-background-color: {t.cobalt}; selection-color: {t.oncobalt}; }}
QPlainTextEdit:focus, QTextEdit:focus {{ border: 2px solid {t.cobalt}; padding: 4px 5px; }}

QCheckBox, QRadioButton {{ spacing: 8px; color: {t.ink}; padding: 2px;
    border: 2px solid transparent; border-radius: {RADIUS_CHIP}px; }}
QCheckBox:focus, QRadioButton:focus {{ border-color: {t.cobalt}; }}
QCheckBox::indicator, QRadioButton::indicator {{ width: 14px; height: 14px;
    border: 1px solid {t.ink3}; background: {t.sheet}; }}
QCheckBox::indicator {{ border-radius: 3px; }}
QRadioButton::indicator {{ border-radius: 8px; }}
QCheckBox::indicator:checked {{ background: {t.cobalt}; border-color: {t.cobalt};
    image: url({tick}); }}
QRadioButton::indicator:checked {{ background: {t.sheet}; border: 5px solid {t.cobalt};
    width: 6px; height: 6px; }}
QCheckBox:disabled, QRadioButton:disabled {{ color: {t.ink3}; }}

QAbstractItemView {{ border: 0; background: transparent; color: {t.ink};
    gridline-color: {t.line}; alternate-background-color: transparent;
    selection-background-color: {t.cobaltwash}; selection-color: {t.ink}; outline: 0; }}
QTableView::item, QTreeView::item, QListView::item {{ padding: 4px 8px; border: 0;
    border-bottom: 1px solid {t.line}; }}
QTableView::item:hover, QTreeView::item:hover, QListView::item:hover {{ background: {t.sunk}; }}
QTableView::item:selected, QTreeView::item:selected, QListView::item:selected {{
    background: {t.cobaltwash}; color: {t.ink}; }}
QTableView::item:focus, QListView::item:focus, QTreeView::item:focus {{
    border: 2px solid {t.cobalt}; padding: 2px 6px; }}
QComboBox QAbstractItemView, QAbstractItemView[role="popup"] {{ background: {t.sheet};
    border: 1px solid {t.line2}; padding: 4px; }}
QHeaderView {{ background: transparent; border: 0; }}
QHeaderView::section {{ background: transparent; color: {t.ink2}; border: 0;
    border-bottom: 1px solid {t.ink}; padding: 6px 8px; font-size: {px(SECONDARY[0])}px;
    font-weight: 500; }}
QTableCornerButton::section {{ background: {t.paper}; border: 0;
    border-bottom: 1px solid {t.ink}; }}

QTabWidget::pane {{ border: 0; border-top: 1px solid {t.line}; }}
QTabBar {{ background: transparent; }}
QTabBar::tab {{ background: transparent; color: {t.ink2}; padding: 8px 2px; margin-right: 24px;
    border: 0; border-bottom: 3px solid transparent; font-size: {px(BODY[0])}px;
    font-weight: 500; }}
QTabBar::tab:hover {{ color: {t.ink}; border-bottom-color: {t.line2}; }}
QTabBar::tab:selected {{ color: {t.ink}; font-weight: 600; border-bottom-color: {t.cobalt}; }}
QTabBar::tab:focus {{ color: {t.cobalt}; }}

QMenuBar {{ background: {t.paper}; color: {t.ink}; border-bottom: 1px solid {t.line}; }}
QMenuBar::item {{ padding: 4px 10px; background: transparent; border-radius: {RADIUS_CHIP}px; }}
QMenuBar::item:selected {{ background: {t.cobaltwash}; color: {t.ink}; }}
QMenu {{ background: {t.sheet}; color: {t.ink}; border: 1px solid {t.line2}; padding: 4px; }}
QMenu::item {{ padding: 5px 24px 5px 12px; border-radius: {RADIUS_CHIP}px; }}
QMenu::item:selected {{ background: {t.cobaltwash}; color: {t.ink}; }}
QMenu::item:disabled {{ color: {t.ink3}; }}
QMenu::separator {{ height: 1px; background: {t.line}; margin: 4px 8px; }}

QScrollArea {{ border: 0; background: transparent; }}
QScrollBar:vertical {{ width: 10px; background: transparent; margin: 0; }}
QScrollBar:horizontal {{ height: 10px; background: transparent; margin: 0; }}
QScrollBar::handle {{ background: {t.line2}; border-radius: 3px; margin: 2px; }}
QScrollBar::handle:hover {{ background: {t.ink3}; }}
QScrollBar::handle:vertical {{ min-height: 32px; }}
QScrollBar::handle:horizontal {{ min-width: 32px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; border: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}

QProgressBar {{ border: 0; background: {t.sunk}; max-height: 4px; min-height: 4px;
    border-radius: 2px; color: transparent; }}
QProgressBar::chunk {{ background: {t.cobalt}; border-radius: 2px; }}
QSplitter::handle {{ background: {t.line}; }}
QSplitter::handle:focus {{ background: {t.cobalt}; }}
QStatusBar {{ background: {t.paper}; color: {t.ink3}; border-top: 1px solid {t.line};
    font-size: {px(CAPTION[0])}px; }}
QStatusBar::item {{ border: 0; }}
QGroupBox {{ border: 0; margin-top: {px(24)}px; font-weight: 600; }}
QGroupBox::title {{ subcontrol-origin: margin; left: 0; }}
QDialog {{ background: {t.sheet}; border-radius: {RADIUS_DIALOG}px; }}

QLabel[tone="ink"] {{ color: {t.ink}; }}
QLabel[tone="ink2"] {{ color: {t.ink2}; }}
QLabel[tone="ink3"] {{ color: {t.ink3}; }}
QLabel[tone="rust"] {{ color: {t.rust}; }}
QLabel[tone="celadon"] {{ color: {t.celadon}; }}
QLabel[tone="ochre"] {{ color: {t.ochre}; }}
QLabel[tone="cobalt"] {{ color: {t.cobalt}; }}
"""

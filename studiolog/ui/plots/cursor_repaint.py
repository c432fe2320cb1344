"""Repaints what a cursor left and what it covers now, a plain rectangle at a time.

Measured: a region of several rectangles has the painter clip every stroke against all its rows,
which costs ten times what the pixels do.
"""

from collections.abc import Sequence
from itertools import zip_longest

from PySide6.QtCore import QRect
from PySide6.QtWidgets import QWidget


def repaint_moved(widget: QWidget, left: Sequence[QRect], taken: Sequence[QRect]) -> None:
    """Repaint parts of a widget at once: each part where it stood, and where it stands."""
    for old, new in zip_longest(left, taken, fillvalue=QRect()):
        both = old.united(new)
        if _area(both) <= 2 * (_area(old) + _area(new)):
            widget.repaint(both)
        else:
            widget.repaint(old)
            widget.repaint(new)


def _area(rect: QRect) -> int:
    return rect.width() * rect.height()

"""What is pressed while a journal opens: kept, and done in order once it is open."""

from collections import deque
from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, QTimer
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

# What a field of text does at once, open journal or not, is anything but these.
_ASKS_THE_JOURNAL = frozenset(
    {Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Escape, Qt.Key.Key_Up, Qt.Key.Key_Down}
)
_NEEDS_NO_JOURNAL = frozenset(
    {
        Qt.Key.Key_Tab,
        Qt.Key.Key_Backtab,
        Qt.Key.Key_Shift,
        Qt.Key.Key_Control,
        Qt.Key.Key_Alt,
        Qt.Key.Key_AltGr,
        Qt.Key.Key_Meta,
    }
)


class Meanwhile(QObject):
    """Keeps keys and whatever else is asked of a window that has no journal yet.

    Typing goes into a field as ever. Every other key, and every key after one that was kept, waits
    for its turn: what was pressed last is never done first.
    """

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self._watched: list[QWidget] = []
        self._kept: deque[Callable[[], object]] = deque()
        self._playing = False
        self.keeping = False

    def begin(self, *watched: QWidget) -> None:
        """Keep the keys that these widgets are given, too."""
        self.keeping = True
        self._watched += watched
        for widget in watched:
            widget.installEventFilter(self)

    def keep(self, act: Callable[[], object]) -> None:
        """Do this once the journal is open, after what was kept before."""
        self._kept.append(act)

    def end(self) -> None:
        """The journal is open: do what was kept, one thing at a turn of the event loop."""
        if self._kept:
            # What is done may open a sheet; the next key then belongs to that.
            QTimer.singleShot(0, self, self._do_next)
            return
        self.keeping = False
        for widget in self._watched:
            widget.removeEventFilter(self)
        self._watched.clear()

    def _do_next(self) -> None:
        try:
            self._kept.popleft()()
        finally:
            self._playing = False
            self.end()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: a key on its way to one of the watched widgets."""
        if self._playing or not isinstance(event, QKeyEvent):
            return False
        if event.type() != QEvent.Type.KeyPress:
            return False
        if not self._kept and self._is_done_at_once(watched, event):
            return False
        pressed = (event.key(), event.modifiers(), event.text())
        self.keep(lambda: self._press(*pressed))
        return True

    @staticmethod
    def _is_done_at_once(watched: QObject, event: QKeyEvent) -> bool:
        key = Qt.Key(event.key())
        if key in _NEEDS_NO_JOURNAL:
            return True
        return isinstance(watched, QLineEdit) and key not in _ASKS_THE_JOURNAL

    def _press(self, key: int, modifiers: Qt.KeyboardModifier, text: str) -> None:
        target = QApplication.focusWidget() or self._window.focusWidget() or self._window
        self._playing = True
        for kind in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease):
            QApplication.sendEvent(target, QKeyEvent(kind, key, modifiers, text))

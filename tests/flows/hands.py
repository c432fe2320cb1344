"""A potter's hands: keys that go to whatever has the keyboard, clicks that go where they point.

Both count what they do, step by step.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QAction, QDragEnterEvent, QDropEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu, QTabBar, QWidget

NONE = Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
ALT = Qt.KeyboardModifier.AltModifier
SHIFT = Qt.KeyboardModifier.ShiftModifier


class Counted:
    """What was done in each step: ``acts`` with the hands, ``letters`` of text typed."""

    what = "acts"

    def __init__(self) -> None:
        self.steps: dict[str, tuple[int, int]] = {}
        self._acts = self._letters = 0

    @contextmanager
    def step(self, words: str) -> Iterator[None]:
        """What is done within is counted under these words."""
        self._acts = self._letters = 0
        yield
        self.steps[words] = (self._acts, self._letters)

    @property
    def acts(self) -> int:
        return sum(acts for acts, _letters in self.steps.values())

    def table(self) -> str:
        """A line a step, as printed."""
        lines = [f"{self.what:>7}  letters  step"]
        lines += [f"{a:7}  {n:7}  {words}" for words, (a, n) in self.steps.items()]
        letters = sum(n for _acts, n in self.steps.values())
        return "\n".join((*lines, f"{self.acts:7}  {letters:7}  in all"))

    def _letters_to(self, target: QWidget, text: str) -> None:
        QTest.keyClicks(target, text)
        self._letters += len(text)


def holder() -> QWidget:
    """Whatever has the keyboard."""
    here = QApplication.activePopupWidget() or QApplication.focusWidget()
    here = here or QApplication.activeModalWidget() or QApplication.activeWindow()
    assert here is not None, "nothing has the keyboard"
    return here


class Keys(Counted):
    """Presses: a key with or without Ctrl, Alt or Shift is one, a letter of text is a letter."""

    what = "presses"

    def press(self, *keys: Qt.Key, with_: Qt.KeyboardModifier = NONE) -> None:
        for key in keys:
            QTest.keyClick(holder(), key, with_)
            self._acts += 1

    def ctrl(self, key: Qt.Key) -> None:
        self.press(key, with_=CTRL)

    def alt(self, key: Qt.Key) -> None:
        self.press(key, with_=ALT)

    def type(self, text: str) -> None:
        self._letters_to(holder(), text)

    def letters(self, commands: str) -> None:
        """Letters that are commands, not text: each may move the keyboard on."""
        for letter in commands:
            QTest.keyClicks(holder(), letter)
            self._acts += 1


class Mouse(Counted):
    """Clicks and drops; text is typed only into a field that was clicked or stands ready."""

    what = "clicks"

    def click(self, widget: QWidget, at: QPoint | None = None) -> None:
        assert widget.isVisible(), f"{widget.accessibleName()} can't be seen"
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton, NONE, at or widget.rect().center())
        self._acts += 1

    def tab(self, tabs: QTabBar, place: int) -> None:
        self.click(tabs, tabs.tabRect(place).center())

    def choose(self, segmented: Any, ident: object) -> None:
        """Click one of a row of options."""
        idents = [choice.ident for choice in segmented._choices]
        box = segmented._boxes()[idents.index(ident)]
        self.click(segmented, box.center().toPoint())

    def act(self, menu: QMenu, words: str) -> None:
        """Click an action of a menu that is open."""
        action = next(a for a in menu.actions() if a.text().startswith(words))
        self._click_action(menu, action)

    def _click_action(self, menu: QMenu, action: QAction) -> None:
        self.click(menu, menu.actionGeometry(action).center())

    def type(self, text: str) -> None:
        self._letters_to(holder(), text)

    def drop(self, files: list[Path], onto: QWidget) -> None:
        """Drag files onto a widget and let go: counted as one click."""
        held = QMimeData()
        held.setUrls([QUrl.fromLocalFile(str(file)) for file in files])
        at = onto.rect().center()
        copy, left = Qt.DropAction.CopyAction, Qt.MouseButton.LeftButton
        entering = QDragEnterEvent(at, copy, held, left, NONE)
        QApplication.sendEvent(onto, entering)
        assert entering.isAccepted(), "it takes no files"
        QApplication.sendEvent(onto, QDropEvent(QPointF(at), copy, held, left, NONE))
        self._acts += 1

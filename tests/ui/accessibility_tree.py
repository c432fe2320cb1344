"""Walking a window as a screen reader and the Tab key do: names, stops, and where focus shows."""

import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QAbstractScrollArea, QComboBox, QWidget

Role = QAccessible.Role
_ACTED_ON = {
    Role.Button,
    Role.CheckBox,
    Role.RadioButton,
    Role.ComboBox,
    Role.EditableText,
    Role.SpinBox,
    Role.Slider,
    Role.Link,
    Role.List,
    Role.Table,
    Role.Tree,
    Role.PageTabList,
}
_ITEMS = {Role.ListItem, Role.PageTab, Role.TreeItem}
_GROWN_PX = 4
FEWEST_PIXELS = 24
"""A text cursor alone is thinner than this."""


@dataclass(frozen=True)
class Control:
    """Something a person can act on: what a reader calls it, and where it stands."""

    widget: QWidget
    name: str
    role: QAccessible.Role
    parent: str
    focusable: bool

    def __str__(self) -> str:
        return f"{type(self.widget).__name__} “{self.name}” in {self.parent}"


def controls(root: QWidget) -> list[Control]:
    """Every control of the accessibility tree that can be seen."""
    return list(_walk(QAccessible.queryAccessibleInterface(root), ""))


def _walk(interface: QAccessibleInterface, parent: str) -> Iterator[Control]:
    if not interface.isValid() or interface.state().invisible:
        return
    widget = interface.object()
    if not isinstance(widget, QWidget) or not widget.isVisible():
        return
    state = interface.state()
    name = _name_of(interface, widget)
    focusable = bool(state.focusable) and widget.focusPolicy() != Qt.FocusPolicy.NoFocus
    acts = isinstance(widget, QAbstractButton) or interface.role() in _ACTED_ON
    if widget.isEnabled() and (focusable or acts) and not _is_inner(widget):
        yield Control(widget, name, interface.role(), parent, focusable)
    kind = type(widget).__name__
    for place in range(interface.childCount()):
        child = interface.child(place)
        if child is not None and isinstance(child.object(), QWidget):
            yield from _walk(child, kind)


def _name_of(interface: QAccessibleInterface, widget: QWidget) -> str:
    """What a reader calls it. On Unix, Qt gives what a combo box holds as its name."""
    line = widget.lineEdit() if isinstance(widget, QComboBox) else None
    if line is not None:
        interface = QAccessible.queryAccessibleInterface(line)
    return interface.text(QAccessible.Text.Name)


def _is_inner(widget: QWidget) -> bool:
    """Whether Qt made it as a part of another control, which speaks for it."""
    owner = widget.parentWidget()
    ground = isinstance(owner, QAbstractScrollArea) and owner.viewport() is widget
    return ground or widget.objectName().startswith("qt_")


def nameless(found: list[Control]) -> list[str]:
    """Controls that say nothing, or nothing but a sign: a name has a word or a number in it."""
    return [str(one) for one in found if not re.search(r"[^\W\d_]{2}|\d", one.name)]


def silent_items(root: QWidget) -> list[str]:
    """Rows and tabs of the lists that can be seen, that say nothing."""
    silent = []
    for one in controls(root):
        interface = QAccessible.queryAccessibleInterface(one.widget)
        for place in range(min(interface.childCount(), 40)):
            item = interface.child(place)
            if item is None or item.role() not in _ITEMS:
                continue
            if not item.text(QAccessible.Text.Name).strip():
                silent.append(f"row {place} of {one}")
    return silent


def namesakes(found: list[Control]) -> list[str]:
    """Controls side by side that no reader could tell apart."""
    by_owner: dict[tuple[int, str], list[Control]] = defaultdict(list)
    for one in found:
        by_owner[(id(one.widget.parentWidget()), one.name)].append(one)
    return [" and ".join(map(str, same)) for same in by_owner.values() if len(same) > 1]


def tab_round(
    root: QWidget,
    key: Qt.Key = Qt.Key.Key_Tab,
    look: Callable[[QWidget], None] = lambda _stop: None,
) -> list[QWidget]:
    """The stops of the Tab key from where the keyboard is, once round; ``look`` is given each.

    Fails if the keyboard is nowhere, stays, or never comes back. The window itself is asked who has
    it: it knows even while another window closes, when the application can't say.
    """
    window = root.window()
    here = window.focusWidget()
    if here is None or not _is_stop(here):
        press(here or root, key)
        here = window.focusWidget()
    assert here is not None, f"Tab finds nothing in {describe(root)}"
    stops: list[QWidget] = []
    while here is not None and here not in stops:
        stops.append(here)
        look(here)
        press(here, key)
        here = window.focusWidget()
    if len(stops) > 1:
        assert here is not stops[-1], f"the Tab key stays in {describe(here)}"
    assert here is not None, f"the keyboard is lost after {describe(stops[-1])}"
    assert here is stops[0], f"Tab goes from {describe(stops[-1])} back to {describe(here)}"
    return stops


def _is_stop(widget: QWidget) -> bool:
    """Whether Tab comes to it: a page may have the keyboard first and be no stop of its own."""
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) or _is_row(widget)


def _is_row(widget: QWidget) -> bool:
    """One of the rows of a field that is one stop: Tab comes to one, arrows to the others."""
    owner = widget.parentWidget()
    clicked = widget.focusPolicy() == Qt.FocusPolicy.ClickFocus
    return clicked and owner is not None and bool(owner.focusPolicy() & Qt.FocusPolicy.TabFocus)


def press(widget: QWidget, key: Qt.Key) -> None:
    """One press, given as the keyboard would: to whatever has the focus."""
    shift = Qt.KeyboardModifier.ShiftModifier
    none = Qt.KeyboardModifier.NoModifier
    QTest.keyClick(widget, key, shift if key == Qt.Key.Key_Backtab else none)


def describe(widget: QWidget | None) -> str:
    """A widget in the words of the report."""
    if widget is None:
        return "nothing"
    owner = widget.parentWidget()
    return (
        f"{type(widget).__name__} “{widget.accessibleName()}” in "
        f"{type(owner).__name__ if owner else 'nothing'}"
    )


def not_reached(found: list[Control], stops: list[QWidget]) -> list[str]:
    """Controls Tab never comes to, nor to a field of several parts that they belong to."""
    left_out = []
    for one in found:
        proxy = one.widget.focusProxy()
        if one.widget in stops or (proxy is not None and proxy in stops):
            continue
        if any(stop.parentWidget() is one.widget and _is_row(stop) for stop in stops):
            continue
        if not one.focusable or not one.widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            continue
        left_out.append(str(one))
    return left_out


def out_of_sight(stop: QWidget) -> bool:
    """Whether a control that has the keyboard is scrolled away."""
    seen = stop.rect()
    here: QWidget | None = stop
    while here is not None and not here.isWindow():
        seen = seen.translated(here.pos())
        here = here.parentWidget()
        if here is not None:
            seen = seen.intersected(here.rect())
    return seen.isEmpty()


def wake(window: QWidget) -> None:
    """Make it the active window: focus shows in no other.

    Off-screen there is no window manager: the news that a window of the test before has closed may
    come late on a busy machine, and then nothing is active.
    """
    if not window.isActiveWindow():
        window.activateWindow()
        assert QTest.qWaitForWindowActive(window, 20_000), f"{describe(window)} stays asleep"


def pixels_changed_by_focus(stop: QWidget) -> int:
    """How many pixels in and round a control differ when it has the keyboard."""
    window = stop.window()
    wake(window)
    grown = QRect(stop.mapTo(window, QPoint(0, 0)), stop.size()).adjusted(
        -_GROWN_PX, -_GROWN_PX, _GROWN_PX, _GROWN_PX
    )
    box = grown.intersected(window.rect())
    with_focus = window.grab(box).toImage()
    stop.clearFocus()
    without = window.grab(box).toImage()
    stop.setFocus(Qt.FocusReason.TabFocusReason)
    return _differing(with_focus, without)


def _differing(one: QImage, other: QImage) -> int:
    import numpy as np

    if one.isNull() or one.size() != other.size():
        return one.width() * one.height()
    # Kept until they are compared: the arrays only point into them.
    both = [image.convertToFormat(QImage.Format.Format_RGB32) for image in (one, other)]
    first, second = (np.frombuffer(image.constBits(), dtype=np.uint32) for image in both)
    return int(np.count_nonzero(first != second))

"""Where the keyboard goes, the page scrolls."""

from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QAbstractItemView, QApplication, QListView, QScrollArea, QWidget

_ROOM_PX = 24


def enter(page: QWidget) -> None:
    """Give a page the keyboard, unless it is in it: where it was last, else its list."""
    here = QApplication.focusWidget()
    if here is not None and page.isAncestorOf(here):
        return
    last: QWidget | None = page.focusWidget()
    if last is None or not last.isVisibleTo(page):
        lists = [view for view in page.findChildren(QAbstractItemView) if view.isVisibleTo(page)]
        last = next((view for view in lists if view.focusPolicy() & Qt.FocusPolicy.TabFocus), None)
    if last is None:
        page.setFocus(Qt.FocusReason.ShortcutFocusReason)
        page.focusNextChild()
    else:
        last.setFocus(Qt.FocusReason.ShortcutFocusReason)


def show_whole(widget: QWidget) -> None:
    """Scroll till all of it is seen; the head of it, where it is higher than the window."""
    here: QWidget | None = widget.parentWidget()
    while here is not None:
        if isinstance(here, QScrollArea):
            high = here.viewport().height()
            top = widget.mapTo(here.viewport(), QPoint(0, 0)).y()
            below = min(top + widget.height() + _ROOM_PX - high, top)
            bar = here.verticalScrollBar()
            if below > 0 or top < 0:
                bar.setValue(bar.value() + (below if below > 0 else top))
            return
        here = here.parentWidget()


def go_back_to_list(asked: QWidget) -> None:
    """Give the keyboard from what is about to be put away to the list beside the page.

    Qt would give it to whatever field comes next, and the next key would be written there.
    """
    here = QApplication.focusWidget()
    if here is None or not asked.isAncestorOf(here):
        return
    page = asked.parentWidget()
    while page is not None:
        for view in page.findChildren(QListView):
            if view.isVisible() and view.focusPolicy() & Qt.FocusPolicy.TabFocus:
                view.setFocus(Qt.FocusReason.OtherFocusReason)
                return
        page = page.parentWidget()


def bring_into_sight() -> None:
    """Scroll to the control that has the keyboard.

    Qt does so only for steps within one scroll area, not for a step into it from outside.
    """
    control = QApplication.focusWidget()
    here: QWidget | None = control
    while here is not None and control is not None:
        if isinstance(here, QScrollArea):
            here.ensureWidgetVisible(control, 0, _ROOM_PX)
        here = here.parentWidget()

"""Where the keyboard goes, the page scrolls."""

from PySide6.QtWidgets import QApplication, QScrollArea, QWidget

_ROOM_PX = 24


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

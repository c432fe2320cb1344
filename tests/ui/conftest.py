"""After every test of the window, nothing of it is left standing."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtWidgets import QApplication


@pytest.fixture(autouse=True)
def _leave_nothing_standing(request: pytest.FixtureRequest) -> Iterator[None]:
    yield
    if "qapp" not in request.fixturenames:
        return
    # A window that outlives its test is polished anew with every later one.
    # Only our own: Qt's pop-up lists are deleted by the fields they belong to.
    for window in QApplication.topLevelWidgets():
        if type(window).__module__.startswith("studiolog") and window.parentWidget() is None:
            window.close()
            window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

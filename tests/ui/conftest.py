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
    for window in QApplication.topLevelWidgets():
        window.close()
        window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

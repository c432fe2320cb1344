"""A studio and its screens for the tests of the window; after each, nothing is left standing."""

from collections.abc import Iterator
from typing import Protocol, TypeVar

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from studiolog.desktop.desk import Desk
from studiolog.ui.parts.screen import Screen
from tests.small_studio import SmallStudio, fill_studio

S = TypeVar("S", bound=Screen)
SHARED = "stands for a whole file of tests"
"""The property of a window that its own fixture closes, not the end of each test."""


class OpenScreen(Protocol):
    """Opens a screen at the test's desk and waits until it stands."""

    def __call__(self, kind: type[S], wide: int = 1216, high: int = 700) -> S: ...


def wait_for_forecast(desk: Desk) -> None:
    """Until what is owed is foretold, if a screen asked for it."""
    while desk.foresight.is_drawing:
        QTest.qWait(5)


@pytest.fixture
def studio(desk: Desk) -> SmallStudio:
    """A kiln's worth of glazes, clays, forms, programs and pieces in the desk's journal."""
    return fill_studio(desk.journal)


@pytest.fixture
def open_screen(desk: Desk, qtbot: QtBot) -> Iterator[OpenScreen]:
    """``open_screen(ClaysScreen)``, as wide and high as it should be."""

    def open_it(kind: type[S], wide: int = 1216, high: int = 700) -> S:
        screen = kind(desk)
        qtbot.addWidget(screen)
        screen.resize(wide, high)
        screen.show()
        qtbot.waitExposed(screen)
        screen.activateWindow()
        return screen

    yield open_it
    desk.jobs.wait()


@pytest.fixture(autouse=True)
def _leave_nothing_standing(request: pytest.FixtureRequest) -> Iterator[None]:
    yield
    if "qapp" not in request.fixturenames:
        return
    # A window that outlives its test is polished anew with every later one.
    # Only our own: Qt's pop-up lists are deleted by the fields they belong to.
    for window in QApplication.topLevelWidgets():
        if window.property(SHARED) or window.parentWidget() is not None:
            continue
        if type(window).__module__.startswith("studiolog"):
            window.close()
            window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)

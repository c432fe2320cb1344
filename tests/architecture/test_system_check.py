"""A missing system library is told with the package that brings it."""

import pytest

from studiolog import system_check


def test_what_is_here_is_enough() -> None:
    assert system_check.find_problem() is None


def test_a_missing_library_names_its_package() -> None:
    assert "apt install libegl1" in system_check.say_missing("libEGL.so.1")
    assert "dnf install xcb-util-cursor" in system_check.say_missing("libxcb-cursor.so.0")
    assert "libstrange.so.9" in system_check.say_missing("libstrange.so.9")


def test_a_window_on_x11_asks_for_its_libraries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(system_check.sys, "platform", "linux")
    monkeypatch.setenv("DISPLAY", ":0")
    monkeypatch.delenv("QT_QPA_PLATFORM", raising=False)

    def load(library: str) -> None:
        raise OSError(f"{library}: cannot open shared object file")

    monkeypatch.setattr("ctypes.CDLL", load)
    said = system_check.find_missing_for_a_window()
    assert said is not None
    assert "libxcb-cursor0" in said
    monkeypatch.delenv("DISPLAY")
    assert system_check.find_missing_for_a_window() is None

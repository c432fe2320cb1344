"""Say plainly which system package is missing, before Qt says it in its own words.

Run as ``python -m studiolog.system_check``: exit 0 if the window can open (or there is no
display to open it on), 2 with a sentence otherwise.
"""

import os
import re
import sys

# Library -> the package that brings it, on Debian and Ubuntu, then on Fedora.
_PACKAGES = {
    "libEGL": ("libegl1", "mesa-libEGL"),
    "libGL": ("libgl1", "mesa-libGL"),
    "libxkbcommon": ("libxkbcommon0", "libxkbcommon"),
    "libxkbcommon-x11": ("libxkbcommon-x11-0", "libxkbcommon-x11"),
    "libdbus-1": ("libdbus-1-3", "dbus-libs"),
    "libfontconfig": ("libfontconfig1", "fontconfig"),
    "libglib-2.0": ("libglib2.0-0", "glib2"),
    "libgthread-2.0": ("libglib2.0-0", "glib2"),
    "libxcb-cursor": ("libxcb-cursor0", "xcb-util-cursor"),
    "libxcb-icccm": ("libxcb-icccm4", "xcb-util-wm"),
    "libxcb-image": ("libxcb-image0", "xcb-util-image"),
    "libxcb-keysyms": ("libxcb-keysyms1", "xcb-util-keysyms"),
    "libxcb-render-util": ("libxcb-render-util0", "xcb-util-renderutil"),
    "libxcb-xinerama": ("libxcb-xinerama0", "libxcb"),
}
_FOR_A_WINDOW = (
    "libxcb-cursor.so.0",
    "libxcb-icccm.so.4",
    "libxcb-image.so.0",
    "libxcb-keysyms.so.1",
    "libxcb-render-util.so.0",
)


def has_display() -> bool:
    """Whether there is a screen to open a window on."""
    if sys.platform != "linux":
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def say_missing(library: str) -> str:
    """The sentence for a missing library, ``libEGL.so.1`` or ``libEGL``."""
    name = re.split(r"\.so", library)[0]
    if name not in _PACKAGES:
        return f"The system library {library} is missing; install the package that brings it."
    debian, fedora = _PACKAGES[name]
    return (
        f"The system library {name} is missing. "
        f"Debian, Ubuntu: apt install {debian}. Fedora: dnf install {fedora}."
    )


def find_problem() -> str | None:
    """A sentence about what is missing, or None."""
    import subprocess

    # In a process of its own: a library that fails to load may take the interpreter with it.
    probe = subprocess.run(
        [sys.executable, "-c", "from PySide6 import QtCore, QtGui, QtWidgets, QtSvg"],
        capture_output=True,
        text=True,
        check=False,
    )
    if probe.returncode != 0:
        found = re.search(r"(lib[\w.+-]+\.so[\d.]*)", probe.stderr)
        if found:
            return say_missing(found.group(1))
        last = probe.stderr.strip().splitlines()[-1:] or ["no message"]
        return f"Qt can't be loaded: {last[0]}"
    return find_missing_for_a_window()


def find_missing_for_a_window() -> str | None:
    """A sentence about a library that a window on X11 needs and is not there; quick to ask."""
    on_x11 = sys.platform == "linux" and os.environ.get("DISPLAY")
    if not on_x11 or os.environ.get("QT_QPA_PLATFORM"):
        return None
    import ctypes  # here: a start that needs no look at libraries should not load what looks

    for library in _FOR_A_WINDOW:
        try:
            ctypes.CDLL(library)
        except OSError:
            return say_missing(library)
    return None


def main() -> int:
    """Print the sentence, if there is one."""
    problem = find_problem()
    if problem is None:
        return 0
    sys.stderr.write(problem + "\n")
    return 2


if __name__ == "__main__":
    sys.exit(main())

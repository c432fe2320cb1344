"""Where photos come from: the clipboard, and files that are picked or named."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from studiolog.desktop.handed_over import PICTURE_FILES, local_paths, named_png
from studiolog.photos.intake import Source

_LONGEST_PATH = 4096


def pictures_held(held: QMimeData) -> list[Source]:
    """What of a clipboard or a drop is a picture: files, a picture itself, or typed paths."""
    paths: list[Source] = [Path(path) for path in local_paths(held)]
    if paths:
        return paths
    if held.hasImage():
        pasted = named_png(QImage(held.imageData()))
        if pasted is not None:
            return [pasted]
    if held.hasText():
        lines = [line.strip().strip('"') for line in held.text().splitlines() if line.strip()]
        if lines and all(len(line) < _LONGEST_PATH and _is_file(line) for line in lines):
            return [Path(line) for line in lines]
    return []


def _is_file(line: str) -> bool:
    path = Path(line)
    return path.is_absolute() and path.is_file()


def pick_files(parent: QWidget, take: Callable[[list[str]], None]) -> QFileDialog:
    """Ask for picture files; a path can be typed there too."""
    dialog = QFileDialog(parent, "Add photos")
    dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
    dialog.setNameFilter(PICTURE_FILES)
    dialog.filesSelected.connect(take)
    dialog.finished.connect(dialog.deleteLater)
    dialog.open()
    return dialog

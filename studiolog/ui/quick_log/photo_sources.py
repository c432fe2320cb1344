"""Where photos come from: the clipboard, and files that are picked or named."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QWidget

from studiolog.photos.intake import Source

_FILES = "Photos (*.jpg *.jpeg *.png *.webp *.tif *.tiff *.heic *.heif);;All files (*)"
_LONGEST_PATH = 4096


def pictures_held(held: QMimeData) -> list[Source]:
    """What of a clipboard or a drop is a picture: files, a picture itself, or typed paths."""
    paths: list[Source] = [Path(url.toLocalFile()) for url in held.urls() if url.isLocalFile()]
    if paths:
        return paths
    if held.hasImage():
        image = QImage(held.imageData())
        if not image.isNull():
            return [(f"Pasted {datetime.now():%Y-%m-%d %H.%M.%S}.png", _png(image))]
    if held.hasText():
        lines = [line.strip().strip('"') for line in held.text().splitlines() if line.strip()]
        if lines and all(len(line) < _LONGEST_PATH and _is_file(line) for line in lines):
            return [Path(line) for line in lines]
    return []


def _is_file(line: str) -> bool:
    path = Path(line)
    return path.is_absolute() and path.is_file()


def _png(image: QImage) -> bytes:
    held = QByteArray()
    buffer = QBuffer(held)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")  # type: ignore[call-overload]  # the stub wants bytes for the format
    buffer.close()
    return bytes(held.data())


def pick_files(parent: QWidget, take: Callable[[list[str]], None]) -> QFileDialog:
    """Ask for picture files; a path can be typed there too."""
    dialog = QFileDialog(parent, "Add photos")
    dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
    dialog.setNameFilter(_FILES)
    dialog.filesSelected.connect(take)
    dialog.finished.connect(dialog.deleteLater)
    dialog.open()
    return dialog

"""What a person hands over: files and pictures dropped, pasted or picked."""

from datetime import datetime

from PySide6.QtCore import QBuffer, QIODevice, QMimeData
from PySide6.QtGui import QImage

PICTURE_FILES = "Photos (*.jpg *.jpeg *.png *.webp *.tif *.tiff *.heic *.heif);;All files (*)"


def local_paths(held: QMimeData) -> list[str]:
    """The paths of the files in a drop or on a clipboard; nothing that is elsewhere."""
    return [url.toLocalFile() for url in held.urls() if url.isLocalFile()]


def named_png(image: QImage) -> tuple[str, bytes] | None:
    """A pasted picture as a file's name and bytes; None if it can't be read."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    if image.isNull() or not image.save(buffer, "PNG"):  # type: ignore[call-overload]
        return None
    return f"Pasted {datetime.now():%Y-%m-%d %H.%M.%S}.png", bytes(buffer.data().data())

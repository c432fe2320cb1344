"""Thumbnails for screens: from memory at once, else read or made in the background."""

from collections import OrderedDict
from functools import partial

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from studiolog.desktop.jobs import Jobs, Progress
from studiolog.problems import UserProblem

_KEPT = 600


class Pictures(QObject):
    """Small pictures by hash and size. ``ready`` names one that can now be asked for again."""

    ready = Signal(str, int)
    missing = Signal(str, int, str)

    def __init__(self, photo_folder: str, jobs: Jobs) -> None:
        super().__init__()
        self._folder = photo_folder
        self._jobs = jobs
        self._kept: OrderedDict[tuple[str, int], QImage] = OrderedDict()
        self._problems: dict[tuple[str, int], str] = {}

    def picture(self, sha256: str, suffix: str, longest: int) -> QImage | None:
        """The picture, its longer side at most ``longest`` pixels; None while it is fetched."""
        key = (sha256, longest)
        image = self._kept.get(key)
        if image is not None:
            self._kept.move_to_end(key)
            return image
        name = f"picture {sha256} {longest}"
        if key not in self._problems and not self._jobs.is_running(name):
            self._jobs.start(
                name,
                partial(_fetch, self._folder, sha256, suffix, longest),
                partial(self._arrive, key),
                partial(self._fail, key),
            )
        return None

    def problem(self, sha256: str, longest: int) -> str | None:
        """Why a picture can't be shown, once that is known."""
        return self._problems.get((sha256, longest))

    def forget_problems(self) -> None:
        """Try missing pictures again (a drive was plugged in)."""
        self._problems.clear()

    def _arrive(self, key: tuple[str, int], raw: tuple[int, int, bytes]) -> None:
        width, height, rgb = raw
        image = QImage(rgb, width, height, 3 * width, QImage.Format.Format_RGB888).copy()
        self._kept[key] = image
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        self.ready.emit(*key)

    def _fail(self, key: tuple[str, int], problem: Exception) -> None:
        sentence = (
            problem.sentence if isinstance(problem, UserProblem) else f"Can't be shown: {problem}"
        )
        self._problems[key] = sentence
        self.missing.emit(*key, sentence)


def _fetch(
    folder: str, sha256: str, suffix: str, longest: int, _progress: Progress
) -> tuple[int, int, bytes]:
    from pathlib import Path

    from studiolog.photos.store import PhotoStore
    from studiolog.photos.thumbnails import picture_rgb

    return picture_rgb(PhotoStore(Path(folder)), sha256, suffix, longest)

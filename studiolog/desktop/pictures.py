"""Thumbnails for screens: from memory at once, else read or made in the background."""

import threading
from collections import OrderedDict
from collections.abc import Iterable

from PySide6.QtCore import QObject, QThreadPool, Signal, Slot
from PySide6.QtGui import QImage

from studiolog.problems import UserProblem

_THREADS = 2
_KEPT = 600
# All of the small ones, and about forty that fill a screen. With less than one page shows, the
# page would ask in circles.
_KEPT_BYTES = 256_000_000

Key = tuple[str, int]
"""The hash of a picture, and the longest side asked for."""


class Pictures(QObject):
    """Small pictures by hash and size. ``ready`` names one that can now be asked for again.

    Two threads of their own read them, the one asked for last first: a long log or an intake never
    waits for a list that is being scrolled, nor the list for them.
    """

    ready = Signal(str, int)
    missing = Signal(str, int, str)
    _came = Signal(object, object, object)

    def __init__(self, photo_folder: str) -> None:
        super().__init__()
        self._folder = photo_folder
        self._kept: OrderedDict[Key, QImage] = OrderedDict()
        self._kept_bytes = 0
        self._problems: dict[Key, str] = {}
        self._pool = QThreadPool()
        self._pool.setMaxThreadCount(_THREADS)
        self._turn = threading.Lock()  # guards the three below
        self._wanted: OrderedDict[Key, str] = OrderedDict()
        self._fetched: set[Key] = set()
        self._at_work = 0
        self._came.connect(self._deliver)

    def picture(self, sha256: str, suffix: str, longest: int) -> QImage | None:
        """The picture, its longer side at most ``longest`` pixels; None while it is fetched."""
        key = (sha256, longest)
        image = self._kept.get(key)
        if image is not None:
            self._kept.move_to_end(key)
            return image
        if key not in self._problems:
            self._want(key, suffix)
        return None

    def let_go(self, keys: Iterable[Key]) -> None:
        """Of no more use to who asked: not read if still waiting, not kept if there."""
        with self._turn:
            for key in keys:
                self._wanted.pop(key, None)
                gone = self._kept.pop(key, None)
                if gone is not None:
                    self._kept_bytes -= gone.sizeInBytes()

    def problem(self, sha256: str, longest: int) -> str | None:
        """Why a picture can't be shown, once that is known."""
        return self._problems.get((sha256, longest))

    def forget_problems(self) -> None:
        """Try missing pictures again (a drive was plugged in)."""
        self._problems.clear()

    def close(self) -> None:
        """Want nothing more, and wait for the threads."""
        with self._turn:
            self._wanted.clear()
        self._pool.waitForDone()

    def _want(self, key: Key, suffix: str) -> None:
        with self._turn:
            if key in self._fetched:
                return
            self._wanted[key] = suffix
            self._wanted.move_to_end(key)
            if self._at_work >= _THREADS:
                return
            self._at_work += 1
        self._pool.start(self._work)

    def _work(self) -> None:
        """Fetch pictures until none is wanted; on a thread of the pool."""
        while True:
            with self._turn:
                if not self._wanted:
                    self._at_work -= 1
                    return
                key, suffix = self._wanted.popitem()
                self._fetched.add(key)
            raw: tuple[int, int, bytes] | None = None
            problem: Exception | None = None
            try:
                raw = _fetch(self._folder, key, suffix)
            except Exception as caught:  # noqa: BLE001 - told where the picture should stand
                problem = caught
            self._came.emit(key, raw, problem)

    @Slot(object, object, object)
    def _deliver(
        self, key: Key, raw: tuple[int, int, bytes] | None, problem: Exception | None
    ) -> None:
        with self._turn:
            self._fetched.discard(key)
        if raw is not None:
            self._keep(key, raw)
            self.ready.emit(*key)
            return
        sentence = (
            problem.sentence if isinstance(problem, UserProblem) else f"Can't be shown: {problem}"
        )
        self._problems[key] = sentence
        self.missing.emit(*key, sentence)

    def _keep(self, key: Key, raw: tuple[int, int, bytes]) -> None:
        width, height, rgb = raw
        image = QImage(rgb, width, height, 3 * width, QImage.Format.Format_RGB888).copy()
        self._kept[key] = image
        self._kept_bytes += image.sizeInBytes()
        while len(self._kept) > _KEPT or (self._kept_bytes > _KEPT_BYTES and len(self._kept) > 1):
            _old, gone = self._kept.popitem(last=False)
            self._kept_bytes -= gone.sizeInBytes()


def _fetch(folder: str, key: Key, suffix: str) -> tuple[int, int, bytes]:
    from pathlib import Path

    from studiolog.photos.store import PhotoStore
    from studiolog.photos.thumbnails import picture_rgb

    sha256, longest = key
    return picture_rgb(PhotoStore(Path(folder)), sha256, suffix, longest)

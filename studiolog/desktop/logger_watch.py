"""The watch over the loggers' folders at a desk: set by its settings, told as quiet notices."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from studiolog.desktop.log_intake import LogIntake, Told
from studiolog.desktop.settings import LOGGER_FOLDERS
from studiolog.desktop.watched_folder import WatchedFolders

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk

DESCRIBE = "describe waiting"
"""What the firings are asked to show beside the id of a waiting log."""


class LoggerWatch(QObject):
    """Watches what the settings name, from `begin` on; says what came in, with the way to it."""

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.intake = LogIntake(desk, "take in from the loggers", self)
        self.folders = WatchedFolders(desk.jobs, self.intake, desk.drafts, self)
        self.folders.arrived.connect(self._say_arrived)
        self.folders.unread.connect(self._say_unread)
        self.folders.went.connect(self._say_went)
        desk.settings.changed.connect(self._hear_setting)

    def begin(self) -> None:
        """Watch from now on."""
        wanted = self._desk.settings.logger_folders(self._desk.journal.where)
        self.folders.watch(tuple(dict.fromkeys(wanted.values())))

    def stop(self) -> None:
        """Watch no more: the window closes."""
        self.folders.stop()

    def _hear_setting(self, key: str) -> None:
        if key.startswith(LOGGER_FOLDERS):
            self.begin()

    def _say_arrived(self, told: tuple[Told, ...]) -> None:
        desk = self._desk
        if len(told) == 1:
            (one,) = told
            waiting_id = one.waiting_id or 0
            words = "has grown and waits" if one.outcome == "grown" else "came in and waits"
            desk.notices.say(
                f"A log {words} to be described: {one.path.name}.",
                "Describe it",
                lambda: desk.show("firings", waiting_id, DESCRIBE),
            )
            return
        desk.notices.say(
            f"{len(told)} logs came in and wait to be described.",
            "Show them",
            lambda: desk.show("firings", 0, "waiting"),
        )

    def _say_unread(self, told: tuple[Told, ...]) -> None:
        one = told[0]
        more = f" {len(told) - 1} more came that can't be read." if len(told) > 1 else ""
        named = "" if one.path.name in one.words else f"{one.path.name} came in. "
        self._desk.notices.warn(f"{named}{one.words}{more}")

    def _say_went(self, folder: str) -> None:
        self._desk.notices.warn(
            f"The loggers' folder {Path(folder).name} can't be reached: its logs come in when it "
            "is back."
        )

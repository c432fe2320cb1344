"""The desk: what every screen is handed, and nothing else."""

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import QObject, Signal

from studiolog.desktop.drafts import Drafts
from studiolog.desktop.edits import Edits
from studiolog.desktop.foresight import Foresight
from studiolog.desktop.jobs import Jobs
from studiolog.desktop.notices import Notices
from studiolog.desktop.pictures import Pictures
from studiolog.desktop.reminders import Reminders
from studiolog.desktop.settings import Settings
from studiolog.desktop.theme import Theme
from studiolog.journal.opening import Journal
from studiolog.journal.session import Session

T = TypeVar("T")


class Desk(QObject):
    """An open journal with the services its screens share.

    ``asked_for`` carries a request to show something: a kind ("piece", "firing", "run", "glaze",
    "clay", "kiln", "form", "program", "findings", "quick_log"), an id (0 where there is none),
    and whatever more that place understands. Screens never know each other; the frame answers.
    """

    asked_for = Signal(str, int, object)

    def __init__(
        self, journal: Journal, settings: Settings, theme: Theme, state_folder: Path
    ) -> None:
        super().__init__()
        self.journal = journal
        self.settings = settings
        self.theme = theme
        self.notices = Notices()
        self.jobs = Jobs()
        self.edits = Edits(journal, self.notices)
        self.foresight = Foresight(journal, self.edits, self.jobs)
        self.pictures = Pictures(str(journal.photo_folder))
        self.drafts = Drafts(state_folder, journal.where)
        self.reminders = Reminders(
            journal,
            self.edits,
            self.notices,
            settings,
            lambda firing_id: self.show("firing", firing_id, "read by hand"),
        )

    def read(self, question: Callable[[Session], T]) -> T:
        """Answer a question from one consistent view of the journal."""
        return self.journal.read(question)

    def show(self, kind: str, row_id: int = 0, more: object = None) -> None:
        """Ask the frame to show something."""
        self.asked_for.emit(kind, row_id, more)

    def close(self) -> None:
        """Stop the jobs and let go of the journal."""
        self.reminders.stop()
        self.foresight.stop()
        self.pictures.close()
        self.jobs.wait()
        self.journal.close()

"""What can go wrong and be told in a sentence, apart from bugs.

A `UserProblem` is something the person at the desk can understand and act on; it is shown where
it happened. Any other exception is a bug: rolled back, logged, and reported.
"""

import re
from collections.abc import Mapping
from typing import Final

_MOST_QUOTED: Final = (
    80  # letters of what somebody typed or pasted; a whole page tells nothing more
)
_QUOTED: Final = re.compile(f"“([^”]{{{_MOST_QUOTED},}})”")


def _shortly(sentence: str) -> str:
    """A sentence with what it quotes cut short: a page may have been pasted into a field."""
    return _QUOTED.sub(lambda found: f"“{' '.join(found[1][:60].split())} …”", sentence)


class UserProblem(Exception):
    """A problem told in one sentence: what, where, and what to do.

    ``fields`` maps a field name of a form to its own sentence, so that a screen can show each
    problem beside the field that has it.
    """

    def __init__(self, sentence: str, fields: Mapping[str, str] | None = None) -> None:
        self.sentence = _shortly(sentence)
        super().__init__(self.sentence)
        self.fields: dict[str, str] = {
            name: _shortly(told) for name, told in (fields or {}).items()
        }


class EditConflict(UserProblem):
    """Somebody, or another window, changed the same record in the meantime."""


class StillUsed(UserProblem):
    """A record cannot be deleted because others use it; the sentence names them."""


class UndoRefused(UserProblem):
    """An undo or redo would overwrite a newer change."""


class JournalUnreadable(UserProblem):
    """The journal cannot be opened as it is: newer version, damaged, or no permission."""


class PhotoRefused(UserProblem):
    """A file of a drop is not a picture that can be kept; the sentence names the file."""


class LogUnreadable(UserProblem):
    """A temperature log holds nothing that can be read as one."""

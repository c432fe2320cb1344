"""A kiln's upkeep in words."""

from typing import Final

from studiolog.journal.kiln_tasks import TaskLine
from studiolog.ui.parts.fields import write_day


def _count(number: int, noun: str) -> str:
    return f"1 {noun}" if number == 1 else f"{number} {noun}s"


_TO_DO: Final = {
    "elements": "change the elements",
    "thermocouple": "change the thermocouple",
    "relay": "change the relay or contactor",
    "shelf_wash": "wash the shelves",
    "vent": "clean the vent",
    "bricks": "mend bricks or lid",
}


def task_title(line: TaskLine) -> str:
    """What a task is called, to do or done: its note, where it is none of the usual ones."""
    if line.task == "other" and line.note:
        return line.note
    return line.words if line.state == "done" else _TO_DO.get(line.task, line.words)


def due_words(line: TaskLine) -> str:
    """When a task is to be done: "after 12 more firings", "overdue by 3 firings, since 3 Oct"."""
    late, open_ = [], []
    if line.firings_left is not None:
        if line.firings_left < 0:
            late.append(f"by {_count(-line.firings_left, 'firing')}")
        elif line.firings_left == 0:
            open_.append("before the next firing")
        else:
            open_.append(f"after {_count(line.firings_left, 'more firing')}")
    if line.due_on is not None and line.days_left is not None:
        if line.days_left < 0:
            late.append(f"since {write_day(line.due_on)}")
        else:
            open_.append("today" if line.days_left == 0 else f"by {write_day(line.due_on)}")
    if late:
        return f"overdue {', '.join(late)}"
    return " or ".join(open_) or "no day set"


def repeat_words(line: TaskLine) -> str:
    """ "every 20 firings"; nothing where it does not repeat."""
    every = []
    if line.repeat_firings:
        every.append(_count(line.repeat_firings, "firing"))
    if line.repeat_days:
        every.append(_count(line.repeat_days, "day"))
    return f"every {' or '.join(every)}" if every else ""


def done_words(line: TaskLine) -> str:
    """ "3 Oct 2026, 14 firings since"."""
    day = write_day(line.done_on) if line.done_on is not None else ""
    return f"{day}, {_count(line.firings_since, 'firing')} since"

"""Every action of the window's menus in one table: its words and its keys."""

from dataclasses import dataclass


@dataclass(frozen=True)
class ActionWords:
    """What a menu shows. ``keys`` are portable key sequences; the first is shown."""

    key: str
    menu: str
    text: str
    keys: tuple[str, ...] = ()


ACTIONS: tuple[ActionWords, ...] = (
    ActionWords("quick_log", "Journal", "Quick log…", ("Ctrl+L",)),
    ActionWords("log_run", "Journal", "Start a run…", ("Ctrl+Shift+R",)),
    ActionWords("note_idea", "Journal", "Note an idea…", ("Ctrl+I",)),
    ActionWords("log_firing", "Journal", "Log a firing…", ("Ctrl+Shift+F",)),
    ActionWords("take_in_logs", "Journal", "Take in a folder of logs…"),
    ActionWords("logger_folders", "Journal", "Folders the loggers write to…"),
    ActionWords("find", "Journal", "Find…", ("Ctrl+K",)),
    ActionWords("limits", "Journal", "Limits…"),
    ActionWords("new_journal", "Journal", "New journal…"),
    ActionWords("open_journal", "Journal", "Open journal…", ("Ctrl+O",)),
    ActionWords("open_demo", "Journal", "Open the demo journal"),
    ActionWords("close", "Journal", "Close the window", ("Ctrl+Q",)),
    ActionWords("undo", "Edit", "Undo", ("Ctrl+Z",)),
    ActionWords("redo", "Edit", "Redo", ("Ctrl+Shift+Z", "Ctrl+Y")),
    ActionWords("history", "Edit", "What was changed…", ("Ctrl+H",)),
    ActionWords("settings", "Edit", "Settings…", ("Ctrl+,",)),
    ActionWords("back", "Show", "Back", ("Alt+Left",)),
    ActionWords("make_size", "Show", "Make size…"),
    ActionWords("tiles", "Show", "Tiles for an area…"),
    ActionWords("keys", "Show", "Keys…", ("F1",)),
)


def words_of(key: str) -> ActionWords:
    """The words of one action."""
    return next(action for action in ACTIONS if action.key == key)

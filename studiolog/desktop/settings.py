"""What this desk prefers: units, theme, text size, the last journal."""

import hashlib
import json
from typing import Any, Literal

from PySide6.QtCore import QObject, QSettings, Signal

TemperatureUnit = Literal["C", "F"]
LOGGER_FOLDERS = "logger_folders"
ThemeChoice = Literal["system", "light", "dark"]


def _folders_key(journal: str) -> str:
    # A journal may be an URL, and an URL may hold a password.
    return f"{LOGGER_FOLDERS}/{hashlib.sha256(journal.encode()).hexdigest()[:16]}"


class Settings(QObject):
    """This desk's own settings; never part of a journal."""

    changed = Signal(str)

    def __init__(self, store: QSettings) -> None:
        super().__init__()
        self._store = store

    def _get(self, key: str, otherwise: Any) -> Any:
        return self._store.value(key, otherwise)

    def _set(self, key: str, value: Any) -> None:
        if self._store.value(key) != value:
            self._store.setValue(key, value)
            self.changed.emit(key)

    @property
    def temperature_unit(self) -> TemperatureUnit:
        """°C or °F, everywhere."""
        return "F" if self._get("temperature_unit", "C") == "F" else "C"

    @temperature_unit.setter
    def temperature_unit(self, unit: TemperatureUnit) -> None:
        self._set("temperature_unit", unit)

    @property
    def theme(self) -> ThemeChoice:
        """As the system, light, or dark."""
        name = self._get("theme", "system")
        return "light" if name == "light" else "dark" if name == "dark" else "system"

    @theme.setter
    def theme(self, name: ThemeChoice) -> None:
        self._set("theme", name)

    @property
    def text_scale(self) -> int:
        """Text size in per cent, 100 to 200."""
        try:
            return min(200, max(100, int(self._get("text_scale", 100))))
        except (TypeError, ValueError):
            return 100  # the file was changed by hand

    @text_scale.setter
    def text_scale(self, percent: int) -> None:
        self._set("text_scale", int(percent))

    @property
    def paper_name(self) -> str:
        """The paper printed on, by its name; empty until one is chosen: then that of the land."""
        return str(self._get("paper", ""))

    @paper_name.setter
    def paper_name(self, name: str) -> None:
        self._set("paper", name)

    @property
    def reminder_beeps(self) -> bool:
        """Whether a reminder to read the pyrometer is heard too."""
        return str(self._get("reminder_beeps", "true")).lower() == "true"

    @reminder_beeps.setter
    def reminder_beeps(self, beeps: bool) -> None:
        self._set("reminder_beeps", "true" if beeps else "false")

    def logger_folders(self, journal: str) -> dict[int, str]:
        """The folders that the loggers of a journal's kilns write to, by the kiln's id.

        0 stands for a logger of no one kiln.
        """
        try:
            kept = json.loads(str(self._get(_folders_key(journal), "{}")))
            return {int(kiln): str(folder) for kiln, folder in kept.items() if folder}
        except (ValueError, AttributeError):
            return {}  # the file was changed by hand

    def set_logger_folders(self, journal: str, folders: dict[int, str]) -> None:
        """Watch these folders for a journal, at this desk."""
        kept = {str(kiln): folder for kiln, folder in sorted(folders.items()) if folder}
        self._set(_folders_key(journal), json.dumps(kept))

    @property
    def last_journal(self) -> str:
        """Folder or URL of the journal opened last; empty at first."""
        return str(self._get("last_journal", ""))

    @last_journal.setter
    def last_journal(self, where: str) -> None:
        self._set("last_journal", where)

    @property
    def window_geometry(self) -> bytes | None:
        """Where the window stood."""
        value = self._get("window_geometry", None)
        return bytes(value.data()) if hasattr(value, "data") else value

    @window_geometry.setter
    def window_geometry(self, geometry: bytes) -> None:
        self._store.setValue("window_geometry", geometry)

"""Which files of a folder may be temperature logs, told by their ending and their first bytes."""

import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

MOST_BYTES = 200_000_000
_TEXT = frozenset(
    [".csv", ".txt", ".tsv", ".log", ".tab", ".dat", ".asc", ".prn", ".out", ".text", ".data"]
)
_KINDS = {
    "a picture": ".jpg .jpeg .png .gif .tif .tiff .webp .heic .heif .bmp .svg .cr2 .nef .arw .dng",
    "a workbook": ".xlsx .xls .ods .numbers",
    "a PDF": ".pdf",
    "an archive": ".zip .gz .7z .rar .tar .bz2 .xz",
    "a document": ".doc .docx .odt .rtf .pages .html .htm .md",
    "a film or a sound": ".mp4 .mov .avi .mkv .mp3 .wav .m4a",
    "a program": ".exe .dll .so .py .js .sh .bat .app .dmg",
    "settings of a program": ".ini .json .xml .yaml .yml .toml .cfg .db .sqlite .lnk .url",
}
_KIND_OF = {ending: kind for kind, endings in _KINDS.items() for ending in endings.split()}
_LOOK_AT = 2048


@dataclass(frozen=True)
class Skipped:
    """A file that was passed over, and why."""

    path: Path
    reason: str


@dataclass(frozen=True)
class FoundFiles:
    """The files to read, in the order of their names, and those passed over."""

    files: tuple[Path, ...]
    skipped: tuple[Skipped, ...]


def find_log_files(
    places: Iterable[Path], cancelled: Callable[[], bool] = lambda: False
) -> FoundFiles:
    """The files of these folders and files that may be logs, folders within them too.

    Links to folders are not followed, so that none is walked in a circle. Reads at most the first
    bytes of a file. A folder that cannot be listed is told among those passed over.
    """
    files: list[Path] = []
    skipped: list[Skipped] = []
    seen: set[Path] = set()
    for place in places:
        for path in _walk(place, skipped):
            if cancelled():
                break
            if path in seen:
                continue
            seen.add(path)
            reason = find_reason_to_skip(path)
            if reason is None:
                files.append(path)
            else:
                skipped.append(Skipped(path, reason))
    return FoundFiles(
        tuple(sorted(files, key=natural_order)),
        tuple(sorted(skipped, key=lambda told: natural_order(told.path))),
    )


def natural_order(path: Path) -> list[tuple[int, int | str]]:
    """A key by which "firing 9" stands before "firing 10"."""
    parts = re.split(r"(\d+)", str(path).casefold())
    # isdecimal and not isdigit: "²" is a digit that int() can't read.
    return [(0, int(part)) if part.isdecimal() else (1, part) for part in parts]


def find_reason_to_skip(path: Path) -> str | None:
    """Why a file can be no log, told without reading it whole; None if it may be one."""
    ending = path.suffix.casefold()
    if ending in _KIND_OF:
        return f"It is {_KIND_OF[ending]}, not a text log."
    try:
        if not path.is_file():
            return "It is not an ordinary file."
        size = path.stat().st_size
        if size == 0:
            return "It is empty."
        if size > MOST_BYTES:
            return f"It is {size / 1e6:,.0f} MB, more than any temperature log."
        if ending in _TEXT:
            return None
        with path.open("rb") as file:
            start = file.read(_LOOK_AT)
    except OSError as problem:
        return f"It cannot be opened ({problem.strerror}): check its permissions."
    if not any(48 <= byte <= 57 for byte in start):
        return "It holds no numbers where a log would begin."
    odd = sum(byte < 9 or 13 < byte < 32 for byte in start.replace(b"\x00", b""))
    wide = start[:2] in (b"\xff\xfe", b"\xfe\xff") or start.count(0) in range(
        len(start) * 2 // 5, len(start) * 3 // 5 + 1
    )
    if odd > 0.02 * len(start) or (0 in start and not wide):
        return "It is not a text file."
    return None


def _walk(place: Path, skipped: list[Skipped]) -> Iterable[Path]:
    if not place.is_dir():
        yield place
        return

    def tell(problem: OSError) -> None:
        skipped.append(
            Skipped(
                Path(problem.filename or place),
                f"This folder cannot be listed ({problem.strerror}): check its permissions.",
            )
        )

    for folder, inner, names in os.walk(place, onerror=tell):
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        for name in sorted(names):
            # Hidden files are the computer's own, not a logger's.
            if not name.startswith((".", "~$")) and name.casefold() not in _SYSTEM_FILES:
                yield Path(folder, name)


_SYSTEM_FILES = frozenset(("thumbs.db", "desktop.ini"))

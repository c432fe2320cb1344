"""From bytes to lines: byte order marks, UTF-16 without one, old code pages, NUL blocks."""

import re
from dataclasses import dataclass

from studiolog.problems import LogUnreadable

_MARKS = (
    (b"\xff\xfe\x00\x00", "utf-32-le"),
    (b"\x00\x00\xfe\xff", "utf-32-be"),
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe", "utf-16-le"),
    (b"\xfe\xff", "utf-16-be"),
)
_CONTAINERS = (
    (b"PK\x03\x04", "a workbook or zip file"),
    (b"\xd0\xcf\x11\xe0", "an old workbook"),
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"SQLite format 3", "a database"),
)
# Words of a log's header by which an old code page is recognised.
_CODE_PAGE_WORDS = {
    "cp932": "温度 時刻 時間 日時 日付 経過 設定 出力 測定 実測",
    "gb18030": "温度 时间 日期 设定 测量",
    "cp1251": "время темп дата задан",
}
_LONGEST_LINE = 100_000
_LINE_END = re.compile(r"\r\n|\n|\r|\u2028|\x85")


@dataclass(frozen=True)
class LogText:
    """A log as lines. ``damaged_lines`` are those (from 1) that held NUL bytes.

    ``count`` and ``last`` tell of the lines once they themselves were let go (`let_go`).
    """

    lines: list[str]
    encoding: str
    evidence: str
    ends_with_newline: bool
    damaged_lines: tuple[int, ...]
    count: int
    last: str

    def let_go(self) -> None:
        """Forget the lines: of millions of rows the cells alone take room enough."""
        self.lines.clear()


def decode_log(data: bytes, name: str, encoding: str | None = None) -> LogText:
    """The lines of a log. Raises `LogUnreadable` for an empty or binary file."""
    if not data.strip(b"\x00\r\n\t "):
        raise LogUnreadable(f"{name} is empty: export the log again, or pick another file.")
    for magic, kind in _CONTAINERS:
        if data.startswith(magic):
            raise LogUnreadable(
                f"{name} is {kind}, not a text log: export the table as CSV and pick that file."
            )
    text, used, evidence = _decode(data, name, encoding)
    lines = _split(text)
    ends_with_newline = lines[-1] == ""
    if ends_with_newline:
        lines.pop()
    damaged: tuple[int, ...] = ()
    if "\x00" in text:
        damaged = tuple(at for at, line in enumerate(lines, 1) if "\x00" in line)
        lines = ["" if "\x00" in line else line for line in lines]
    if max(map(len, lines), default=0) > _LONGEST_LINE:
        longest = max(range(len(lines)), key=lambda at: len(lines[at]))
        raise LogUnreadable(
            f"{name} is no log: line {longest + 1} has {len(lines[longest])} letters. "
            "Export the log again with a line for each reading, or pick another file."
        )
    _refuse_binary("\n".join(lines[:2000]), name)
    return LogText(
        lines, used, evidence, ends_with_newline, damaged, len(lines), lines[-1] if lines else ""
    )


def _split(text: str) -> list[str]:
    if any(mark in text for mark in "\u2028\x85"):
        return _LINE_END.split(text)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    return text.split("\n")


def _decode(data: bytes, name: str, encoding: str | None) -> tuple[str, str, str]:
    for mark, marked in _MARKS:
        if data.startswith(mark) and (encoding is None or _same_family(encoding, marked)):
            return _decode_leniently(data[len(mark) :], marked), marked, "byte order mark"
    if encoding is not None:
        try:
            return data.decode(encoding, errors="replace"), encoding, "chosen"
        except LookupError as problem:
            raise LogUnreadable(
                f"{name} cannot be read as {encoding!r}: there is no such encoding; pick another."
            ) from problem
    head = data[:4096]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    half = max(1, len(head) // 2)
    if odd > 0.4 * half and even < 0.1 * half:
        return _decode_leniently(data, "utf-16-le"), "utf-16-le", "every second byte is zero"
    if even > 0.4 * half and odd < 0.1 * half:
        return _decode_leniently(data, "utf-16-be"), "utf-16-be", "every second byte is zero"
    try:
        return data.decode("utf-8"), "utf-8", "valid UTF-8"
    except UnicodeDecodeError as problem:
        # A power cut may leave half a character at the very end.
        if len(data) - problem.start <= 3:
            return data[: problem.start].decode("utf-8"), "utf-8", "valid UTF-8 but for its end"
    for page, words in _CODE_PAGE_WORDS.items():
        try:
            text = data.decode(page)
        except UnicodeDecodeError:
            continue
        start = text[:4000].casefold()
        found = next((word for word in words.split() if word in start), None)
        if found is not None:
            return text, page, f"not UTF-8; the header reads “{found}”"
    return data.decode("cp1252", errors="replace"), "cp1252", "not UTF-8: taken as Western European"


def _same_family(encoding: str, marked: str) -> bool:
    return encoding.lower().replace("_", "-")[:6] == marked[:6]


def _decode_leniently(data: bytes, encoding: str) -> str:
    """Decode, leaving off a character that was cut through at the end."""
    unit = 4 if encoding.startswith("utf-32") else 2 if encoding.startswith("utf-16") else 1
    whole = len(data) - len(data) % unit
    return data[:whole].decode(encoding, errors="replace")


def _refuse_binary(text: str, name: str) -> None:
    if not text.strip():
        raise LogUnreadable(f"{name} holds no text that can be read: export the log again.")
    odd = sum(
        1 for sign in text if (sign < " " and sign not in "\t\n\r\x0b\x0c") or sign == "\ufffd"
    )
    if odd > 0.05 * len(text):
        raise LogUnreadable(
            f"{name} is not a text file: export the log as CSV or text and pick that file."
        )

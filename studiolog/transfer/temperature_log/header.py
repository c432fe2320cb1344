"""Where the table starts: preamble, header (units row included), data, repeated headers, footer."""

import re
from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from studiolog.transfer.temperature_log.header_words import name_kind, unit_in
from studiolog.transfer.temperature_log.numerals import is_missing, looks_numeric
from studiolog.transfer.temperature_log.stamps import looks_like_time
from studiolog.transfer.temperature_log.table import Cells

_SUMMARY = re.compile(
    r"^\W*(?:max|min|mean|avg|average|total|sum|summe|end|ende|fin|fine|peak|mittel|moyenne|totale|eof|"
    r"media|gesamt|totaal|count|peak temp|合計|最大|最高|平均)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class LogTable:
    """The table of a log: names of columns, its data rows, and what stands around it."""

    names: list[str]
    rows: list[list[str]]
    line_numbers: list[int]
    preamble: list[str]
    footer_lines: tuple[int, ...]
    repeated_headers: tuple[int, ...]
    broken_lines: tuple[int, ...]
    header_line: int | None
    header_after_rows: tuple[int, ...]
    parted_otherwise: frozenset[int] = frozenset()

    @cached_property
    def columns(self) -> list[tuple[str, ...]]:
        """The same cells by columns."""
        return list(zip(*self.rows, strict=True))


def find_table(cells: Cells, header_row: int | None = None) -> LogTable:
    """Tell header, data and footer apart. ``header_row`` is a line of the file (0: no header)."""
    rows, lines = cells.rows, cells.line_numbers
    width = _data_width(rows)
    first = _first_data_row(rows, width, lines, header_row)
    header_at = _header_before(rows, lines, first, width, header_row)
    names = _column_names(rows, header_at, first, width)
    preamble = [" ".join(row) for row in rows[: header_at if header_at is not None else first]]
    kept: list[list[str]] = []
    kept_lines: list[int] = []
    repeated: list[int] = []
    repeated_after: list[int] = []
    strays: list[tuple[int, int]] = []
    header_cells = [cell.strip() for cell in rows[header_at]] if header_at is not None else None
    left = zip(rows[first:], lines[first:], strict=True)
    starts = "".join([row[0][:1] for row in rows[first:]])
    if (
        set(map(len, rows[first:])) == {width}
        and starts.isdigit()
        and len(starts) == len(rows) - first
    ):
        kept, kept_lines, left = rows[first:], lines[first:], zip((), (), strict=True)
    for row, line in left:
        if len(row) == width and (row[0][:1].isdigit() or _is_data(row, width)):
            kept.append(row)
            kept_lines.append(line)
        elif header_cells is not None and [cell.strip() for cell in row] == header_cells:
            repeated.append(line)
            repeated_after.append(len(kept))
        elif _is_data(row, width):
            kept.append((row + [""] * width)[:width])
            kept_lines.append(line)
        else:
            strays.append((line, len(kept)))
    if cells.separator == "," and _last_comma_is_decimal(rows, header_at, kept, width):
        kept = [[*row[:-2], f"{row[-2]}.{row[-1].strip()}"] for row in kept]
        names = names[:-1]
    footer = tuple(line for line, after in strays if after == len(kept))
    broken = tuple(line for line, after in strays if after < len(kept))
    return LogTable(
        names, kept, kept_lines, preamble, footer, tuple(repeated), broken,
        lines[header_at] if header_at is not None else None, tuple(repeated_after),
        frozenset(cells.parted_otherwise),
    )  # fmt: skip


def _last_comma_is_decimal(
    rows: list[list[str]], header_at: int | None, kept: list[list[str]], width: int
) -> bool:
    """One cell more than the header has, always a digit or two: the comma before it is decimal."""
    if header_at is None or width < 3 or len(rows[header_at]) != width - 1 or not kept:
        return False
    tails = [row[-1].strip() for row in kept]
    return (
        len({len(tail) for tail in tails}) == 1
        and len(tails[0]) <= 2
        and all(tail.isdigit() for tail in tails)
        and all(row[-2].strip().lstrip("-").isdigit() for row in kept)
    )


def _is_value(cell: str) -> bool:
    return looks_numeric(cell) or looks_like_time(cell)


def _is_data(row: list[str], width: int) -> bool:
    """Whether a row can be one of the table: it starts like one and holds no summary."""
    if not row or _SUMMARY.match(row[0]) or row[0].lstrip().startswith(("#", "//", "*")):
        return False
    values = sum(_is_value(cell) for cell in row)
    if width == 1:
        return looks_numeric(row[0]) or is_missing(row[0])
    if len(row) < 2:
        return False
    blank = sum(is_missing(cell) for cell in row)
    return (values >= 2 or (values == 1 and blank >= 1)) and abs(len(row) - width) <= 1


def _data_width(rows: list[list[str]]) -> int:
    step = max(1, len(rows) // 2000)
    widths = Counter(
        len(row)
        for row in rows[::step]
        if sum(islice(filter(None, map(_is_value, row)), 2)) >= min(2, len(row))
    )
    return widths.most_common(1)[0][0] if widths else max((len(row) for row in rows), default=0)


def _first_data_row(
    rows: list[list[str]], width: int, lines: list[int], header_row: int | None
) -> int:
    for at, row in enumerate(rows):
        if header_row and lines[at] <= header_row:
            continue
        # "Date: 2025-06-03" in a preamble is no row: a row has the width of the table, and
        # the one after it does too.
        if (
            len(row) == width
            and _is_data(row, width)
            and not _names_one_thing(row)
            and not (header_row is None and _reads_as_header(row))
            and all(
                _is_data(later, width) or not any(map(_is_value, later))
                for later in rows[at + 1 : at + 2]
            )
        ):
            return at
    return len(rows)


def _names_one_thing(row: list[str]) -> bool:
    """ "Start,2025-06-03 08:15,," of a preamble: a word, its value, and nothing else."""
    filled = [cell for cell in row if cell.strip()]
    return (
        len(row) > 2
        and len(filled) == 2
        and not _is_value(filled[0])
        and not is_missing(filled[0])
        and name_kind(filled[0]) != "channel"
    )


def _reads_as_header(row: list[str]) -> bool:
    """Names such as "TC1" or "Zone 2:" hold digits, but no cell of a header is a plain number."""
    return not any(_is_value(cell) for cell in row)


def _header_before(
    rows: list[list[str]], lines: list[int], first: int, width: int, header_row: int | None
) -> int | None:
    if header_row == 0:
        return None
    if header_row is not None:
        return next((at for at, line in enumerate(lines) if line == header_row), None)
    for at in range(first - 1, max(-1, first - 4), -1):
        row = [cell.strip().lstrip("#").strip() for cell in rows[at]]
        named = sum(name_kind(cell) is not None for cell in row)
        if abs(len(row) - width) <= 1 and named >= 1 and not _only_units(row):
            return at
    if first >= 1 and abs(len(rows[first - 1]) - width) <= (1 if width > 2 else 0):
        row = rows[first - 1]
        if not any(_is_value(cell) for cell in row) and not row[0].lstrip().startswith("#"):
            return first - 1
    return None


def _only_units(row: list[str]) -> bool:
    """A second line of a header that names units only: [s];[°C]."""
    filled = [cell for cell in row if cell]
    return bool(filled) and all(
        len(cell) <= 8
        and (cell[:1] in "[(" or unit_in(cell) is not None or cell in ("s", "min", "h", "%"))
        for cell in filled
    )


def _column_names(
    rows: list[list[str]], header_at: int | None, first: int, width: int
) -> list[str]:
    if header_at is None:
        return [f"Column {at + 1}" for at in range(width)]
    names = [cell.strip().strip('"').lstrip("#").strip() for cell in rows[header_at]]
    names = (names + [""] * width)[:width]
    for row in rows[header_at + 1 : first]:
        if len(row) == width and not any(map(_is_value, row)):
            names = [
                f"{name} {cell.strip()}".strip() for name, cell in zip(names, row, strict=True)
            ]
    seen: Counter[str] = Counter()
    unique: list[str] = []
    for at, name in enumerate(names):
        base = name or f"Column {at + 1}"
        seen[base] += 1
        unique.append(base if seen[base] == 1 else f"{base} ({seen[base]})")
    return unique

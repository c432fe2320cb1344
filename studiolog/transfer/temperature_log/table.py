"""From lines to cells: the separator, tried together with the decimal mark; quoted cells."""

import csv
import re
from collections import Counter
from dataclasses import dataclass

from studiolog.transfer.temperature_log.numerals import is_missing, looks_numeric
from studiolog.transfer.temperature_log.stamps import looks_like_time

SEPARATORS = (";", "\t", "|", ",")
SEPARATOR_NAMES = {
    ";": "semicolon", "\t": "tab", "|": "pipe", ",": "comma", " ": "spaces", "": "none",
}  # fmt: skip
_FEWEST_LINES = 40
_ENOUGH = 100_000  # letters to try separators on
_HOLDS_MORE = re.compile(r"\S\s*[;|\t]\s*\S|\d:\d{2}(?:[.,]\d+)?\s+-?(?!(?:19|20)\d\d\s*$)\d")
_SPACES = re.compile(r"\s{2,}|\s+(?![AaPp]\.?[Mm]\b|\d{1,2}:)")


@dataclass(frozen=True)
class Cells:
    """The cells of every line; ``line_numbers`` count lines of the file from 1.

    ``parted_otherwise`` are lines that another separator than the table's parts into its width.
    """

    rows: list[list[str]]
    line_numbers: list[int]
    separator: str
    evidence: str
    parted_otherwise: tuple[int, ...] = ()


def split_lines(lines: list[str], separator: str | None = None) -> Cells:
    """Part lines into cells by the separator that makes the most even, most numeric table."""
    if all(map(str.strip, lines)):
        texts, filled = lines, list(range(1, len(lines) + 1))
    else:
        filled = [at for at, line in enumerate(lines, 1) if line.strip()]
        texts = [lines[at - 1] for at in filled]
    if _wholly_quoted(texts):
        texts = [line.strip()[1:-1] if line.startswith('"') else line for line in texts]
    # A trial needs the middle of the file, not a long preamble or footer.
    step = max(1, len(texts) // 150)
    trial = texts[:60] + texts[60::step]
    # Of lines of hundreds of cells a few say as much.
    trial = trial[:: max(1, min(len(trial) // _FEWEST_LINES, sum(map(len, trial)) // _ENOUGH))]
    if separator is None:
        scores = {mark: _score(_part(trial, mark)) for mark in ("", *SEPARATORS, " ")}
        separator = max(scores, key=lambda mark: scores[mark])
        evidence = f"{SEPARATOR_NAMES[separator]}: gives the most even table"
    else:
        evidence = "chosen"
    rows = _part(texts, separator)
    others = _part_otherwise(rows, texts, separator)
    return Cells(rows, filled, separator, evidence, tuple(filled[at] for at in others))


def _part_otherwise(rows: list[list[str]], texts: list[str], separator: str) -> list[int]:
    """Part lines by another separator where only that gives the width of the table.

    A header may be written otherwise than its rows, or a logger's update may have changed the
    separator half way. Changes ``rows`` and returns the places.
    """
    lengths = Counter(map(len, rows))
    step = max(1, len(rows) // 2000)
    widths = Counter(len(row) for row in rows[::step] if sum(map(_is_value, row)) >= 2)
    width = widths.most_common(1)[0][0] if widths else 0
    if width < 2 or lengths[width] == len(rows):
        return []
    places: list[int] = []
    for at, row in enumerate(rows):
        if len(row) >= width:
            continue
        for mark in SEPARATORS:
            if mark == separator or mark not in texts[at]:
                continue
            (parted,) = _part([texts[at]], mark)
            values = sum(map(_is_value, parted))
            if len(parted) == width and (2 * values >= width or not values):
                rows[at] = parted
                places.append(at)
                break
    return places


def _part(lines: list[str], separator: str) -> list[list[str]]:
    if separator == "":
        return [[line.strip().strip('"')] for line in lines]
    if separator == " ":
        return [[cell for cell in _SPACES.split(line.strip()) if cell] for line in lines]
    # Each line by itself: an open quote in a damaged line must not swallow the lines after it.
    if '"' not in "".join(lines):
        return [line.split(separator) for line in lines]
    rows: list[list[str]] = []
    for line in lines:
        if '"' not in line:
            rows.append(line.split(separator))
            continue
        try:
            rows.append(next(csv.reader([line], delimiter=separator, skipinitialspace=True)))
        except (csv.Error, StopIteration):
            rows.append(line.split(separator))
    return rows


def _wholly_quoted(lines: list[str]) -> bool:
    trial = lines[:50]
    return bool(trial) and sum(
        line.startswith('"') and line.endswith('"') and line.count('"') == 2 for line in trial
    ) > 0.8 * len(trial)


def _score(rows: list[list[str]]) -> float:
    """How much a trial looks like a log: even width, cells that are numbers or times."""
    if not rows:
        return 0.0
    read_as = [[_is_value(cell) for cell in row] for row in rows]  # once: it is most of the work
    data = [(row, values) for row, values in zip(rows, read_as, strict=True) if any(values)]
    if not data:
        return 0.0
    width, even = Counter(len(row) for row, _ in data).most_common(1)[0]
    evenness = even / len(data)
    read = [(row, values) for row, values in data if len(row) == width]
    found = sum(sum(values) for _, values in read)
    gaps = sum(
        not value and is_missing(cell)
        for row, values in read
        for cell, value in zip(row, values, strict=True)
    )
    total = max(1, width * len(read))
    timed = sum(any(values[:2]) for _, values in read)
    score = evenness * (0.5 + (found + gaps) / total) * len(data) / len(rows)
    score *= 0.5 + 0.5 * timed / max(1, len(read))
    if width == 1:
        return 0.35 * score * found / total
    # More columns are only better when they hold something.
    return score * (1 + 0.02 * min(width, 10)) * (0.4 + 0.6 * min(1.0, 2 * found / total))


def _is_value(cell: str) -> bool:
    # "08:15;20" is a time and a number that another separator parts, no cell.
    if looks_numeric(cell):
        return "|" not in cell and "\t" not in cell
    return looks_like_time(cell) and not _HOLDS_MORE.search(cell)

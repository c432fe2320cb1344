"""Times that a log writes in parts: hours and minutes each in a column, or in bare digits."""

from collections.abc import Sequence

from studiolog.transfer.temperature_log.header_words import bare_words
from studiolog.transfer.temperature_log.numerals import read_numbers
from studiolog.transfer.temperature_log.stamps import read_stamps
from studiolog.transfer.temperature_log.values import Floats, TimeKind

_PART_OF = {
    word: part
    for part, words in {
        "year": "year jahr annee ano anno jaar",
        "month": "month monat mois mes mese maand",
        "day": "day tag jour dia giorno dag",
        "hour": "hour hours h hh hr hrs stunde stunden heure heures hora horas ora ore uur",
        "minute": "minute minutes min mins m mm minuten minuto minutos minuti minuut",
        "second": "second seconds s ss sec secs sekunde sekunden seconde secondes segundo segundos",
    }.items()
    for word in words.split()
}
_PART_REACH = {
    "year": (1980, 2100), "month": (1, 12), "day": (1, 31), "hour": (0, 400), "minute": (0, 59),
    "second": (0, 59),
}  # fmt: skip


def read_digits_of_day(cells: Sequence[str]) -> tuple[str, ...] | None:
    """ "081500" and "0815" beside a date as clock times; None if some of them can't be."""
    bare = [cell.strip() for cell in cells]
    longest = max(map(len, bare))
    if longest not in (4, 6) or not all(cell.isdigit() for cell in bare):
        return None
    padded = [cell.zfill(longest) for cell in bare]
    if any(cell[:2] > "23" or cell[2:4] > "59" or cell[4:] > "59" for cell in padded):
        return None
    return tuple(":".join(cell[at : at + 2] for at in range(0, longest, 2)) for cell in padded)


def find_parts(columns: list[tuple[str, ...]], names: list[str]) -> dict[str, int] | None:
    """The places of hour, minute, second (and year, month, day) where each has its own column."""
    parts: dict[str, int] = {}
    for at, name in enumerate(names):
        words = bare_words(name)
        part = _PART_OF.get(words[0]) if words else None
        if part is None or part in parts:
            continue
        step = max(1, len(columns[at]) // 500)
        least, most = _PART_REACH[part]
        cells = [cell.strip() for cell in columns[at][::step]]
        if all(cell.isdigit() and least <= int(cell) <= most for cell in cells):
            parts[part] = at
    if "minute" not in parts or "hour" not in parts:
        return None
    return parts


def time_of_parts(parts: dict[str, int], columns: list[tuple[str, ...]]) -> tuple[Floats, TimeKind]:
    """Seconds of every row from such columns, with their kind: dated, of the day, or elapsed."""
    numbers = {part: read_numbers(columns[at]) for part, at in parts.items()}
    seconds = numbers["hour"] * 3600.0 + numbers["minute"] * 60.0
    if "second" in numbers:
        seconds = seconds + numbers["second"]
    if {"year", "month", "day"} <= parts.keys():
        texts = [
            f"{int(year):04d}-{int(month):02d}-{int(day):02d}"
            for year, month, day in zip(
                numbers["year"], numbers["month"], numbers["day"], strict=True
            )
        ]
        return seconds + read_stamps(texts, "year first").seconds, "timestamp"
    if numbers["hour"].max() > 24 or seconds[0] < 60:
        return seconds, "elapsed h:mm"
    return seconds, "clock"

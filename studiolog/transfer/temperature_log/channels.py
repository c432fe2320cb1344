"""Which columns are curves, of what role and unit; wide tables and one row per channel alike."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from studiolog.transfer.temperature_log.cleaning import find_robust_peak
from studiolog.transfer.temperature_log.header import LogTable
from studiolog.transfer.temperature_log.header_words import name_kind, primary_rank, unit_in
from studiolog.transfer.temperature_log.numerals import (
    MISSING_CODES,
    is_missing,
    looks_numeric,
    read_numbers,
)
from studiolog.transfer.temperature_log.values import (
    ChannelRole,
    Choices,
    ColumnTaken,
    Floats,
    Question,
)

_MOST_CHANNELS = 24  # named in a column of their own


@dataclass(frozen=True, eq=False)
class RawChannel:
    """A curve before ordering: its rows of the table and their numbers in the file's unit."""

    name: str
    role: ChannelRole
    unit: str
    rows: np.ndarray[tuple[int], np.dtype[np.intp]]
    values: Floats


@dataclass(frozen=True)
class Channels:
    """All curves of a table, what each column was taken to be, and the one to judge by."""

    found: list[RawChannel]
    columns: list[ColumnTaken]
    primary: int | None
    questions: list[Question]


def find_channels(
    table: LogTable, time_columns: dict[int, str], choices: Choices, decimal_mark: str
) -> Channels:
    """The curves of a table. ``time_columns`` maps the places of time and date columns."""
    columns = table.columns
    channel_at = _find_channel_column(table.names, columns, time_columns, choices)
    taken: list[ColumnTaken] = []
    raw: list[tuple[str, str, str, Floats]] = []
    for at, (name, cells) in enumerate(zip(table.names, columns, strict=True)):
        if at in time_columns:
            kind = "date" if time_columns[at] == "date" else "time"
            taken.append(ColumnTaken(name, kind, "", "tells the time"))  # type: ignore[arg-type]
        elif at == channel_at:
            taken.append(ColumnTaken(name, "channel", "", "names the channel of each row"))
        else:
            role, evidence = _role_of(name, cells, choices)
            unit = unit_in(name) or _unit_of_cells(cells) or ""
            if role == "ignored":
                taken.append(ColumnTaken(name, "ignored", "", evidence))
                continue
            values = _read_values(cells, decimal_mark)
            if not np.isfinite(values).any():
                taken.append(ColumnTaken(name, "ignored", "", "holds no number"))
                continue
            role, evidence = _check_by_values(role, evidence, values, name in choices.columns)
            raw.append((name, role, unit, values))
            unit = unit if role in ("measured", "setpoint") else "%" if role == "duty" else ""
            taken.append(ColumnTaken(name, role, unit, evidence))  # type: ignore[arg-type]
    if channel_at is not None:
        found = _part_by_channel(columns[channel_at], raw, choices)
    else:
        every = np.arange(len(table.rows))
        raw = _settle_unnamed(raw, choices)
        found = [RawChannel(name, role, unit, every, values) for name, role, unit, values in raw]  # type: ignore[arg-type]
        found = _tell_twice_told(found, choices)
    taken = _with_settled_roles(taken, found) if channel_at is None else taken
    primary, questions = _choose_primary(found, choices)
    return Channels(found, taken, primary, questions)


def _tell_twice_told(found: list[RawChannel], choices: Choices) -> list[RawChannel]:
    """The same thermocouple written in °C and in °F is one curve: the one in °F steps back."""
    in_c = [c for c in found if c.role == "measured" and c.unit == "C"]
    return [
        replace(channel, role="other")
        if channel.role == "measured"
        and channel.unit == "F"
        and channel.name not in choices.columns
        and any(
            np.allclose(channel.values, c.values * 1.8 + 32.0, atol=1.2, equal_nan=True)
            for c in in_c
        )
        else channel
        for channel in found
    ]


def _with_settled_roles(taken: list[ColumnTaken], found: list[RawChannel]) -> list[ColumnTaken]:
    roles = {channel.name: channel.role for channel in found}
    return [
        ColumnTaken(column.name, roles[column.name], column.unit, column.evidence)
        if column.name in roles
        else column
        for column in taken
    ]


def _read_values(cells: Sequence[str], decimal_mark: str) -> Floats:
    values = read_numbers(cells, decimal_mark)
    values[~np.isfinite(values) | np.isin(values, tuple(MISSING_CODES))] = np.nan
    return values


def _find_channel_column(
    names: list[str],
    columns: list[tuple[str, ...]],
    time_columns: dict[int, str],
    choices: Choices,
) -> int | None:
    """The column that names a channel in each row: few words, changing from row to row."""
    for at, (name, cells) in enumerate(zip(names, columns, strict=True)):
        if at in time_columns or name in choices.columns or len(cells) < 6:
            continue
        if len({cell.strip() for cell in cells[:1000]}) > _MOST_CHANNELS + 1:
            continue
        words = [cell.strip() for cell in cells]
        distinct = set(words) - {""}
        kind = name_kind(name)
        named = kind == "channel"
        if kind in ("ignored", "setpoint", "duty", "other"):
            continue  # a status that changes from row to row names no channel
        if not 2 <= len(distinct) <= _MOST_CHANNELS or len(distinct) > len(words) / 3:
            continue
        if not named and any(looks_numeric(word) or is_missing(word) for word in distinct):
            continue
        changes = sum(a != b for a, b in pairwise(words)) / (len(words) - 1)
        blocks = changes < 2 * len(distinct) / len(words)
        counts = [words.count(word) for word in distinct]
        even = min(counts) > 0.3 * max(counts)
        nameless = name.startswith("Column ")
        if even and (changes > 0.8 or ((named or nameless) and (changes > 0.5 or blocks))):
            return at
    return None


def _role_of(name: str, cells: Sequence[str], choices: Choices) -> tuple[str, str]:
    if name in choices.columns:
        return choices.columns[name], "chosen"
    sample = [cell for cell in cells[:: max(1, len(cells) // 200)] if not is_missing(cell)]
    numbers = sum(looks_numeric(cell) for cell in sample)
    if not sample or numbers < 0.5 * len(sample):
        return "ignored", "holds words" if sample else "empty"
    kind = name_kind(name)
    if kind in ("setpoint", "duty", "other", "ignored"):
        return kind, f"the header says {name}"
    if kind == "value":
        return "measured", f"the header says {name}"
    return "measured?", "a column of numbers"


def _check_by_values(role: str, evidence: str, values: Floats, chosen: bool) -> tuple[str, str]:
    """What a header says, held against what the numbers can be."""
    finite = values[np.isfinite(values)]
    if chosen:
        return role, evidence
    high = float(np.percentile(finite, 99))
    if role == "measured?" and np.all(finite == finite[0]) and finite.size > 5:
        return "other", "always the same number"
    # "Power set" and "output temp" exist: a duty never passes a hundred and a bit per cent.
    if role == "measured?" and finite.min() >= 0 and high <= 100.5:
        return "measured?", "a column of small numbers"
    return role, evidence


def _settle_unnamed(
    raw: list[tuple[str, str, str, Floats]], choices: Choices
) -> list[tuple[str, str, str, Floats]]:
    """Roles of columns whose names say nothing: by range, and by who follows whom."""
    peaks = {name: _peak(values) for name, _, _, values in raw}
    hottest = max(
        (peaks[name] for name, role, _, _ in raw if role.startswith("measured")), default=0
    )
    settled: list[tuple[str, str, str, Floats]] = []
    unnamed = [name for name, role, _, _ in raw if role == "measured?"]
    named = any(role == "measured" for _, role, _, _ in raw)
    smoothest = None
    hot = [name for name in unnamed if peaks[name] > 0.6 * hottest]
    if not named and len(hot) == 2 and not any(role == "setpoint" for _, role, _, _ in raw):
        roughness = {name: _roughness(values) for name, _, _, values in raw if name in hot}
        low, high = sorted(hot, key=lambda name: roughness[name])
        smoothest = low if roughness[low] < 0.3 * roughness[high] else None
    for name, role, unit, values in raw:
        if role == "measured?":
            if name == smoothest:
                role = "setpoint"
            elif named or peaks[name] <= 0.3 * hottest:
                small = peaks[name] <= 100.5 and np.nanmin(values) >= 0
                role = "duty" if small and not named and hottest > 200 else "other"
                role = "other" if named and not unit else "measured" if unit else role
            else:
                role = "measured"
        elif role == "measured" and name not in choices.columns and peaks[name] < 0.12 * hottest:
            role = "other"
        settled.append((name, role, unit, values))
    if not any(role == "measured" for _, role, _, _ in settled):
        # A file with a set point only, or with one oddly named column: take the hottest free one.
        free = [
            name
            for name, role, _, _ in settled
            if role in ("other", "setpoint", "duty") and name not in choices.columns
        ]
        if free:
            best = max(free, key=lambda name: peaks[name])
            settled = [
                (name, "measured" if name == best else role, unit, values)
                for name, role, unit, values in settled
            ]
    return settled


def _peak(values: Floats) -> float:
    peak = find_robust_peak(values)
    return peak if np.isfinite(peak) else 0.0


def _roughness(values: Floats) -> float:
    finite = values[np.isfinite(values)]
    return float(np.median(np.abs(np.diff(finite, 2)))) if finite.size > 3 else 0.0


def _unit_of_cells(cells: Sequence[str]) -> str | None:
    for cell in cells[:50]:
        bare = cell.strip()
        if bare and bare[-1] in "CFK℃℉" and any(sign.isdigit() for sign in bare):
            return {"℃": "C", "℉": "F"}.get(bare[-1], bare[-1])
    return None


def _part_by_channel(
    words: Sequence[str], raw: list[tuple[str, str, str, Floats]], choices: Choices
) -> list[RawChannel]:
    """One curve per channel name: never one zig-zag through them all."""
    held = [entry for entry in raw if entry[1] in ("measured", "measured?")] or raw[:1]
    if not held:
        return []
    _, _, unit, values = held[0]
    stripped = np.array([word.strip() for word in words])
    found: list[RawChannel] = []
    for word in dict.fromkeys(stripped.tolist()):
        if not word:
            continue
        rows = np.flatnonzero(stripped == word)
        kind = name_kind(word)
        role: ChannelRole = "measured"
        if word in choices.columns:
            if choices.columns[word] == "ignored":
                continue
            role = choices.columns[word]  # type: ignore[assignment]
        elif kind in ("setpoint", "duty", "other"):
            role = kind  # type: ignore[assignment]
        found.append(RawChannel(word, role, unit_in(word) or unit, rows, values[rows]))
    return found


def _choose_primary(found: list[RawChannel], choices: Choices) -> tuple[int | None, list[Question]]:
    measured = [at for at, channel in enumerate(found) if channel.role == "measured"]
    if choices.primary_channel is not None:
        for at, channel in enumerate(found):
            if channel.name == choices.primary_channel:
                return at, []
    if not measured:
        return None, []
    best = min(
        measured,
        key=lambda at: (
            primary_rank(found[at].name),
            -np.isfinite(found[at].values).sum() // 2,
            at,
        ),
    )
    if len(measured) == 1:
        return best, []
    names = tuple(found[at].name for at in measured)
    question = Question(
        "primary_channel",
        f"{len(measured)} channels measure a temperature ({', '.join(names)}). "
        "Which one is the firing judged by?",
        names,
        found[best].name,
    )
    return best, [question]

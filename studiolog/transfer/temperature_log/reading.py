"""From the bytes of a temperature log to its reading: encoding, separator, header, clock, unit."""

import gc
import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from studiolog.craft.firing.cleaning import longest_wait_s
from studiolog.problems import LogUnreadable
from studiolog.transfer.temperature_log.channels import Channels, RawChannel, find_channels
from studiolog.transfer.temperature_log.cleaning import celsius_from, mark_unbelievable
from studiolog.transfer.temperature_log.clock import Clock, read_clock
from studiolog.transfer.temperature_log.header import LogTable, find_table
from studiolog.transfer.temperature_log.header_words import name_kind
from studiolog.transfer.temperature_log.numerals import find_decimal_mark, looks_numeric
from studiolog.transfer.temperature_log.order import Ordered, put_in_order
from studiolog.transfer.temperature_log.settling import settle_start, settle_unit
from studiolog.transfer.temperature_log.stamps import looks_like_time
from studiolog.transfer.temperature_log.table import SEPARATOR_NAMES, split_lines
from studiolog.transfer.temperature_log.text import LogText, decode_log
from studiolog.transfer.temperature_log.values import (
    Choices,
    Floats,
    LogChannel,
    LogReading,
    Note,
    Question,
    Reason,
    Reasons,
    Understood,
    Unit,
)

_PREVIEW_ROWS = 12
_FEW = 8


class LogWithoutRows(LogUnreadable):
    """The file has a header at most: it holds no reading."""


@dataclass(frozen=True, eq=False)
class _Curve:
    """A channel put in order and cleaned."""

    raw: RawChannel
    ordered: Ordered
    celsius: Floats
    reason: Reasons


def read_temperature_log(data: bytes, name: str, choices: Choices | None = None) -> LogReading:
    """Read a temperature log; nothing is stored, nothing of the file is lost without a word.

    ``name`` is the file's name (told in sentences; a date in it is proposed as the start).
    ``choices`` are the potter's corrections. What the file leaves open comes back as questions
    with a proposal. Raises `LogUnreadable` with a sentence when there is nothing to read.
    """
    with _rows_that_stay():
        return _read(data, name, choices or Choices())


@contextmanager
def _rows_that_stay() -> Iterator[None]:
    """Don't search a million rows for garbage again and again while they are being read."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()


def _read(data: bytes, name: str, chosen: Choices) -> LogReading:
    text = decode_log(data, name, chosen.encoding)
    cells = split_lines(text.lines, chosen.separator)
    text.let_go()
    table = find_table(cells, chosen.header_row)
    if not table.rows:
        raise LogWithoutRows(
            f"{name} holds no readings, only a header or notes: export the firing again, "
            "or pick another file."
        )
    decimal_mark, decimal_evidence = (
        (chosen.decimal_mark, "chosen") if chosen.decimal_mark else _decimal_mark_of(table)
    )
    clock = read_clock(table, chosen, decimal_mark)
    channels = find_channels(table, clock.used, chosen, decimal_mark)
    if channels.primary is None:
        silent = [name for name in table.names if name_kind(name) == "value"]
        if silent:
            raise LogWithoutRows(
                f"{name} holds no reading: every cell of “{silent[0]}” is empty or says that "
                "nothing was measured. Check the thermocouple's connection, or pick another file."
            )
        raise LogUnreadable(
            f"{name} has no column that reads as a temperature: choose the column yourself, "
            "or pick another file."
        )
    primary = channels.found[channels.primary]
    unit, unit_lines, unit_questions = settle_unit(primary, table.preamble, chosen)
    curves = [_read_curve(channel, clock, table, chosen, unit) for channel in channels.found]
    main = curves[channels.primary]
    notes = [*_notes_of_text(text, table), *main.ordered.notes]
    _mark_cut_value(main, text, table, notes)
    notes += _notes_of_cleaning(main, table)
    kept = main.reason == Reason.KEPT
    if not kept.any():
        if not main.reason.size:  # rows without a time are not even cleaned
            raise LogWithoutRows(
                f"{name} holds no readable time in any row, or a year that can't be: set the "
                "logger's clock, or choose the time column and the order of its dates."
            )
        raise LogWithoutRows(
            f"{name} holds no believable temperature in “{primary.name}”: "
            "choose another column or unit, or pick another file."
        )
    zero = min(curve.ordered.seconds[0] for curve in curves if curve.ordered.seconds.size)
    log_channels = tuple(_channel_of(curve, zero, unit) for curve in curves)
    start, start_notes, start_questions, start_line = settle_start(
        clock, float(zero), table.preamble, name, chosen
    )
    kept_s = main.ordered.seconds[kept]
    duration_h = float(kept_s[-1] - kept_s[0]) / 3600.0
    sampling_s = float(np.median(np.diff(kept_s))) if kept_s.size > 1 else 0.0
    gaps = _find_gaps(kept_s - zero)
    if kept_s.size < _FEW:
        notes.append(
            Note(
                "thin",
                f"Only {kept_s.size} reading{'s' if kept_s.size > 1 else ''}: "
                "no rate can be told, and the cone only roughly.",
            )
        )
    if gaps:
        longest = max(end - begin for begin, end in gaps) / 60
        word = "stretch" if len(gaps) == 1 else "stretches"
        notes.append(
            Note("gap", f"{len(gaps)} {word} without a reading, the longest {longest:.0f} minutes.")
        )
    understood = (
        Understood("encoding", text.encoding, text.evidence),
        Understood(
            "separator", SEPARATOR_NAMES.get(cells.separator, cells.separator), cells.evidence
        ),
        Understood("decimal mark", "comma" if decimal_mark == "," else "point", decimal_evidence),
        Understood(
            "header",
            f"line {table.header_line}" if table.header_line else "none",
            ", ".join(table.names) if table.header_line else "the first line holds numbers",
        ),
        *clock.understood,
        start_line,
        *unit_lines,
        Understood(
            "span", f"{duration_h:.2f} h", f"{int(kept.sum())} readings, one every {sampling_s:g} s"
        ),
        Understood("gaps", str(len(gaps)) if gaps else "none", "stretches over ten minutes"),
    )
    unread = sum(1 for line in (*table.broken_lines, *text.damaged_lines))
    cut = 0 if text.ends_with_newline else len(_cut_line(text, table))
    return LogReading(
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        channels=log_channels,
        primary=log_channels[channels.primary],
        start=start,
        duration_h=duration_h,
        sampling_s=sampling_s,
        unit=unit,
        rows_kept=int(kept.sum()),
        rows_repaired=int((kept & (main.ordered.moved | _parted_otherwise(main, table))).sum()),
        rows_dropped=len(primary.rows) - int(kept.sum()) + unread + cut,
        notes=(*notes, *start_notes),
        questions=_settle_questions(
            clock.questions, channels, unit_questions, main.ordered.questions, start_questions
        ),
        understood=understood,
        gaps=gaps,
        columns=tuple(channels.columns),
        preview_rows=tuple(tuple(row) for row in cells.rows[:_PREVIEW_ROWS]),
        encoding=text.encoding,
        separator=cells.separator,
        decimal_mark=decimal_mark,
        time_kind=clock.kind,
    )


def _decimal_mark_of(table: LogTable) -> tuple[str, str]:
    step = max(1, len(table.rows) // 400, len(table.rows) * len(table.names) // 20_000)
    columns = zip(*table.rows[::step], strict=True)
    return find_decimal_mark(
        [cell for cell in cells if not looks_like_time(cell) and looks_numeric(cell)]
        for cells in columns
    )


def _read_curve(
    channel: RawChannel, clock: Clock, table: LogTable, choices: Choices, unit: Unit
) -> _Curve:
    lines = [table.line_numbers[at] for at in channel.rows.tolist()]
    ordered = put_in_order(clock, clock.seconds[channel.rows], channel.values, lines, choices)
    raw = channel.values[ordered.rows]
    reason = ordered.reason
    reason[(reason == 0) & ~np.isfinite(raw)] = Reason.MISSING
    if channel.role not in ("measured", "setpoint"):
        return _Curve(channel, ordered, raw, reason)
    celsius = celsius_from(raw, _unit_of(channel, choices, unit))
    if channel.role == "measured":
        mark_unbelievable(ordered.seconds, celsius, raw, reason)
    return _Curve(channel, ordered, celsius, reason)


def _unit_of(channel: RawChannel, choices: Choices, unit: Unit) -> Unit:
    """A channel's own unit where it names one and the potter has not overruled it."""
    own = channel.unit
    if choices.unit is None and unit != "F" and own in ("C", "F", "K"):
        return own  # type: ignore[return-value]
    return unit


def _channel_of(curve: _Curve, zero: float, unit: Unit) -> LogChannel:
    kept = curve.reason == Reason.KEPT
    elapsed = curve.ordered.seconds - zero
    heat = curve.raw.role in ("measured", "setpoint")
    return LogChannel(
        name=curve.raw.name,
        role=curve.raw.role,
        unit="C" if heat else "%" if curve.raw.role == "duty" else curve.raw.unit,
        elapsed_s=elapsed[kept],
        temperature_c=curve.celsius[kept],
        raw_elapsed_s=elapsed,
        raw_temperature_c=curve.celsius,
        raw_reason=curve.reason,
    )


def _find_gaps(elapsed_s: Floats) -> tuple[tuple[float, float], ...]:
    """The log's silences by the limits as shipped: a file is read without a studio."""
    places = np.flatnonzero(np.diff(elapsed_s) > longest_wait_s(elapsed_s))
    return tuple((float(elapsed_s[at]), float(elapsed_s[at + 1])) for at in places)


def _cut_line(text: LogText, table: LogTable) -> tuple[int, ...]:
    """The last line of a file that ends without a newline, if it did not make a row."""
    last = text.count
    is_cut = last in table.footer_lines and any(sign.isdigit() for sign in text.last[:4])
    return (last,) if is_cut else ()


def _notes_of_text(text: LogText, table: LogTable) -> list[Note]:
    notes: list[Note] = []
    if text.damaged_lines:
        notes.append(
            Note(
                "damaged",
                "The file breaks off in a block of zeros, as after a power cut: "
                "all complete rows are kept.",
                text.damaged_lines[0],
            )
        )
    cut = () if text.ends_with_newline else _cut_line(text, table)
    if cut:
        notes.append(Note("cut_off", "The last line is cut off and left out.", cut[0]))
    footer = [line for line in table.footer_lines if line not in cut]
    if footer:
        notes.append(Note("footer", "Lines after the table are not readings.", footer[0]))
    if table.repeated_headers:
        notes.append(
            Note(
                "repeated_header",
                "The header comes again inside the table.",
                table.repeated_headers[0],
            )
        )
    otherwise = sorted(table.parted_otherwise & set(table.line_numbers))
    if otherwise:
        count = len(otherwise)
        told = "1 row is" if count == 1 else f"{count} rows are"
        notes.append(
            Note(
                "mixed_separators",
                f"{told} parted by another separator than the rest: read all the same.",
                otherwise[0],
            )
        )
    if table.broken_lines:
        count = len(table.broken_lines)
        told = "1 line" if count == 1 else f"{count} lines"
        notes.append(
            Note("broken_line", f"{told} inside the table cannot be read.", table.broken_lines[0])
        )
    return notes


def _parted_otherwise(curve: _Curve, table: LogTable) -> NDArray[np.bool_]:
    """Which readings stand on lines with another separator than the rest."""
    if not table.parted_otherwise:
        return np.zeros(curve.ordered.rows.size, dtype=bool)
    at = curve.raw.rows[curve.ordered.rows].tolist()
    return np.array([table.line_numbers[row] in table.parted_otherwise for row in at], dtype=bool)


def _mark_cut_value(curve: _Curve, text: LogText, table: LogTable, notes: list[Note]) -> None:
    """A last number cut through ("54" of "544.0") is no reading."""
    rows = curve.ordered.rows
    if text.ends_with_newline or rows.size < 4 or table.line_numbers[-1] != text.count:
        return
    last = int(np.argmax(rows))
    if last != rows.size - 1 or rows[last] != len(curve.raw.values) - 1:
        return
    before = curve.celsius[:-1][curve.reason[:-1] == Reason.KEPT][-3:]
    if before.size < 3 or curve.reason[last] not in (Reason.KEPT, Reason.SPIKE):
        return
    told = str(curve.raw.values[rows[last]])
    usual = str(curve.raw.values[rows[last - 1]])
    ahead = before[-1] + np.median(np.diff(before))
    if len(told) < len(usual) and abs(curve.celsius[last] - ahead) > 20:
        curve.reason[last] = Reason.MISSING
        notes.append(
            Note("cut_off", "The last number is cut off and left out.", table.line_numbers[-1])
        )


def _notes_of_cleaning(curve: _Curve, table: LogTable) -> list[Note]:
    notes: list[Note] = []
    told = {
        Reason.MISSING: ("missing", "has no temperature", "have no temperature"),
        Reason.OUT_OF_RANGE: ("out_of_range", "is no kiln temperature", "are no kiln temperatures"),
        Reason.OPEN_CIRCUIT: (
            "open_circuit",
            "shows an open thermocouple",
            "show an open thermocouple",
        ),
        Reason.SPIKE: (
            "spike",
            "leaps away from its neighbours",
            "leap away from their neighbours",
        ),
    }
    for reason, (kind, one, many) in told.items():
        places = np.flatnonzero(curve.reason == reason)
        if places.size:
            line = table.line_numbers[int(curve.raw.rows[curve.ordered.rows[places[0]]])]
            words = f"1 row {one}" if places.size == 1 else f"{places.size} rows {many}"
            notes.append(Note(kind, f"{words}: left out, kept with the raw readings.", line))
    return notes


def _settle_questions(
    clock: tuple[Question, ...],
    channels: Channels,
    unit: list[Question],
    order: list[Question],
    start: list[Question],
) -> tuple[Question, ...]:
    """One question of each key, in the order a potter would answer them."""
    asked: dict[str, Question] = {}
    for question in (*clock, *channels.questions, *unit, *order, *start):
        asked.setdefault(question.key, question)
    return tuple(asked.values())

"""The firing sheet: one page to take to the kiln, with a grid for those who watch a pyrometer.

However long the program and however many levels, it is one page: rows grow smaller and the grid
coarser until all stands on it; what can't is named as left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from studiolog.craft.firing.cones import cone_at, ordinal_of, show_cone
from studiolog.craft.firing.program import Segment, find_problems, planned_cone, planned_points
from studiolog.craft.firing.program_cautions import DEFER, find_program_cautions
from studiolog.craft.limits import Limits
from studiolog.craft.money import show_money
from studiolog.craft.units import (
    show_duration,
    show_quantity,
    show_rate,
    show_temperature,
)
from studiolog.craft.words import ATMOSPHERES, FIRING_KINDS
from studiolog.journal.planned_firing import PlannedFiring
from studiolog.paper.board import Board, stands_on
from studiolog.paper.lettering import MM_PER_PT, width_mm, wrap
from studiolog.paper.log_grid import draw_log, write_hours
from studiolog.paper.page import Extent, Page, PageSize
from studiolog.paper.plan_plot import Plan, draw_plan
from studiolog.paper.table import Column, Look, column_edges, draw_table
from studiolog.problems import UserProblem

SAFETY: Final = (
    "Heat, fumes and mains current. Air the room, keep what can burn away from the kiln, wear kiln "
    "glasses at the spy hole and gloves at the lid, switch off at the mains before reaching in, "
    "and open it only when it has cooled. The kiln's maker, local rules and a licensed electrician "
    "decide."
)
"""The usual caution (common practice)."""

_GUTTER_MM = 6.0
_LEFT_SHARE = 0.57
_FOOT_MM = 8.5
_FEWEST_LOG_ROWS = 10
_WORTH_MM = 10.0
"""So much higher a grid is worth an unusual place for the packs."""
_BLANK_STEPS = 6

_Span: TypeAlias = tuple[float, float]
"""From where to where a column reaches, in mm."""


@dataclass(frozen=True, slots=True)
class _Fit:
    """How close things stand: tried from the most comfortable on."""

    step_mm: float
    step_pt: float
    most_steps: int
    level_mm: float
    most_levels: int
    log_mm: float
    small_pt: float
    caution_lines: int


_FITS: Final = (
    _Fit(5.4, 9.0, 12, 6.4, 5, 6.2, 8.0, 16),
    _Fit(4.8, 8.5, 16, 5.6, 8, 5.8, 7.5, 14),
    _Fit(4.2, 8.0, 22, 5.0, 14, 5.4, 7.0, 10),
    _Fit(3.6, 7.0, 28, 4.6, 14, 5.0, 6.5, 7),
)


@dataclass(frozen=True, slots=True)
class _Facts:
    """What the craft makes of the plan; ``plan`` is None where there is none to follow."""

    steps: tuple[Segment, ...]
    plan: Plan | None
    problem: str
    estimated_from: int
    amounts: str
    cautions: tuple[tuple[bool, str], ...]
    """Each with whether it is a warning."""


def lay_out_firing_sheet(planned: PlannedFiring, size: PageSize, scale: str = "C") -> Page:
    """The firing sheet of a planned firing, on one page of a size.

    Temperatures stand in ``scale``, "C" or "F".
    """
    facts = _look_at(planned, scale)
    steps, levels = len(facts.steps), len(planned.levels)
    all_shown = [f for f in _FITS if steps <= f.most_steps and levels <= f.most_levels]
    for fit in all_shown or _FITS[-1:]:
        board = Board(size)
        every_min, roomy = _draw(board, planned, facts, fit, scale)
        if roomy:
            break
    return board.page(_title(planned), _describe(planned, facts, every_min))


def _look_at(planned: PlannedFiring, scale: str) -> _Facts:
    steps = tuple(Segment(s.rate_c_per_h, s.target_c, s.hold_min) for s in planned.segments)
    free = [number for number, step in enumerate(steps) if step.rate_c_per_h is None]
    estimated_from = free[0] if free else len(steps)
    if not steps:
        return _Facts((), None, "", 0, "", ())
    problems = find_problems(steps, scale=scale)
    if problems:
        problem = f"This program can't be followed as it stands. {next(iter(problems.values()))}"
        return _Facts(steps, None, problem, estimated_from, "", ())
    at_s, at_c = planned_points(steps)
    ends = tuple(float(planned_points(steps[: n + 1])[0][-1]) for n in range(len(steps)))
    cautions = find_program_cautions(steps, planned.kind, planned.cone, planned.limits, scale)
    told = tuple(
        # A warning says why, and how to change the program; what holds for every such firing is
        # short.
        (True, " ".join(filter(None, (one.what, one.why, one.change))))
        if one.weight == "warn"
        else (False, one.what)
        for one in cautions
    )
    plan = Plan(tuple(at_s.tolist()), tuple(at_c.tolist()), ends)
    return _Facts(
        steps, plan, "", estimated_from, _amounts(steps, plan, planned.limits, scale), told
    )


def _amounts(steps: Sequence[Segment], plan: Plan, limits: Limits, scale: str) -> str:
    words = f"To {show_temperature(max(plan.at_c), scale)}, in all {show_duration(plan.at_s[-1])}"
    if any(step.rate_c_per_h is None for step in steps):
        words += "; ≈ where the kiln is left to itself, an estimate"
    try:
        estimate = planned_cone(steps, limits=limits)
    except UserProblem:
        return f"{words}."
    if {"below_chart", "above_chart"} & set(estimate.flags):
        return f"{words}."
    return (
        f"{words}. Followed to the letter: cone {estimate.label}, "
        f"from {estimate.interval_label}, as computed; the cones decide."
    )


def _draw(
    board: Board, planned: PlannedFiring, facts: _Facts, fit: _Fit, scale: str
) -> tuple[int, bool]:
    """Draw the whole page; returns the minutes between readings and whether all has room."""
    y = _draw_head(board, planned)
    # Beside a long program the packs have more room under the curve than under the table.
    left, right = Board(board.size), Board(board.size)
    under_left = _draw_columns(left, y, planned, facts, fit, scale, packs_left=True)
    under_right = _draw_columns(right, y, planned, facts, fit, scale, packs_left=False)
    usual = under_left <= under_right + _WORTH_MM
    y = under_left if usual else under_right
    board.marks.extend(left.marks if usual else right.marks)
    floor = board.bottom - _FOOT_MM
    every_min, rows = draw_log(
        board, y, floor - 2.0, facts.steps if facts.plan is not None else (), scale,
        row_mm=fit.log_mm, size_pt=min(8.5, fit.step_pt),
    )  # fmt: skip
    board.rule(board.left, floor, board.right)
    board.paragraph(board.left, floor + 0.6, SAFETY, board.wide, 6.5, most=3, tone="soft")
    return every_min, rows >= _FEWEST_LOG_ROWS


def _draw_columns(
    board: Board, y: float, planned: PlannedFiring, facts: _Facts, fit: _Fit, scale: str,
    packs_left: bool,
) -> float:  # fmt: skip
    """The program at the left, its curve at the right, packs and cautions under them."""
    split = board.left + board.wide * _LEFT_SHARE
    left, right = (board.left, split), (split + _GUTTER_MM, board.right)
    under_left = _draw_program(board, y, left, facts, fit, scale)
    under_right = _draw_curve(board, y, right, facts, fit, scale)
    if packs_left:
        under_left = under_right = max(under_left, under_right)
        packs = _draw_packs(board, under_left, left, planned, fit)
        told = _draw_before(board, under_right, right, planned, facts, fit)
    else:
        packs = _draw_packs(board, under_right, right, planned, fit)
        told = _draw_before(board, under_left, left, planned, facts, fit)
    return max(packs, told) + 2.5


def _draw_head(board: Board, planned: PlannedFiring) -> float:
    y = board.top
    board.words(board.left, y + 2.8, planned.studio, board.wide * 0.7, 8.5, tone="soft")
    board.words(board.right, y + 2.8, "Firing sheet", 40, 8.5, align="right", tone="soft")
    x, blanks = board.left, board.right - 62.0
    if planned.number is not None:
        number = str(planned.number)
        board.ring(x + 5.2, y + 10.6, 5.0)
        board.words(
            x + 5.2, stands_on(y + 5.6, 10.0, 11.0), number, 8.6, 11.0, bold=True, align="centre"
        )
        x += 13.0
    room = blanks - 4.0 - x
    heading = _heading(planned)
    if width_mm(heading, 12.0, bold=True) <= room:
        board.words(x, y + 11.0, heading, room, 17.0, bold=True)
    else:
        board.paragraph(x, y + 4.0, heading, room, 9.5, most=2, bold=True)
    kind = FIRING_KINDS[planned.kind]
    facts = [f"Cone {show_cone(planned.cone)}"] if planned.cone else []
    facts.append(f"{kind} firing")
    if planned.atmosphere != "oxidation":
        facts.append(ATMOSPHERES[planned.atmosphere])
    facts.append(planned.kiln)
    board.words(x, y + 16.4, " · ".join(filter(None, facts)), room, 9.5)
    board.blank(blanks, y + 10.0, blanks + 34.0, "Date")
    board.blank(blanks + 36.0, y + 10.0, board.right, "Lit at")
    board.blank(blanks, y + 16.4, board.right, "Fired by")
    return y + 20.0


def _heading(planned: PlannedFiring) -> str:
    if planned.heading:
        return planned.heading
    kind = FIRING_KINDS[planned.kind].capitalize()
    return f"{kind}, cone {show_cone(planned.cone)}" if planned.cone else f"{kind} firing"


def _draw_program(
    board: Board, y: float, span: _Span, facts: _Facts, fit: _Fit, scale: str
) -> float:
    left, right = span
    wide = right - left
    columns = (
        Column("Step", 0.9, "centre"),
        Column("Rate", 2.3, "right"),
        Column("Target", 1.7, "right"),
        Column("Hold", 1.9, "right"),
        Column("Ends after", 1.7, "right"),
        Column("Clock", 1.5),
    )
    below = board.head(left, y, right, "Program")
    rows = _step_rows(facts, scale)
    left_out = 0
    if len(rows) > fit.most_steps:
        left_out = len(rows) - fit.most_steps + 1
        rows = rows[: fit.most_steps - 1]
    look = Look(fit.step_mm, fit.step_pt, 7.0, 4.8)
    end = draw_table(board, left, below, wide, columns, rows, look)
    if left_out:
        plural = "s" if left_out > 1 else ""
        last = (
            f"; the last ends after {write_hours(facts.plan.step_ends_s[-1])}" if facts.plan else ""
        )
        words = f"… and {left_out} more step{plural} with no room here{last}"
        line = stands_on(end, fit.step_mm, fit.step_pt)
        board.words(left + 1.2, line, words, wide - 2.4, fit.step_pt)
        end += fit.step_mm
    words = facts.problem or facts.amounts
    if words:
        end = board.paragraph(left, end + 0.8, words, wide, fit.small_pt, most=3, tone="soft")
    return end + 3.0


def _draw_curve(board: Board, y: float, span: _Span, facts: _Facts, fit: _Fit, scale: str) -> float:
    left, right = span
    below = board.head(left, y, right, "As planned")
    if facts.plan is None:
        words = "Write the program you fire into the table." if not facts.steps else ""
        return board.paragraph(left, below, words, right - left, fit.small_pt, tone="soft") + 3.0
    tall = min(max(len(facts.steps) * fit.step_mm + 12.0, 42.0), 56.0)
    draw_plan(board, Extent(left, below, right, below + tall), facts.plan, scale)
    return below + tall + 3.0


def _step_rows(facts: _Facts, scale: str) -> list[tuple[str, ...]]:
    if not facts.steps:
        return [("", "", "", "", "", "")] * _BLANK_STEPS
    rows: list[tuple[str, ...]] = []
    here: float | None = None
    for number, step in enumerate(facts.steps):
        rising = here is None or step.target_c > here
        if here is not None and step.target_c == here:
            rate = "–"
        elif step.rate_c_per_h is None:
            rate = "full power" if rising else "left to cool"
        else:
            rate = show_rate(step.rate_c_per_h, scale)
        hold = show_duration(step.hold_min * 60.0) if step.hold_min else "–"
        ends = ""
        if facts.plan is not None:
            about = "≈ " if number >= facts.estimated_from else ""
            ends = about + write_hours(facts.plan.step_ends_s[number])
        rows.append((str(number + 1), rate, show_temperature(step.target_c, scale), hold, ends, ""))
        here = step.target_c
    return rows


def _draw_packs(board: Board, y: float, span: _Span, planned: PlannedFiring, fit: _Fit) -> float:
    """A row for each level: a box to tick for each cone that is set, and room for its bend."""
    left, right = span
    below = board.head(left, y, right, "Cone packs", "tick what is set, write the bend after")
    cones = witness_cones(planned.cone)
    levels = list(planned.levels) or ["", "", ""]
    left_out = 0
    if len(levels) > fit.most_levels:
        left_out = len(levels) - fit.most_levels + 1
        levels = levels[: fit.most_levels - 1]
    columns = (Column("Level", 2.6), *(Column(cone, 2.0) for cone in cones), Column("Note", 1.8))
    wide = right - left
    rows = [(level, *("" for _ in columns[1:])) for level in levels]
    look = Look(fit.level_mm, min(8.5, fit.step_pt), 7.0, 4.8)
    end = draw_table(board, left, below, wide, columns, rows, look)
    edges = column_edges(left, wide, columns)
    side = min(2.8, fit.level_mm - 1.6)
    for number in range(len(levels)):
        upper = below + look.head_mm + number * fit.level_mm
        for edge in edges[1:-2]:
            board.tick_box(edge + 1.2, upper + (fit.level_mm - side) / 2, side)
    for edge in edges[1:-1]:
        board.upright(edge, below + look.head_mm, end)
    if left_out:
        line = stands_on(end, fit.level_mm, 7.0)
        words = f"… and {left_out} more levels with no room here"
        board.words(left + 1.2, line, words, wide - 2.4, 7.0)
        end += fit.level_mm
    return end


def witness_cones(aimed: str | None) -> tuple[str, ...]:
    """The heads of the pack: the cone before, the one aimed at, the one after (common practice).

    Blank where no cone is aimed at, or none is charted beside it.
    """
    if not aimed:
        return ("Cone", "Cone", "Cone")
    middle = ordinal_of(aimed)
    beside = 1.0 if middle == int(middle) else 0.5
    names: list[str] = []
    for number in (middle - beside, middle, middle + beside):
        try:
            name = show_cone(cone_at(number))
        except UserProblem:
            name = ""
        beyond = not name or (number != middle and name == show_cone(aimed))
        names.append("Cone" if beyond else f"Cone {name}")
    return tuple(names)


def _draw_before(
    board: Board, y: float, span: _Span, planned: PlannedFiring, facts: _Facts, fit: _Fit
) -> float:
    x, right = span
    room = right - x
    end = board.head(x, y, right, "Before lighting, and after")
    size = fit.small_pt
    end = _write_cautions(board, (x, end), room, facts.cautions, fit)
    if planned.next_time:
        whose = f" (firing {planned.next_time_from})" if planned.next_time_from else ""
        words = f"To do differently this time{whose}: {planned.next_time}"
        end = board.paragraph(x, end, words, room, size, most=3) + 0.5
    if planned.notes.strip():
        end = board.paragraph(x, end, planned.notes, room, size, most=2, tone="soft") + 0.5
    energy = say_energy(planned)
    if energy:
        end = board.paragraph(x, end, energy, room, size, most=4) + 0.5
    end += 5.0
    before = planned.meter_before_kwh
    half = x + room * 0.55
    if before is None:
        board.blank(x, end, half - 2.0, "Meter before", 7.5, "kWh")
    else:
        told = f"Meter before: {show_quantity(before, 'kWh', 1)}"
        board.words(x, end, told, half - x - 2.0, 7.5)
    board.blank(half, end, right, "after", 7.5, "kWh")
    return end + 1.5


def _write_cautions(
    board: Board, at: _Span, room: float, cautions: Sequence[tuple[bool, str]], fit: _Fit
) -> float:
    """Warnings with their sign, notes with a dot, as far as there are lines; then how many more."""
    x, y = at
    indent, lines, size_pt = 4.0, fit.caution_lines, fit.small_pt
    for number, (warns, caution) in enumerate(cautions):
        needed = len(wrap(caution, room - indent, size_pt))
        if needed > lines:
            left = len(cautions) - number
            words = f"and {left} more: see the page of the program."
            return board.paragraph(x + indent, y, words, room - indent, size_pt, most=1) + 0.5
        lines -= needed
        if warns:
            board.warning(x, y + 0.7, size_pt)
        else:
            board.ring(x + size_pt * MM_PER_PT * 0.55, y + 0.7 + size_pt * MM_PER_PT * 0.55, 0.5)
        y = board.paragraph(x + indent, y, caution, room - indent, size_pt) + 0.5
    if cautions:
        y = board.paragraph(x + indent, y, DEFER, room - indent, size_pt, tone="soft") + 0.8
    return y


def say_energy(planned: PlannedFiring) -> str:
    """What the firing will probably use and cost, and how that is known; "" if nothing tells."""
    use = planned.expected
    if use is None:
        return ""
    energy = use.energy
    words = f"Energy expected: {show_quantity(energy.kwh, 'kWh')}"
    if planned.cost is not None:
        least, most = (show_money(cost, planned.currency) for cost in planned.cost)
        by_hour = f"{least} to {most} by the hour it starts"
        words += f", cost {least}" if least == most else f", cost {by_hour}"
    return f"{words}; {energy.words}."


def _title(planned: PlannedFiring) -> str:
    words = f"Firing sheet, {_heading(planned)}"
    return f"{words}, firing {planned.number}" if planned.number is not None else words


def _describe(planned: PlannedFiring, facts: _Facts, every_min: int) -> str:
    words = [_title(planned)]
    if planned.kiln:
        words.append(planned.kiln)
    if planned.cone:
        words.append(f"aimed at cone {show_cone(planned.cone)}")
    count = len(facts.steps)
    words.append(f"{count} step{'' if count == 1 else 's'}" if count else "no program")
    if facts.plan is not None:
        words.append(f"in all {show_duration(facts.plan.at_s[-1])}")
    levels = len(planned.levels)
    if levels:
        words.append(f"cone packs for {levels} level{'' if levels == 1 else 's'}")
    words.append(f"a grid for readings every {show_duration(every_min * 60.0)}")
    return f"{', '.join(words)}."

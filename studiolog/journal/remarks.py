"""What to read with care, and the smallest test that would settle a cell. Sums, no Qt."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from sqlalchemy import and_, func, or_, select
from sqlalchemy.orm import Session

from studiolog.craft.evidence.rates import (
    MIN_PIECES,
    Rate,
    differ,
    rate_of,
    smallest_next_test,
    wilson,
)
from studiolog.craft.firing.cones import label_of
from studiolog.journal.finding import Hit
from studiolog.journal.finding_scope import in_zone
from studiolog.journal.matrix import Matrix, MatrixRow
from studiolog.journal.question import Question, say_asked, say_cone
from studiolog.journal.tables import in_chunks, table
from studiolog.records.facts import piece_fact

_MOST_TESTS: Final = 40  # more test pieces than a kiln holds settle nothing
_HALF: Final = 0.5
_LOW_RATE: Final = 0.10


@dataclass(frozen=True)
class Remark:
    """A sentence to read a rate with, and what it rests on. ``sign`` names its icon."""

    sentence: str
    rests_on: str
    sign: str = "warning"


@dataclass(frozen=True)
class Outcome:
    """What a rate would come to if the fault were seen on ``seen`` of the test pieces."""

    seen: int
    rate: Rate


@dataclass(frozen=True)
class NextTest:
    """The fewest further pieces that put a rate to one side of a half, whichever way they fall.

    ``pieces`` 0: it is settled already; None: no test a kiln holds would settle it.
    ``to_clear`` is how many more, all sound, would show the rate to be under one in ten.
    """

    now: Rate
    pieces: int | None
    outcomes: tuple[Outcome, ...]
    to_clear: int | None


def plan_next_test(now: Rate, pieces: int | None = None) -> NextTest:
    """The smallest next test for a cell, or what ``pieces`` more would show."""
    wanted = _settling(now) if pieces is None else pieces
    outcomes: tuple[Outcome, ...] = ()
    if wanted:
        steps = sorted({0, round(wanted / 3), wanted})
        outcomes = tuple(
            Outcome(seen, rate_of(now.events + seen, now.trials + wanted)) for seen in steps
        )
    return NextTest(
        now, wanted, outcomes, smallest_next_test(now.events, now.trials, limit=_LOW_RATE)
    )


def _settling(now: Rate) -> int | None:
    if now.says_enough and (now.high < _HALF or now.low > _HALF):
        return 0
    for more in range(max(1, MIN_PIECES - now.trials), _MOST_TESTS + 1):
        if (
            wilson(now.events, now.trials + more)[1] < _HALF
            and wilson(now.events + more, now.trials + more)[0] > _HALF
        ):
            return more
    return None


def read_remarks(
    session: Session,
    question: Question,
    matrix: Matrix,
    hits: Sequence[Hit],
    row: MatrixRow | None = None,
) -> tuple[Remark, ...]:
    """What to keep in mind about these pieces; ``row`` is the row one looks at, if any."""
    inspected = [hit for hit in hits if hit.left_out is None]
    found = [
        _order_matters(question, matrix, row),
        _by_cone(question, inspected),
        _hotter_level(session, question, inspected),
        _few_firings(session, inspected),
        _layers_unknown(session, question, inspected),
        _only_aimed(session, inspected),
    ]
    return tuple(remark for remark in found if remark is not None)


def _fault(question: Question) -> str:
    return say_asked(question)


def _order_matters(question: Question, matrix: Matrix, row: MatrixRow | None) -> Remark | None:
    """Of two glazes, one order shows the fault more often than the other beyond doubt."""
    pooled: dict[tuple[int, int], Rate] = {}
    for head, cells in zip(matrix.rows, matrix.cells, strict=True):
        if head.under is not None:
            pooled[head.key] = rate_of(
                sum(cell.rate.events for cell in cells), sum(cell.rate.trials for cell in cells)
            )
    best: tuple[float, MatrixRow, Rate, Rate] | None = None
    for head in matrix.rows:
        this, other = pooled.get(head.key), pooled.get((head.key[1], head.key[0]))
        if this is None or other is None or this.rate is None or other.rate is None:
            continue
        if row is not None and set(row.key) != set(head.key):
            continue
        apart = this.rate - other.rate
        if apart > 0 and differ(this, other) and (best is None or apart > best[0]):
            best = (apart, head, this, other)
    if best is None:
        return None
    _, head, this, other = best
    assert head.under is not None
    return Remark(
        f"{head.title} shows {_fault(question)} more than {head.under.title} over "
        f"{head.over.title}",
        f"{this.events} of {this.trials} against {other.events} of {other.trials}",
        question.fault if question.fault else "warning",
    )


def _by_cone(question: Question, inspected: Sequence[Hit]) -> Remark | None:
    """Below or above some half cone the fault shows more often beyond doubt."""
    placed = [hit for hit in inspected if hit.cone is not None]
    steps = sorted({round((hit.cone or 0.0) * 2) / 2 for hit in placed})
    best: tuple[float, float, Rate, Rate] | None = None
    for step in steps[1:]:
        below = [hit for hit in placed if (hit.cone or 0.0) < step]
        above = [hit for hit in placed if (hit.cone or 0.0) >= step]
        cool = rate_of(sum(hit.seen for hit in below), len(below))
        hot = rate_of(sum(hit.seen for hit in above), len(above))
        if not (cool.says_enough and hot.says_enough and differ(cool, hot)):
            continue
        apart = (hot.rate or 0.0) - (cool.rate or 0.0)
        if best is None or abs(apart) > abs(best[0]):
            best = (apart, step, cool, hot)
    if best is None:
        return None
    apart, step, cool, hot = best
    this, other = (hot, cool) if apart > 0 else (cool, hot)
    where = f"from cone {say_cone(step)} up" if apart > 0 else f"below cone {say_cone(step)}"
    return Remark(
        f"{_fault(question).capitalize()} gathers {where}",
        # The step is the best of several looked at, which flatters it.
        f"{this.events} of {this.trials} there, {other.events} of {other.trials} elsewhere; "
        "found by looking, so test it",
        "cone",
    )


def _hotter_level(session: Session, question: Question, inspected: Sequence[Hit]) -> Remark | None:
    """The hottest level holds more of the fault than its share of the pieces."""
    levels = _levels_of(session, [hit.piece_id for hit in inspected])
    groups: dict[str, list[Hit]] = defaultdict(list)
    for hit in inspected:
        if hit.cone is not None and hit.piece_id in levels:
            groups[levels[hit.piece_id]].append(hit)
    groups = {name: some for name, some in groups.items() if len(some) >= MIN_PIECES}
    if len(groups) < 2:
        return None
    mean = {name: sum(h.cone or 0.0 for h in some) / len(some) for name, some in groups.items()}
    hottest, coolest = max(mean, key=mean.__getitem__), min(mean, key=mean.__getitem__)
    if round(mean[hottest], 1) <= round(mean[coolest], 1):
        return None
    hot = rate_of(sum(h.seen for h in groups[hottest]), len(groups[hottest]))
    rest = [hit for name, some in groups.items() if name != hottest for hit in some]
    cool = rate_of(sum(h.seen for h in rest), len(rest))
    if hot.events <= cool.events or not differ(hot, cool):
        return None
    return Remark(
        f"The {hottest} level holds most of the {_fault(question)}",
        f"{hot.events} of {hot.trials} there, {cool.events} of {cool.trials} elsewhere; on "
        f"average it got cone {label_of(mean[hottest])}, the {coolest} {label_of(mean[coolest])}",
        "cone",
    )


def _levels_of(session: Session, piece_ids: Sequence[int]) -> dict[int, str]:
    level = table("kiln_level")
    levels: dict[int, str] = {}
    for some in in_chunks(piece_ids):
        rows = session.execute(
            select(piece_fact.c.piece_id, func.lower(level.c.name))
            .join(level, level.c.id == piece_fact.c.level_id)
            .where(piece_fact.c.piece_id.in_(some))
        )
        levels.update((piece_id, name) for piece_id, name in rows)
    return levels


def _few_firings(session: Session, inspected: Sequence[Hit]) -> Remark | None:
    """Many pieces of one or two firings are hardly more than one or two trials."""
    if len(inspected) < MIN_PIECES:
        return None
    firings: set[int | None] = set()
    for some in in_chunks([hit.piece_id for hit in inspected]):
        firings.update(
            session.execute(
                select(piece_fact.c.firing_id).where(piece_fact.c.piece_id.in_(some)).distinct()
            ).scalars()
        )
    firings.discard(None)
    if not 1 <= len(firings) <= 2:
        return None
    count = "one firing" if len(firings) == 1 else "two firings"
    return Remark(
        f"All {len(inspected)} pieces come from {count}",
        "what was special about it counts for all of them"
        if len(firings) == 1
        else "what was special about them counts for all",
        "kiln",
    )


def _layers_unknown(
    session: Session, question: Question, inspected: Sequence[Hit]
) -> Remark | None:
    """Where the method, or how long and how often, was not noted, thickness may be the cause."""
    layer = table("layer")
    untold = or_(
        layer.c.method.is_(None),
        and_(layer.c.method == "dip", layer.c.seconds.is_(None), layer.c.thickness_mm.is_(None)),
        and_(layer.c.method == "brush", layer.c.coats.is_(None), layer.c.thickness_mm.is_(None)),
    )
    unknown = 0
    for some in in_chunks([hit.piece_id for hit in inspected]):
        found = select(func.count(layer.c.piece_id.distinct())).where(
            layer.c.piece_id.in_(some), untold
        )
        if question.zone:
            found = found.where(in_zone(layer.c.zone, question.zone))
        unknown += session.scalar(found) or 0
    if not unknown:
        return None
    return Remark(
        f"How the glaze went on was not fully noted on {_pieces(unknown)}",
        "method, dip time or coats: thickness may be the real cause",
        "pencil",
    )


def _only_aimed(session: Session, inspected: Sequence[Hit]) -> Remark | None:
    aimed = 0
    for some in in_chunks([hit.piece_id for hit in inspected]):
        aimed += (
            session.scalar(
                select(func.count()).where(
                    piece_fact.c.piece_id.in_(some), piece_fact.c.cone_basis == "aimed"
                )
            )
            or 0
        )
    if not aimed:
        return None
    return Remark(
        f"On {_pieces(aimed)} the cone is only the one aimed at",
        "nothing was read or logged there: add “as measured” to leave them out",
        "cone",
    )


def _pieces(number: int) -> str:
    return "1 piece" if number == 1 else f"{number} pieces"

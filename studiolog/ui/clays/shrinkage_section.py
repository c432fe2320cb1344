"""How a clay shrinks, from its own pieces: every one measured, the mean, and the sum behind it."""

from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.clay.shrinkage import compose, show_percent
from studiolog.craft.clay.shrinkage_words import STEPS, say_basis, say_known, say_spread, say_sum
from studiolog.craft.firing.cones import label_of
from studiolog.craft.units import show_number
from studiolog.craft.words import CONE_BASES, join_words
from studiolog.desktop.desk import Desk
from studiolog.journal.sizes import (
    MEASURES,
    ClayShrinkage,
    LeftOutSize,
    MeasuredShrinkage,
    read_shrinkage,
)
from studiolog.ui.clays.bars_grid import BarsGrid
from studiolog.ui.clays.shrinkage_strips import ShrinkageStrips
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.marks import NumberMark
from studiolog.ui.parts.section import Section, link_button
from studiolog.ui.parts.text import Caption, Text, Words

HINT = "Left and Right go from piece to piece, Up and Down from strip to strip, Enter opens it."
HOW_DRAWN = (
    "A dot is a piece, the upright line the mean, the band one standard deviation either way, a "
    "diamond what is stated. Each shrinkage is a share of the length before (ASTM C326)."
)
_MOST_TOLD = 4


class ShrinkageSection(Section):
    """Reads the shrinkage of the clay it is shown, and its bars to type into."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Shrinkage", link="Make size", parent=parent)
        self._desk = desk
        self._clay: ClayShrinkage | None = None
        self.known = Text("", "body", 500, wrap=True)
        self.basis = Text("", "secondary", tone="ink2", wrap=True)
        self.composed = Text("", "secondary", tone="ink2", wrap=True)
        self.strips = ShrinkageStrips()
        self.stood = _StoodOn(desk)
        self.hint = Caption(HINT, "ink2", wrap=True)
        self.how = Caption(HOW_DRAWN, wrap=True)
        self.remarks = QVBoxLayout()
        self.remarks.setSpacing(2)
        self.bars = BarsGrid(desk)
        self.limits = link_button("The judgements behind it")
        self.limits.setAccessibleName("The judgements behind it: shrinkage")
        under = QHBoxLayout()
        under.addWidget(self.limits)
        under.addStretch(1)
        for item in (
            self.known, self.basis, self.composed, self.strips, self.hint, self.stood,
            self.remarks, self.how, self.bars, under,
        ):  # fmt: skip
            self.add(item)
        self.link.setToolTip("The size to make for a fired size: M")
        self.strips.stood_on.connect(self._stand)
        self.strips.opened.connect(lambda piece_id: desk.show("piece", piece_id))
        self.limits.clicked.connect(lambda: desk.show("limits", 0, "clay"))

    def show_clay(self, clay_id: int) -> None:
        """Read and show a clay."""
        clay = self._desk.read(lambda session: read_shrinkage(session, clay_id))
        self._clay = clay
        known = clay.known()
        measured = len({one.piece_id for stage in clay.stages for one in stage.pieces})
        many = "1 piece" if measured == 1 else f"{measured} pieces"
        self.set_quiet(f"{many} measured" if measured else "none measured yet")
        self.known.setText(say_known(known))
        basis = (say_basis(known, clay.stated, clay.limits), _say_by(clay))
        self.basis.setText(" ".join(filter(None, basis)))
        composed = say_composed(clay)
        self.composed.setText(composed)
        self.composed.setVisible(bool(composed))
        self.strips.show_clay(clay)
        for widget in (self.strips, self.hint, self.how):
            widget.setVisible(measured > 0)
        self._stand(self.strips.selected())
        clear_layout(self.remarks)
        for words in say_remarks(clay):
            self.remarks.addWidget(Caption(words, "ink2", wrap=True))
        self.bars.show_clay(clay_id)

    def _stand(self, one: MeasuredShrinkage | None) -> None:
        self.stood.show_piece(one)


class _StoodOn(QWidget):
    """The piece that is stood on, with its sum."""

    def __init__(self, desk: Desk) -> None:
        super().__init__()
        self._desk = desk
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(8)
        self.mark = NumberMark("piece", None, 0)
        self.words = Words("", "secondary")
        self._row.addWidget(self.mark)
        self._row.addWidget(self.words, 1)
        self.mark.opened.connect(desk.show)
        self.hide()

    def show_piece(self, one: MeasuredShrinkage | None) -> None:
        self.setVisible(one is not None)
        if one is None:
            return
        self.mark.set_number(one.number, one.piece_id)
        self.mark.setVisible(one.number is not None)
        told = [one.name, f"by its {MEASURES[one.by]}", say_sum(one.before_mm, one.after_mm)]
        if one.cone10 is not None:
            basis = CONE_BASES.get(one.cone_basis or "", "as said")
            told.append(f"cone {label_of(one.cone10 / 10)} ({basis})")
        self.words.setText(", ".join(told) + ".")


def say_composed(clay: ClayShrinkage) -> str:
    """Drying and firing as they make up the total, where both were measured."""
    drying, firing = clay.stage("drying").spread, clay.stage("firing").spread
    if drying is None or firing is None:
        return ""
    total = compose(max(drying.mean, 0.0), max(firing.mean, 0.0))
    one, two = show_number(100 * drying.mean, 1), show_number(100 * firing.mean, 1)
    return (
        f"Drying and firing: 1 \N{MINUS SIGN} (1 \N{MINUS SIGN} {one}\u202f%) × "
        f"(1 \N{MINUS SIGN} {two}\u202f%) = {show_percent(total)}."
    )


def say_remarks(clay: ClayShrinkage) -> tuple[str, ...]:
    """Pieces far from the others, and sizes that were left out."""
    told = []
    for stage in clay.stages:
        for by in stage.by:
            without = stage.without_far(by)
            if without is None:
                continue
            names = _names([one for one in stage.pieces if one.far and one.by == by])
            told.append(
                f"Far from the others, {STEPS[stage.key]} by {MEASURES[by]}: {names}. Counted all "
                f"the same; without: {say_spread(without)}."
            )
        for left in stage.left_out[:_MOST_TOLD]:
            told.append(_say_left_out(left, stage.key))
        if len(stage.left_out) > _MOST_TOLD:
            told.append(f"{len(stage.left_out) - _MOST_TOLD} more were left out likewise.")
    return tuple(told)


def _names(pieces: list[MeasuredShrinkage]) -> str:
    return ", ".join(
        f"{_who(one.number, one.name)} ({show_percent(one.shrinkage)})"
        for one in pieces[:_MOST_TOLD]
    )


def _who(number: int | None, name: str) -> str:
    return name if number is None else f"piece {number}"


def _say_left_out(left: LeftOutSize, key: str) -> str:
    before, after = show_number(left.before_mm, 1), show_number(left.after_mm, 1)
    return (
        f"Left out, {STEPS[key]}: {_who(left.number, left.name)}, {before} to {after}\u202fmm by "
        f"its {MEASURES[left.by]}: {left.why}."
    )


def _say_by(clay: ClayShrinkage) -> str:
    """What it was taken by; what is not counted on beside it."""
    by, telling = clay.stage("total").by, clay.telling("total")
    if not by:
        return ""
    used = {one.by for one in telling}
    told = f"Taken by {join_words([MEASURES[key] for key in by if key in used])}."
    beside = [f"{MEASURES[key]} {say_spread(one)}" for key, one in by.items() if key not in used]
    return f"{told} Beside it, not counted: {', '.join(beside)}." if beside else told

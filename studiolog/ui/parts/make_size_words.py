"""What the make-size sheet says: the sums of a plate, a hole, a lid and a stamp, line by line."""

from dataclasses import dataclass

from studiolog.craft.clay.shrinkage import KnownShrinkage, fired_size, show_percent, volume
from studiolog.craft.clay.sizes import LidFit, MakeSize, Miss, SizeForecast
from studiolog.craft.units import show_number, show_quantity
from studiolog.ui.parts.size_curve import show_chance

MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True)
class Answer:
    """What is shown: a head line, the sums, and the curve with its limits."""

    head: str
    lines: tuple[str, ...]
    coming: SizeForecast
    low_mm: float | None
    high_mm: float | None
    miss: Miss
    what: str

    @property
    def text(self) -> str:
        """As it is copied."""
        return "\n".join((self.head, *self.lines))


def tell_size(
    made: MakeSize, fired_mm: float, low: float | None, high: float | None,
    known: KnownShrinkage, drying: KnownShrinkage,
) -> Answer:  # fmt: skip
    """A plate or anything else of one size."""
    lines = [
        f"{_mm(fired_mm)} / (1 {MINUS} {show_percent(known.mean)}) = {_mm(made.make_mm)} wet.",
        _on_the_way(made.make_mm, drying),
        _say_one(made.fired, "fired"),
    ]
    if low is not None or high is not None:
        lines.append(_say_miss(made.miss))
    lines.append(f"Its volume shrinks by {show_percent(volume(known.mean))}.")
    return Answer(
        f"Make it {_mm(made.make_mm)}", tuple(lines), made.fired, low, high, made.miss, "fired"
    )


def tell_hole(
    made: MakeSize, bulb_mm: float, clearance_mm: float,
    known: KnownShrinkage, drying: KnownShrinkage,
) -> Answer:  # fmt: skip
    """A hole through which something passes."""
    need = bulb_mm + clearance_mm
    lines = (
        f"It must be {_mm(bulb_mm)} + {_mm(clearance_mm)} = {_mm(need)} at the least once fired.",
        f"{_mm(made.fired.middle_mm)} / (1 {MINUS} {show_percent(known.mean)}) = "
        f"{_mm(made.make_mm)} wet: larger than {_mm(need / (1 - known.mean))}, which would be too "
        "small every other time.",
        _on_the_way(made.make_mm, drying),
        _say_one(made.fired, "the fired hole"),
        f"Chance that it is too small: {show_chance(made.miss.too_small)}. Glaze on its edge takes "
        "room too: leave it bare, or count its coat into the clearance.",
    )
    return Answer(
        f"Cut it {_mm(made.make_mm)} wide", lines, made.fired, need, None, made.miss, "fired hole"
    )


def tell_lid(
    fit: LidFit, gallery_mm: float, least: float, most: float,
    known: KnownShrinkage, drying: KnownShrinkage,
) -> Answer:  # fmt: skip
    """A lid and its gallery."""
    lid_mm = gallery_mm - (least + most) / 2
    share = show_percent(known.mean)
    lines = (
        f"Gallery: {_mm(gallery_mm)} / (1 {MINUS} {share}) = {_mm(fit.gallery_make_mm)} wet.",
        f"Lid: {_mm(gallery_mm)} {MINUS} {_mm((least + most) / 2)} = {_mm(lid_mm)} fired; / (1 "
        f"{MINUS} {share}) = {_mm(fit.lid_make_mm)} wet.",
        f"Measured bone dry: gallery {_mm(fired_size(fit.gallery_make_mm, drying.mean))}, lid "
        f"{_mm(fired_size(fit.lid_make_mm, drying.mean))}.",
        _say_one(fit.gap, "the gap on the diameter", "One pair"),
        f"Chance that it jams (under {_mm(least)}): {show_chance(fit.miss.too_small)}; that it "
        f"rattles (over {_mm(most)}): {show_chance(fit.miss.too_large)}. Fire lid and pot together "
        "where the fit matters.",
    )
    head = f"Lid {_mm(fit.lid_make_mm)}, gallery {_mm(fit.gallery_make_mm)}"
    return Answer(head, lines, fit.gap, least, most, fit.miss, "gap")


def tell_stamp(
    made: MakeSize, mark_mm: float, low: float | None, high: float | None,
    ware: KnownShrinkage, tool: KnownShrinkage,
) -> Answer:  # fmt: skip
    """A stamp of clay that is fired before it marks the ware."""
    fired_stamp = fired_size(made.make_mm, tool.mean)
    lines = [
        f"Mark on wet ware: {_mm(mark_mm)} / (1 {MINUS} {show_percent(ware.mean)}) = "
        f"{_mm(fired_stamp)}: so large must the fired stamp be.",
        f"The stamp itself: {_mm(fired_stamp)} / (1 {MINUS} {show_percent(tool.mean)}) = "
        f"{_mm(made.make_mm)}, cut into wet clay.",
        _say_one(made.fired, "the fired mark"),
    ]
    if low is not None or high is not None:
        lines.append(_say_miss(made.miss))
    lines.append(
        "A stamp fired only to bisque shrinks less: measure it, and see Size for the mark."
    )
    return Answer(
        f"Cut the stamp {_mm(made.make_mm)}",
        tuple(lines), made.fired, low, high, made.miss, "fired mark",
    )  # fmt: skip


def _on_the_way(make_mm: float, drying: KnownShrinkage) -> str:
    dry = fired_size(make_mm, drying.mean)
    known = "" if drying.n else ", from what is usual"
    return (
        f"On the way: {_mm(make_mm)} × (1 {MINUS} {show_percent(drying.mean)}) = {_mm(dry)} bone "
        f"dry{known}."
    )


def _say_one(coming: SizeForecast, what: str, who: str = "One piece") -> str:
    low, high = coming.interval()
    parts = ", ".join(
        f"{word} {show_number(size, 1)}"
        for word, size in (
            ("clay", coming.clay_mm), ("forming", coming.forming_mm), ("ruler", coming.ruler_mm),
        )
        if size > 0.0
    )  # fmt: skip
    return (
        f"{who}, {what}: {show_number(low, 1)} to {_mm(high)} (95\u202f%). One standard "
        f"deviation in mm: {parts}; together {show_number(coming.scale_mm, 1)}."
    )


def _say_miss(miss: Miss) -> str:
    return (
        f"Chance to miss: {show_chance(miss.either)} ({show_chance(miss.too_small)} too small, "
        f"{show_chance(miss.too_large)} too large)."
    )


def _mm(value: float) -> str:
    return show_quantity(value, "mm", 1)

"""The zones of a pot: where each lies between foot and rim, and which layers it has."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class ZoneLayer:
    """One glaze on one zone; ``position`` counts from the clay outward, from 1."""

    zone: str
    position: int
    glaze: str


@dataclass(frozen=True)
class ZoneSpan:
    """Where a zone lies: side ``"outside"``, ``"inside"`` or ``"rim"``, from ``low_mm`` up.

    ``layers`` are indexes into the layers given, outermost first; empty means bare clay.
    """

    zone: str
    side: str
    low_mm: float
    high_mm: float
    top_y: float
    bottom_y: float
    layers: tuple[int, ...]


def place_zones(
    layers: Sequence[ZoneLayer], height_mm: float, floor_mm: float
) -> tuple[ZoneSpan, ...]:
    """Every zone with its heights, bare ones too, from the rim down; the inside comes last.

    A layer on *outside* belongs to the upper and the lower part alike when a pot has those. A
    potter's own zones share the side between foot and rim, in the order they were named.
    """
    foot_mm = min(9.0, height_mm * 0.12)
    rim_mm = height_mm - min(5.0, height_mm * 0.08)
    split_mm = foot_mm + (height_mm - foot_mm) * 0.44
    names: list[str] = []
    members: dict[str, list[int]] = {}
    for index, layer in enumerate(layers):
        name = " ".join(layer.zone.split()).casefold() or "outside"
        if name not in members:
            names.append(name)
        members.setdefault(name, []).append(index)
    parted = "outside, upper" in members or "outside, lower" in members
    spans: dict[str, tuple[str, float, float]] = {}
    has_rim = "rim" in members
    outside_top = rim_mm if has_rim else height_mm
    if parted:
        spans["outside, upper"] = ("outside", split_mm, outside_top)
        spans["outside, lower"] = ("outside", foot_mm, split_mm)
        for whole in members.pop("outside", []):
            members.setdefault("outside, upper", []).append(whole)
            members.setdefault("outside, lower", []).append(whole)
    else:
        spans["outside"] = ("outside", foot_mm, outside_top)
    if has_rim:
        spans["rim"] = ("rim", rim_mm, height_mm)
    spans["foot"] = ("outside", 0.0, foot_mm)
    spans["inside"] = ("inside", floor_mm, height_mm)
    own = [n for n in names if n not in spans and n != "outside"]
    own_inside = [n for n in own if n.startswith("inside")]
    own_outside = [n for n in own if not n.startswith("inside")]
    spans |= _shared("inside", own_inside, floor_mm, height_mm)
    spans |= _shared("outside", own_outside, foot_mm, outside_top)
    if own_outside and not members.get("outside") and not parted:
        del spans["outside"]  # the potter's own zones tell the whole side
    if own_inside and not members.get("inside"):
        del spans["inside"]
    found = [
        ZoneSpan(
            name,
            side,
            low,
            high,
            0.0,
            0.0,
            tuple(sorted(members.get(name, []), key=lambda i: -layers[i].position)),
        )
        for name, (side, low, high) in spans.items()
    ]
    order = {"rim": 0, "outside": 1, "inside": 2}
    return tuple(sorted(found, key=lambda z: (order[z.side], -z.high_mm, z.low_mm)))


def _shared(
    side: str, names: Sequence[str], low_mm: float, high_mm: float
) -> dict[str, tuple[str, float, float]]:
    """Equal shares of a side, the first name on top."""
    if not names:
        return {}
    step = (high_mm - low_mm) / len(names)
    return {
        name: (side, high_mm - (index + 1) * step, high_mm - index * step)
        for index, name in enumerate(names)
    }

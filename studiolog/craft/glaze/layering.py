"""What lies on what: the layers that meet on each zone of a pot."""

from collections.abc import Iterable
from typing import TypeVar

L = TypeVar("L")


def lies_within(zone: str, wider: str) -> bool:
    """Whether ``zone`` is ``wider`` or a part of it: "outside, upper" lies within "outside"."""
    inner, outer = zone.strip().lower(), wider.strip().lower()
    return inner == outer or inner.startswith(outer + ",")


def zones_meet(one: str, other: str) -> bool:
    """Whether two zones share some of the pot: the same zone, or one a part of the other."""
    return lies_within(one, other) or lies_within(other, one)


def stack_layers(layers: Iterable[tuple[str, L]]) -> dict[str, list[L]]:
    """Each zone's layers from the clay outward, given (zone, layer) in the order they went on.

    A glaze put on the whole outside lies under one that goes on its upper half afterwards, so a
    part of a zone carries the layers of the whole too. Zones are told apart without regard to
    case and named as they were first.
    """
    laid = list(layers)
    zones: dict[str, str] = {}
    for zone, _ in laid:
        zones.setdefault(zone.strip().lower(), zone.strip())
    return {
        name: [layer for zone, layer in laid if lies_within(key, zone)]
        for key, name in zones.items()
    }


def number_layers(zones: Iterable[str]) -> list[int]:
    """Each layer's number from the clay outward, given their zones in the order they went on.

    A layer comes above those before it that it meets: in its own zone, in a wider one it is part
    of, or in a part of it.
    """
    laid = list(zones)
    return [
        1 + sum(zones_meet(zone, before) for before in laid[:place])
        for place, zone in enumerate(laid)
    ]

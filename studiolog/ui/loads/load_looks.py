"""How the pieces of a load are drawn, and how those without a place are told."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from studiolog.journal.load_page import LoadPage, LoadPiece
from studiolog.journal.load_warnings import URGENT
from studiolog.ui.loads.board_drawing import TrayGroup
from studiolog.ui.loads.shelf_painting import PieceLook


def looks_of(page: LoadPage) -> Mapping[int, PieceLook]:
    """How the pieces of a load are drawn: those that a warning means, as such."""
    alarms: dict[int, str] = {}
    for warning in page.warnings:
        if warning.weight == URGENT:
            for key in warning.pieces:
                alarms.setdefault(key, warning.words)
    for key, words in zip(page.fallen_ids, page.fallen, strict=True):
        alarms[key] = words
    found = {}
    for key, piece in page.pieces.items():
        ware = piece.ware
        mark = "piece" if ware.number is not None else "run" if ware.run_number else ""
        number = ware.number if ware.number is not None else ware.run_number
        found[key] = PieceLook(
            ware.label,
            ware.name,
            ware.stage,
            mark,
            str(number or ""),
            piece.on_tile,
            piece.by_hand,
            alarms.get(key, ""),
        )
    return found


def tray_groups(
    pieces: Sequence[LoadPiece], reasons: Mapping[int, str], packed: bool
) -> tuple[TrayGroup, ...]:
    """Pieces without a place, alike ones together, with the reason where it is known."""
    groups: dict[tuple[str, str], list[int]] = {}
    waits = "Pack the load, or set it somewhere by hand." if packed else "Nothing is packed yet."
    for piece in pieces:
        ware = piece.ware
        why = reasons.get(ware.piece_id, waits)
        # A reason that names the piece stands for all alike.
        kind = ware.name if ware.number is None else f"{ware.name} {ware.number}"
        groups.setdefault((kind, why if ware.number is not None else ""), []).append(ware.piece_id)
    return tuple(
        TrayGroup(tuple(keys), kind, reasons.get(keys[0], waits))
        for (kind, _why), keys in groups.items()
    )

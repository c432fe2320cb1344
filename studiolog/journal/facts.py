"""Searchable facts of a piece, brought up to date in the transaction that changed it.

One function derives them, so that they can be rebuilt at any time and always agree with the
records: what lies over what in each zone, which faults were looked for and seen there, which
words were said of its surface, and the cone at the piece with its basis.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, delete, insert, select

from studiolog.craft.glaze.layering import stack_layers, zones_meet
from studiolog.craft.words import fault_bit, surface_bit, surface_of
from studiolog.journal.curve_fact import rebuild_curve_facts, refresh_curve_facts
from studiolog.journal.heat_changes import EVER, heat_changes
from studiolog.journal.level_heat import KilnHeat, refresh_level_heat
from studiolog.journal.tables import in_chunks, table
from studiolog.records.change_recorder import RowChange
from studiolog.records.facts import NO_CLAY, NO_CONE, level_heat, pair_fact, path_fact, piece_fact

_OF_A_PIECE = ("layer", "inspection", "placement")


def refresh_facts(connection: Connection, changes: Sequence[RowChange]) -> None:
    """Bring the facts of everything ``changes`` touched up to date."""
    pieces = _touched_pieces(connection, changes)
    firings, kilns = heat_changes(connection, changes)
    refresh_curve_facts(connection, changes)
    for kiln_id, span in kilns.items():
        firings |= refresh_level_heat(connection, kiln_id, None if span == EVER else span)
    # A firing that was deleted takes its heat with it, whatever kiln it stood in.
    gone = [c.row_id for c in changes if c.table_name == "firing" and c.after is None]
    if gone:
        connection.execute(delete(level_heat).where(level_heat.c.firing_id.in_(gone)))
    if firings:
        placement = table("placement")
        for some in in_chunks(sorted(firings)):
            found = select(placement.c.piece_id).where(placement.c.firing_id.in_(some))
            pieces.update(connection.execute(found).scalars())
    refresh_pieces(connection, pieces)


def rebuild_facts(connection: Connection) -> None:
    """Derive all facts anew from the records."""
    rebuild_curve_facts(connection)
    connection.execute(delete(level_heat))
    for kiln_id in connection.execute(select(table("kiln").c.id)).scalars().all():
        refresh_level_heat(connection, kiln_id)
    for derived in (pair_fact, path_fact, piece_fact):
        connection.execute(delete(derived))
    everything = connection.execute(select(table("piece").c.id)).scalars().all()
    refresh_pieces(connection, everything)


def _images(changes: Iterable[RowChange], *tables: str) -> Iterable[tuple[str, Mapping[str, Any]]]:
    for change in changes:
        if change.table_name in tables:
            for image in (change.before, change.after):
                if image is not None:
                    yield change.table_name, image


def _touched_pieces(connection: Connection, changes: Sequence[RowChange]) -> set[int]:
    pieces = {change.row_id for change in changes if change.table_name == "piece"}
    pieces.update(image["piece_id"] for _, image in _images(changes, *_OF_A_PIECE))
    readings = _images(changes, "fault_reading", "surface_reading")
    inspections = {image["inspection_id"] for _, image in readings}
    if inspections:
        inspection = table("inspection")
        found = select(inspection.c.piece_id).where(inspection.c.id.in_(inspections))
        pieces.update(connection.execute(found).scalars())
    return pieces


@dataclass(frozen=True)
class FaultLook:
    """One fault reading as the facts see it."""

    fault: str
    severity: int
    zone: str


@dataclass(frozen=True)
class Masks:
    """Faults as bits: looked for, seen, and two bits of worst severity each."""

    looked: int = 0
    seen: int = 0
    severities: int = 0


def masks_of(readings: Iterable[FaultLook]) -> Masks:
    """Gather readings: seen once is seen; the worst severity ever read stands."""
    worst: dict[str, int] = {}
    for reading in readings:
        worst[reading.fault] = max(worst.get(reading.fault, 0), reading.severity)
    looked = seen = severities = 0
    for fault, severity in worst.items():
        bit = fault_bit(fault)
        looked |= bit
        if severity > 0:
            seen |= bit
        severities |= severity << 2 * (bit.bit_length() - 1)
    return Masks(looked, seen, severities)


def severity_in(severities: int, fault: str) -> int:
    """The worst severity of ``fault`` packed in ``severities``."""
    return severities >> 2 * (fault_bit(fault).bit_length() - 1) & 3


def speaks_of(reading: FaultLook, zone: str) -> bool:
    """Whether a fault reading says something about the layers on ``zone``.

    A reading without a zone speaks of the whole piece. Otherwise the zones must be the same, or
    one a part of the other. Glaze that runs ends up below where it was put, so running is read
    by the side of the pot, and running seen at the foot comes from the outside.
    """
    said, laid = reading.zone.strip().lower(), zone.strip().lower()
    if not said or said == laid:
        return True
    if reading.fault == "running":
        came_from = "outside" if surface_of(said) == "foot" else surface_of(said)
        return came_from == surface_of(laid)
    return zones_meet(said, laid)


@dataclass(frozen=True)
class SurfaceLook:
    """One word said of a surface, as the facts see it."""

    word: str
    zone: str

    def speaks_of(self, zone: str) -> bool:
        """Whether it says something about the layers on ``zone``."""
        said, laid = self.zone.strip().lower(), zone.strip().lower()
        return not said or said == laid or zones_meet(said, laid)


def surfaces_of(looks: Iterable[SurfaceLook]) -> int:
    """Every word ever said, a bit each."""
    mask = 0
    for look in looks:
        mask |= surface_bit(look.word)
    return mask


def refresh_pieces(connection: Connection, piece_ids: Iterable[int]) -> None:
    """Derive the facts of these pieces anew; pieces that are gone lose theirs."""
    for some in in_chunks(sorted(set(piece_ids))):
        for derived in (pair_fact, path_fact, piece_fact):
            connection.execute(delete(derived).where(derived.c.piece_id.in_(some)))
        _derive(connection, some)


def _grouped(connection: Connection, name: str, ids: Sequence[int]) -> dict[int, list[Any]]:
    source = table(name)
    rows: dict[int, list[Any]] = defaultdict(list)
    for row in connection.execute(
        select(source).where(source.c.piece_id.in_(ids)).order_by(source.c.id)
    ):
        rows[row.piece_id].append(row)
    return rows


def _looks(connection: Connection, ids: Sequence[int]) -> dict[int, list[FaultLook]]:
    inspection, reading = table("inspection"), table("fault_reading")
    looks: dict[int, list[FaultLook]] = defaultdict(list)
    for row in connection.execute(
        select(inspection.c.piece_id, reading.c.fault, reading.c.severity, reading.c.zone)
        .join(reading, reading.c.inspection_id == inspection.c.id)
        .where(inspection.c.piece_id.in_(ids))
    ):
        looks[row.piece_id].append(FaultLook(row.fault, row.severity, row.zone))
    return looks


def _surfaces(connection: Connection, ids: Sequence[int]) -> dict[int, list[SurfaceLook]]:
    inspection, reading = table("inspection"), table("surface_reading")
    looks: dict[int, list[SurfaceLook]] = defaultdict(list)
    for row in connection.execute(
        select(inspection.c.piece_id, reading.c.word, reading.c.zone)
        .join(reading, reading.c.inspection_id == inspection.c.id)
        .where(inspection.c.piece_id.in_(ids))
    ):
        looks[row.piece_id].append(SurfaceLook(row.word, row.zone))
    return looks


def _derive(connection: Connection, ids: Sequence[int]) -> None:
    piece = table("piece")
    layers = _grouped(connection, "layer", ids)
    placements = _grouped(connection, "placement", ids)
    looks = _looks(connection, ids)
    surfaces = _surfaces(connection, ids)
    heat = KilnHeat.read(
        connection, {row.firing_id for rows in placements.values() for row in rows}
    )
    pieces: list[dict[str, Any]] = []
    paths: list[dict[str, Any]] = []
    pairs: list[dict[str, Any]] = []
    for row in connection.execute(
        select(piece.c.id, piece.c.clay_id, piece.c.form_id).where(piece.c.id.in_(ids))
    ):
        fact = _piece_row(row, placements[row.id], heat)
        whole = masks_of(looks[row.id])
        said = surfaces[row.id]
        pieces.append({**fact, **_mask_columns(whole), "surfaces": surfaces_of(said)})
        for zone, laid in stack_layers((layer.zone, layer) for layer in layers[row.id]).items():
            masks = masks_of(look for look in looks[row.id] if speaks_of(look, zone))
            shared = {
                "piece_id": row.id,
                "zone": zone,
                "clay_id": row.clay_id,
                "cone10": fact["cone10"],
                **_mask_columns(masks),
                "surfaces": surfaces_of(look for look in said if look.speaks_of(zone)),
            }
            paths.append(
                {
                    **shared,
                    "path": "|" + "".join(f"{layer.glaze_id}|" for layer in laid),
                    "methods": "|" + "".join(f"{layer.method or ''}|" for layer in laid),
                }
            )
            pairs.extend(_pair_rows(shared, [layer.glaze_id for layer in laid]))
    for derived, rows in ((piece_fact, pieces), (path_fact, paths), (pair_fact, pairs)):
        if rows:
            connection.execute(insert(derived), rows)


def _mask_columns(masks: Masks) -> dict[str, int]:
    return {
        "looked_mask": masks.looked,
        "seen_mask": masks.seen,
        "severities": masks.severities,
    }


def _pair_rows(shared: Mapping[str, Any], glazes: Sequence[int]) -> list[dict[str, Any]]:
    alone = int(len(glazes) == 1)
    found = {(glazes[0], 0)} | set(zip(glazes[1:], glazes[:-1], strict=True))
    key = {
        "clay_id": NO_CLAY if shared["clay_id"] is None else shared["clay_id"],
        "cone10": NO_CONE if shared["cone10"] is None else shared["cone10"],
    }
    return [
        {**shared, **key, "over_id": over, "under_id": under, "alone": alone}
        for over, under in sorted(found)
    ]


def _piece_row(row: Any, placements: Iterable[Any], heat: KilnHeat) -> dict[str, Any]:
    """The hottest firing a piece went through after its bisque says what its glaze got."""
    fact: dict[str, Any] = {
        "piece_id": row.id,
        "clay_id": row.clay_id,
        "form_id": row.form_id,
        "firing_id": None,
        "level_id": None,
        "atmosphere": None,
        "fired_on": None,
        "cone10": None,
        "cone_low": None,
        "cone_high": None,
        "cone_basis": None,
    }
    hottest: float | None = None
    for place in placements:
        firing = heat.firings[place.firing_id]
        if firing.kind == "bisque":
            continue
        cone = heat.at(place.firing_id, place.level_id)
        value = cone.cone if cone else float("-inf")
        if hottest is None or value > hottest:
            hottest = value
            fact.update(
                firing_id=place.firing_id,
                level_id=place.level_id,
                atmosphere=firing.atmosphere,
                fired_on=firing.started_at.date(),
                cone10=round(cone.cone * 10) if cone else None,
                cone_low=cone.low if cone else None,
                cone_high=cone.high if cone else None,
                cone_basis=cone.basis if cone else None,
            )
    return fact

"""What stands on a sheet, as typed: kept as a draft while half filled, read into a draft to save.

No Qt: plain values, to and from JSON.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from studiolog.craft.words import FAULTS, MOMENTS, SURFACES
from studiolog.journal.inspections import FaultDraft, SurfaceDraft
from studiolog.journal.layer_words import read_layers, write_layers
from studiolog.journal.photos import PictureDraft
from studiolog.journal.sheet_page import (
    FIRST_FAULTS,
    SheetDraft,
    SheetPage,
    propose_picture_moment,
)
from studiolog.problems import UserProblem
from studiolog.ui.parts.typed import read_number, write_number

SIZES = (("height", "height_mm", "mm"), ("across", "across_mm", "mm"), ("mass", "mass_g", "g"))
"""Field of the sheet, field of the draft, unit."""


@dataclass(frozen=True)
class FaultRow:
    """A fault the sheet asks about; ``severity`` None is not looked."""

    fault: str
    zone: str = ""
    severity: int | None = None
    note: str = ""


@dataclass(frozen=True)
class SheetPicture:
    """A photo already in the store. ``moment`` None: as the stages of the piece propose."""

    sha256: str
    suffix: str
    name: str
    width: int
    height: int
    byte_count: int
    taken_at: datetime | None = None
    moment: str | None = None


@dataclass(frozen=True, kw_only=True)
class SheetText:
    """A sheet as it stands. ``pending`` are files still being taken in."""

    number: str = ""
    clay_id: int | None = None
    form_id: int | None = None
    run_id: int | None = None
    height: str = ""
    across: str = ""
    mass: str = ""
    layers: str = ""
    firing_id: int | None = None
    level_id: int | None = None
    looked_on: date | None = None
    faults: tuple[FaultRow, ...] = ()
    surfaces: tuple[SurfaceDraft, ...] = ()
    pictures: tuple[SheetPicture, ...] = ()
    pending: tuple[str, ...] = ()
    next_time: str = ""

    def is_like(self, other: "SheetText") -> bool:
        """Whether both say the same; the day of a look that saw nothing says nothing."""
        return replace(self, looked_on=None) == replace(other, looked_on=None)


def text_of(page: SheetPage) -> SheetText:
    """A sheet as it is opened."""
    draft = page.draft
    looked = {(fault.fault, fault.zone): fault for fault in draft.faults}
    wanted = dict.fromkeys([*page.fault_rows, *looked])
    for fault in FIRST_FAULTS:
        if fault not in [key for key, _ in wanted]:
            wanted[fault, ""] = None
    order = [*FIRST_FAULTS, *(key for key in FAULTS if key not in FIRST_FAULTS)]
    rows = []
    for fault, zone in sorted(wanted, key=lambda row: (order.index(row[0]), row[1])):
        said = looked.get((fault, zone))
        rows.append(
            FaultRow(fault, zone, said.severity if said else None, said.note if said else "")
        )
    return SheetText(
        number=str(page.number),
        clay_id=draft.clay_id,
        form_id=draft.form_id,
        run_id=draft.run_id,
        height=write_number(draft.height_mm, 1),
        across=write_number(draft.across_mm, 1),
        mass=write_number(draft.mass_g, 1),
        layers=write_layers(draft.layers, page.glaze_names()),
        firing_id=draft.firing_id,
        level_id=draft.level_id,
        looked_on=draft.looked_on,
        faults=tuple(rows),
        surfaces=draft.surfaces,
        next_time=draft.next_time,
    )


def read_draft(text: SheetText, page: SheetPage) -> SheetDraft:
    """The draft to save. What was not retyped is exactly what the page holds.

    Raises `UserProblem`, its ``fields`` among number, height, across, mass, layers, firing.
    """
    first = text_of(page)
    problems: dict[str, str] = {}
    sizes: dict[str, float | None] = {}
    for field, name, unit in SIZES:
        typed = getattr(text, field)
        if typed == getattr(first, field):
            sizes[name] = getattr(page.draft, name)
            continue
        try:
            sizes[name] = value = read_number(typed, unit)
            if value is not None and value <= 0:
                problems[field] = "This must be more than 0."
        except UserProblem as problem:
            problems[field] = problem.sentence
    layers = page.draft.layers
    if text.layers != first.layers:
        reading = read_layers(text.layers, page.glaze_names())
        layers = reading.layers
        if reading.unread:
            problems["layers"] = reading.unread[0].sentence()
    number = page.draft.number
    if text.number.strip() != first.number or number is None:
        number = read_piece_number(text.number)
        if number is None:
            problems["number"] = "A piece number is a whole number, 1 or more."
    if text.level_id is not None and text.firing_id is None:
        problems["firing"] = "Say which firing the level belongs to."
    if problems:
        raise UserProblem(next(iter(problems.values())), problems)
    looked = any(row.severity is not None for row in text.faults) or bool(text.surfaces)
    # A look begun yesterday and kept today was yesterday's, unless it carries today's on.
    begun = text.looked_on if looked and page.draft.inspection_id is None else None
    draft = replace(
        page.draft,
        number=number,
        clay_id=text.clay_id,
        form_id=text.form_id,
        run_id=text.run_id,
        layers=layers,
        firing_id=text.firing_id,
        level_id=text.level_id,
        looked_on=begun or page.draft.looked_on,
        faults=tuple(
            FaultDraft(row.fault, row.severity, row.zone, row.note)
            for row in text.faults
            if row.severity is not None
        ),
        surfaces=text.surfaces,
        next_time=text.next_time.strip(),
        **sizes,  # type: ignore[arg-type]  # the three sizes, by name
    )
    return replace(
        draft, pictures=tuple(_picture_draft(picture, draft, page) for picture in text.pictures)
    )


def glimpse(text: SheetText, page: SheetPage) -> SheetDraft:
    """The sheet as far as it can be read yet: what previews are made from."""
    reading = read_layers(text.layers, page.glaze_names())
    return replace(
        page.draft,
        clay_id=text.clay_id,
        form_id=text.form_id,
        layers=reading.layers,
        firing_id=text.firing_id,
        level_id=text.level_id,
    )


def moment_of(picture: SheetPicture, draft: SheetDraft, page: SheetPage) -> str:
    """What a photo shows: as the potter said, else as the stages propose."""
    return picture.moment or propose_picture_moment(picture.taken_at, draft, page)


def _picture_draft(picture: SheetPicture, draft: SheetDraft, page: SheetPage) -> PictureDraft:
    return PictureDraft(
        sha256=picture.sha256,
        suffix=picture.suffix,
        name=picture.name,
        width=picture.width,
        height=picture.height,
        byte_count=picture.byte_count,
        taken_at=picture.taken_at,
        moment=moment_of(picture, draft, page),
    )


def read_piece_number(typed: str) -> int | None:
    """A piece number as typed, or None."""
    said = typed.strip().lstrip("#")
    return int(said) if said.isascii() and said.isdigit() and 0 < int(said) < 10**9 else None


# To and from a kept draft


def write_plain(text: SheetText) -> dict[str, Any]:
    """The sheet as JSON values."""
    plain = {name: getattr(text, name) for name in _PLAIN}
    plain["looked_on"] = text.looked_on.isoformat() if text.looked_on else None
    plain["faults"] = [[row.fault, row.zone, row.severity, row.note] for row in text.faults]
    plain["surfaces"] = [[one.word, one.zone] for one in text.surfaces]
    plain["pending"] = list(text.pending)
    plain["pictures"] = [
        {
            **{name: getattr(picture, name) for name in _PICTURE},
            "taken_at": picture.taken_at.isoformat() if picture.taken_at else None,
        }
        for picture in text.pictures
    ]
    return plain


_PLAIN = (
    *("number", "clay_id", "form_id", "run_id", "height", "across", "mass", "layers"),
    *("firing_id", "level_id", "next_time"),
)
_TEXTS = ("number", "height", "across", "mass", "layers", "next_time")
_PICTURE = ("sha256", "suffix", "name", "width", "height", "byte_count", "moment")


def read_plain(plain: Mapping[str, Any]) -> SheetText | None:
    """A kept draft; None if it is not one that can be read (an older or damaged file)."""
    try:
        looked_on = plain["looked_on"]
        text = SheetText(
            **{name: plain[name] for name in _PLAIN},
            looked_on=date.fromisoformat(looked_on) if looked_on else None,
            faults=tuple(FaultRow(*row) for row in plain["faults"]),
            # A draft kept before surfaces were asked for says nothing of them.
            surfaces=tuple(SurfaceDraft(*row) for row in plain.get("surfaces", ())),
            pictures=tuple(
                SheetPicture(
                    **{name: row[name] for name in _PICTURE},
                    taken_at=datetime.fromisoformat(row["taken_at"]) if row["taken_at"] else None,
                )
                for row in plain["pictures"]
            ),
            pending=tuple(str(path) for path in plain["pending"]),
        )
    except (KeyError, TypeError, ValueError):
        return None
    sound = (
        all(isinstance(getattr(text, name), str) for name in _TEXTS)
        and all(
            isinstance(getattr(text, name), int | None) for name in _PLAIN if name not in _TEXTS
        )
        and all(one.word in SURFACES and isinstance(one.zone, str) for one in text.surfaces)
        and all(row.fault in FAULTS and row.severity in (None, 0, 1, 2, 3) for row in text.faults)
        and all(
            len(p.sha256) == 64 and (p.moment is None or p.moment in MOMENTS) for p in text.pictures
        )
    )
    return text if sound else None


def still_known(text: SheetText, page: SheetPage) -> SheetText:
    """The draft without what has been deleted from the journal since."""

    def among(one: int | None, ids: list[int]) -> int | None:
        return one if one in ids else None

    firing = page.firing(text.firing_id)
    levels = [level.level_id for level in firing.levels] if firing else []
    return replace(
        text,
        clay_id=among(text.clay_id, [clay.clay_id for clay in page.clays]),
        form_id=among(text.form_id, [form.form_id for form in page.forms]),
        run_id=among(text.run_id, [run.run_id for run in page.runs]),
        firing_id=firing.firing_id if firing else None,
        level_id=among(text.level_id, levels),
    )

"""The papers of a plan, looked at before they are printed: labels, mixing sheet, results."""

from collections.abc import Callable
from functools import partial

from PySide6.QtCore import QBuffer, QIODevice, QObject, QTimer
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QWidget

from studiolog.craft.firing.cones import label_reached, show_cone
from studiolog.craft.glaze.plans import tile_spot
from studiolog.craft.words import FAULTS, SEVERITIES, SURFACES
from studiolog.desktop.desk import Desk
from studiolog.journal.plan_page import PlanPage, PlanTileLine, read_plan_page
from studiolog.journal.studio import read_studio
from studiolog.paper.labels import (
    LABEL_SIZES,
    TileLabel,
    lay_out_labels,
)
from studiolog.paper.page import Page, PageSize
from studiolog.paper.plan_results import PlanResults, ResultTile, lay_out_plan_results
from studiolog.paper.plan_sheet import PlanSheet, SheetTile, lay_out_plan_sheet
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.plans.cells import say_layer
from studiolog.ui.plans.marks import stage_words, worst_of

_ML, _GRAMS = "ml", "g"
_PHOTO_PX, _JPEG_QUALITY = 480, 88
_TOGETHER_MS = 150


class _Refresher(QObject):
    """Lays a sheet out anew as photos come, which are read on other threads."""

    def __init__(self, desk: Desk, sheet: PaperSheet) -> None:
        super().__init__(sheet)
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(_TOGETHER_MS)
        self._soon.timeout.connect(sheet.refresh)
        desk.pictures.ready.connect(self._hear)

    def _hear(self, _sha256: str, _longest: int) -> None:
        self._soon.start()


def open_paper(desk: Desk, which: str, plan_id: int, parent: QWidget) -> PaperSheet:
    """Show a paper of a plan: "labels", "mixing" or "results"."""
    return {"labels": open_labels, "mixing": open_mixing_sheet, "results": open_results}[which](
        desk, plan_id, parent
    )


def open_labels(desk: Desk, plan_id: int, parent: QWidget) -> PaperSheet:
    """Labels of all tiles, in one of a few sizes."""
    size_of = {one.name: one for one in LABEL_SIZES}
    sizes = SegmentedChoice("Size of the labels", [Choice(name, name) for name in size_of], keys="")
    sizes.choose(LABEL_SIZES[1].name)

    def make(size: PageSize) -> tuple[Page, ...]:
        page = _read(desk, plan_id)
        labels = tuple(label_of(page, tile) for tile in page.tiles)
        label = size_of[str(sizes.chosen())]
        return lay_out_labels(labels, size, label, f"plan {page.code}, {page.name}")

    return _open(desk, "Labels", make, (sizes,), parent)


def open_mixing_sheet(desk: Desk, plan_id: int, parent: QWidget) -> PaperSheet:
    """Corners to weigh, then what each tile takes of them."""
    by = SegmentedChoice(
        "Poured by", [Choice(_ML, "Millilitres"), Choice(_GRAMS, "Grams of slurry")], keys=""
    )
    by.choose(_ML)
    first = _read(desk, plan_id)
    mixing = first.mixing
    by.setVisible(mixing is not None and mixing.unit == "ml")
    studio = desk.read(read_studio).name

    def make(size: PageSize) -> tuple[Page, ...]:
        sheet = sheet_of(_read(desk, plan_id), studio, wet_grams=by.chosen() == _GRAMS)
        return lay_out_plan_sheet(sheet, size)

    title = "Mixing sheet" if mixing is not None else "Glazing sheet"
    return _open(desk, title, make, (by,), parent)


def open_results(desk: Desk, plan_id: int, parent: QWidget) -> PaperSheet:
    """The tiles as they came out, laid out as planned."""
    studio = desk.read(read_studio).name

    def photo_of(tile: PlanTileLine) -> bytes:
        if not tile.picture:
            return b""
        image = desk.pictures.picture(tile.picture, tile.picture_suffix, _PHOTO_PX)
        return _as_jpeg(image) if image is not None else b""

    def make(size: PageSize) -> tuple[Page, ...]:
        return lay_out_plan_results(results_of(_read(desk, plan_id), studio, photo_of), size)

    sheet = _open(desk, "Results", make, (), parent)
    _Refresher(desk, sheet)
    return sheet


def label_of(page: PlanPage, tile: PlanTileLine) -> TileLabel:
    """What the label of a tile says: its blend, or its layers."""
    glaze = tile.words
    if len(tile.layers) > 1:
        glaze = "; then ".join(say_layer(layer) for layer in tile.layers)
    return TileLabel(
        tile.code, glaze, page.clay_name or "", page.cone, page.made_on, tile.piece_number
    )


def sheet_of(page: PlanPage, studio: str, *, wet_grams: bool = False) -> PlanSheet:
    """What the mixing sheet of a plan tells."""
    return PlanSheet(
        studio=studio,
        code=page.code,
        name=page.name,
        kind=page.kind,
        clay=page.clay_name or "",
        cone=page.cone,
        question=page.question,
        tiles=tuple(
            SheetTile(
                tile.code,
                tile.words,
                tile_spot(page.kind, tile.row, tile.column, page.rows),
                tuple(say_layer(layer) for layer in tile.layers),
            )
            for tile in page.tiles
        ),
        mixing=page.mixing,
        cautions=page.cautions,
        wet_grams=wet_grams,
    )


def _as_jpeg(image: QImage) -> bytes:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "JPEG", _JPEG_QUALITY)  # type: ignore[call-overload]
    return bytes(buffer.data().data())


def results_of(
    page: PlanPage, studio: str, photo_of: Callable[[PlanTileLine], bytes] | None = None
) -> PlanResults:
    """What the results sheet of a plan tells; ``photo_of`` gives a tile's photo as JPEG."""
    return PlanResults(
        studio=studio,
        code=page.code,
        name=page.name,
        kind=page.kind,
        clay=page.clay_name,
        cone=f"aimed at cone {show_cone(page.cone)}" if page.cone else "",
        question=page.question,
        lesson=page.lesson,
        next_time=page.next_time,
        tiles=tuple(
            ResultTile(
                tile.code,
                tile.words,
                tile_spot(page.kind, tile.row, tile.column, page.rows),
                cone=label_reached(tile.cone) if tile.cone is not None else "",
                worst=worst_of(tile),
                faults=_faults_in_words(tile),
                surface=", ".join(SURFACES[word] for word in tile.surface),
                note=tile.note,
                stage=stage_words(tile),
                photo=photo_of(tile) if photo_of is not None else b"",
            )
            for tile in page.tiles
        ),
    )


def _faults_in_words(tile: PlanTileLine) -> str:
    """What was seen, worst first; or that nothing was."""
    if not tile.looked:
        return ""
    seen = sorted(tile.seen, key=lambda one: -one[1])
    said = [f"{FAULTS[fault]} {SEVERITIES[severity]}" for fault, severity in seen if severity]
    if said:
        return ", ".join(said)
    looked = ", ".join(FAULTS[fault] for fault in tile.looked)
    return f"none seen of {looked}" if len(tile.looked) < len(FAULTS) else "none seen"


def _read(desk: Desk, plan_id: int) -> PlanPage:
    page = desk.read(partial(read_plan_page, plan_id=plan_id))
    if page is None:
        raise UserProblem("The plan is gone: it was deleted or undone.")
    return page


def _open(
    desk: Desk,
    title: str,
    make: Callable[[PageSize], tuple[Page, ...]],
    options: tuple[SegmentedChoice, ...],
    parent: QWidget,
) -> PaperSheet:
    sheet = PaperSheet(desk, title, make, options, parent)
    for option in options:
        option.picked.connect(lambda _key: sheet.refresh())
    sheet.finished.connect(sheet.deleteLater)
    sheet.open()
    return sheet

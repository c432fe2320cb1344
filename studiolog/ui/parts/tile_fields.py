"""What tiles and what area: the fields of the sheet that lays tiles."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QVBoxLayout, QWidget

from studiolog.craft.ware.polygons import Polygon
from studiolog.craft.ware.tiles import (
    BONDS,
    EDGES,
    STARTS,
    TILE_KINDS,
    Laying,
    Tile,
    corner_area,
    polygon_area,
    rectangle,
)
from studiolog.journal.tile_forms import TileForm
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.fields import LineField, NumberField, read_number
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.text import Text

AREAS = {"rectangle": "Rectangle", "corner": "L-shaped", "corners": "By corners"}
_MM = ("mm", None, 1, 0.0, 1_000_000.0)


class TileFields(QWidget):
    """``edited`` fires with every letter and choice; read with `tile`, `laying` and `area`."""

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind = SegmentedChoice(
            "Tiles", [Choice(k, w.capitalize()) for k, w in TILE_KINDS.items()], keys=""
        )
        self.across = NumberField("Across, fired", *_MM)
        self.deep = NumberField("Deep, fired", *_MM)
        self.joint = NumberField("Joint", "mm", 3.0, 1, 0.0, 1000.0)
        self.edge = NumberField("Free at the edge", "mm", 0.0, 1, 0.0, 10_000.0)
        self.bond = PickOne("How rows lie")
        self.start = PickOne("Laying starts", [Choice(k, w) for k, w in STARTS.items()])
        self.edges = PickOne("At the edge", [Choice(k, w) for k, w in EDGES.items()])
        self.area_kind = SegmentedChoice("Area", [Choice(k, w) for k, w in AREAS.items()], keys="")
        self.wide = NumberField("Wide", "mm", 1200.0, 0, 0.0, 1_000_000.0)
        self.high = NumberField("High", "mm", 800.0, 0, 0.0, 1_000_000.0)
        self.out_wide = NumberField("Left out, wide", "mm", 400.0, 0, 0.0, 1_000_000.0)
        self.out_high = NumberField("Left out, high", "mm", 300.0, 0, 0.0, 1_000_000.0)
        self.points = LineField(
            "Corners in turn, mm", "0 0, 1200 0, 1200 500, 700 800, 0 800", "0 0, 1200 0, 1200 800"
        )
        self.spares = NumberField("Spares", "%", 10.0, 0, 0.0, 100.0)
        self.offcuts = QCheckBox("Use offcuts again")
        self.offcuts.setToolTip("Where a straight saw cut frees them, the same side up")
        self.start.choose("even")
        self.edges.choose("cut")
        self.area_kind.choose("rectangle")
        for pick in (self.bond, self.start, self.edges):
            pick.setMinimumContentsLength(12)
        self._lay_out()
        self._connect()

    def _lay_out(self) -> None:
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addWidget(Text("Tiles", "head", 600))
        rows.addWidget(self.kind)
        rows.addLayout(_pair(self.across, self.deep))
        rows.addLayout(_pair(self.joint, self.edge))
        for label, pick in (
            ("How rows lie", self.bond), ("Laying starts", self.start), ("At the edge", self.edges),
        ):  # fmt: skip
            rows.addLayout(labelled(label, pick))
        rows.addSpacing(8)
        rows.addWidget(Text("Area", "head", 600))
        rows.addWidget(self.area_kind)
        rows.addLayout(_pair(self.wide, self.high))
        rows.addLayout(_pair(self.out_wide, self.out_high))
        rows.addWidget(self.points)
        rows.addLayout(_pair(self.spares, self.offcuts))
        rows.addStretch(1)

    def _connect(self) -> None:
        self.kind.picked.connect(lambda _kind: self._take_kind())
        self.area_kind.picked.connect(lambda _kind: self._show_fields())
        for pick in (self.bond, self.start, self.edges):
            pick.picked.connect(lambda _choice: self.edited.emit())
        for field in (
            self.across, self.deep, self.joint, self.edge, self.wide, self.high, self.out_wide,
            self.out_high, self.points, self.spares,
        ):  # fmt: skip
            field.line.textChanged.connect(lambda _text: self.edited.emit())
        self.offcuts.toggled.connect(lambda _on: self.edited.emit())

    def show_form(self, form: TileForm) -> None:
        """Begin with a form's tile."""
        self.kind.choose(form.kind)
        self.across.set_value(form.across_mm)
        self.deep.set_value(form.deep_mm)
        self.spares.set_value(100 * form.limits["tile_spares_share"])
        self._take_kind()

    def _take_kind(self) -> None:
        kind = self.kind.chosen()
        ways = next(ways for key, ways in BONDS.items() if key == kind)
        self.bond.set_choices([Choice(key, words) for key, words in ways.items()])
        if self.bond.chosen() is None:
            self.bond.choose(next(iter(ways)))
        self._show_fields()

    def _show_fields(self) -> None:
        area = self.area_kind.chosen()
        self.deep.setVisible(self.kind.chosen() == "rectangle")
        for field in (self.wide, self.high):
            field.setVisible(area != "corners")
        for field in (self.out_wide, self.out_high):
            field.setVisible(area == "corner")
        self.points.setVisible(area == "corners")
        self.edited.emit()

    def tile(self) -> Tile:
        """The tile as typed. Raises UserProblem."""
        kind = next(key for key in TILE_KINDS if key == self.kind.chosen())
        deep = _given(self.deep) if kind == "rectangle" else None
        return Tile(kind, _given(self.across), deep)

    def laying(self) -> Laying:
        """How it is laid. Raises UserProblem."""
        return Laying(
            next(key for ways in BONDS.values() for key in ways if key == self.bond.chosen()),
            _given(self.joint),
            next((key for key in STARTS if key == self.start.chosen()), "even"),
            next((key for key in EDGES if key == self.edges.chosen()), "cut"),
            self.edge.value() or 0.0,
        )

    def area(self) -> Polygon:
        """The area as typed. Raises UserProblem."""
        kind = self.area_kind.chosen()
        if kind == "corners":
            return polygon_area(read_corners(self.points.text()))
        if kind == "corner":
            return corner_area(
                _given(self.wide), _given(self.high), _given(self.out_wide), _given(self.out_high)
            )
        return rectangle(_given(self.wide), _given(self.high))

    def spares_share(self) -> float:
        """The share of spares. Raises UserProblem."""
        return (self.spares.value() or 0.0) / 100


def read_corners(text: str) -> tuple[tuple[float, float], ...]:
    """Corners as typed: "0 0, 1200 0, 1200 800". Raises UserProblem naming what it can't read."""
    found = []
    for place, corner in enumerate(text.replace(";", ",").split(","), start=1):
        parts = corner.split()
        if not parts:
            continue
        if len(parts) != 2:
            raise UserProblem(
                f"Corner {place}, “{corner.strip()}”: write two numbers with a space between, and "
                "a comma before the next."
            )
        one, two = (read_number(part, "mm") for part in parts)
        if one is None or two is None:
            raise UserProblem(f"Corner {place}, “{corner.strip()}”: write two numbers.")
        found.append((one, two))
    return tuple(found)


def _given(field: NumberField) -> float:
    value = field.value()
    if value is None:
        raise UserProblem(f"Give “{field.label.text()}”.")
    return value


def _pair(one: QWidget, two: QWidget) -> QGridLayout:
    row = QGridLayout()
    row.setHorizontalSpacing(16)
    row.addWidget(one, 0, 0)
    row.addWidget(two, 0, 1)
    row.setColumnStretch(0, 1)
    row.setColumnStretch(1, 1)
    return row

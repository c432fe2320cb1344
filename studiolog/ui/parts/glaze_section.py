"""The glaze section: clay in the middle, glazes outside it in the order they went on."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QBrush, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QWidget

from studiolog.desktop.tokens import CAPTION, CUT_OUTLINE, HEAD, SECONDARY
from studiolog.ui.parts.drawing import (
    Drawing,
    colour,
    elided,
    path_of,
    pen,
    width_of,
    wrapped,
    write,
)
from studiolog.ui.parts.half_section import FormShape, paint_half_section
from studiolog.ui.parts.pattern import clay_brush, glaze_brush
from studiolog.ui.parts.wall_geometry import (
    WallCut,
    WallProfile,
    ZoneLayer,
    ZoneSpan,
    cut_wall,
    place_zones,
    spread_labels,
)


@dataclass(frozen=True)
class SectionLayer:
    """One glaze on one zone. ``how_text`` is how it went on: ``dip 3 s``."""

    zone: str
    position: int
    glaze_name: str
    colour: str
    pattern: str | int = 0
    how_text: str = ""


@dataclass(frozen=True)
class SectionWall:
    """What the section shows; ``profile`` and ``wall_mm`` may be unknown, and the clay be ""."""

    clay_name: str
    clay_colour: str
    clay_specks: str = "none"
    wall_mm: float | None = None
    profile: WallProfile | None = None
    layers: tuple[SectionLayer, ...] = ()
    fired: bool = False


@dataclass(frozen=True)
class _Block:
    """The label of one zone: its head, its layers, how tall it is."""

    zone: ZoneSpan
    heads: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    height: float


_CHIP = QSize(28, 18)
_EMPTY = SectionWall("Clay", "")
_HANG = 38.0
"""How far the words under a glaze's name are set in on the outside; on the inside they are not."""
_TIGHT = 4.0
"""Between the labels of zones where there are many."""


def zone_words(zone: str) -> str:
    """A zone as a heading."""
    return zone[:1].upper() + zone[1:]


class GlazeSection(Drawing):
    """The cut wall with its layers, labelled. ``layer_chosen(index)`` on click or Enter.

    ``compact`` is the small drawing beside a form being filled in: numbers and names only.
    ``headed`` adds title, ground and border, as a card.
    """

    layer_chosen = Signal(int)

    def __init__(
        self, compact: bool = False, headed: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__("Glaze section", parent)
        self._compact, self._headed = compact, headed
        self._wall = _EMPTY
        self._known = False
        self._chosen: int | None = None
        self._hits: list[tuple[QRectF, int]] = []
        self._kept: tuple[object, WallCut, QPointF] | None = None
        self.tell()

    def show_wall(self, wall: SectionWall | None) -> None:
        """Draw this wall; None draws a bare one."""
        self._known = wall is not None
        self._wall = wall or _EMPTY
        self._chosen = None
        self.tell()

    def sentence(self) -> str:
        """``Outside, upper: Chalk, dip 3 s, over Kelp, dip 4 s. Foot: bare. Buff stoneware.``"""
        wall = self._wall
        if not self._known:
            return "Bare wall: no clay or glaze recorded yet."
        clay = wall.clay_name
        if wall.wall_mm is not None:
            clay += f", wall {wall.wall_mm:.1f} mm"
        if not wall.layers:
            return f"{clay}, bare: no glaze recorded yet."
        parts = []
        for zone in place_zones(self._zone_layers(), 100.0, 8.0):
            layers = [self._layer_words(index) for index in zone.layers]
            said = ", over ".join(layers) if layers else "bare"
            parts.append(f"{zone_words(zone.zone)}: {said}.")
        return " ".join(parts) + f" Clay: {clay}."

    def _layer_words(self, index: int) -> str:
        layer = self._wall.layers[index]
        return f"{layer.glaze_name}, {layer.how_text}" if layer.how_text else layer.glaze_name

    def _zone_layers(self) -> list[ZoneLayer]:
        return [ZoneLayer(x.zone, x.position, x.glaze_name) for x in self._wall.layers]

    # Size

    def sizeHint(self) -> QSize:
        if self._compact:
            return self.asked(264, 340)
        return self.asked(448, 592 if self._headed else 528)

    def minimumSizeHint(self) -> QSize:
        zones = place_zones(self._zone_layers(), 100.0, 8.0)
        if self._compact:
            outer = [z for z in zones if z.side != "inside"]
            least = sum(24 + 22 * len(z.layers) if z.layers else 28 for z in outer)
            return self.asked(220, max(260, least + 40))
        wide = max(self.wide(), 360.0) - 2 * self._pad()
        blocks = [
            self._block(zone, self._columns(wide)[1], words=False)
            for zone in zones
            if zone.side != "inside"
        ]
        rows = sum(block.height for block in blocks) + _TIGHT * (len(blocks) - 1)
        return self.asked(360, max(380, rows + 40 + (76 if self._headed else 0)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.oldSize().width() != event.size().width():
            self.updateGeometry()  # labels break differently, and need another height

    def _pad(self) -> float:
        return 20.0 if self._headed else 4.0

    def _columns(self, wide: float) -> tuple[float, float]:
        """How wide the labels at the left and at the right are, of all the room there is."""
        if self._compact:
            return 58.0, 96.0
        return max(108.0, wide * 0.27), max(132.0, wide * 0.325)

    # Paint

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = self.painter()
        self._hits = []
        pad = self._pad()
        top = 12.0
        if self._headed:
            painter.setPen(pen("line", 1.0))
            painter.setBrush(QBrush(colour("sheet")))
            painter.drawRoundedRect(self.frame().adjusted(0.5, 0.5, -0.5, -0.5), 6, 6)
            self._paint_head(painter, pad)
            top = 76.0
        area = QRectF(pad, top, self.wide() - 2 * pad, self.tall() - top - (pad + 8))
        left_w, right_w = self._columns(area.width())
        cut, origin = self._cut(area, left_w, right_w)
        if not self._known:
            self._paint_unknown(painter, cut, origin, area)
            return
        self._paint_wall(painter, cut, origin)
        column = QRectF(area.right() - right_w, area.top(), right_w, area.height())
        self._paint_outside_labels(painter, cut, origin, column)
        left = QRectF(area.left(), area.top(), left_w, area.height())
        if not self._compact:
            icon = QRectF(area.left() + 2, area.bottom() - 116, 70, 88)
            if origin.x() + cut.bounds()[0] > icon.right() + 4:
                self._paint_icon(painter, icon)
            left.setBottom(icon.top() - 16)
        self._paint_inside_labels(painter, cut, origin, left)
        self.paint_focus(painter)
        painter.end()

    def _paint_unknown(
        self, painter: QPainter, cut: WallCut, origin: QPointF, area: QRectF
    ) -> None:
        """Neither clay nor glaze is known: the place of a wall, and nothing said of one."""
        painter.save()
        painter.translate(origin)
        painter.setPen(pen("line2", 1.25, (4, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(path_of(cut.clay))
        painter.restore()
        room = origin.x() + cut.bounds()[0] - area.left() - 8
        words = wrapped("No clay or glaze recorded yet", SECONDARY, max(room, 80.0))
        for number, line in enumerate(words):
            at = QPointF(area.left(), area.center().y() + 16 * number)
            write(painter, at, line, "ink3", SECONDARY)
        self.paint_focus(painter)
        painter.end()

    def _paint_head(self, painter: QPainter, pad: float) -> None:
        used = write(painter, QPointF(pad, 30), "Glaze section", "ink", HEAD, 600)
        note = "numbers give the order applied"
        if used + width_of(note, CAPTION) + 2 * pad + 16 < self.wide():
            at = QPointF(self.wide() - pad, 31)
            write(painter, at, note, "ink3", CAPTION, align="right")
        told = "Wall cut from rim to foot, glaze drawn thicker than it is"
        room = self.wide() - 2 * pad
        write(painter, QPointF(pad, 51), elided(told, SECONDARY, room), "ink3", SECONDARY)

    def _cut(self, area: QRectF, left_w: float, right_w: float) -> tuple[WallCut, QPointF]:
        """The wall at the size that fits, and where its lip is on the widget."""
        # The broken floor may reach under the labels on the left, the wall may not.
        room = area.width() - right_w - 20 - (4.0 if self._compact else left_w - 34)
        outside_room = max(room * 0.3, 34.0)
        inside_room = max(room * 0.16, 18.0)
        lean = 14.0 if self._compact else 46.0
        layers = self._zone_layers()
        height = area.height() - 6

        key = (self._wall, area.getRect(), outside_room, inside_room)
        if self._kept is not None and self._kept[0] == key:
            return self._kept[1], self._kept[2]

        def cut_at(tall: float) -> WallCut:
            return cut_wall(self._wall.profile, layers, tall, outside_room, inside_room, lean)

        over = -min(cut_at(height).bounds()[1], 0.0)
        cut = cut_at(height - over)
        left, top, right, _ = cut.bounds()
        x = area.right() - right_w - 20 - right - max(room - (right - left), 0.0) * 0.3
        self._kept = (key, cut, QPointF(x, area.top() - top + 2))
        return cut, self._kept[2]

    def _paint_wall(self, painter: QPainter, cut: WallCut, origin: QPointF) -> None:
        ratio = self.ratio()
        wall = self._wall
        painter.save()
        painter.translate(origin)
        painter.setBrushOrigin(QPointF(0, 0))
        painter.setPen(pen("ink", CUT_OUTLINE))
        if wall.clay_colour:
            painter.setBrush(clay_brush(wall.clay_colour, wall.clay_specks, ratio))
        else:
            painter.setBrush(QBrush(colour("sheet")))
        painter.drawPath(path_of(cut.clay))
        for band in cut.bands:
            layer = wall.layers[band.layers[0]]
            painter.setPen(pen("ink", 1.0))
            painter.setBrush(glaze_brush(layer.colour, layer.pattern, ratio))
            painter.drawPath(path_of(band.outline))
        # Where the floor is broken off, a centre rule shows that the pot goes on.
        top = min(p[1] for p in cut.clay if p[0] <= cut.cut_x + 1)
        painter.setPen(pen("ink2", 1.0))
        inside = [b for b in cut.bands if b.side == "inside"]
        above = 16 * len(inside) + 8
        painter.drawLine(QPointF(cut.cut_x, top - above), QPointF(cut.cut_x, top - 1))
        foot = max(p[1] for p in cut.clay)
        painter.drawLine(QPointF(cut.cut_x, foot - 9), QPointF(cut.cut_x, foot))
        painter.restore()

    # Labels on the outside

    def _blocks(self, zones: list[ZoneSpan], width: float, room: float) -> list[_Block]:
        """Labels as full as fits: all words, else one line a layer."""
        full = [self._block(zone, width, words=True) for zone in zones]
        if sum(b.height for b in full) + 14 * (len(full) - 1) <= room:
            return full
        return [self._block(zone, width, words=False) for zone in zones]

    def _block(
        self, zone: ZoneSpan, width: float, words: bool, head_width: float | None = None
    ) -> _Block:
        """The label of a zone; its name is wrapped to ``head_width``, never cut."""
        rows = []
        head_width = width if head_width is None else head_width
        heads = tuple(wrapped(zone_words(zone.zone), SECONDARY, head_width, 600)) or ("",)
        height = 0.0
        if not self._compact or zone.side == "inside":
            height = 20.0 + 16 * (len(heads) - 1)
        for index in zone.layers:
            layer = self._wall.layers[index]
            lines: tuple[str, ...] = ()
            if words and not self._compact:
                lines = tuple(wrapped(layer.how_text, SECONDARY, width - _HANG))
            rows.append((index, lines))
            height += 22 + 16 * len(lines) + (6 if words else 0)
        labelled = not self._compact or zone.side == "inside"
        if not zone.layers and labelled and not self._bare_fits(zone, heads, head_width):
            height += 16
        return _Block(zone, heads, tuple(rows), max(height, 16.0))

    def _bare_fits(self, zone: ZoneSpan, heads: Sequence[str], width: float) -> bool:
        """Whether *bare* can stand beside the zone's name, and its heights on the outside."""
        used = width_of(heads[-1], SECONDARY, 600) + width_of("bare", SECONDARY) + 8
        if zone.side != "inside":
            used += width_of(f"{zone.low_mm:.0f}–{zone.high_mm:.0f} mm", CAPTION) + 8
        return len(heads) == 1 and used <= width

    def _paint_outside_labels(
        self, painter: QPainter, cut: WallCut, origin: QPointF, column: QRectF
    ) -> None:
        zones = [z for z in cut.zones if z.side != "inside"]
        blocks = self._blocks(zones, column.width(), column.height())
        need = sum(b.height for b in blocks)
        gap = 14.0 if need + 14 * (len(blocks) - 1) <= column.height() else _TIGHT
        wanted = []
        for block in blocks:
            high = block.zone.top_y + origin.y()
            low = block.zone.bottom_y + origin.y()
            # Short zones stand in the middle of their span, tall ones start at its top.
            spare = (low - high) - block.height
            inset = 10.0 if spare > 24 else max(spare / 2, 0.0)
            if self._compact:
                inset = max(spare / 2, 0.0)
            if block.zone.side == "rim":
                inset = min(-24.0, (low - high) - block.height - 4)
            wanted.append((high + inset, block.height))
        tops = spread_labels(wanted, column.top() - 8, column.bottom() + 8, gap)
        self._paint_rules(painter, cut, origin, column, blocks, tops)
        for block, top in zip(blocks, tops, strict=True):
            self._paint_block(painter, cut, origin, column, block, top, block is blocks[0])

    def _paint_rules(
        self,
        painter: QPainter,
        cut: WallCut,
        origin: QPointF,
        column: QRectF,
        blocks: list[_Block],
        tops: list[float],
    ) -> None:
        """Each zone ruled across from the wall to its label; bent where the label had to move."""
        for index, block in enumerate(blocks):
            y = block.zone.bottom_y + origin.y()
            free_from = tops[index] + block.height + 1
            free_to = tops[index + 1] - 1 if index + 1 < len(blocks) else column.bottom() + 10
            at = y if free_from <= y <= free_to else (free_from + free_to) / 2
            if index + 1 == len(blocks):
                at = max(y, free_from)
            edge = origin.x() + cut.edge_x(block.zone.bottom_y) + 10
            if block.zone.side == "rim":
                edge = origin.x() + cut.bounds()[2] + 8
            painter.setPen(pen("line2", 1.0))
            start, bend = QPointF(edge, y), QPointF(column.left() - 8, at)
            # A label moved far away is found by its leaders; a long bent rule only confuses.
            if edge < bend.x() and abs(at - y) < 40:
                painter.drawLine(start, QPointF(max(edge, bend.x() - 16), y))
                painter.drawLine(QPointF(max(edge, bend.x() - 16), y), bend)
            painter.drawLine(bend, QPointF(column.right(), at))
            if self._compact:
                self._paint_zone_ends(painter, column, blocks, index, at)

    def _paint_zone_ends(
        self, painter: QPainter, column: QRectF, blocks: list[_Block], index: int, y: float
    ) -> None:
        """In the compact drawing the rule itself says what ends and what begins."""

        def short(block: _Block) -> str:
            if not block.rows:
                return "bare"
            return elided(block.zone.zone.rpartition(", ")[2], CAPTION, column.width() - 8)

        if index + 1 < len(blocks):
            right = column.right()
            write(
                painter, QPointF(right, y - 9), short(blocks[index]), "ink3", CAPTION, 400, "right"
            )
            if index + 2 == len(blocks):
                below = short(blocks[index + 1])
                write(painter, QPointF(right, y + 10), below, "ink3", CAPTION, 400, "right")

    def _paint_block(
        self,
        painter: QPainter,
        cut: WallCut,
        origin: QPointF,
        column: QRectF,
        block: _Block,
        top: float,
        first: bool,
    ) -> None:
        zone = block.zone
        y = top
        if not self._compact:
            mm = f"{zone.low_mm:.0f}–{zone.high_mm:.0f} mm"
            if not first:
                mm = mm.removesuffix(" mm")  # the first label has told the unit
            used = self._paint_heads(painter, column, block, y)
            # The name of a zone comes first: where both do not fit, the heights go.
            if len(block.heads) == 1 and used + 6 + width_of(mm, CAPTION) <= column.width():
                at = QPointF(column.right(), y + 8)
                write(painter, at, mm, "ink3", CAPTION, align="right")
            y += 20 + 16 * (len(block.heads) - 1)
        for index, lines in block.rows:
            layer = self._wall.layers[index]
            mid = y + 10
            anchor = QPointF(*cut.anchor_near(zone, index, mid - origin.y())) + origin
            self._leader(painter, QPointF(column.left() - 4, mid), anchor, from_left=False)
            name_x = column.left() + (22 if self._compact else 36)
            self._number(painter, QPointF(column.left(), mid), layer)
            room = column.right() - name_x
            tail = "" if lines or self._compact or not layer.how_text else f", {layer.how_text}"
            weight = 600 if self._compact else 500
            name = elided(layer.glaze_name, SECONDARY, room, weight)
            used = write(painter, QPointF(name_x, mid), name, "ink", SECONDARY, weight)
            if tail:
                rest = elided(tail, SECONDARY, room - used - 1)
                write(painter, QPointF(name_x + used, mid), rest, "ink2", SECONDARY)
            for number, line in enumerate(lines):
                at = QPointF(name_x, mid + 17 + 16 * number)
                write(painter, at, line, "ink2", SECONDARY)
            hit = QRectF(column.left() - 3, mid - 11, column.width() + 3, 22)
            self._mark_hit(painter, hit, index)
            y = mid + 12 + 16 * len(lines) + (6 if lines else 0)

    def _paint_heads(self, painter: QPainter, column: QRectF, block: _Block, top: float) -> float:
        """The name of a zone, whole, and *bare* if it is; gives the width of its last line."""
        used = 0.0
        y = top + 8
        for number, head in enumerate(block.heads):
            y = top + 8 + 16 * number
            used = write(painter, QPointF(column.left(), y), head, "ink", SECONDARY, 600)
        if not block.rows:
            beside = self._bare_fits(block.zone, block.heads, column.width())
            at = QPointF(column.left() + used + 8, y) if beside else QPointF(column.left(), y + 17)
            write(painter, at, "bare", "ink2", SECONDARY)
        return used

    # Labels on the inside, and of the clay

    def _paint_inside_labels(
        self, painter: QPainter, cut: WallCut, origin: QPointF, column: QRectF
    ) -> None:
        zones = [z for z in cut.zones if z.side == "inside"]
        widths = [column.width() + _HANG] * len(zones) + [column.width()]
        # The wall leans over the column: what stands low has less room, and takes more lines.
        for last in (False, True):
            blocks = [
                self._block(zone, wide, True, min(wide - _HANG, column.width()))
                for zone, wide in zip(zones, widths, strict=False)
            ]
            names = wrapped(self._wall.clay_name, SECONDARY, widths[-1] - 6, 600) or [""]
            lines = self._clay_lines(widths[-1])
            heights = [b.height + (16 if self._compact and b.rows else 0) for b in blocks]
            wanted = []
            for block, height in zip(blocks, heights, strict=True):
                middle = (block.zone.bottom_y + block.zone.top_y) / 2 + origin.y()
                wanted.append((middle - height / 2 - (0 if self._compact else 50), height))
            if not self._compact:
                clay_high = 18.0 + 16 * (len(lines) + len(names) - 1)
                wanted.append((cut.clay_anchor[1] + origin.y() - 40, clay_high))
            tops = spread_labels(wanted, column.top(), column.bottom(), 12)
            if last or self._compact:
                break
            for place, (top, (_wish, height)) in enumerate(zip(tops, wanted, strict=True)):
                free = self._inner_edge(cut, origin, top, top + height + 24) - column.left() - 10
                hang = _HANG if place < len(zones) else 0.0
                widths[place] = max(min(widths[place], free + hang), 64.0 + hang)
        for block, top, wide in zip(blocks, tops, widths, strict=False):
            room = QRectF(column)
            room.setWidth(min(wide - _HANG, column.width()))
            self._paint_inside_block(painter, cut, origin, room, block, top)
        if not self._compact:
            self._paint_clay_label(painter, cut, origin, column, tops[-1], names, lines)

    @staticmethod
    def _inner_edge(cut: WallCut, origin: QPointF, high: float, low: float) -> float:
        """How far left the wall and its inside glazes reach between two heights of the widget."""
        edge = float("inf")
        high, low = high - origin.y(), low - origin.y()
        for outline in (cut.clay, *(b.outline for b in cut.bands if b.side == "inside")):
            for (x1, y1), (x2, y2) in pairwise(outline):
                if max(y1, y2) < high or min(y1, y2) > low:
                    continue
                for y in (min(max(y1, high), low), min(max(y2, high), low)):
                    share = (y - y1) / (y2 - y1) if y2 != y1 else 0.0
                    edge = min(edge, x1 + share * (x2 - x1))
        return edge + origin.x()

    def _clay_lines(self, width: float) -> list[str]:
        lines = []
        if self._wall.wall_mm is not None:
            fired = ", fired" if self._wall.fired else ""
            lines = wrapped(f"wall {self._wall.wall_mm:.1f} mm{fired}", SECONDARY, width)
        if not self._wall.layers:
            lines += wrapped("no glaze recorded yet", SECONDARY, width)
        return lines

    def _paint_clay_label(
        self,
        painter: QPainter,
        cut: WallCut,
        origin: QPointF,
        column: QRectF,
        top: float,
        names: list[str],
        lines: list[str],
    ) -> None:
        mid = top + 9
        for number, name in enumerate(names):
            at = QPointF(column.left(), mid + 16 * number)
            write(painter, at, name, "ink", SECONDARY, 600)
        used = width_of(names[0], SECONDARY, 600)
        start = QPointF(column.left() + used + 6, mid)
        self._leader(painter, start, QPointF(*cut.clay_anchor) + origin, from_left=True)
        for number, line in enumerate(lines):
            at = QPointF(column.left(), mid + 17 + 16 * (number + len(names) - 1))
            write(painter, at, line, "ink2", SECONDARY)

    def _paint_inside_block(
        self,
        painter: QPainter,
        cut: WallCut,
        origin: QPointF,
        column: QRectF,
        block: _Block,
        top: float,
    ) -> None:
        zone = block.zone
        self._paint_heads(painter, column, block, top)
        y = top + 20 + 16 * (len(block.heads) - 1)
        for index, lines in block.rows:
            layer = self._wall.layers[index]
            mid = y + 10
            self._number(painter, QPointF(column.left(), mid), layer)
            end = column.left() + 20
            if not self._compact:
                name_x = column.left() + 36
                name = elided(layer.glaze_name, SECONDARY, column.right() - name_x, 500)
                end = name_x + write(painter, QPointF(name_x, mid), name, "ink", SECONDARY, 500) + 6
            lower = mid - origin.y() + (0 if self._compact else 50)
            anchor = QPointF(*cut.anchor_near(zone, index, lower)) + origin
            self._leader(painter, QPointF(end, mid), anchor, from_left=True)
            if self._compact:
                wall_x = min(
                    (x for b in cut.bands if b.side == "inside" for x, y in b.outline
                     if abs(y + origin.y() - mid - 19) < 12),
                    default=column.width(),
                ) + origin.x()  # fmt: skip
                free = min(column.width(), wall_x - column.left() - 4)
                name = elided(layer.glaze_name, SECONDARY, free)
                write(painter, QPointF(column.left(), mid + 19), name, "ink2", SECONDARY)
                mid += 16
            for number, line in enumerate(lines):
                at = QPointF(column.left(), mid + 18 + 16 * number)
                write(painter, at, line, "ink2", SECONDARY)
            self._mark_hit(
                painter, QRectF(column.left() - 3, mid - 11, end - column.left(), 22), index
            )
            y = mid + 12 + 16 * len(lines) + 6

    # Small marks

    def _leader(self, painter: QPainter, start: QPointF, end: QPointF, from_left: bool) -> None:
        """From a label to a dot in the layer: level first, then bent to where it must go."""
        painter.setPen(pen("ink2", 1.0))
        if abs(end.y() - start.y()) < 3:
            bend = QPointF(end.x(), start.y())
        elif from_left:
            bend = QPointF(
                max(start.x(), min(end.x() - 12, start.x() + (end.x() - start.x()) * 0.7)),
                start.y(),
            )
        else:
            bend = QPointF(start.x() - 14, start.y())
        painter.drawLine(start, bend)
        painter.drawLine(bend, end)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QBrush(colour("sheet")))
        painter.drawEllipse(end, 3.4, 3.4)
        painter.setBrush(QBrush(colour("ink")))
        painter.drawEllipse(end, 2.4, 2.4)

    def _number(self, painter: QPainter, left_middle: QPointF, layer: SectionLayer) -> None:
        """The chip of a glaze with the number of its place in the order."""
        painter.setPen(pen("ink", 1.0))
        if self._compact:
            centre = left_middle + QPointF(8, 0)
        else:
            chip = QRectF(left_middle.x(), left_middle.y() - 9, _CHIP.width(), _CHIP.height())
            painter.save()
            painter.setBrushOrigin(chip.topLeft())
            painter.setBrush(glaze_brush(layer.colour, layer.pattern, self.ratio()))
            painter.drawRoundedRect(chip, 4, 4)
            painter.restore()
            centre = chip.center()
        painter.setBrush(QBrush(colour("sheet")))
        painter.drawEllipse(centre, 7.2, 7.2)
        write(painter, centre, str(layer.position), "ink", CAPTION, 600, "centre")

    def _mark_hit(self, painter: QPainter, rect: QRectF, index: int) -> None:
        self._hits.append((rect, index))
        if len(self._hits) - 1 == self._chosen and self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pen("cobalt", 2.0))
            painter.drawRoundedRect(rect, 4, 4)

    def _paint_icon(self, painter: QPainter, rect: QRectF) -> None:
        shape = FormShape(profile=self._wall.profile)
        box = paint_half_section(painter, rect, shape, cut_right=True)
        painter.setPen(pen("cobalt", 1.25, (5, 3)))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        left = box.center().x() + box.width() * 0.26
        painter.drawRect(
            QRectF(QPointF(left, box.top() - 5), QPointF(box.right() + 4, box.bottom() + 5))
        )
        at = QPointF(rect.left(), rect.bottom() + 18)
        write(painter, at, "cut drawn here", "cobalt", CAPTION)

    # Choosing a layer

    def mousePressEvent(self, event: QMouseEvent) -> None:
        for place, (rect, index) in enumerate(self._hits):
            if rect.contains(self.spot(event.position())):
                self._chosen = place
                self.update()
                self.layer_chosen.emit(index)
                return
        super().mousePressEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        count = len(self._hits)
        key = event.key()
        if count and key in (Qt.Key.Key_Down, Qt.Key.Key_Up):
            step = 1 if key == Qt.Key.Key_Down else -1
            now = self._chosen if self._chosen is not None else (-1 if step > 0 else 0)
            self._chosen = (now + step) % count
            self.update()
        elif self._chosen is not None and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.layer_chosen.emit(self._hits[self._chosen][1])
        else:
            super().keyPressEvent(event)

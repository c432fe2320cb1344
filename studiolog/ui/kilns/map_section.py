"""Which levels of a kiln run hot or cool, today and over time."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from studiolog.craft.units import show_degrees
from studiolog.journal.kiln_map import KilnMap, MapLevel
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.kiln_map_plot import KilnMapPlot, MapReading, MapRow
from studiolog.ui.plots.plot_ticks import Unit

NOTHING = (
    "No witness cone has been read beside a temperature log yet. Set a pack on each level and read "
    "it on the page of the firing: after a few, a level is calibrated and curves are corrected by "
    "it."
)
HINT = "Arrow keys go through levels and readings, Enter opens the firing."


def map_row(level: MapLevel, counts_from: int) -> MapRow:
    """A level as it is drawn; readings of calibration ``counts_from`` and later count today."""
    offset = level.offset
    count = ""
    if offset is not None:
        count = "1 reading" if offset.readings == 1 else f"{offset.readings} readings"
        if not offset.calibrated:
            count += ": too few to trust"
    return MapRow(
        level.name,
        level.in_cones,
        count,
        offset.offset_c if offset is not None else None,
        offset.scatter_c if offset is not None else None,
        offset.calibrated if offset is not None else False,
        tuple(
            MapReading(
                one.firing_id,
                one.number,
                one.started_at,
                one.offset_c,
                calibration >= counts_from,
                calibration,
            )
            for one, calibration in zip(level.readings, level.calibration_of, strict=True)
        ),
    )


class MapSection(Section):
    """``opened`` carries "firing" and the id of a reading's firing."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Kiln map", parent=parent)
        self.plot = KilnMapPlot()
        self.told = Caption(HINT, "ink2", wrap=True)
        self.spread = Text("", "secondary", tone="ink2", wrap=True)
        self.nothing = Text(NOTHING, "secondary", tone="ink2", wrap=True)
        self.plot.opened.connect(self.opened)
        self.plot.told.connect(self.told.setText)
        for widget in (self.nothing, self.plot, self.told, self.spread):
            self.add(widget)

    def show_map(self, kiln_map: KilnMap, unit: Unit) -> None:
        empty = kiln_map.is_empty
        self.nothing.setVisible(empty)
        for widget in (self.plot, self.told):
            widget.setVisible(not empty)
        self.spread.setText(kiln_map.spread)
        self.spread.setVisible(bool(kiln_map.spread))
        since = kiln_map.changes[-1] if kiln_map.changes else None
        self.set_quiet(
            f"readings count from {write_day(since.on)}{f', {since.words}' if since.task else ''}"
            if since is not None
            else ""
        )
        newest = len({change.on for change in kiln_map.changes})
        self.plot.show_map(
            [map_row(level, newest) for level in kiln_map.levels],
            [(change.on, change.words) for change in kiln_map.changes],
            unit,
        )
        self.told.setText(HINT if self.plot.selected() is None else self.told.text())


def scatter_words(scatter_c: float | None, unit: str) -> str:
    """ " ±2 °C", or nothing below two readings."""
    if scatter_c is None:
        return ""
    return f" ±{show_degrees(scatter_c, unit)}"

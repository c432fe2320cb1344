"""How worn a kiln is: its climb, the power of its holds, its energy, its thermocouple."""

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.firing.kiln_wear import (
    Measured,
    WearSeries,
    say_climb,
    say_missing,
    say_ratio,
    say_series,
    say_trend,
)
from studiolog.craft.firing.sensor_drift import say_drift
from studiolog.craft.firing.thermocouple import letter_of
from studiolog.craft.units import show_quantity, show_temperature
from studiolog.journal.kiln_wear import KilnWearPage, SinceNew
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.fields import write_day
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.plots.kiln_wear_plot import KilnWearPlot, PlotLine, PlotPoint
from studiolog.ui.plots.plot_ticks import Unit

MEASURES: Final[dict[Measured, str]] = {
    "climb": "Climb",
    "hold": "Power in the hold",
    "energy": "Energy",
}
HINT = "Left and Right go from firing to firing, Enter opens it."
NO_LOG = (
    "No firing of this kiln has a temperature log yet. With logs, its climb near the top is "
    "followed here, and what the meter or a log of the power says."
)
_SCALES: Final[dict[Measured, tuple[float, str]]] = {
    "climb": (1.0, "min"),
    "hold": (100.0, "%"),
    "energy": (1.0, "kWh"),
}


def since_words(since: SinceNew, unit: Unit) -> str:
    """ "New elements 18 Jan 2026: 41 firings since, 690 h above 100 °C, 82 h above 1000 °C."."""
    firings = "1 firing" if since.firings == 1 else f"{since.firings} firings"
    if since.on is None:
        told = f"No {since.words} noted: {firings} in all"
    else:
        told = f"{since.words.capitalize()} {write_day(since.on)}: {firings} since"
    if since.logged:
        told += (
            f", {show_quantity(since.hours, 'h')} above {show_temperature(100, unit)}, "
            f"{show_quantity(since.hot_hours, 'h')} above {show_temperature(1000, unit)}"
        )
        if since.logged < since.firings:
            told += f" in the {since.logged} with a log"
    return f"{told}."


class WearSection(Section):
    """``opened`` carries "firing" and the id of a firing chosen on the plot."""

    opened = Signal(str, int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Wear", parent=parent)
        self._page: KilnWearPage | None = None
        self._unit: Unit = "C"
        self._measure: Measured = "climb"
        self._letter: str | None = None
        self.sentence = Text("", wrap=True)
        self.pick = SegmentedChoice(
            "Measure of wear", [Choice(key, words) for key, words in MEASURES.items()]
        )
        self.plot = KilnWearPlot()
        self.told = Caption(HINT, "ink2", wrap=True)
        self.trend = Text("", "secondary", tone="ink2", wrap=True)
        self.others = QVBoxLayout()
        self.others.setSpacing(4)
        for widget in (self.sentence, self.pick, self.plot, self.told, self.trend):
            self.add(widget)
        self.add(self.others)
        self.pick.picked.connect(self._choose)
        self.plot.opened.connect(self.opened)
        self.plot.told.connect(self.told.setText)

    def show_wear(self, page: KilnWearPage, thermocouple: str, unit: Unit) -> None:
        self._page, self._unit, self._letter = page, unit, letter_of(thermocouple)
        wear = page.wear
        firings = "1 firing" if wear.firings == 1 else f"{wear.firings} firings"
        self.set_quiet(
            f"{firings} since new elements, {write_day(wear.changed_on)}" if wear.changed_on else ""
        )
        worn = wear.climb.state in ("warn", "change")
        known = bool(wear.climb.points or wear.climb.earlier or wear.energy.points)
        self.sentence.setText(say_climb(wear.climb, unit) if known else NO_LOG)
        self.sentence.set_tone("rust" if worn else "ink")
        for widget in (self.pick, self.plot, self.told):
            widget.setVisible(known)
        self._show_series()
        clear_layout(self.others)
        lines = []
        if known:
            lines += [
                say_series(one) for one in (wear.energy, wear.hold) if one.points or one.earlier
            ]
        lines.append(say_drift(page.drift, self._letter or "", unit))
        for words in lines:
            self.others.addWidget(Text(words, "secondary", tone="ink2", wrap=True))
        for since in page.since_new:
            self.others.addWidget(Caption(since_words(since, unit), "ink2", wrap=True))

    def measure(self) -> Measured:
        """What the plot shows."""
        return self._measure

    def _choose(self, key: object) -> None:
        self._measure = next(one for one in MEASURES if one == key)
        self._show_series()

    def _series(self) -> WearSeries | None:
        if self._page is None:
            return None
        wear = self._page.wear
        return {"climb": wear.climb, "hold": wear.hold, "energy": wear.energy}[self._measure]

    def _show_series(self) -> None:
        series = self._series()
        if series is None:
            return
        self.pick.choose(self._measure)
        scale, unit = _SCALES[self._measure]
        points = [
            PlotPoint(
                one.firing_id,
                one.since_change,
                one.value * scale,
                f"Firing {one.number}, {write_day(one.day)}: "
                f"{show_quantity(one.value * scale, unit, 0 if unit == 'min' else 1)}.",
            )
            for one in (*series.earlier, *series.points)
        ]
        sentence = (
            say_climb(series, self._unit) if series.measured == "climb" else say_series(series)
        )
        self.plot.show_series(
            points,
            self._lines(series, scale, unit),
            _trend_line(series, scale),
            unit=unit,
            changed="new elements" if series.earlier else "",
            sentence=f"{sentence} {say_trend(series)}",
        )
        self.told.setText(HINT)
        parts = [series.group.capitalize()] if series.group else []
        if series.state == "unknown":
            parts.append(say_missing(series).capitalize())
        else:
            parts += [say_ratio(series), say_trend(series).rstrip(".")]
        self.trend.setText(". ".join(part for part in parts if part) + "." if parts else "")
        self.trend.setVisible(bool(parts))

    @staticmethod
    def _lines(series: WearSeries, scale: float, unit: str) -> list[PlotLine]:
        if series.baseline is None:
            return []
        new = show_quantity(series.baseline * scale, unit)
        lines = [PlotLine(series.baseline * scale, f"when new, {new}", "ink")]
        if series.state == "controlled" or series.warn_at is None or series.change_at is None:
            return lines
        highest = max(point.value for point in (*series.points, *series.earlier))
        warn = round((series.warn_at / series.baseline - 1) * 100)
        change = round((series.change_at / series.baseline - 1) * 100)
        lines.append(PlotLine(series.warn_at * scale, f"+{warn} %: look at them", "ochre", (5, 4)))
        if highest > series.warn_at:
            lines.append(
                PlotLine(series.change_at * scale, f"+{change} %: change them", "rust", (2, 3))
            )
        return lines


def _trend_line(
    series: WearSeries, scale: float
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    if series.per_ten is None or series.level_at_change is None or not series.points:
        return None
    first, last = series.points[0].since_change, series.points[-1].since_change
    level, slope = series.level_at_change, series.per_ten / 10

    def at(place: int) -> tuple[float, float]:
        return place, (level + slope * place) * scale

    return at(first), at(last)

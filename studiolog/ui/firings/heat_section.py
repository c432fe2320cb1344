"""What a curve's heat-work amounts to, how sure that is, and when the work was done."""

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from studiolog.craft.firing.cones import ordinal_of, show_cone
from studiolog.craft.firing.heatwork import (
    ConeEstimate,
    Passing,
    say_flags,
    say_humbly,
    say_shares,
)
from studiolog.craft.units import show_degrees, show_rate, show_temperature
from studiolog.journal.curve_facts import CurveFacts
from studiolog.journal.firing_page import FiringPage, LevelPage
from studiolog.ui.firings.written import write_elapsed
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Text
from studiolog.ui.plots.plot_ticks import Unit, write_clock

_LAST = 4
"""So many cones are told of at once; the others when they are asked for."""


class HeatworkSection(Section):
    """The heat-work with its interval, what it rests on, when it was done, what to beware of."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Heat-work", link="All cones", parent=parent)
        self.said = Text("", wrap=True)
        self.warnings = Text("", tone="ochre", wrap=True)
        self.worked = Text("", wrap=True)
        self.passed = Text("", "secondary", tone="ink2", wrap=True)
        self.levels = Text("", "secondary", tone="ink2", wrap=True)
        self._all = False
        self._page: FiringPage | None = None
        self._unit: Unit = "C"
        for words in self._words():
            self.add(words)
        self.link_opened.connect(self.toggle_all)

    def _words(self) -> tuple[Text, ...]:
        return (self.said, self.warnings, self.worked, self.passed, self.levels)

    def show_page(self, page: FiringPage, unit: Unit) -> None:
        """Say the estimate, its basis and its flags, and when the work was done."""
        if self._page is None or self._page.firing_id != page.firing_id:
            self._all = False
        self._page, self._unit = page, unit
        facts = page.facts
        estimate = facts.estimate if facts else None
        if facts is None or estimate is None:
            self.set_quiet("")
            self.set_link("")
            self.said.setText(_say_nothing(page, facts))
            for words in self._words()[1:]:
                words.hide()
            return
        self.set_quiet("told from the curve", "ink3")
        self.said.setText(f"At the sensor: {_say_estimate(estimate, unit)}.")
        warnings = list(say_flags(estimate.flags, estimate.limits, unit).values())
        if facts.ends_at_peak:
            warnings.append("The log ends at its peak: the heat after it is not counted.")
        warnings += filter(None, (level.history.say_alarm(unit) for level in page.levels))
        _put(self.warnings, "\n".join(warnings))
        _put(self.worked, _say_work(facts, estimate, unit))
        self._show_passings()
        _put(
            self.levels,
            "\n".join(line for level in page.levels if (line := _history_line(level, unit))),
        )

    def toggle_all(self) -> None:
        """Tell of all cones that went down, or of the last few again."""
        self._all = not self._all
        self._show_passings()

    def _show_passings(self) -> None:
        page = self._page
        facts = page.facts if page is not None else None
        passings = facts.passings if facts is not None else ()
        shown = passings if self._all else _last(passings)
        more = len(passings) > len(_last(passings))
        self.set_link(("Last cones" if self._all else "All cones") if more else "")
        if page is None or not shown:
            _put(self.passed, "")
            return
        lines = ["By this reckoning went down:"]
        for passing in reversed(shown):
            clock = write_clock(page.started_at, passing.elapsed_s)
            heat = show_temperature(passing.temperature_c, self._unit)
            after = write_elapsed(passing.elapsed_s)
            cooled = ", cooling" if _is_after_peak(passing, facts) else ""
            name = show_cone(passing.cone)
            lines.append(f"cone {name} at {clock}, after {after}, at {heat}{cooled}")
        _put(self.passed, "\n".join(lines))


def _put(text: Text, words: str) -> None:
    text.setText(words)
    text.setVisible(bool(words))


def _last(passings: Sequence[Passing]) -> tuple[Passing, ...]:
    """The hottest cones, whole ones; a half only beside the cone it follows."""
    whole = [p for p in passings if ordinal_of(p.cone) % 1.0 == 0.0]
    return tuple(whole[-_LAST:])


def _is_after_peak(passing: Passing, facts: CurveFacts | None) -> bool:
    shares = facts.shares if facts is not None else None
    return shares is not None and passing.elapsed_s > shares.peak_end_s


def _say_nothing(page: FiringPage, facts: CurveFacts | None) -> str:
    if page.curve_problem:
        return page.curve_problem
    if facts is not None:
        return (
            "One reading makes no heat-work: type or log a second one. "
            "The peak and the notes stand without it."
        )
    return "No log yet: the heat-work is told from the curve."


def _say_estimate(estimate: ConeEstimate, unit: Unit) -> str:
    basis = estimate.say_basis(unit)
    for outside in ("below", "above"):
        if f"{outside}_chart" in estimate.flags:
            return f"{outside} cone {estimate.label.split()[-1]} ({basis})"
    interval = ""
    if estimate.interval_label != estimate.label:
        interval = f", from {estimate.interval_label}"
    return f"cone {estimate.label}{interval} ({basis})"


def _say_work(facts: CurveFacts, estimate: ConeEstimate, unit: Unit) -> str:
    """The equivalent ramp, when the work was done, and what to think of a hold's part."""
    if "below_chart" in estimate.flags:
        return ""
    rate = show_rate(estimate.equivalent_rate_c_per_h, unit)
    peak = show_temperature(estimate.peak_c, unit)
    told = [f"The same work as a steady {rate} that ends at {peak}."]
    if "gap" in estimate.flags:
        told[0] = f"About the work of a steady {rate} that ends at {peak}; the gap hides the rest."
    elif facts.shares is not None:
        told.append(say_shares(facts.shares))
    if humble := say_humbly(facts.hold_min, estimate.limits):
        told.append(humble)
    return " ".join(told)


def _history_line(level: LevelPage, unit: Unit) -> str:
    name, past = level.name.capitalize(), level.history
    parts = []
    if level.offset_c is not None:
        way = "more" if level.offset_c >= 0 else "less"
        parts.append(f"its cones say {show_degrees(level.offset_c, unit)} {way} than the sensor")
    if past.readings:
        way = "over" if past.offset_c >= 0 else "under"
        trust = "" if past.calibrated else ", too few to calibrate it"
        before = "firing" if past.readings == 1 else "firings"
        spread = f" (±{show_degrees(past.scatter_c, unit)})" if past.scatter_c is not None else ""
        it = "it" if parts else "the sensor"
        parts.append(
            f"{show_degrees(past.offset_c, unit)} {way} {it}{spread} in {past.readings} {before} "
            f"before{trust}"
        )
    return f"{name}: {'; '.join(parts)}." if parts else ""

"""How the firings' figures are written: in the potter's unit, times and dates in full."""

from datetime import datetime

from studiolog.craft.units import show_temperature
from studiolog.ui.plots.plot_ticks import Unit, write_elapsed

__all__ = ["write_elapsed", "write_heat", "write_span", "write_stamp"]


def write_stamp(at: datetime, beside: datetime | None = None) -> str:
    """ "2 Oct 2026 07:10"; without the year beside a stamp of the same year."""
    day = f"{at.day} {at:%b}"
    if beside is None or beside.year != at.year:
        day += f" {at.year}"
    return f"{day} {at:%H:%M}"


def write_span(start: datetime, end: datetime | None) -> str:
    """ "2 Oct 2026 07:10 to 3 Oct 06:41", or to the time alone on the same day."""
    if end is None:
        return write_stamp(start)
    if end.date() == start.date():
        return f"{write_stamp(start)} to {end:%H:%M}"
    return f"{write_stamp(start)} to {write_stamp(end, start)}"


def write_heat(temperature_c: float | None, unit: Unit) -> str:
    """A temperature, or a dash where there is none."""
    return "–" if temperature_c is None else show_temperature(temperature_c, unit)

"""What is said about compared firings, and the lines their plot draws."""

from collections.abc import Mapping, Sequence
from statistics import median

import numpy as np

from studiolog.craft.firing.differences import tell_difference
from studiolog.craft.limits import Limits
from studiolog.journal.compare import ComparedFiring
from studiolog.ui.firings.compare_reading import Told
from studiolog.ui.firings.written import write_stamp
from studiolog.ui.plots.compare_lines import ComparedLine, ComparedLines
from studiolog.ui.plots.plot_ticks import Unit

_NONE = np.empty(0)
ALONE = "One curve alone: take another in to see how they differ"
NO_CHOSEN = "Choose one of the two to see how it differs from the other"


def lines_of(told: Told, firings: Mapping[int, ComparedFiring], moment: str) -> ComparedLines:
    """The lines of a plot, from what was told."""
    laid = told.laid
    usual, low, high, words, drawn = _NONE, _NONE, _NONE, "", True
    if told.against is not None:
        usual = laid.temperature_c[laid.keys.index(told.against)].astype(np.float64)
        words, drawn = f"firing {firings[told.against].number}", False
    elif told.middle is not None:
        usual, words = told.middle.median_c, f"the median of {len(told.group)}"
        if told.middle.share:
            low, high = told.middle.low_c, told.middle.high_c
    return ComparedLines(
        clock_s=laid.clock_s,
        lines=tuple(_line(firings[key]) for key in laid.keys),
        temperature_c=laid.temperature_c,
        chosen=told.chosen,
        usual_c=usual,
        usual_drawn=drawn,
        usual_words=words or "median",
        low_c=low,
        high_c=high,
        band_words=told.middle.words if told.middle is not None else "",
        moment=moment,
        remark=ALONE if len(laid.keys) == 1 else NO_CHOSEN,
    )


def _line(firing: ComparedFiring) -> ComparedLine:
    day = write_stamp(firing.started_at).rsplit(" ", 1)[0]
    return ComparedLine(firing.firing_id, firing.number, day)


def say_told(told: Told | None, firings: Mapping[int, ComparedFiring], unit: Unit) -> str:
    """Where the chosen firing differs most, as a sentence; empty with nothing to tell it from."""
    if told is None or told.chosen is None or told.usual is None:
        return ""
    number = firings[told.chosen].number
    if told.against is not None:
        against = f"firing {firings[told.against].number}"
    else:
        against = f"the median of {len(told.group)}"
    return tell_difference(number, told.differences, against, unit, of_several=told.against is None)


def say_also(told: Told | None, unit: Unit) -> str:
    """The next two differences, as a sentence; empty where there are none."""
    more = told.differences[1:3] if told is not None else ()
    words = ", and ".join(one.say(unit) for one in more)
    return f"It also {words}." if words else ""


def say_group(told: Told | None, firings: Mapping[int, ComparedFiring], limits: Limits) -> str:
    """Whose the median and the band are, or why there is none."""
    if told is None or not told.laid.keys:
        return ""
    fewest = int(limits["compare_band"])
    shown, group = len(told.laid.keys), len(told.group)
    if shown == 1:
        return f"One curve makes neither a median nor a band; a band needs {fewest}."
    if told.against is not None:
        return f"Two curves make no band, it needs {fewest}: one is told from the other."
    if told.middle is None:
        return ""
    words = f"Median of {group} firings"
    if told.chosen in told.group and group < shown:
        words += f" of {firings[told.chosen].program}, the program of firing "
        words += str(firings[told.chosen].number)
    if not told.middle.share:
        return f"{words}. A band needs {fewest}."
    if told.middle.share == 1.0:
        return f"{words}. The hatched band is their whole range."
    return f"{words}. The hatched band holds the {told.middle.words} of them."


def usual_cone(cones: Sequence[float | None]) -> float | None:
    """The median of the cones that are known."""
    known = [one for one in cones if one is not None]
    return median(known) if known else None

"""The log of a firing as it came, beside what is left of it after cleaning."""

from dataclasses import dataclass

import numpy as np

from studiolog.ui.plots.curve_sums import Numbers, as_numbers, cut_at_gaps, join_with_breaks
from studiolog.ui.plots.plotted_firing import PlotFiring


@dataclass(frozen=True, eq=False)
class RawArrays:
    """All readings in order of time, and those set aside alone (NaN where there was no value).

    ``place`` is, for each reading of the whole, its place among those set aside, −1 if it was kept.
    ``joined`` is broken where a reading is missing and at gaps, so that no line joins what is not.
    """

    at_s: Numbers
    value: Numbers
    place: np.ndarray[tuple[int], np.dtype[np.intp]]
    joined_s: Numbers
    joined: Numbers
    aside_s: Numbers
    aside: Numbers
    why: tuple[str, ...]

    def why_of(self, index: int) -> str:
        """Why a reading of the whole was set aside; empty if it was kept."""
        place = int(self.place[index])
        return self.why[place] if place >= 0 else ""

    def beside(self, kept_s: Numbers, index: int) -> tuple[tuple[float | None, str], ...]:
        """What was set aside nearer to one kept reading than to those before and after it."""
        if not len(self.aside_s) or index >= len(kept_s):
            return ()
        here = float(kept_s[index])
        before = float(kept_s[index - 1]) if index else -np.inf
        after = float(kept_s[index + 1]) if index + 1 < len(kept_s) else np.inf
        first = int(np.searchsorted(self.aside_s, (before + here) / 2, side="right"))
        last = int(np.searchsorted(self.aside_s, (here + after) / 2, side="right"))
        return tuple(
            (None if np.isnan(self.aside[at]) else float(self.aside[at]), self.why[at])
            for at in range(first, last)
        )


def arrange_raw(log_s: Numbers, log_c: Numbers, firing: PlotFiring) -> RawArrays:
    """The log as it came, of the readings kept and of those set aside."""
    left_out = firing.left_out
    aside_s = as_numbers(left_out.at_s) if left_out is not None else np.empty(0)
    aside = as_numbers(left_out.temperature_c) if left_out is not None else np.empty(0)
    why = tuple(left_out.why) if left_out is not None else ()
    told = np.flatnonzero(np.isfinite(aside_s))
    told = told[np.argsort(aside_s[told], kind="stable")]
    aside_s, aside = aside_s[told], aside[told]
    why = tuple(why[at] for at in told.tolist())
    if not len(aside_s):
        none = np.full(len(log_s), -1, dtype=np.intp)
        joined_s, joined = join_with_breaks(cut_at_gaps(log_s, log_c, firing.gaps))
        return RawArrays(log_s, log_c, none, joined_s, joined, aside_s, aside, why)
    at_s = np.concatenate([log_s, aside_s])
    order = np.argsort(at_s, kind="stable")
    at_s = at_s[order]
    value = np.concatenate([log_c, aside])[order]
    place = np.concatenate([np.full(len(log_s), -1), np.arange(len(aside_s))])[order]
    # A silence that holds readings set aside was none of the logger's.
    silent = [
        (start, end)
        for start, end in firing.gaps
        if not np.any((aside_s > start) & (aside_s < end))
    ]
    joined_s, joined = join_with_breaks(cut_at_gaps(at_s, value, silent))
    return RawArrays(at_s, value, place.astype(np.intp), joined_s, joined, aside_s, aside, why)

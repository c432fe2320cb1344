"""Reads again, from the original file, what was set aside of a log kept before it was stored."""

from __future__ import annotations

import logging
from dataclasses import replace
from functools import partial

from PySide6.QtCore import QObject, Signal

from studiolog.desktop.desk import Desk
from studiolog.journal.firing_page import FiringPage, LoggedCurve
from studiolog.journal.raw_log import find_left_out, read_stored_log
from studiolog.problems import UserProblem
from studiolog.transfer.left_out import LeftOut

_JOB = "readings left out"
_log = logging.getLogger(__name__)


class LeftOutReader(QObject):
    """Looks once for each log; a file that is read otherwise by now is left as it is."""

    found = Signal(int)
    """The id of the firing whose readings left out were found."""

    def __init__(self, desk: Desk, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._known: dict[tuple[int, str, int], LeftOut | None] = {}

    def fill(self, page: FiringPage) -> FiringPage:
        """The page with what was found before."""
        curve = page.main_curve
        if curve is None or not curve.left_out_in_file:
            return page
        known = self._known.get(_key(page, curve))
        if known is None:
            return page
        curves = tuple(
            replace(other, left_out=known) if other is curve else other for other in page.curves
        )
        return replace(page, curves=curves)

    def look(self, page: FiringPage) -> None:
        """Look in the original file for what only it has; `found` tells if it was there."""
        curve = page.main_curve
        if curve is None or not curve.left_out_in_file or _key(page, curve) in self._known:
            return
        try:
            stored = self._desk.read(partial(read_stored_log, firing_id=page.firing_id))
        except UserProblem as problem:
            _log.info("the original log was not read: %s", problem.sentence)
            return
        key = _key(page, curve)
        self._known[key] = None
        if stored is None:
            return

        def done(left_out: LeftOut | None) -> None:
            self._known[key] = left_out
            if left_out is not None:
                self.found.emit(page.firing_id)

        self._desk.jobs.start(
            _JOB,
            lambda _progress: find_left_out(stored, curve.elapsed_s, curve.temperature_c),
            done,
            lambda problem: _log.warning("the original log was not read again", exc_info=problem),
        )


def _key(page: FiringPage, curve: LoggedCurve) -> tuple[int, str, int]:
    return page.firing_id, curve.log_name, len(curve.elapsed_s)

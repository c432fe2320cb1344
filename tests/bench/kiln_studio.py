"""A journal of firings alone: one kiln of three levels, three programs, a curve and cones each.

The kiln ages: from firing to firing it takes longer from 1000 to 1150 °C, as elements do.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np

from studiolog.transfer.curve_blob import pack_readings
from tests.bench.synthetic_studio import LEVELS, READINGS, StudioWriter, at

KILN = 1
PROGRAMS = 3
STEP_S = 90.0
SHOWN_EVERY = 3
"""Every third firing has a cone pack at each level."""


class KilnWriter(StudioWriter):
    """``pieces`` is the number of firings; there is no ware."""

    def write(self) -> None:
        self.firings = self.pieces
        self.put("kiln", ("id", "name", "power_kw"), [(KILN, "Big kiln", 9.0)])
        levels = [(n, KILN, n, f"level {n}") for n in range(1, LEVELS + 1)]
        self.put("kiln_level", ("id", "kiln_id", "position", "name"), levels)
        programs = [(n, f"Program {n}", "glaze", "6") for n in range(1, PROGRAMS + 1)]
        self.put("program", ("id", "name", "kind", "cone"), programs)
        numbers = range(1, self.firings + 1)
        self.put(
            "firing",
            ("id", "number", "kiln_id", "started_at", "cone", "kind", "program_id", "kwh"),
            ((n, n, KILN, at(n), "6", "glaze", 1 + n % PROGRAMS, 70 + n % 7) for n in numbers),
        )
        self.put(
            "curve",
            (
                *("id", "firing_id", "channel", "packed", "readings", "duration_s"),
                *("peak_c", "cone", "cone_low", "cone_high"),
            ),
            self._logs(),
        )
        self._cones()

    def _logs(self) -> Iterator[tuple[Any, ...]]:
        noise = np.random.default_rng(self.chance.randrange(2**32))
        at_s = STEP_S * np.arange(READINGS)
        for n in range(1, self.firings + 1):
            peak_c = 1216 + 4 * noise.standard_normal()
            slow = 1 + 0.3 * (n % 400) / 400 + 0.03 * noise.standard_normal()
            hours = np.cumsum([0, 1, 4.9, 1.5 * slow, 1.2, 0.3, 2, 8])
            heats = [20, 120, 1000, 1150, peak_c, peak_c, 1000, 120]
            curve_c = np.interp(at_s, hours * 3600, heats)
            curve_c = np.round(curve_c + noise.normal(0, 0.5, READINGS), 1)
            cone = 6 + (peak_c - 1216) / 20
            packed = pack_readings(at_s, curve_c)
            peak = float(curve_c.max())
            yield n, n, "kiln", packed, READINGS, at_s[-1], peak, cone, cone - 0.5, cone + 0.5

    def _cones(self) -> None:
        packs = [
            (LEVELS * n + level, n, level)
            for n in range(SHOWN_EVERY, self.firings + 1, SHOWN_EVERY)
            for level in range(1, LEVELS + 1)
        ]
        self.put("cone_pack", ("id", "firing_id", "level_id"), packs)
        self.put(
            "cone_reading",
            ("pack_id", "cone", "bend_low_deg", "bend_high_deg", "said"),
            (row for pack, _n, level in packs for row in self._bends(pack, level)),
        )

    def _bends(self, pack: int, level: int) -> Iterator[tuple[Any, ...]]:
        """The guide cone down, the firing cone leaning, the guard standing."""
        lean = 62 - 14 * level + self.chance.randint(-6, 6)
        for cone, bend in (("5", 100), ("6", lean), ("7", 2)):
            yield pack, cone, max(0, bend - 4), bend + 4, ""

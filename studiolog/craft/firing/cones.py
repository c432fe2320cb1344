"""Pyrometric cones: their names, their order, and the published end points.

A cone is named by a string, "04", "05.5", "6". Its *ordinal* is a number on a scale that rises
with heat: 02 is −1, 01 is 0, 1 is 1, 6 is 6. There is no cone 0.

End points: Orton Ceramic Foundation, *Temperature equivalents for pyrometric cones* (°C chart,
022–14, 2016 edition), with the standing of each cell in the table. The heating rate is that of
the last 100 °C.
"""

import csv
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from studiolog.craft.firing import softening
from studiolog.problems import UserProblem
from studiolog.shipped import resource

MINUS: Final = "\N{MINUS SIGN}"

# What a kind is called here, and what its rows are called in the table.
KINDS: Final[Mapping[str, str]] = {
    "self-supporting": "self_supporting_regular",
    "large": "large_regular",
    "small": "small_regular",
    "self-supporting iron-free": "self_supporting_iron_free",
    "large iron-free": "large_iron_free",
}
_OLD_LARGE_CHART: Final = "large_SUPERSEDED_pre1996_chart"

FROM_MEMORY: Final = "from memory"

LOWEST: Final = -21.0  # cone 022
HIGHEST: Final = 14.0

_NAME = re.compile(r"(?P<zero>0?)(?P<whole>[1-9]\d?)(?P<part>\.\d+)?")
_TENTHS = re.compile(r"(?P<name>\S+)\s*(?P<sign>[+-])\s*(?P<amount>\d+(?:\.\d+)?)")
_WHOLE_NAMES: Final = (*(f"0{n}" for n in range(22, 0, -1)), *(str(n) for n in range(1, 15)))


@dataclass(frozen=True, slots=True)
class TableRow:
    """One cell of the chart, as it stands in the table."""

    cone: str
    ordinal: float
    kind: str
    rate_c_per_h: float
    temperature_c: float
    standing: str

    @property
    def from_memory(self) -> bool:
        """True if the figure may only be shown with the mark "from memory"."""
        return self.standing == FROM_MEMORY


@dataclass(frozen=True, slots=True)
class EndPoint:
    """An end point with what it rests on.

    ``basis`` is "chart" (a cell of it), "between" (interpolated) or "outside" (continued beyond
    the chart's rates).
    """

    temperature_c: float
    standing: str
    basis: str

    @property
    def from_memory(self) -> bool:
        """True if the figure may only be shown with the mark "from memory"."""
        return self.standing == FROM_MEMORY


# Names and numbers ---------------------------------------------------------------------------


def ordinal_of(cone: str) -> float:
    """The ordinal of a cone: "04" -> −3, "05½" -> −4.5, "6" -> 6, "6 −0.3" -> 5.7.

    Raises UserProblem for a name that no cone has.
    """
    text = _plain(cone)
    with_tenths = _TENTHS.fullmatch(text)
    if with_tenths is not None:
        amount = float(with_tenths["amount"])
        base = _ordinal_of_name(with_tenths["name"], cone)
        number = base + (amount if with_tenths["sign"] == "+" else -amount)
        if amount > 1.0 or not LOWEST <= number <= HIGHEST:
            raise _unknown(cone)
        return round(number, 6)
    return _ordinal_of_name(text, cone)


def parse_cone(text: str) -> str:
    """The name of a cone as the program keeps it: "05½" -> "05.5", "Cone 6" -> "6".

    Raises UserProblem for a name that no cone has.
    """
    number = ordinal_of(text)
    named = cone_at(number)
    return named if ordinal_of(named) == number else label_of(number)


def name_cone(text: str) -> str:
    """The name of a cone that can be set in a pack: whole or half, and nothing between.

    Raises UserProblem for a name that no cone has, and for a heat between two cones.
    """
    named = parse_cone(text)
    nearest = cone_at(ordinal_of(text))
    if named != nearest:
        raise UserProblem(
            f"No cone is made for “{text.strip()}”: set {show_cone(nearest)}, or another whole or "
            "half cone."
        )
    return named


def cone_at(number: float) -> str:
    """The name of the whole or half cone nearest to an ordinal: −3 -> "04", 5.4 -> "5.5"."""
    halves = math.floor(_within(number) * 2.0 + 0.5) / 2.0
    if halves == 0.5:  # nothing has a name between 01 and 1
        halves = 1.0 if number >= 0.5 else 0.0
    distance = halves if halves >= 1.0 else 1.0 - halves
    text = f"{distance:g}"
    return text if halves >= 1.0 else f"0{text}"


def label_of(number: float) -> str:
    """An ordinal for a reader, in tenths against the nearest whole cone: "6 −0.3", "04 +0.2".

    "04.3" would read two ways, and two decimals would claim what nobody can know.
    """
    number = _within(number)
    nearest = math.floor(number + 0.5)
    name = str(nearest) if nearest >= 1 else f"0{1 - nearest}"
    rest = math.floor((number - nearest) * 10.0 + 0.5)
    if rest == 0:
        return name
    return f"{name} {'+' if rest > 0 else MINUS}0.{abs(rest)}"


def band_of(cone10: int) -> int:
    """The half-cone band that tenths of a cone fall in, counted from cone 01: 60 is in band 12.

    A band holds its cooler edge and not its hotter one, so "below cone 6" is a whole number of
    bands.
    """
    return cone10 // 5


def band_edges(band: int) -> tuple[float, float]:
    """The ordinals a half-cone band lies between: band 11 is (5.5, 6.0)."""
    return band / 2.0, (band + 1) / 2.0


def say_band(band: int) -> str:
    """A half-cone band for a reader: "cone 5½ to 6"."""
    low, high = (
        label_of(edge) if edge == 0.5 else show_cone(cone_at(edge)) for edge in band_edges(band)
    )
    return f"cone {low} to {high}"


def label_between(low: float, high: float) -> str:
    """An interval of ordinals for a reader: "6 to 7 +0.3"; one label if both read alike."""
    first, last = label_of(low), label_of(high)
    return first if first == last else f"{first} to {last}"


def label_reached(number: float) -> str:
    """What a heat came to: as `label_of`, and "below 022" for one that came to no cone at all."""
    return f"below {_WHOLE_NAMES[0]}" if number < LOWEST else label_of(number)


def label_reached_between(low: float, high: float) -> str:
    """The interval of what a heat came to, as `label_between`: "below 022 to 021"."""
    first, last = label_reached(low), label_reached(high)
    return first if first == last else f"{first} to {last}"


def show_cone(cone: str) -> str:
    """A cone's name as it is printed on charts and boxes: "05.5" -> "05½"."""
    return parse_cone(cone).replace(".5", "½")


def whole_cones() -> tuple[str, ...]:
    """The names of the whole cones from the coolest, "022", to the hottest, "14"."""
    return _WHOLE_NAMES


# The table -----------------------------------------------------------------------------------


@lru_cache(maxsize=1)
def table_rows() -> tuple[TableRow, ...]:
    """Every cell of today's charts with its standing; the superseded chart is left out."""
    return tuple(row for row in _all_rows() if row.kind != _OLD_LARGE_CHART)


def charted_cones(kind: str = "self-supporting", *, from_memory: bool = True) -> tuple[str, ...]:
    """The cones that a kind's chart has, coolest first."""
    return tuple(cone_at(number) for number in _chart(_kind(kind), from_memory))


def recognise_old_chart(cone: str, temperature_c: float) -> bool:
    """True if a figure is that of the chart for large cones at 150 °C/h replaced in 1996.

    Cone 6 stood there at 1222 °C; today 1222 °C is cone 6 at 60 °C/h. Only to warn a potter who
    copies from an old sheet: no end point is ever taken from it.
    """
    number = ordinal_of(cone)
    return any(
        row.ordinal == number and abs(row.temperature_c - temperature_c) < 0.5
        for row in _all_rows()
        if row.kind == _OLD_LARGE_CHART
    )


def end_point(
    cone: str,
    rate_c_per_h: float,
    kind: str = "self-supporting",
    *,
    from_memory: bool = False,
) -> float:
    """The temperature in °C at which a cone's tip is level with its base.

    ``rate_c_per_h`` is the heating rate over the last 100 °C. Linear in the logarithm of the rate
    between the chart's rates, continued outside them with RT²/E; half cones that the chart has
    are read from it, other fractions lie between their neighbours. Cells that are only known
    from memory are refused unless asked for: see :func:`read_end_point`, which carries the mark.

    Raises UserProblem for an unknown cone or kind, or a rate that is not above zero.
    """
    found = read_end_point(cone, rate_c_per_h, kind, from_memory=from_memory)
    return found.temperature_c


def read_end_point(
    cone: str,
    rate_c_per_h: float,
    kind: str = "self-supporting",
    *,
    from_memory: bool = True,
) -> EndPoint:
    """Like :func:`end_point`, with the standing of the figures it rests on.

    Raises `UserProblem` as it does.
    """
    row_kind = _kind(kind)
    if not (math.isfinite(rate_c_per_h) and rate_c_per_h > 0.0):
        raise UserProblem(
            f"A cone's end point needs a heating rate above zero; {rate_c_per_h:g} °C/h is none."
        )
    number = ordinal_of(cone)
    chart = _chart(row_kind, from_memory)
    if number in chart:
        return _at_rate(row_kind, number, chart[number], rate_c_per_h)
    cooler = [other for other in chart if other < number]
    hotter = [other for other in chart if other > number]
    # A neighbour two numbers off is no neighbour: the chart has a hole there.
    if not cooler or not hotter or hotter[0] - cooler[-1] > 1.0:
        raise _not_charted(cone, number, kind, row_kind, from_memory)
    below, above = cooler[-1], hotter[0]
    low = _at_rate(row_kind, below, chart[below], rate_c_per_h)
    high = _at_rate(row_kind, above, chart[above], rate_c_per_h)
    share = (number - below) / (above - below)
    return EndPoint(
        low.temperature_c + share * (high.temperature_c - low.temperature_c),
        FROM_MEMORY if low.from_memory or high.from_memory else low.standing,
        "outside" if "outside" in (low.basis, high.basis) else "between",
    )


def temperature_of(number: float, rate_c_per_h: float = 60.0) -> float:
    """The end point in °C of any place on the continuous scale, self-supporting cones.

    The scale runs straight between whole cones (a held-out check: the chart's own 5½ lies at
    5.47 on it), and on at the last slope beyond 022 and 14.
    """
    below = min(max(math.floor(number), int(LOWEST)), int(HIGHEST) - 1)
    ends = _whole_ends(rate_c_per_h)
    low, high = ends[below - int(LOWEST)], ends[below + 1 - int(LOWEST)]
    return low + (number - below) * (high - low)


def number_of(temperature_c: float, rate_c_per_h: float = 60.0) -> float:
    """The place on the continuous scale of an end point in °C: undoes :func:`temperature_of`."""
    ends = _whole_ends(rate_c_per_h)
    at = sum(1 for end in ends[1:-1] if end <= temperature_c)
    return LOWEST + at + (temperature_c - ends[at]) / (ends[at + 1] - ends[at])


@lru_cache(maxsize=128)
def activation_k(cone: str, kind: str = "self-supporting") -> float:
    """E/R in kelvin of a cone, from its published end points; see :mod:`.softening`.

    Raises `UserProblem` for a cone or kind the chart does not have.
    """
    row_kind = _kind(kind)
    number = ordinal_of(cone)
    points = _chart(row_kind, True).get(number)
    if points is None:
        raise _not_charted(cone, number, kind, row_kind, True)
    return _activation(row_kind, number)


# Inside --------------------------------------------------------------------------------------


@lru_cache(maxsize=1024)  # the same few names are read again and again
def _plain(text: str) -> str:
    plain = text.strip().lower().replace(MINUS, "-").replace("½", ".5")
    plain = re.sub(r"[\s\N{NO-BREAK SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}]+", " ", plain)
    plain = re.sub(r"^(cone|kegel)\s*|^c(?=\d)|^△\s*|^∆\s*", "", plain)
    plain = re.sub(r"\s*1/2$", ".5", plain)
    return plain.replace(",", ".").replace(" .5", ".5")


def _ordinal_of_name(text: str, said: str) -> float:
    match = _NAME.fullmatch(text)
    if match is None:
        raise _unknown(said)
    number = float(match["whole"] + (match["part"] or ""))
    if match["zero"]:
        if number % 0.5:
            raise UserProblem(
                f"Cone {said.strip()} reads two ways; write it against a whole cone, "
                f"for example 04 +0.3 (hotter) or 04 {MINUS}0.3 (cooler)."
            )
        number = 1.0 - number
    if not LOWEST <= number <= HIGHEST:
        raise _unknown(said)
    return number


def _unknown(said: str) -> UserProblem:
    return UserProblem(
        f"There is no cone “{said.strip()}”: cones run from 022 to 01 and from 1 to 14, with "
        "halves such as 05½ and 5½; choose one of these."
    )


def _not_charted(
    cone: str, number: float, kind: str, row_kind: str, from_memory: bool
) -> UserProblem:
    if not from_memory and number in _chart(row_kind, True):
        return UserProblem(
            f"The end point of cone {cone} ({kind}) is known from memory only; "
            "look it up in the maker's chart, or ask for it with that mark."
        )
    names = [show_cone(cone_at(n)) for n in _chart(row_kind, from_memory)]
    return UserProblem(f"The chart of {kind} cones has no cone {cone}; it has {', '.join(names)}.")


def _within(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError("A cone's ordinal must be a finite number.")
    return min(max(number, LOWEST), HIGHEST)


def _kind(kind: str) -> str:
    plain = re.sub(r"[\s_-]+", " ", kind.strip().lower()).removesuffix(" regular")
    if plain in ("iron free", "self supporting iron free"):
        return KINDS["self-supporting iron-free"]
    for name, row_kind in KINDS.items():
        if plain == re.sub(r"[\s_-]+", " ", name):
            return row_kind
    raise UserProblem(f"“{kind}” is no kind of cone; choose one of: {', '.join(KINDS)}.")


@lru_cache(maxsize=1)
def _all_rows() -> tuple[TableRow, ...]:
    with resource("tables", "cone_end_points.csv").open(encoding="utf-8", newline="") as file:
        kinds = {row_kind: name for name, row_kind in KINDS.items()}
        # 03½ stands on the old chart only: every name is read, whatever kind it belongs to.
        return tuple(
            TableRow(
                row["cone"],
                ordinal_of(row["cone"]),
                kinds.get(row["type"], row["type"]),
                float(row["celsius_per_hour"]),
                float(row["celsius"]),
                row["standing"],
            )
            for row in csv.DictReader(file)
        )


@lru_cache(maxsize=64)
def _whole_ends(rate_c_per_h: float) -> tuple[float, ...]:
    return tuple(end_point(cone, rate_c_per_h) for cone in _WHOLE_NAMES)


@lru_cache(maxsize=16)
def _chart(row_kind: str, from_memory: bool) -> dict[float, dict[float, TableRow]]:
    """{ordinal: {rate: row}}, coolest first, of one kind of today's cones."""
    chart: dict[float, dict[float, TableRow]] = {}
    for row in sorted(table_rows(), key=lambda row: (row.ordinal, row.rate_c_per_h)):
        if KINDS[row.kind] == row_kind and (from_memory or not row.from_memory):
            chart.setdefault(row.ordinal, {})[row.rate_c_per_h] = row
    return chart


@lru_cache(maxsize=256)
def _activation(row_kind: str, number: float) -> float:
    points = _chart(row_kind, True)[number]
    ends = {rate: row.temperature_c for rate, row in points.items()}
    regular = KINDS["self-supporting"]
    if row_kind == regular and len(ends) < 3:
        # 022 to 020 have two rates only, too few to tell a width by: they are given that of 019.
        first = _chart(regular, True)[-18.0]
        middle = sum(row.temperature_c for row in first.values()) / len(first)
        width = softening.softening_width_c(_activation(regular, -18.0), middle)
        return softening.activation_for_width(width, sum(ends.values()) / len(ends))
    if len(ends) < 2:
        # Small cones are charted at one rate; the clay mix is that of the others.
        return _activation(regular, number)
    return softening.fit_activation(ends)


def _at_rate(
    row_kind: str, number: float, points: Mapping[float, TableRow], rate: float
) -> EndPoint:
    rates = sorted(points)
    standing = next(
        (row.standing for row in points.values() if row.from_memory), points[rates[0]].standing
    )
    if rate in points:
        return EndPoint(points[rate].temperature_c, points[rate].standing, "chart")
    if rate < rates[0] or rate > rates[-1]:
        edge = points[rates[0] if rate < rates[0] else rates[-1]]
        width = softening.softening_width_c(_activation(row_kind, number), edge.temperature_c)
        end = edge.temperature_c + width * math.log(rate / edge.rate_c_per_h)
        return EndPoint(end, edge.standing, "outside")
    slower = max(other for other in rates if other < rate)
    faster = min(other for other in rates if other > rate)
    low, high = points[slower].temperature_c, points[faster].temperature_c
    share = math.log(rate / slower) / math.log(faster / slower)
    return EndPoint(low + share * (high - low), standing, "between")

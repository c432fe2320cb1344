"""What a recipe calls for: in the dust, in the bucket, in the kiln, and on food surfaces.

From the names of its materials and from what they hold (``cautions``), and from the composition of
the fired glaze. Chemistry tells of risk and of what to have tested; it never shows that a glaze may
be eaten from, and a caution that is absent says nothing.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from studiolog.craft.glaze.cautions import Caution, CautionRow, caution_rows, find_cautions
from studiolog.craft.glaze.oxides import pretty
from studiolog.craft.glaze.unity import UnityFormula, unity_formula
from studiolog.craft.limits import SHIPPED, Limits
from studiolog.craft.units import show_number, show_quantity
from studiolog.problems import UserProblem

WHENS: Final[Mapping[str, str]] = {
    "weigh": "Weighing and spraying",
    "water": "In the glaze water",
    "kiln": "In the kiln",
    "food": "On food surfaces",
}
"""When care is called for, in the order it is shown."""

METALS: Final[Mapping[str, str]] = {
    "PbO": "lead",
    "CdO": "cadmium",
    "BaO": "barium",
    "MnO": "manganese",
    "Cr2O3": "chromium",
    "V2O5": "vanadium",
    "NiO": "nickel",
    "CoO": "cobalt",
    "Li2O": "lithium",
    "CuO": "copper",
    "ZnO": "zinc",
    "Sb2O3": "antimony",
}
"""What a laboratory is asked for, by the oxide it comes as."""

_TRACE: Final = 0.01  # per cent of the fired glaze that is worth asking a laboratory for


@dataclass(frozen=True)
class Seen:
    """What the journal has seen of a glaze: pieces looked at for a fault, and with it.

    ``reduction_firings`` are firings in reduction that it was in.
    """

    looked_for_crazing: int = 0
    crazed: int = 0
    looked_for_underfired: int = 0
    underfired: int = 0
    reduction_firings: int = 0


@dataclass(frozen=True)
class Hazard:
    """One thing to take care of. ``subject`` says what brings it, ``basis`` how that is known."""

    when: str
    subject: str
    caution: str
    basis: str

    @property
    def sentence(self) -> str:
        """What brings it and what to do."""
        told = f"{self.subject}: {self.caution}" if self.subject else self.caution
        return f"{told[0].upper()}{told[1:]}."


def find_hazards(
    parts: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    seen: Seen = Seen(),
    limits: Limits = SHIPPED,
) -> tuple[Hazard, ...]:
    """All that a recipe calls for, in the order of `WHENS`.

    ``parts`` by material, what is added on top included. ``analyses``: weight per cent by oxide
    of the materials that are known; the others are judged by their names, and that is said.
    """
    named = [name for name, amount in parts.items() if amount > 0.0]
    found = [_of(one) for one in find_cautions(named, analyses)]
    if named and not any(one.when == "weigh" for one in found):
        found.extend(_of(row.of(())) for row in caution_rows() if row.when == "powder")
    if named:
        found.extend(_food(parts, analyses, seen, limits))
    if seen.reduction_firings:
        (row,) = (one for one in caution_rows() if one.when == "reduction")
        times = "once" if seen.reduction_firings == 1 else f"{seen.reduction_firings} times"
        found.append(Hazard("kiln", f"fired in reduction {times}", row.caution, _basis(row.of(()))))
    order = list(WHENS)
    return tuple(sorted(found, key=lambda one: order.index(one.when)))


def metals_to_test(
    parts: Mapping[str, float], analyses: Mapping[str, Mapping[str, float]]
) -> tuple[str, ...]:
    """Words for the metals a leach test should look for: lead and cadmium always, then the own."""
    fired = _fired(parts, analyses)
    percent = fired.weight_percent if fired is not None else {}
    found = {"PbO", "CdO"} | {oxide for oxide in METALS if percent.get(oxide, 0.0) >= _TRACE}
    for row in caution_rows():
        if row.when == "food" and any(
            amount > 0.0 and _told_by_name(row, name, analyses) for name, amount in parts.items()
        ):
            found.update(row.oxides)
    return tuple(word for oxide, word in METALS.items() if oxide in found)


def _of(caution: Caution) -> Hazard:
    when = "weigh" if caution.when == "powder" else caution.when
    return Hazard(when, ", ".join(caution.materials), caution.caution, _basis(caution))


def _basis(caution: Caution) -> str:
    told = [caution.why, caution.figure, f"Basis: {caution.source}, {caution.confidence}"]
    return ". ".join(one for one in told if one) + "."


def _food(
    parts: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    seen: Seen,
    limits: Limits,
) -> list[Hazard]:
    fired = _fired(parts, analyses)
    found = []
    for row in caution_rows():
        if row.when != "food":
            continue
        there = [
            f"{pretty(oxide)} {show_quantity(percent, '%', 1 if percent >= 0.95 else 2)}"
            for oxide in row.oxides
            if fired is not None
            and (percent := fired.weight_percent.get(oxide, 0.0)) >= max(row.least_percent, 1e-9)
        ]
        named = tuple(
            name
            for name, amount in parts.items()
            if amount > 0.0 and _told_by_name(row, name, analyses)
        )
        if not there and not named:
            continue
        subject = ", ".join((*named, *(f"{told} of the fired glaze" for told in there)))
        if fired is not None and "CuO" in row.oxides:
            subject += _attacked(fired, limits)
        found.append(Hazard("food", subject, row.caution, _basis(row.of(named))))
    found.extend(_seen(seen))
    unknown = [name for name in parts if parts[name] > 0.0 and not analyses.get(name)]
    if unknown:
        them = "it" if len(unknown) == 1 else "them"
        found.append(
            Hazard(
                "food",
                ", ".join(unknown),
                f"no analysis is known, so what may be in {them} is judged by the name alone: ask "
                "the supplier",
                "A trade name can hide what it is.",
            )
        )
    return found


def _told_by_name(row: CautionRow, name: str, analyses: Mapping[str, Mapping[str, float]]) -> bool:
    """Whether a name tells of an oxide that the analysis, if there is one, does not list."""
    analysis = analyses.get(name) or {}
    return row.names(name) and not any(analysis.get(oxide, 0.0) > 0.0 for oxide in row.oxides)


def _attacked(fired: UnityFormula, limits: Limits) -> str:
    """What makes it easier for acid, as ``; matt by its SiO₂:Al₂O₃ of 4.1``."""
    told = []
    ratio = fired.silica_alumina
    if ratio is not None and ratio < limits["matt_ratio"]:
        told.append(f"often matt at a SiO₂:Al₂O₃ of {show_number(ratio, 1)}")
    unity = fired.oxides
    if unity:
        silica, alumina = unity.get("SiO2", 0.0), unity.get("Al2O3", 0.0)
        if silica < limits["low_silica_mol"]:
            told.append(f"low in silica, SiO₂ {show_number(silica, 2)}")
        if alumina < limits["low_alumina_mol"]:
            told.append(f"low in alumina, Al₂O₃ {show_number(alumina, 2)}")
        if unity.get("B2O3", 0.0) >= limits["much_boron_mol"]:
            told.append("with boron")
        if unity.get("PbO", 0.0) > 0.0:
            told.append("with lead")
    return f" ({'; '.join(told)})" if told else ""


def _seen(seen: Seen) -> list[Hazard]:
    faults = (
        ("crazed", "crazed", seen.crazed, seen.looked_for_crazing),
        ("underfired", "dry or underfired", seen.underfired, seen.looked_for_underfired),
    )
    found = []
    for when, word, count, looked in faults:
        if count:
            (row,) = (one for one in caution_rows() if one.when == when)
            pieces = "1 piece was" if count == 1 else f"{count} pieces were"
            subject = f"{pieces} seen {word}, of {looked} looked at for it"
            found.append(Hazard("food", subject, row.caution, _basis(row.of(()))))
    return found


def _fired(
    parts: Mapping[str, float], analyses: Mapping[str, Mapping[str, float]]
) -> UnityFormula | None:
    """The composition from what is known; None where there is nothing to compute with."""
    known = {name: amount for name, amount in parts.items() if analyses.get(name)}
    try:
        return unity_formula(known, analyses)
    except UserProblem:  # nothing known, or nothing left after firing: then names alone speak
        return None

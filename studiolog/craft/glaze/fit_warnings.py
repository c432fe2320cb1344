"""What a change of recipe probably does besides: shine, melt, the raw coat. From memory, and said
so; the figures are limits (group "fit")."""

from collections.abc import Mapping

from studiolog.craft.glaze.expansion import out_of_range
from studiolog.craft.glaze.oxides import FLUXES
from studiolog.craft.glaze.target_problem import is_clay
from studiolog.craft.glaze.unity import UnityFormula
from studiolog.craft.limits import Limits
from studiolog.craft.units import show_number


def is_kaolin(analysis: Mapping[str, float] | None) -> bool:
    """A kaolin, raw or calcined, by its analysis: alumina and silica, next to no flux or iron."""
    if analysis is None:
        return False
    flux = sum(analysis.get(oxide, 0.0) for oxide in FLUXES)
    return (
        analysis.get("Al2O3", 0.0) > 28.0
        and analysis.get("SiO2", 0.0) > 40.0
        and flux < 4.0
        and analysis.get("Fe2O3", 0.0) < 2.0
    )


def warn_of_clay(
    before: Mapping[str, float],
    after: Mapping[str, float],
    analyses: Mapping[str, Mapping[str, float]],
    limits: Limits,
) -> tuple[str, ...]:
    """A sentence where a change of the base brings much raw clay."""

    def clay_in(base: Mapping[str, float]) -> float:
        clay = sum(parts for name, parts in base.items() if is_clay(name, analyses.get(name, {})))
        return 100.0 * clay / sum(base.values())

    most, last = limits["raw_clay_parts"], clay_in(after)
    if not last > most >= clay_in(before):
        return ()
    return (
        f"Of a hundred parts {last:.0f} are raw clay: over about {most:g} a coat may crack as it "
        "dries, and crawl (common practice). Calcine a part of it.",
    )


def warn_of_formula(before: UnityFormula, after: UnityFormula, limits: Limits) -> tuple[str, ...]:
    """What a change of formula probably does besides; from memory, and said so."""
    told: list[str] = []
    memory = " (from memory)"
    first, last = before.silica_alumina, after.silica_alumina
    if first is not None and last is not None:
        ratio = f"SiO₂:Al₂O₃ goes from {show_number(first, 1)} to {show_number(last, 1)}"
        bright, matt, stiff = limits["bright_ratio"], limits["matt_ratio"], limits["stiff_ratio"]
        if last > stiff >= first:
            told.append(f"{ratio}: over about {stiff:g} a glaze is often stiff or rough{memory}.")
        elif last < matt <= first:
            told.append(f"{ratio}: under about {matt:g} a glaze is often matt{memory}.")
        elif last < bright <= first:
            told.append(f"{ratio}: under about {bright:g} it may lose its shine{memory}.")
        elif first < bright <= last:
            told.append(f"{ratio}: from about {bright:g} it may turn brighter{memory}.")
    silica, was = after.oxides.get("SiO2", 0.0), before.oxides.get("SiO2", 0.0)
    if was and silica > was * (1.0 + limits["stiffer_share"]):
        told.append(
            f"SiO₂ rises from {show_number(was, 2)} to {show_number(silica, 2)} to a mole of flux: "
            f"it melts later, and may need more heat than it gets now{memory}."
        )
    magnesia = after.oxides.get("MgO", 0.0)
    most = limits["magnesia_matt_share"]
    if magnesia > most >= before.oxides.get("MgO", 0.0):
        told.append(
            f"MgO is {show_number(magnesia, 2)} of the flux: over about {most:g} a glaze often "
            f"turns matt or dry{memory}."
        )
    known = set(out_of_range(before.mole_percent, limits=limits))
    told += [one for one in out_of_range(after.mole_percent, limits=limits) if one not in known]
    return tuple(told)

"""The theoretical analyses that ship, computed again from the formula of each mineral.

The formulas are taken apart and weighed by `periodictable` (its atomic weights are those of
IUPAC), not by the program's own table. Iron is reported as Fe₂O₃, manganese as MnO, cobalt as CoO
and copper as CuO whatever it came in as, as laboratories report fired oxides; what is neither is
the loss on ignition. Typical rows have no formula and are not checked here: they are from memory.
"""

import re

import periodictable
import pytest

from studiolog.craft.glaze.materials import ShippedMaterial, find_shipped, shipped_materials

FIRED_AS = {
    "Si": ("SiO2", 1), "Al": ("Al2O3", 2), "B": ("B2O3", 2), "Li": ("Li2O", 2), "Na": ("Na2O", 2),
    "K": ("K2O", 2), "Mg": ("MgO", 1), "Ca": ("CaO", 1), "Sr": ("SrO", 1), "Ba": ("BaO", 1),
    "Zn": ("ZnO", 1), "Pb": ("PbO", 1), "Fe": ("Fe2O3", 2), "Ti": ("TiO2", 1), "Zr": ("ZrO2", 1),
    "Sn": ("SnO2", 1), "P": ("P2O5", 2), "Mn": ("MnO", 1), "Co": ("CoO", 1), "Ni": ("NiO", 1),
    "Cu": ("CuO", 1), "Cr": ("Cr2O3", 2), "V": ("V2O5", 2),
}  # fmt: skip


def atoms(formula: str) -> dict[str, float]:
    """The atoms of "K2O·Al2O3·6SiO2", each part read by periodictable."""
    counted: dict[str, float] = {}
    for part in formula.split("·"):
        match = re.match(r"(\d*)(.*)", part)
        assert match is not None
        times = int(match[1] or 1)
        for element, count in periodictable.formula(match[2]).atoms.items():
            counted[element.symbol] = counted.get(element.symbol, 0.0) + times * count
    return counted


def analysis_of(formula: str) -> tuple[dict[str, float], float]:
    """Per cent by weight of each fired oxide, and the loss on ignition."""
    found = atoms(formula)
    whole = sum(getattr(periodictable, symbol).mass * n for symbol, n in found.items())
    percents: dict[str, float] = {}
    for symbol, n in found.items():
        if symbol not in FIRED_AS:
            continue
        oxide, each = FIRED_AS[symbol]
        percents[oxide] = 100.0 * n / each * periodictable.formula(oxide).mass / whole
    return percents, 100.0 - sum(percents.values())


COMPUTED = [one for one in shipped_materials() if one.basis == "theoretical" and one.oxides]


@pytest.mark.parametrize("material", COMPUTED, ids=lambda one: one.name)
def test_a_theoretical_analysis_is_that_of_its_formula(material: ShippedMaterial) -> None:
    oxides, loss = analysis_of(material.formula)
    assert dict(material.oxides) == pytest.approx(oxides, abs=0.01)
    assert material.loi_percent == pytest.approx(loss, abs=0.01)


def test_every_theoretical_row_has_its_formula_and_no_typical_one_has() -> None:
    assert len(COMPUTED) >= 47
    for one in shipped_materials():
        assert bool(one.formula) == (one.basis == "theoretical"), one.name


def test_magnetite_and_ilmenite_gain_weight_in_the_fire() -> None:
    for name in ("Magnetite", "Ilmenite"):
        shipped = find_shipped(name)
        assert shipped is not None
        assert shipped.loi_percent is not None
        assert shipped.loi_percent < 0


def test_a_mix_in_assumed_proportions_does_not_pass_for_an_analysis() -> None:
    (mix,) = (one for one in shipped_materials() if "model mix" in one.name)
    assert mix.note.startswith("no analysis: computed from a mix")

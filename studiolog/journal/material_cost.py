"""What the material of a recipe costs, from the prices of the shelf. Money is Decimal."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from studiolog.journal.stock import StockLine, find_stock

_WHOLE = Decimal(1000)


@dataclass(frozen=True, slots=True)
class MaterialCost:
    """The cost of a kilogram of dry glaze, in the studio's own money.

    ``missing`` names the materials without a price: the cost is then what the others come to, at
    least that. ``per_kg`` is None where no material has one.
    """

    per_kg: Decimal | None
    missing: tuple[str, ...] = ()
    currency: str = ""

    def of(self, dry_g: float) -> Decimal | None:
        """What so many dry grams cost, to a thousandth."""
        if self.per_kg is None:
            return None
        return _round(self.per_kg * Decimal(str(dry_g)) / _WHOLE)


def cost_recipe(
    parts: Mapping[str, float], stock: Mapping[str, StockLine], currency: str = ""
) -> MaterialCost:
    """The material cost of a recipe: material -> parts, with its additions."""
    total, spent = Decimal(0), Decimal(0)
    missing: list[str] = []
    priced = False
    for material, part in parts.items():
        share = Decimal(str(part))
        total += share
        line = find_stock(stock, material)
        price = line.price_per_kg if line is not None else None
        if price is None:
            missing.append(material)
            continue
        priced = True
        spent += price * share
    if not priced or not total:
        return MaterialCost(None, tuple(missing), currency)
    return MaterialCost(_round(spent / total), tuple(missing), currency)


def _round(money: Decimal) -> Decimal:
    return money.quantize(Decimal("0.001"), ROUND_HALF_UP)

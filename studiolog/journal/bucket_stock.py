"""What is added to a bucket after its mixing is taken from the stock, as the mixing was.

Dry glaze is taken by the recipe, a flocculant or deflocculant by its name; only what is on the
shelf is. Each row of the ledger knows the row of the bucket's history it came of.
"""

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.journal.analyses import find_material
from studiolog.journal.stock import take_from_stock
from studiolog.journal.writing import get, remove_all
from studiolog.records.glazes import Bucket, BucketChange, RecipeLine
from studiolog.records.materials import StockChange

_ADDED = ("dry", "flocculated", "deflocculated")
_STEP_DECIMALS = 3  # of a gram: what a share of dry glaze comes to


def take_for_change(session: Session, change_id: int) -> None:
    """Take what a row of a bucket's history added off the shelf; nothing where it added none."""
    row = get(session, BucketChange, change_id)
    if row.kind not in _ADDED or not row.grams:
        return
    taken = {row.material: row.grams} if row.material else {}
    if row.kind == "dry" and not row.material:
        taken = _by_recipe(session, get(session, Bucket, row.bucket_id).glaze_id, row.grams)
    on_shelf = {}
    for name, grams in taken.items():
        material = find_material(session, name)
        if material is not None and not material.archived:
            on_shelf[material.name] = grams
    take_from_stock(
        session, on_shelf, row.changed_on, bucket_id=row.bucket_id, bucket_change_id=row.id
    )


def give_back(session: Session, change_id: int) -> None:
    """Let what a row of a bucket's history took stand on the shelf again."""
    remove_all(session, StockChange, StockChange.bucket_change_id == change_id)


def _by_recipe(session: Session, glaze_id: int, grams: float) -> dict[str, float]:
    """Dry glaze as the materials it is weighed of; empty for a glaze without a recipe."""
    lines = session.scalars(select(RecipeLine).where(RecipeLine.glaze_id == glaze_id)).all()
    total = sum(line.parts for line in lines)
    parts: dict[str, float] = {}
    for line in lines:
        parts[line.material] = parts.get(line.material, 0.0) + line.parts
    return {name: round(grams * one / total, _STEP_DECIMALS) for name, one in parts.items()}

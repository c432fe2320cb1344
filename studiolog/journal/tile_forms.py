"""What laying tiles starts from: the form, and how many of it this studio loses."""

from dataclasses import dataclass
from functools import partial

from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.ware.loss import LossRate
from studiolog.craft.ware.tiles import TileKind
from studiolog.journal.limits import read_limits
from studiolog.journal.stage_times import read_stage_times
from studiolog.records.forms import Form


@dataclass(frozen=True)
class TileForm:
    """A form as a tile; without one, plain squares of 100 mm. ``loss`` is wet to finished."""

    form_id: int
    name: str
    kind: TileKind
    across_mm: float
    deep_mm: float
    loss: LossRate
    limits: Limits


def read_tile_form(session: Session, form_id: int = 0) -> TileForm:
    """The tile a form is; what it does not say is taken as usual."""
    form = session.get(Form, form_id) if form_id else None
    loss = read_stage_times(session).loss_from("wet", form_id or None)
    make = partial(TileForm, loss=loss, limits=read_limits(session))
    if form is None:
        return make(0, "", "square", 100.0, 100.0)
    across = form.fired_across_mm or 100.0
    deep = form.fired_deep_mm or across
    kind: TileKind = "rectangle" if abs(across - deep) > 0.05 else "square"
    # The name is all that tells a hexagon: a form has no field for the corners of a flat tile.
    if "hex" in form.name.casefold():
        kind = "hexagon"
        across = min(across, deep)
    return make(form.id, form.name, kind, across, deep)

"""The forms, clays, glazes and sets there are, as choices for what is asked for."""

from studiolog.journal.clays import list_clays
from studiolog.journal.form_choices import list_form_names
from studiolog.journal.glazes import list_glazes
from studiolog.journal.session import Session
from studiolog.journal.sets import list_sets
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.swatch import ClayLook, GlazeLook
from studiolog.ui.parts.ware_fields import WareChoices


def read_ware_choices(session: Session, *, sets: bool = False) -> WareChoices:
    """What is not put away; sets only where one may be asked for, and only those with parts."""
    return WareChoices(
        tuple(
            Choice(form.form_id, form.name, note=form.note)
            for form in list_form_names(session, by_name=False)
        ),
        tuple(
            Choice(clay.clay_id, clay.name, ClayLook(clay.name, clay.colour, clay.specks))
            for clay in list_clays(session, counted=False)
        ),
        tuple(
            Choice(glaze.glaze_id, glaze.title, GlazeLook(glaze.title, glaze.colour, glaze.pattern))
            for glaze in list_glazes(session, counted=False)
        ),
        tuple(
            Choice(ware.set_id, ware.name) for ware in (list_sets(session) if sets else ())
            if ware.parts
        ),
    )  # fmt: skip

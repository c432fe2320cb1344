"""The usual cautions for all that a test plan is weighed of, by names and by analyses."""

from collections.abc import Collection, Mapping

from sqlalchemy.orm import Session

from studiolog.craft.glaze.cautions import Caution, find_cautions
from studiolog.journal.analyses import read_analyses


def read_plan_cautions(
    session: Session, glaze_ids: Collection[int], weighed: Collection[str] = ()
) -> tuple[Caution, ...]:
    """The cautions for the materials of some glazes and for what else is ``weighed``.

    A material with several lots among them is taken by the most each of its oxides comes to in any.
    """
    names = dict.fromkeys(weighed)
    known: dict[str, dict[str, float]] = {}
    for recipe in read_analyses(session, glaze_ids).values():
        names |= dict.fromkeys(recipe.parts)
        for material, analysis in recipe.analyses.items():
            _take_most(known.setdefault(material, {}), analysis)
    return find_cautions(names, known)


def _take_most(most: dict[str, float], analysis: Mapping[str, float]) -> None:
    for oxide, percent in analysis.items():
        most[oxide] = max(percent, most.get(oxide, percent))

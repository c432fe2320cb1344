"""Ideas, versions, ways and tools with the longest words a potter might give them."""

from datetime import date

from sqlalchemy.orm import Session

from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_steps import MakingStep, set_steps, set_zones
from studiolog.journal.form_versions import add_form_version
from studiolog.journal.forms import change_form
from studiolog.journal.ideas import IdeaDraft, make_form_of, note_idea, settle_idea
from studiolog.journal.pieces import RunDraft, SizeDraft, log_run
from studiolog.journal.tools import ToolDraft, add_size_of, add_tool, use_tool
from studiolog.journal.ways import add_way, judge_way, set_way

DAY = date(2026, 9, 12)
LONG_IDEA = "A lantern with a sliding wall that can be lifted by its ribbon without burning fingers"
_WAYS = (
    "pattern pressed at soft leather-hard, before the foot is trimmed",
    "pattern pressed after handling, on the wheel with the banding iron",
)


def crowd_ideas(session: Session, form: int, clay: int, run: int, piece: int) -> dict[str, int]:
    """Ideas of every state, three versions and two ways of a form, a tool used on much.

    Returns the id of the crowded idea and of the crowded tool.
    """
    idea = note_idea(
        session,
        IdeaDraft(title=LONG_IDEA, noted_on=DAY, text="The candle goes in from the front. " * 9),
    )
    became = note_idea(session, IdeaDraft(title=f"{LONG_IDEA}, deeper", noted_on=DAY))
    question = note_idea(
        session, IdeaDraft(title=f"{LONG_IDEA}?", noted_on=DAY, kind="question", text="See run 9.")
    )
    settle_idea(session, question, "answered", "It does, if the ribbon is of cotton. " * 5, DAY)
    made = make_form_of(session, became, DAY, parent_id=form)
    other = add_form_version(session, form, DAY, "gallery cut deeper, lid with a flange")
    change_form(session, other, clay_g=2285, fired_height_mm=261, fired_deep_mm=174, stack_mm=41)
    for standing, reasons in (("no_go", "Two of three sank. " * 6), ("go", "All six stood. " * 6)):
        decide_form(session, form, standing, DAY, reasons)
    set_zones(session, form, ("outside of the body", "gallery and lid together", "handle"))
    set_steps(
        session,
        form,
        [
            MakingStep("thrown in two parts and joined", 25, "wet", 2),
            MakingStep("lid and gallery fitted to each other", 18, "leather_hard"),
            MakingStep("ground and checked", 6.5, "fired"),
        ],
    )
    for name in _WAYS:
        way = add_way(session, form, name, "It gives way evenly while the wall is thick. " * 3)
        draft = RunDraft(made_on=DAY, form_id=form, clay_id=clay, how_many=3)
        set_way(session, log_run(session, draft), way)
    judge_way(session, way, "keep")
    tool = add_tool(
        session,
        ToolDraft(
            title="Wave stamp cut from the shard of the jar that broke on the quay",
            made_on=DAY,
            number=12901,
            clay_id=clay,
            stage="fired",
            kept_where="the drawer under the wedging table, at the very back on the left",
            notes="Cut the grooves a third deeper than the mark should be. " * 4,
            sizes=(
                SizeDraft(stage="wet", across_mm=146.5, height_mm=134.5),
                SizeDraft(stage="fired", across_mm=128.2, height_mm=117.7),
            ),
        ),
    )
    add_size_of(session, tool, DAY)
    use_tool(session, tool, run_id=run, note="only round the gallery, where nobody looks first")
    use_tool(session, tool, piece_id=piece, note="as a trial under the second handle")
    assert made != other
    return {"idea": idea, "tool": tool}

"""A potter notes down an idea, tries it, and keeps why it was or was not to be."""

from collections.abc import Callable
from datetime import date, datetime
from functools import partial

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.journal.find import find_anything
from studiolog.journal.form_decisions import (
    change_decision,
    decide_form,
    delete_decision,
    read_story,
)
from studiolog.journal.form_page import FormPage, read_form_page
from studiolog.journal.form_versions import (
    add_form_version,
    propose_name,
    read_family,
    set_parent,
)
from studiolog.journal.forms import FormDraft, add_form, change_form, delete_form
from studiolog.journal.ideas import (
    IdeaDraft,
    IdeaPage,
    add_sketches,
    change_idea,
    delete_idea,
    list_ideas,
    make_form_of,
    note_idea,
    read_idea_page,
    remove_sketch,
    reopen_idea,
    settle_idea,
)
from studiolog.journal.opening import Journal
from studiolog.journal.photos import PictureDraft
from studiolog.journal.pieces import RunDraft, log_run, move_to_stage
from studiolog.problems import StillUsed, UserProblem
from studiolog.records.ideas import IdeaPicture
from studiolog.records.photos import Photo
from studiolog.records.pieces import Piece
from tests.small_studio import CUP

DAY = date(2026, 9, 1)
Do = Callable[[Callable[[Session], int]], int]


@pytest.fixture
def do(journal: Journal) -> Do:
    return lambda edit: journal.edit("Work", edit).value


@pytest.fixture
def rim(do: Do) -> int:
    """The idea of a bowl with a deeper rim, with a sketch."""
    draft = IdeaDraft(title="Bowl with a deeper rim", noted_on=DAY, text="So that soup stays in.",
                      pictures=(sketch("a"),))  # fmt: skip
    return do(partial(note_idea, draft=draft))


@pytest.fixture
def bowl(do: Do) -> int:
    steps = (("thrown", 8.0), ("trimmed", 7.0))
    draft = FormDraft(name="Soup bowl", clay_g=620, fired_across_mm=160, stack_mm=22,
                      profile=CUP, steps=steps, zones=("body", "foot"))  # fmt: skip
    return do(partial(add_form, draft=draft))


def sketch(letter: str) -> PictureDraft:
    return PictureDraft(
        sha256=letter * 64, suffix=".png", name="sketch.png", width=800, height=600,
        byte_count=12000, taken_at=None, moment="making",
    )  # fmt: skip


def page_of(journal: Journal, idea: int) -> IdeaPage:
    page = journal.read(partial(read_idea_page, idea_id=idea))
    assert page is not None
    return page


def form_of(journal: Journal, form: int) -> FormPage:
    page = journal.read(partial(read_form_page, form_id=form))
    assert page is not None
    return page


def test_an_idea_becomes_a_form_on_trial_and_each_knows_the_other(
    journal: Journal, do: Do, rim: int
) -> None:
    form = do(partial(make_form_of, idea_id=rim, on=date(2026, 9, 4)))
    made = form_of(journal, form)
    assert (made.name, made.standing, made.notes) == (
        "Bowl with a deeper rim",
        "trial",
        "So that soup stays in.",
    )
    page = page_of(journal, rim)
    assert page.form is not None
    assert (page.state, page.form.form_id, page.settled_on) == ("form", form, date(2026, 9, 4))
    with pytest.raises(UserProblem, match="became the form Bowl with a deeper rim already"):
        do(partial(make_form_of, idea_id=rim, on=DAY))
    with pytest.raises(UserProblem, match="what is decided of it is decided there"):
        journal.edit(
            "Drop", partial(settle_idea, idea_id=rim, state="dropped", outcome="no", on=DAY)
        )
    journal.edit("Delete", partial(delete_form, form_id=form))
    again = page_of(journal, rim)
    assert (again.state, again.form, again.settled_on) == ("open", None, None)


def test_the_story_of_a_form_is_told_with_what_was_made(journal: Journal, do: Do, rim: int) -> None:
    form = do(partial(make_form_of, idea_id=rim, on=date(2026, 9, 4)))
    run = do(partial(log_run, draft=RunDraft(made_on=date(2026, 9, 6), form_id=form, how_many=3)))
    lost = journal.read(lambda session: session.scalar(select(func.min(Piece.id)))) or 0
    journal.edit("Lose", partial(move_to_stage, piece_id=lost, stage="lost",
                                 at=datetime(2026, 9, 7), note="rim sank"))  # fmt: skip
    do(partial(decide_form, form_id=form, standing="no_go", decided_on=date(2026, 9, 30),
               reasons="The rim sinks while it dries."))  # fmt: skip
    story = journal.read(partial(read_story, form_id=form))
    assert [(line.kind, line.on.day, line.standing) for line in story] == [
        ("idea", 1, ""),
        ("decision", 4, "trial"),
        ("made", 6, ""),
        ("decision", 30, "no_go"),
    ]
    made = story[2]
    assert (made.made, made.lost, made.looked, made.runs) == (3, 1, 0, (1,))
    assert run
    assert form_of(journal, form).standing == "no_go"
    # A decision remembered later is put where it belongs, and changes nothing since.
    early = do(partial(decide_form, form_id=form, standing="go", decided_on=date(2026, 9, 20),
                       reasons="The first three looked well."))  # fmt: skip
    assert form_of(journal, form).standing == "no_go"
    last = journal.read(partial(read_story, form_id=form))[-1].ident
    journal.edit("Change", partial(change_decision, decision_id=last, reasons="It sinks."))
    journal.edit("Take back", partial(delete_decision, decision_id=last))
    assert form_of(journal, form).standing == "go"
    assert early != last
    with pytest.raises(UserProblem, match="Say why"):
        do(partial(decide_form, form_id=form, standing="go", decided_on=DAY, reasons="  "))


def test_a_question_waits_for_its_answer_and_an_idea_is_dropped_with_a_reason(
    journal: Journal, do: Do, rim: int
) -> None:
    asked = IdeaDraft(title="Does Oat hold on porcelain?", noted_on=DAY, kind="question")
    question = do(partial(note_idea, draft=asked))
    settle = partial(settle_idea, on=date(2026, 10, 1))
    with pytest.raises(UserProblem, match="Write the answer"):
        journal.edit("Answer", partial(settle, idea_id=question, state="answered", outcome=" "))
    with pytest.raises(UserProblem, match="Only a question is answered"):
        journal.edit("Answer", partial(settle, idea_id=rim, state="answered", outcome="Yes."))
    with pytest.raises(UserProblem, match="A question does not become a form"):
        do(partial(make_form_of, idea_id=question, on=DAY))
    journal.edit("Answer", partial(settle, idea_id=question, state="answered", outcome="Yes."))
    journal.edit("Drop", partial(settle, idea_id=rim, state="dropped", outcome="Too heavy."))
    assert {line.state for line in journal.read(list_ideas)} == {"answered", "dropped"}
    with pytest.raises(UserProblem, match="can't be empty"):
        journal.edit("Change", partial(change_idea, idea_id=rim, outcome=""))
    journal.edit("Open", partial(reopen_idea, idea_id=rim))
    page = page_of(journal, rim)
    assert (page.state, page.settled_on, page.outcome) == ("open", None, "Too heavy.")
    with pytest.raises(UserProblem, match="Give the title of the idea"):
        do(partial(note_idea, draft=IdeaDraft(title=" ", noted_on=DAY)))


def test_a_sketch_is_one_photo_however_often_it_is_dropped(
    journal: Journal, do: Do, rim: int
) -> None:
    journal.edit("Add", partial(add_sketches, idea_id=rim, drafts=[sketch("a"), sketch("b")]))
    pictures = page_of(journal, rim).pictures
    assert [picture.sha256[0] for picture in pictures] == ["a", "b"]
    other = do(partial(note_idea, draft=IdeaDraft(title="Lamp", noted_on=DAY,
                                                  pictures=(sketch("b"),))))  # fmt: skip
    journal.edit("Remove", partial(remove_sketch, picture_id=pictures[0].picture_id))
    journal.edit("Delete", partial(delete_idea, idea_id=rim))

    def counted() -> tuple[int | None, int | None]:
        return journal.read(
            lambda session: (
                session.scalar(select(func.count()).select_from(Photo)),
                session.scalar(select(func.count()).select_from(IdeaPicture)),
            )
        )

    assert counted() == (2, 1), "the originals stay; only the other idea still shows one"
    journal.undo()
    assert counted() == (2, 2)
    assert page_of(journal, rim).title == "Bowl with a deeper rim"
    assert [line.pictures for line in journal.read(list_ideas)] == [1, 1]
    assert other


def test_a_version_has_all_its_parent_had_and_stands_on_trial(
    journal: Journal, do: Do, bowl: int
) -> None:
    deeper = do(partial(add_form_version, form_id=bowl, on=DAY, changed="deeper  rim"))
    page = form_of(journal, deeper)
    assert (page.name, page.standing, page.stack_mm) == ("Soup bowl, deeper rim", "trial", 22)
    assert (page.profile, page.steps, page.zones) == (
        CUP,
        (("thrown", 8), ("trimmed", 7)),
        ("body", "foot"),
    )
    assert journal.read(partial(propose_name, form_id=bowl)) == "Soup bowl 2"
    second = do(partial(add_form_version, form_id=bowl, on=DAY))
    assert journal.read(partial(propose_name, form_id=second)) == "Soup bowl 3"
    third = do(partial(add_form_version, form_id=deeper, on=DAY, name="Soup plate"))
    journal.edit("Archive", partial(change_form, form_id=bowl, archived=True))
    family = journal.read(partial(read_family, form_id=third))
    assert [(one.form_id, one.depth, one.archived) for one in family] == [
        (bowl, 0, True),
        (deeper, 1, False),
        (third, 2, False),
        (second, 1, False),
    ]
    with pytest.raises(UserProblem, match="There is a form named soup plate already"):
        do(partial(add_form_version, form_id=bowl, on=DAY, name="soup plate"))
    with pytest.raises(StillUsed, match="2 versions of it"):
        journal.edit("Delete", partial(delete_form, form_id=bowl))
    journal.edit("Delete", partial(delete_form, form_id=third))


def test_no_form_is_a_version_of_itself(journal: Journal, do: Do, bowl: int) -> None:
    child = do(partial(add_form_version, form_id=bowl, on=DAY, name="Soup plate"))
    grandchild = do(partial(add_form_version, form_id=child, on=DAY, name="Deep plate"))
    with pytest.raises(UserProblem, match="Soup bowl can't be a version of itself"):
        journal.edit("Parent", partial(set_parent, form_id=bowl, parent_id=bowl))
    with pytest.raises(UserProblem, match="Deep plate came from Soup bowl"):
        journal.edit("Parent", partial(set_parent, form_id=bowl, parent_id=grandchild))
    journal.edit("Parent", partial(set_parent, form_id=grandchild, parent_id=None))
    assert [one.form_id for one in journal.read(partial(read_family, form_id=grandchild))] == [
        grandchild
    ]


def test_an_idea_is_found_by_a_word_of_its_title_or_text(journal: Journal, rim: int) -> None:
    for word in ("deeper", "soup stays"):
        (found,) = journal.read(lambda session, word=word: find_anything(session, word))
        assert (found.kind, found.row_id, found.quiet) == ("idea", rim, "idea, open")

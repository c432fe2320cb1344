"""Ideas and open questions: noted in seconds, drawn, and settled with what came of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from studiolog.craft.words import IDEA_KINDS
from studiolog.journal.form_decisions import decide_form
from studiolog.journal.form_outcome import FormOutcome, read_outcomes
from studiolog.journal.form_versions import add_form_version
from studiolog.journal.forms import FormDraft, add_form, change_form
from studiolog.journal.photos import PictureDraft, keep_photo
from studiolog.journal.writing import add, change, clean_name, get, remove, remove_all
from studiolog.problems import UserProblem
from studiolog.records.forms import Form
from studiolog.records.ideas import Idea, IdeaPicture
from studiolog.records.photos import Photo


@dataclass(frozen=True, kw_only=True)
class IdeaDraft:
    """An idea, or an open question, as it is noted down. ``kind`` is one of `IDEA_KINDS`."""

    title: str
    noted_on: date
    kind: str = "idea"
    text: str = ""
    pictures: tuple[PictureDraft, ...] = ()


@dataclass(frozen=True)
class IdeaLine:
    """An idea in the list, with its first picture; ``sha256`` is "" where it has none."""

    idea_id: int
    title: str
    kind: str
    state: str
    noted_on: date
    pictures: int
    sha256: str
    suffix: str


@dataclass(frozen=True)
class IdeaSketch:
    """A sketch or photo of an idea."""

    picture_id: int
    version: int
    sha256: str
    suffix: str
    name: str
    caption: str
    width: int
    height: int


@dataclass(frozen=True)
class IdeaForm:
    """The form an idea became, and what came of that."""

    form_id: int
    name: str
    standing: str
    outcome: FormOutcome


@dataclass(frozen=True)
class IdeaPage:
    """Everything of one idea."""

    idea_id: int
    version: int
    title: str
    kind: str
    state: str
    noted_on: date
    text: str
    outcome: str
    settled_on: date | None
    pictures: tuple[IdeaSketch, ...]
    form: IdeaForm | None
    archived: bool = False  # ideas are settled instead

    @property
    def name(self) -> str:
        """What its page is headed with."""
        return self.title


def note_idea(session: Session, draft: IdeaDraft) -> int:
    """Note an idea down; returns its id. Raises `UserProblem` without a title."""
    if draft.kind not in IDEA_KINDS:
        raise UserProblem(f"A note is one of these: {', '.join(IDEA_KINDS.values())}.")
    idea_id = add(
        session,
        Idea(
            title=clean_name(draft.title, "title", "title of the idea"),
            noted_on=draft.noted_on,
            kind=draft.kind,
            text=draft.text.strip(),
        ),
    )
    add_sketches(session, idea_id, draft.pictures)
    return idea_id


def change_idea(session: Session, idea_id: int, version: int | None = None, **fields: Any) -> None:
    """Change title, text, day, kind or outcome of an idea; how it is settled: see `settle_idea`."""
    if "title" in fields:
        fields["title"] = clean_name(fields["title"], "title", "title of the idea")
    if fields.get("noted_on", True) is None:
        sentence = "Give the day it was noted."
        raise UserProblem(sentence, {"noted_on": sentence})
    if "outcome" in fields and not fields["outcome"].strip():
        idea = get(session, Idea, idea_id)
        if idea.state in ("answered", "dropped"):
            raise UserProblem("What it came to can't be empty: open it again instead.")
    change(session, Idea, idea_id, version, **fields)


def settle_idea(session: Session, idea_id: int, state: str, outcome: str, on: date) -> None:
    """Answer a question, or drop an idea or a question, with the answer or the reason.

    Raises `UserProblem` without one, for an idea that is answered, and for what became a form.
    """
    idea = get(session, Idea, idea_id)
    if state not in ("answered", "dropped"):
        raise UserProblem("An idea is settled by an answer, by dropping it, or by becoming a form.")
    if idea.state == "form":
        raise UserProblem(f"“{idea.title}” became a form: what is decided of it is decided there.")
    if state == "answered" and idea.kind != "question":
        raise UserProblem("Only a question is answered; an idea becomes a form or is dropped.")
    said = outcome.strip()
    if not said:
        sentence = "Write the answer." if state == "answered" else "Say why it is dropped."
        raise UserProblem(sentence, {"outcome": sentence})
    change(session, Idea, idea_id, state=state, outcome=said, settled_on=on)


def reopen_idea(session: Session, idea_id: int) -> None:
    """An idea or question that was settled is open again; what was said of it stays."""
    idea = get(session, Idea, idea_id)
    if idea.state == "form":
        raise UserProblem(f"“{idea.title}” became a form: delete the form to have it open again.")
    change(session, Idea, idea_id, state="open", settled_on=None)


def make_form_of(
    session: Session, idea_id: int, on: date, name: str = "", parent_id: int | None = None
) -> int:
    """An idea becomes a form on trial, or a version of a form; returns the form's id.

    The form has the idea's title unless ``name`` is given, and its text as a note. Raises
    `UserProblem` for a question, for what became one already, and for a name that is taken.
    """
    idea = get(session, Idea, idea_id)
    if idea.form_id is not None:
        form = get(session, Form, idea.form_id)
        raise UserProblem(f"“{idea.title}” became the form {form.name} already.")
    if idea.kind == "question":
        raise UserProblem("A question does not become a form: answer it, or make it an idea.")
    called = name or idea.title
    if parent_id is not None:
        form_id = add_form_version(session, parent_id, on, name=called)
        change_form(session, form_id, notes=idea.text)
    else:
        form_id = add_form(session, FormDraft(name=called, notes=idea.text, standing="trial"))
        decide_form(session, form_id, "trial", on, f"Tried from the idea “{idea.title}”.")
    change(session, Idea, idea_id, state="form", form_id=form_id, settled_on=on)
    return form_id


def delete_idea(session: Session, idea_id: int) -> None:
    """Delete an idea with its pictures; the originals stay in the journal's folder."""
    idea = get(session, Idea, idea_id)
    remove_all(session, IdeaPicture, IdeaPicture.idea_id == idea_id)
    remove(session, idea)


def add_sketches(session: Session, idea_id: int, drafts: Sequence[PictureDraft]) -> None:
    """Tie photos that were taken in to an idea; one it has already is not tied twice."""
    get(session, Idea, idea_id)
    for draft in drafts:
        photo_id = keep_photo(session, draft)
        of_it = IdeaPicture.idea_id == idea_id
        if session.scalar(select(IdeaPicture.id).where(of_it, IdeaPicture.photo_id == photo_id)):
            continue
        last = session.scalar(select(func.max(IdeaPicture.position)).where(of_it))
        add(
            session,
            IdeaPicture(
                idea_id=idea_id,
                photo_id=photo_id,
                position=int(last or 0) + 1,
                caption=draft.caption,
            ),
        )


def caption_sketch(session: Session, picture_id: int, caption: str) -> None:
    """Say what a sketch shows."""
    change(session, IdeaPicture, picture_id, caption=" ".join(caption.split()))


def remove_sketch(session: Session, picture_id: int) -> None:
    """Take a picture off its idea. The original stays in the journal's folder."""
    remove(session, get(session, IdeaPicture, picture_id))


def list_ideas(session: Session) -> list[IdeaLine]:
    """Every idea and question, open ones first, newest first."""
    pictures: dict[int, list[Any]] = {}
    for row in session.execute(
        select(IdeaPicture.idea_id, Photo.sha256, Photo.suffix)
        .join(Photo, Photo.id == IdeaPicture.photo_id)
        .order_by(IdeaPicture.position, IdeaPicture.id)
    ):
        pictures.setdefault(row.idea_id, []).append(row)
    ideas = session.execute(
        select(Idea.id, Idea.title, Idea.kind, Idea.state, Idea.noted_on).order_by(
            Idea.state != "open", Idea.noted_on.desc(), Idea.id.desc()
        )
    )
    lines = []
    for idea in ideas:
        shown = pictures.get(idea.id, [])
        sha256, suffix = (shown[0].sha256, shown[0].suffix) if shown else ("", "")
        lines.append(IdeaLine(*idea, len(shown), sha256, suffix))
    return lines


def read_idea_page(session: Session, idea_id: int) -> IdeaPage | None:
    """The page of an idea; None if it is gone."""
    idea = session.get(Idea, idea_id)
    if idea is None:
        return None
    pictures = tuple(
        IdeaSketch(*row)
        for row in session.execute(
            select(
                IdeaPicture.id,
                IdeaPicture.version,
                Photo.sha256,
                Photo.suffix,
                Photo.name,
                IdeaPicture.caption,
                Photo.width,
                Photo.height,
            )
            .join(Photo, Photo.id == IdeaPicture.photo_id)
            .where(IdeaPicture.idea_id == idea_id)
            .order_by(IdeaPicture.position, IdeaPicture.id)
        )
    )
    form = session.get(Form, idea.form_id) if idea.form_id is not None else None
    became = None
    if form is not None:
        outcome = read_outcomes(session, [form.id])[form.id]
        became = IdeaForm(form.id, form.name, form.standing, outcome)
    return IdeaPage(
        idea.id,
        idea.version,
        idea.title,
        idea.kind,
        idea.state,
        idea.noted_on,
        idea.text,
        idea.outcome,
        idea.settled_on,
        pictures,
        became,
    )

"""Between the controls of the sheet and its text: show one, read the other, say what follows."""

from dataclasses import replace
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from studiolog.craft.glaze.layering import number_layers
from studiolog.craft.words import FAULTS, MOMENTS, STAGES
from studiolog.desktop.desk import Desk
from studiolog.journal.layer_words import how_words
from studiolog.journal.quick_log import preview_answer
from studiolog.journal.sheet_choices import FormChoice
from studiolog.journal.sheet_page import SheetDraft, SheetPage, propose_stage
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice
from studiolog.ui.parts.glaze_section import SectionLayer, SectionWall
from studiolog.ui.parts.half_section import FormShape
from studiolog.ui.parts.typed import write_day
from studiolog.ui.parts.wall_geometry import WallProfile
from studiolog.ui.quick_log.photo_column import ColumnPhoto
from studiolog.ui.quick_log.sheet_body import SheetBody
from studiolog.ui.quick_log.sheet_text import SheetText, glimpse, moment_of

_NONE = 0
"""The id of *none* in a list: journal ids begin at 1."""


class SheetShowing:
    """Shows a sheet's text in its controls and reads it back."""

    def __init__(self, desk: Desk, body: SheetBody) -> None:
        self._desk = desk
        self._body = body
        self._answered: SheetDraft | None = None

    # The text

    def show_text(self, page: SheetPage, text: SheetText) -> None:
        """Put a text into the controls."""
        body = self._body
        self._answered = None
        body.number.setText(text.number)
        for field, words in (
            (body.height_field, text.height),
            (body.across_field, text.across),
            (body.mass_field, text.mass),
        ):
            field.set_text(words)
        body.layers.show_text(text.layers, page.glazes)
        body.faults.show_rows(text.faults, page.earlier)
        body.surface.show_words(text.surfaces, [layer.zone for layer in page.draft.layers])
        body.next_time.setText(text.next_time)
        body.photo_problem.say("")
        body.problem.say("")
        body.number_problem.say("")
        self.show_choices(page, text)

    def show_choices(self, page: SheetPage, text: SheetText) -> None:
        """Put clay, form, run, firing and level into the controls."""
        body, offer = self._body, page.offer
        body.clay.show_clays(page.clays, text.clay_id)
        forms = [Choice(form.form_id, form.name, note=form.note) for form in page.forms]
        body.form.set_choices([*forms, Choice(_NONE, "no form")])
        body.form.choose(text.form_id)
        offered = next((f.name for f in page.forms if f.form_id == offer.form_id), "Form")
        runs = [
            Choice(run.run_id, f"{run.number}, {run.title or write_day(run.made_on)}")
            for run in page.runs
        ]
        body.run.set_choices([*runs, Choice(_NONE, "no run")])
        body.run.choose(text.run_id)
        for pick, hint in ((body.form, offered), (body.run, "Run, if any")):
            line = pick.lineEdit()
            if line is not None:
                line.setPlaceholderText(hint)
                line.home(False)
        last = page.firing(offer.firing_id)
        body.firing.show_firing(page.firings, text.firing_id, text.level_id, last)

    def read_text(self, first: SheetText) -> SheetText:
        """What stands in the controls; photos are the sheet's own."""
        body = self._body
        return replace(
            first,
            number=body.number.text().strip(),
            clay_id=body.clay.clay_id(),
            form_id=_some(body.form.chosen()),
            run_id=_some(body.run.chosen()),
            height=body.height_field.text(),
            across=body.across_field.text(),
            mass=body.mass_field.text(),
            layers=body.layers.text(),
            firing_id=body.firing.firing_id(),
            level_id=body.firing.level_id(),
            faults=body.faults.rows(),
            surfaces=body.surface.words(),
            next_time=body.next_time.text(),
        )

    # What follows from it

    def show_what_follows(self, page: SheetPage, text: SheetText, on_their_way: int) -> None:
        """Title, heads, photos, drawing, answer and warning, as the text stands."""
        seen = glimpse(text, page)
        body = self._body
        form = next((f.name for f in page.forms if f.form_id == text.form_id), "")
        body.title.setText(page.title if not page.is_new and page.title else form or "A piece")
        stage = STAGES[propose_stage(seen, page)]
        run = next((run for run in page.runs if run.run_id == text.run_id), None)
        said = f"new, {stage}" if page.is_new else stage
        if page.is_new and run is not None and run.unnumbered:
            said += f", 1 of {run.unnumbered} left without a number"
        if page.other_firings:
            said += ", also in " + ", ".join(str(number) for number in page.other_firings)
        body.state.setText(said)
        body.carried.setText(_say_carried(page))
        self.say_heads(page, text)
        self._show_photos(page, text, seen, on_their_way)
        self._draw(page, seen)
        self._answer(page, seen)
        self._warn(page, text)
        count = f"{on_their_way} photo{'' if on_their_way == 1 else 's'}"
        body.waiting.setText(f"taking in {count}" if on_their_way else "")

    def say_heads(self, page: SheetPage, text: SheetText) -> None:
        """Which fields are filled, and what is offered for those that are not."""
        body, offer = self._body, page.offer
        here = QApplication.focusWidget()
        clay = next((c.name for c in page.clays if c.clay_id == offer.clay_id), "")
        firing = page.firing(offer.firing_id)
        levels = firing.levels if firing else ()
        level = next((one.name for one in levels if one.level_id == offer.level_id), "")
        looked = any(row.severity is not None for row in text.faults)

        def say(head: QWidget, filled: bool, field: QWidget, offered: str = "") -> None:
            within = here is not None and (field is here or field.isAncestorOf(here))
            shown = "" if filled or not offered else offered
            if shown and offer.from_number is not None:
                shown += f", as on {offer.from_number}"
            head.say(filled=filled, here=within, quiet=shown)  # type: ignore[attr-defined]

        say(body.clay_head, text.clay_id is not None, body.clay, clay)
        read = body.layers.reading()
        say(body.layers_head, bool(read.layers) and not read.unread, body.layers)
        say(body.firing_head, text.firing_id is not None, body.firing, level)
        say(body.faults_head, looked, body.faults)
        say(body.surface_head, bool(text.surfaces), body.surface)
        sized = any((text.height, text.across, text.mass))
        sizes = (body.height_field, body.across_field, body.mass_field)
        at = next((field for field in sizes if here is field.line), body.mass_field)
        say(body.size_head, sized, at)
        state = "filled" if text.next_time else "empty"
        body.next_ring.set_state("here" if here is body.next_time else state)

    def _show_photos(
        self, page: SheetPage, text: SheetText, seen: SheetDraft, on_their_way: int
    ) -> None:
        order = list(MOMENTS)
        shown = []
        for old in page.pictures:
            day = write_day(old.taken_at.date()) if old.taken_at else ""
            words = MOMENTS[old.moment].capitalize()
            photo = ColumnPhoto(old.sha256, old.suffix, old.name, words, day, False)
            shown.append((order.index(old.moment), old.taken_at, photo))
        for new in text.pictures:
            moment = moment_of(new, seen, page)
            day = write_day(new.taken_at.date()) if new.taken_at else ""
            words = MOMENTS[moment].capitalize()
            photo = ColumnPhoto(new.sha256, new.suffix, new.name, words, day, True)
            shown.append((order.index(moment), new.taken_at, photo))
        shown.sort(key=lambda row: (row[0], row[1] is None, row[1] or 0))
        photos = [photo for _, _, photo in shown]
        self._body.photos.show_photos(photos, on_their_way, _shape_of(page, text.form_id))

    def _draw(self, page: SheetPage, seen: SheetDraft) -> None:
        clay = next((c for c in page.clays if c.clay_id == seen.clay_id), None)
        if clay is None and not seen.layers:
            self._body.drawing.show_wall(None)
            return
        form = next((f for f in page.forms if f.form_id == seen.form_id), None)
        glazes = {glaze.glaze_id: glaze for glaze in page.glazes}
        places = number_layers(layer.zone for layer in seen.layers)
        layers = []
        for layer, place in zip(seen.layers, places, strict=True):
            glaze = glazes[layer.glaze_id]
            layers.append(
                SectionLayer(
                    layer.zone,
                    place,
                    glaze.title,
                    glaze.colour,
                    glaze.pattern,
                    how_words(layer),
                )
            )
        profile = _profile_of(form) if form is not None else None
        wall = SectionWall(
            clay.name if clay else "Clay not chosen",
            clay.colour if clay else "",
            clay.specks if clay else "none",
            page.wall_mm,
            profile,
            tuple(layers),
        )
        self._body.drawing.show_wall(wall)

    def _answer(self, page: SheetPage, seen: SheetDraft) -> None:
        if seen == self._answered:
            return
        self._answered = seen
        answer = self._desk.read(partial(preview_answer, draft=seen))
        if answer is None:
            words = "Choose a clay and type a glaze: here stands the test this piece answers."
            self._body.answer.setText(words)
            self._body.answer.set_tone("ink3")
            return
        titles = {glaze.glaze_id: glaze.title for glaze in page.glazes}
        clay = next((c.name for c in page.clays if c.clay_id == answer.clay_id), "")
        glaze = titles.get(answer.over_id, "")
        cell = f"{glaze} over {titles[answer.under_id]}" if answer.under_id else f"{glaze} alone"
        pieces = f"{answer.before} piece{'' if answer.before == 1 else 's'}"
        if answer.after == answer.before:
            words = f"This is in the cell {cell}, {clay}: one of {pieces}."
        elif answer.before == 0:
            words = f"This is the first piece in the cell {cell}, {clay}."
        else:
            become = "becomes" if answer.before == 1 else "become"
            words = f"This answers the cell {cell}, {clay}: {pieces} {become} {answer.after}."
        self._body.answer.setText(words)
        self._body.answer.set_tone("ink")

    def _warn(self, page: SheetPage, text: SheetText) -> None:
        looked = any(row.severity is not None for row in text.faults)
        unfired = (
            (looked or bool(text.surfaces)) and text.firing_id is None and not page.other_firings
        )
        self._body.firing.ask_for(
            "Choose the firing: what was seen counts by the cone it got." if unfired else ""
        )
        unknown = [FAULTS[row.fault] for row in text.faults if row.severity is None]
        words = ""
        if looked and unknown:
            listed = ", ".join(dict.fromkeys(unknown)).capitalize()
            words = f"{listed} not looked for yet. It will count as unknown, not as sound."
        self._body.unknown.setText(words)
        self._body.unknown.setVisible(bool(words))
        self._body.unknown_sign.setVisible(bool(words))

    # Sentences

    def say_taken_up(self, taken_up: bool) -> None:
        """Whether the sheet is a half-filled one taken up again."""
        self._body.taken_up.setVisible(taken_up)
        self._body.carried.setVisible(not taken_up)

    def say_problem(self, problem: UserProblem) -> None:
        """Show a problem beside its field, and lead there."""
        body = self._body
        body.problem.say(problem.sentence)
        body.number_problem.say(problem.fields.get("number", ""))
        fields = {
            "height": body.height_field,
            "height_mm": body.height_field,
            "across": body.across_field,
            "across_mm": body.across_field,
            "mass": body.mass_field,
            "mass_g": body.mass_field,
        }
        for name, field in fields.items():
            if name in problem.fields:
                field.set_problem(problem.fields[name])
        leads: dict[str, QWidget] = {
            "number": body.number,
            "layers": body.layers.line,
            "firing": body.firing.pick,
            **{name: field.line for name, field in fields.items()},
        }
        first = next((leads[name] for name in problem.fields if name in leads), None)
        if first is not None:
            first.setFocus(Qt.FocusReason.OtherFocusReason)


def _some(chosen: object) -> int | None:
    return chosen if isinstance(chosen, int) and chosen != _NONE else None


def _profile_of(form: FormChoice) -> WallProfile | None:
    if form.profile is None or not form.profile.inside:
        return None
    return WallProfile(form.profile.outside, form.profile.inside)


def _shape_of(page: SheetPage, form_id: int | None) -> FormShape:
    form = next((one for one in page.forms if one.form_id == form_id), None)
    if form is None:
        return FormShape()
    kind = "turned" if form.shape == "thrown" else form.shape
    return FormShape(kind=kind, profile=_profile_of(form))


def _say_carried(page: SheetPage) -> str:
    if page.like_number is None:
        return ""
    draft = page.draft
    carried = [
        draft.clay_id,
        draft.form_id,
        draft.run_id,
        draft.height_mm or draft.across_mm,
        draft.mass_g,
        draft.layers or None,
        draft.firing_id,
        draft.level_id,
        draft.next_time or None,
    ]
    filled = sum(value is not None for value in carried)
    return f"{filled} of {len(carried)} fields carried over from piece {page.like_number}"

"""Forms as pickers offer them: no-go last and named so, on trial named so, archived not at all."""

from datetime import date

from sqlalchemy.orm import Session

from studiolog.journal.form_choices import list_form_names
from studiolog.journal.forms import FormDraft, add_form, change_form
from studiolog.journal.pieces import RunDraft, log_run
from studiolog.journal.run_page import read_run_choices
from studiolog.journal.sheet_choices import read_forms
from tests.journal.conftest import Studio


def test_pickers_name_forms_on_trial_and_put_no_go_forms_last(studio: Studio) -> None:
    def enter(session: Session) -> tuple[int, int]:
        no_go = add_form(session, FormDraft(name="Angled bowl", standing="no_go"))
        add_form(session, FormDraft(name="Beaker", standing="trial"))
        old = add_form(session, FormDraft(name="Bottle"))
        change_form(session, old, archived=True)
        run = log_run(session, RunDraft(made_on=date(2026, 11, 2), form_id=old, how_many=1))
        return no_go, run

    no_go, run = studio.journal.edit("Forms", enter).value
    wanted = [("Beaker", "on trial"), ("Ripple tumbler", ""), ("Angled bowl", "no-go")]
    journal = studio.journal
    names = journal.read(list_form_names)
    assert [(form.name, form.note) for form in names if form.name != "Test tile"] == wanted
    entered = journal.read(lambda session: list_form_names(session, by_name=False))
    assert entered[-1].form_id == no_go
    assert [form.name for form in entered][-2] == "Beaker"
    logged = journal.read(lambda session: read_forms(session, ()))
    assert [(form.name, form.note) for form in logged if form.name != "Test tile"] == wanted
    offered = journal.read(read_run_choices).forms
    assert [(form.name, form.note) for form in offered if form.name != "Test tile"] == wanted
    # What a run has is offered although it was put away.
    kept = journal.read(lambda session: read_run_choices(session, run)).forms
    assert "Bottle" in [form.name for form in kept]
    assert "Bottle" not in [form.name for form in offered]

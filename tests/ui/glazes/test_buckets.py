"""A bucket is mixed, measured and mended on the page of its glaze, with the keyboard and undone."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot
from sqlalchemy.orm import Session

from studiolog.desktop.desk import Desk
from studiolog.journal.buckets import GlazeBuckets, read_glaze_buckets
from studiolog.journal.glaze_page import GlazePage, read_glaze_page
from studiolog.journal.glazes import GlazeDraft, add_glaze, change_glaze
from studiolog.journal.materials import add_material
from studiolog.journal.stock import StockDraft, add_stock_change, read_stock
from studiolog.ui.glazes.buckets import BucketSection
from studiolog.ui.glazes.mix_sheet import DRY, SLURRY, MixSheet
from studiolog.ui.glazes.slurry_sheet import SlurrySheet
from studiolog.ui.parts.list_and_page import ThingPage
from tests.small_studio import KELP_RECIPE

TODAY = date(2026, 3, 2)


@pytest.fixture
def kelp(desk: Desk) -> int:
    def enter(session: Session) -> int:
        silica = add_material(session, "Silica")
        bag = StockDraft(kind="bought", grams=5000, on=date(2026, 1, 9), paid=Decimal("4.25"))
        add_stock_change(session, silica, bag)
        draft = GlazeDraft(name="Kelp", specific_gravity=1.45, recipe=KELP_RECIPE)
        return add_glaze(session, draft)

    return desk.edits.run("Kelp", enter)


class GlazePageAlone(ThingPage):
    """The page of a glaze with nothing on it but its buckets."""

    noun = "glaze"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self.buckets = BucketSection(self, today=lambda: TODAY)
        self.body.main.addWidget(self.buckets)
        desk.edits.edited.connect(lambda _touched: self.show_glaze(self.ident))

    def show_glaze(self, glaze_id: int) -> None:
        self.ident = glaze_id
        page = self.desk.read(lambda session: read_glaze_page(session, glaze_id))
        if page is not None:
            self.head.name.set_text(page.name)
            self.buckets.show_page(page)

    def show_page(self, page: GlazePage) -> None:
        self.show_glaze(page.glaze_id)

    def change(self, session: Session, **fields: object) -> None:
        raise NotImplementedError


@pytest.fixture
def section(desk: Desk, kelp: int, qtbot: QtBot) -> Iterator[BucketSection]:
    page = GlazePageAlone(desk)
    qtbot.addWidget(page)
    page.show_glaze(kelp)
    page.resize(1000, 800)
    page.show()
    with qtbot.waitActive(page):
        page.activateWindow()
    yield page.buckets
    for sheet in page.findChildren(QDialog):
        sheet.close()


def mix_sheet(section: BucketSection) -> MixSheet:
    QTest.mouseClick(section.mix_button, Qt.MouseButton.LeftButton)
    return next(one for one in section.findChildren(MixSheet) if one.isVisible())


def buckets_of(desk: Desk, glaze_id: int) -> GlazeBuckets:
    found = desk.read(lambda session: read_glaze_buckets(session, glaze_id))
    assert found is not None
    return found


def plain(words: str) -> str:
    return words.replace("\u202f", " ")


def retype(field: object, text: str) -> None:
    line = field.line  # type: ignore[attr-defined]
    line.setFocus()
    line.selectAll()
    QTest.keyClicks(line, text)


def mix_two_kilos(section: BucketSection) -> None:
    sheet = mix_sheet(section)
    retype(sheet.amount, "2")
    QTest.keyClick(sheet.amount.line, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)


def test_a_bucket_is_mixed_by_keys_alone_and_one_undo_takes_it_back(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    section.mix_button.setFocus()
    QTest.keyClick(section.mix_button, Qt.Key.Key_Space)
    sheet = next(one for one in section.findChildren(MixSheet) if one.isVisible())
    QTest.keyClicks(sheet.amount.line, "2")  # what stood there was selected
    row = sheet.table.row(1)
    assert plain(row.wanted.text()) == "440.00 g"
    assert plain(row.running.text()) == "1240.0 g"
    assert plain(row.left.text()) == "4560 g"
    # The recipe's copper and bentonite stand on top: 106 parts are 2120 g.
    assert plain(sheet.figures["dry"].accessibleName()) == "Dry: 2120.0 g, 6 weighings"
    assert sheet.figures["cost"].accessibleName().startswith("Material: 0.37 at least, no price of")
    sheet.table.row(0).tick.setFocus()
    for _ in range(2):
        QTest.keyClick(sheet.focusWidget(), Qt.Key.Key_Space)
        QTest.keyClick(sheet.focusWidget(), Qt.Key.Key_Down)
    assert sheet.table.ticks() == (0, 1)
    assert not sheet.amount.isEnabled(), "what is ticked was weighed for this amount"
    QTest.keyClick(sheet, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    (bucket,) = buckets_of(desk, kelp).buckets
    assert (bucket.dry_g, bucket.mixed_on) == (2120, TODAY)
    assert desk.read(read_stock)["Silica"].grams == 4560
    opened = section.rows[bucket.bucket_id]
    assert opened.details.isVisibleTo(opened)
    assert "2.12 kg dry, as mixed on 2 Mar 2026" in plain(opened.state.text())
    assert section.quiet.text() == "1 in use"
    desk.edits.undo()
    assert section.rows == {}
    assert desk.read(read_stock)["Silica"].grams == 5000


def test_a_sheet_left_between_two_weighings_opens_where_it_was_left(
    section: BucketSection,
) -> None:
    sheet = mix_sheet(section)
    retype(sheet.amount, "3")
    sheet.table.row(0).tick.click()
    sheet.table.weighed.emit(1, 663.0)
    QTest.keyClick(sheet, Qt.Key.Key_Escape)
    again = mix_sheet(section)
    assert (again.amount.text(), again.table.ticks()) == ("3", (0,))
    assert again.table.row(1).weighed.text() == "663"
    assert plain(again.table.row(1).error.text()).startswith("+3.00 g")
    assert "1 of 6 lines weighed" in again.draft_words.text()
    again.anew.click()
    assert again.table.ticks() == ()
    assert again.table.row(1).weighed.text() == "660"
    assert again.amount.isEnabled()


def test_another_unit_asks_for_the_same_batch(section: BucketSection) -> None:
    sheet = mix_sheet(section)
    sheet.of.pick(DRY)
    assert sheet.amount.text() == "5.3"
    sheet.of.pick(SLURRY)
    litres = sheet.amount.value()
    assert litres == pytest.approx(7.34, abs=0.05)
    retype(sheet.gravity, "1.6")
    assert sheet.amount.value() == litres
    assert "5300" not in sheet.figures["dry"].accessibleName(), "thicker slurry holds more"


def test_what_cannot_be_mixed_is_said_and_cannot_be_kept(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    sheet = mix_sheet(section)
    for field, typed, words in (
        (sheet.amount, "two", "is not a number"),
        (sheet.amount, "", "Give the amount to mix"),
        (sheet.amount, "5", ""),
        (sheet.gravity, "2.9", "less than"),
        (sheet.gravity, "1.45", ""),
        (sheet.step, "", "Give the step of the scale"),
    ):
        field.line.setText(typed)
        assert words in sheet.why_not.sentence()
        assert sheet.keep_button.isEnabled() is (words == "")
    sheet.step.line.setText("5")
    sheet.amount.line.setText("0,2")
    assert "Too little for this scale" in sheet.coarse.sentence()
    sheet.amount.line.setText("40")
    assert sheet.short.sentence() == "More than there is on the shelf: Silica."
    sheet.table.row(0).weighed.edited.emit("some")
    assert "is not a number" in sheet.table.problem.sentence()
    sheet.amount.line.setText("2")
    sheet.table.row(0).weighed.edited.emit("9000000")
    assert "Potash feldspar: what was weighed must be" in sheet.why_not.sentence()
    sheet.table.row(0).weighed.edited.emit("")
    assert sheet.why_not.sentence() == ""
    assert buckets_of(desk, kelp).buckets == ()


def test_the_mixing_sheet_is_looked_at_before_it_is_printed(section: BucketSection) -> None:
    sheet = mix_sheet(section)
    paper = sheet.open_paper()
    assert paper is not None
    page = paper.view.page
    assert page is not None
    assert "Date: 2026-03-02" in page.words
    assert "5300.0 g dry" in plain(page.description)
    paper.close()
    sheet.day.line.setText("soon")
    assert sheet.open_paper() is None
    assert "is not a day" in sheet.why_not.sentence()
    sheet.keep()
    assert sheet.isVisible()


def test_what_is_measured_tells_at_once_what_to_add_and_added_writes_both(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    mix_two_kilos(section)
    (row,) = section.rows.values()
    entry = row.entry
    retype(entry.volume, "4")
    retype(entry.gravity, "1.52")
    # 4000 · (1.52 − 1.45) / 0.45
    assert plain(entry.answer.text()) == "Add 622 g of water to reach 1.45."
    entry.day.line.setText("soon")
    entry.added.click()
    assert "“soon” is not a day" in entry.problem.sentence()
    entry.day.set_day(TODAY)
    entry.added.click()
    (bucket,) = buckets_of(desk, kelp).buckets
    assert [change.kind for change in bucket.changes] == ["water", "measured"]
    assert plain(entry.answer.text()) == "It is at its target of 1.45."
    assert not entry.added.isVisible()
    assert entry.gravity.text() == ""
    desk.edits.undo()
    assert buckets_of(desk, kelp).buckets[0].changes == (), "one step, one undo"


def test_a_weighed_jug_is_a_specific_gravity_and_enter_writes_it(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    mix_two_kilos(section)
    (row,) = section.rows.values()
    retype(row.entry.jug, "150")
    assert "of water to reach 1.45" in row.entry.answer.text()
    QTest.keyClick(row.entry.jug.line, Qt.Key.Key_Return)
    (change,) = buckets_of(desk, kelp).buckets[0].changes
    assert change.specific_gravity == 1.5
    assert "1.50, measured on 2 Mar 2026" in row.gravity.text()
    retype(row.entry.jug, "90")
    assert "no heavier than water" in row.entry.answer.text()
    retype(row.entry.jug, "x")
    QTest.keyClick(row.entry.jug.line, Qt.Key.Key_Return)
    assert "is not a number" in row.entry.problem.sentence()


def test_what_was_done_is_kept_and_taken_out(desk: Desk, kelp: int, section: BucketSection) -> None:
    mix_two_kilos(section)
    (row,) = section.rows.values()
    entry = row.entry
    retype(entry.mesh, "80")
    QTest.keyClick(entry.mesh.line, Qt.Key.Key_Return)
    entry.kind.choose("deflocculated")
    entry._show_fields()
    assert entry.material.isVisibleTo(entry)
    assert not entry.mesh.isVisibleTo(entry)
    retype(entry.grams, "3.5")
    entry.material.line.setText("Sodium silicate")
    entry.done.click()
    entry.kind.choose("water")
    entry._show_fields()
    entry.done.click()
    assert entry.problem.sentence() == "Give the grams of water."
    (bucket,) = buckets_of(desk, kelp).buckets
    assert [(one.kind, one.mesh, one.grams) for one in bucket.changes] == [
        ("deflocculated", None, 3.5),
        ("sieved", 80, None),
    ]
    row._take_out(bucket.changes[0])
    assert len(buckets_of(desk, kelp).buckets[0].changes) == 1


def test_used_up_buckets_go_out_of_sight_until_they_are_asked_for(section: BucketSection) -> None:
    mix_two_kilos(section)
    (row,) = section.rows.values()
    row.line.click()
    assert not row.details.isVisibleTo(row)
    row._keep("used_up", True)
    assert section.rows == {}
    assert section.used_up_link.text() == "Show 1 used up"
    section.used_up_link.click()
    assert len(section.rows) == 1


def test_a_bought_glaze_has_buckets_without_a_mix(desk: Desk, section: BucketSection) -> None:
    bought = desk.edits.run("Oat", lambda session: add_glaze(session, GlazeDraft(name="Oat")))
    page = section._page
    assert isinstance(page, GlazePageAlone)
    page.show_glaze(bought)
    assert not section.mix_button.isVisibleTo(section)
    section.add_link.click()
    (row,) = section.rows.values()
    assert row.as_mixed.isVisibleTo(row)
    row._keep("dry_g", 3000.0)
    row._keep("specific_gravity", 1.4)
    assert "3.00 kg dry" in plain(row.told.text())
    section.stated.line.setText("30")
    section.stated._finish()
    found = buckets_of(desk, bought)
    assert found.buckets[0].pieces_left == (100, 100)
    assert "as you stated it" in section.use.text()


def test_a_usual_specific_gravity_no_glaze_can_have_leaves_its_page_standing(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    mix_two_kilos(section)
    desk.edits.run("Slip", lambda session: change_glaze(session, kelp, specific_gravity=2.95))
    (row,) = section.rows.values()
    assert "less than" in row.entry.answer.text()
    assert not row.entry.added.isVisibleTo(row.entry)
    assert "a litre" not in section.cost.text()
    sheet = mix_sheet(section)
    assert "less than" in sheet.why_not.sentence()


def test_a_glaze_without_a_usual_gravity_is_brought_back_to_what_was_mixed(
    desk: Desk, kelp: int, section: BucketSection
) -> None:
    mix_two_kilos(section)
    desk.edits.run("None", lambda session: change_glaze(session, kelp, specific_gravity=None))
    (row,) = section.rows.values()
    retype(row.entry.volume, "4")
    for typed in ("1", "1.", "1.5", "1.52"):
        retype(row.entry.gravity, typed)
    assert plain(row.entry.answer.text()) == "Add 622 g of water to reach 1.45."


def test_sums_of_slurry_need_no_bucket(section: BucketSection) -> None:
    section.sums_link.click()
    sheet = next(one for one in section.findChildren(SlurrySheet) if one.isVisible())
    sheet.volume.line.setText("5")
    sheet.gravity.line.setText("1.55")
    sheet.target.line.setText("1.45")
    assert "Add 1111 g of water to reach 1.45." in plain(sheet.mend.answer.text())
    sheet.target.line.setText("1.6")
    assert "of dry glaze to reach 1.60" in plain(sheet.mend.answer.text())
    sheet.density.line.setText("2.6")
    sheet.gravity.line.setText("1.45")
    assert plain(sheet.litre.accessibleName()) == "In a litre: 731 g, dry"
    assert "as typed" in sheet.contents.answer.text()
    sheet.jug_g.line.setText("152")
    assert sheet.jug.answer.text() == "Specific gravity 1.520."
    sheet.take_gravity.click()
    assert sheet.gravity.text() == "1.52"
    sheet.coat_g.line.setText("12")
    assert "1200 g/m² of dry glaze: about" in plain(sheet.coat.answer.text())
    sheet.gravity.line.setText("0.9")
    assert "more than 1" in sheet.contents.why_not.sentence()
    sheet.keep_button.click()
    assert not sheet.isVisible()

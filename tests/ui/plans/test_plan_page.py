"""The page of a plan, and a plan being laid out: what is told, and what is wrong with it."""

from datetime import datetime
from functools import partial
from hashlib import sha256
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QDialog
from pytestqt.qtbot import QtBot

from studiolog.craft.glaze.plans import PlanOptions
from studiolog.desktop.desk import Desk
from studiolog.journal.analyses import find_material
from studiolog.journal.glazes import RecipePart, change_glaze, list_glazes, set_recipe
from studiolog.journal.plan_page import list_plans
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan
from studiolog.journal.session import Session
from studiolog.journal.stock import StockDraft, add_stock_change, read_stock
from studiolog.ui.parts.caution_line import CautionLine
from studiolog.ui.parts.choice import SegmentedChoice
from studiolog.ui.parts.paper_sheet import PaperSheet
from studiolog.ui.parts.plan_wanted import PlanWanted
from studiolog.ui.plans.plan_editor import PlanEditor
from studiolog.ui.plans.plan_view import PlanView
from studiolog.ui.plans.screen import PlansScreen
from studiolog.ui.plans.tile_photos import sort_files
from tests.photo_files import phone_jpeg
from tests.planned_tiles import DAY, give_recipe, page_of, plan_line
from tests.small_studio import SmallStudio
from tests.ui.conftest import OpenScreen


def enter_line(desk: Desk, studio: SmallStudio, far: str) -> int:
    return desk.edits.run("Plan", partial(plan_line, studio=studio, far=far))


def view(screen: PlansScreen) -> PlanView:
    assert isinstance(screen.page, PlanView)
    return screen.page


def words_of(page: PlanView) -> list[str]:
    return [cell.mark.words for cell in page.tiles.cells() if cell.mark is not None]


def test_a_looked_at_plan_tells_by_faults_surface_or_formula(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    enter_line(desk, studio, "looked")
    page = view(open_screen(PlansScreen))
    assert words_of(page) == ["none seen", "none seen", "none seen", "crazing", "none seen"]
    for key, said in (
        ("crazing", ["none seen", "none seen", "none seen", "marked", "none seen"]),
        ("surface", ["glossy", "glossy", "matt", "matt", "matt"]),
    ):
        page.marks.picked.emit(key)
        assert words_of(page) == said
    page.marks.picked.emit("ratio")
    ratios = [float(words.rsplit(" ", 1)[1]) for words in words_of(page)]
    # A blend lies between its corners, and the line goes one way.
    assert ratios in (sorted(ratios), sorted(ratios, reverse=True))
    assert ratios[0] != ratios[-1]
    page.tiles.go_to(4)
    assert page.reading.title.text() == "Tile A4"
    assert page.reading.went.text() == "cone 6, witness cone read at its level"
    assert page.reading.surface.text() == "matt"
    assert page.reading.none_seen.isHidden()
    page.tiles.go_to(1)
    assert page.reading.none_seen.text() == "Looked for, none seen: crazing"


def test_raw_tiles_are_led_to_the_bench_where_they_dry(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    plan_id = enter_line(desk, studio, "planned")
    asked: list[tuple[str, int]] = []
    desk.asked_for.connect(lambda kind, ident, _more: asked.append((kind, ident)))
    step = view(open_screen(PlansScreen)).step
    assert step.open_run.isHidden()
    step.stage.choose("leather_hard")
    step.make_button.click()
    assert "still raw" in step.asks.text()
    step.open_run.click()
    assert asked == [("run", desk.read(partial(page_of, plan_id=plan_id)).run_id)]


def test_tiles_are_chosen_by_space_and_all_by_ctrl_a(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    enter_line(desk, studio, "made")
    page = view(open_screen(PlansScreen))
    page.tiles.setFocus()
    for key in (Qt.Key.Key_Space, Qt.Key.Key_Right, Qt.Key.Key_Space):
        QTest.keyClick(page.tiles, key)
    assert page.tiles.chosen() == (1, 2)
    assert page.step.glaze_button.text() == "Mark the 2 chosen tiles as glazed"
    assert page.tiles.accessibleDescription().endswith("chosen")
    QTest.keyClick(page.tiles, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    assert len(page.tiles.chosen()) == 5
    QTest.keyClick(page.tiles, Qt.Key.Key_Escape)
    assert page.tiles.chosen() == ()


def test_the_specific_gravity_that_was_found_changes_what_is_poured(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    plan_id = enter_line(desk, studio, "planned")
    page = view(open_screen(PlansScreen))

    def kelp_ml() -> float:
        mixing = desk.read(partial(page_of, plan_id=plan_id)).mixing
        assert mixing is not None
        return mixing.tiles[0].amounts[0]

    before = kelp_ml()
    kelp = desk.read(partial(page_of, plan_id=plan_id)).corners[0].corner_id
    field = page.corners.gravity_of(kelp)
    assert field.line.text() == "1.45"
    field.line.setText("1.35")
    field.line.editingFinished.emit()
    # A thinner slurry has less dry glaze in each millilitre: 0.35/0.45 of it.
    assert kelp_ml() == pytest.approx(before * 0.45 / 0.35, rel=0.03)
    desk.edits.undo()
    assert kelp_ml() == before
    field.line.setText("0.9")
    field.line.editingFinished.emit()
    assert "1.01" in field.problem()


def test_a_trial_is_kept_as_a_glaze_and_mixing_takes_from_the_stock(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    enter_line(desk, studio, "fired")
    silica = desk.read(partial(find_material, name="Silica"))
    assert silica is not None  # the recipe brought it
    silica_id = silica.id
    bag = StockDraft(kind="bought", grams=1000, on=DAY)
    desk.edits.run("Buy", lambda session: add_stock_change(session, silica_id, bag))
    page = view(open_screen(PlansScreen))
    page.tiles.go_to(1)
    assert page.reading.keep_link.isHidden()  # Kelp alone stands among the glazes already
    page.tiles.go_to(3)
    page.reading.keep_link.click()
    page.reading.keep()
    assert page.reading.keep_name.problem().startswith("Give the glaze a name")
    page.reading.keep_name.set_text("Kelp")
    page.reading.keep()
    assert "Kelp already" in page.reading.keep_name.problem()
    page.reading.keep_name.set_text("Seal")
    page.reading.keep()
    assert "Seal" in [line.name for line in desk.read(list_glazes)]
    assert page.reading.keep_link.isHidden()
    page.step.stock.click()
    assert page.step.stock.isHidden()
    left = desk.read(read_stock)["Silica"].grams
    assert left is not None
    assert left < 1000


def test_papers_open_over_the_page_and_a_plan_with_pieces_is_kept(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    enter_line(desk, studio, "made")
    screen = open_screen(PlansScreen)
    page = view(screen)
    for key, told in (("labels", "piece 2"), ("mixing", "Kelp, ml"), ("results", "Tile by tile")):
        page.step.links[key].click()
        (sheet,) = [one for one in screen.findChildren(QDialog) if one.isVisible()]
        assert isinstance(sheet, PaperSheet)
        assert sheet.view.page is not None
        assert told in " ".join(sheet.view.page.words)
        if key == "mixing":
            (care, *_) = desk.read(partial(page_of, plan_id=1)).cautions
            assert f"{', '.join(care.materials)}: {care.caution}" in " ".join(sheet.view.page.words)
        sheet.close()
    cared = [one.sentence() for one in page.findChildren(CautionLine)]
    assert any(care.caution in one for one in cared), "the tiles are not glazed yet"
    screen.delete_shown()
    assert "5 pieces were made" in page.head.problem.sentence()
    assert len(desk.read(list_plans)) == 1


def test_labels_of_many_tiles_are_turned_through_and_saved_together(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen, tmp_path: Path
) -> None:
    enter_line(desk, studio, "planned")
    many = PlanDraft(
        name="Over and under", kind="thickness", made_on=DAY,
        corners=(CornerDraft(glaze_id=studio.kelp), CornerDraft(glaze_id=studio.oat)),
        options=PlanOptions(amounts=tuple(float(n) for n in range(1, 13))),
    )  # fmt: skip
    screen = open_screen(PlansScreen)
    screen.show_thing(desk.edits.run("Plan", partial(add_plan, draft=many)))
    view(screen).open_sheet("labels")
    (sheet,) = [one for one in screen.findChildren(PaperSheet) if one.isVisible()]
    assert sheet.turn.isHidden()
    (sizes,) = [one for one in sheet.findChildren(SegmentedChoice)
                if one.accessibleName().startswith("Size")]  # fmt: skip
    sizes.pick("Large")
    assert sheet.turn.isVisible()
    sheet.turn.pick(2)
    assert sheet.view.page is not None
    assert "B24" in sheet.view.page.words
    assert sheet.save(tmp_path / "labels.html")
    assert (tmp_path / "labels.html").read_text(encoding="utf-8").count("<svg") == 2
    sheet.close()


def editor(screen: PlansScreen) -> PlanEditor:
    screen.start_plan()
    return screen.editor


def choose(plan: PlanEditor, *glazes: int) -> None:
    for corner, glaze in zip(plan.corners.corners, glazes, strict=False):
        corner.glaze.pick.choose(glaze)
    plan.lay_out_now()


def test_what_is_wrong_with_a_new_plan_is_said_by_its_field(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    plan = editor(open_screen(PlansScreen))
    assert plan.why_not.text() == "Choose glaze A."
    choose(plan, studio.kelp, studio.chalk)
    assert plan.corners._problem.sentence().startswith("Chalk has no recipe: enter it first.")
    plan.make()
    assert plan.problem.sentence().startswith("Chalk has no recipe")
    assert desk.read(list_plans) == []

    desk.edits.run("Enter", lambda session: give_recipe(session, studio))
    choose(plan, studio.kelp, studio.chalk)
    assert plan.corners._problem.sentence() == ""
    assert plan.sums.text().startswith("6 tiles: ")
    plan.kind.buttons["additions"].setChecked(True)
    choose(plan, studio.kelp)
    assert plan.why_not.text() == "Say which material is added."
    plan.steps.material.set_text("Tin oxide")
    plan.steps.amounts.set_text("0, five")
    plan.lay_out_now()
    assert plan.steps.amounts.problem() == "“five” is not a number: write it like 12.5 or 12,5."
    plan.steps.amounts.set_text("0; 2,5; 5")
    plan.cone.set_text("sixish")
    plan.lay_out_now()
    assert "sixish" in plan.why_not.text()
    plan.cone.set_text("6")
    plan.lay_out_now()
    assert [cell.words for cell in plan.layout_view.cells()] == [
        "nothing added", "+ 2.5 Tin oxide", "+ 5 Tin oxide",
    ]  # fmt: skip
    assert plan.proposed_name() == "Kelp with Tin oxide"


@pytest.mark.parametrize(
    ("kind", "tiles"),
    [
        ("triaxial", 21),
        ("grid", 9),
        ("pyramid", 20),
        ("over_under", 9),
        ("thickness", 9),
        ("silica_alumina", 9),
    ],
)
def test_every_kind_is_laid_out_as_it_is_chosen(
    kind: str, tiles: int, desk: Desk, studio: SmallStudio, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    def enter(session: Session) -> None:
        give_recipe(session, studio)
        recipe = (RecipePart("Soda feldspar", 50), RecipePart("Whiting", 20),
                  RecipePart("Kaolin", 12), RecipePart("Silica", 18))  # fmt: skip
        set_recipe(session, studio.oat, recipe)
        change_glaze(session, studio.oat, specific_gravity=1.45)

    desk.edits.run("Enter", enter)
    plan = editor(open_screen(PlansScreen))
    plan.kind.buttons[kind].setChecked(True)
    if kind in ("over_under", "thickness"):
        plan.corners.more.click()
    if kind == "thickness":
        plan.steps.steps.set_text("1, 2, 3")
    if kind == "silica_alumina":
        plan.steps.silica.set_text("3 to 4")
        plan.steps.alumina.set_text("0.4 to 0.5")
        choose(plan, studio.oat)
    else:
        choose(plan, studio.kelp, studio.chalk, studio.oat)
    if kind == "pyramid":
        assert plan.steps.along.value() == 4, "six along an edge would be fifty-six tiles"
    if kind in ("grid", "pyramid"):
        assert plan.why_not.text() == "Choose glaze D."
        return
    qtbot.waitUntil(lambda: not desk.jobs.is_running("load the solver"), timeout=20_000)
    assert len(plan.layout_view.cells()) == tiles, plan.why_not.text()
    assert plan.make_button.isEnabled()


def test_without_a_glaze_the_way_to_enter_one_is_shown(desk: Desk, open_screen: OpenScreen) -> None:
    asked: list[tuple[str, object]] = []
    desk.asked_for.connect(lambda kind, _ident, more: asked.append((kind, more)))
    plan = editor(open_screen(PlansScreen))
    assert plan.no_glazes.isVisible()
    assert not plan.kind.isVisible()
    assert not plan.make_button.isEnabled()
    plan.no_glazes.action.click()
    assert asked == [("glazes", "new")]


def test_photos_go_to_the_tiles_in_the_order_they_were_taken(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen, tmp_path: Path, qtbot: QtBot
) -> None:
    plan_id = enter_line(desk, studio, "fired")
    page = view(open_screen(PlansScreen))
    files = []
    # The names run against the clock: when they were taken counts.
    for number in range(1, 4):
        file = tmp_path / f"IMG_{20 - number}.jpg"
        file.write_bytes(phone_jpeg(taken_at=datetime(2026, 10, 20, 9, number), shade=number))
        files.append(str(file))
    page.take_photos(3, files)
    qtbot.waitUntil(lambda: not desk.jobs.is_running("photos of plan A"), timeout=8000)
    tiles = desk.read(partial(page_of, plan_id=plan_id)).tiles
    assert [bool(tile.picture) for tile in tiles] == [False, False, True, True, True]
    assert len({tile.picture for tile in tiles}) == 4
    taken_first = sha256((tmp_path / "IMG_19.jpg").read_bytes()).hexdigest()
    assert tiles[2].picture == taken_first
    assert desk.edits.undo_label() == "Add 3 photos to plan A"
    page.take_photos(5, files[:2])
    qtbot.waitUntil(lambda: not desk.jobs.is_running("photos of plan A"), timeout=8000)
    assert desk.edits.undo_label() == "Add a photo to plan A"
    assert sort_files(["b10.jpg", "b9.jpg"]) == (Path("b9.jpg"), Path("b10.jpg"))


def test_another_page_may_ask_for_a_plan_with_its_glazes(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen
) -> None:
    screen = open_screen(PlansScreen)
    glazes = (studio.kelp, studio.chalk, studio.oat)
    screen.show_thing(0, PlanWanted("over_under", glazes, studio.red, "Which goes over which?"))
    plan = screen.editor
    assert plan.isVisible()
    assert [cell.words for cell in plan.layout_view.cells()][:2] == [
        "Kelp alone",
        "Chalk over Kelp",
    ]
    plan.make()
    page = desk.read(partial(page_of, plan_id=desk.read(list_plans)[0].plan_id))
    assert page.clay_id == studio.red
    assert page.question == "Which goes over which?"
    assert page.mixing is None
    assert view(screen).step.links["mixing"].text() == "Glazing sheet …"
    screen.show_thing(0, PlanWanted("thickness", glazes[:2], studio.red, "", (1.0, 2.0)))
    assert len(plan.layout_view.cells()) == 4, "two coats of each, and the third glaze is gone"
    assert "Choose" not in plan.why_not.text()


def test_the_tile_told_of_comes_along_beside_a_tall_layout(
    desk: Desk, studio: SmallStudio, open_screen: OpenScreen, qtbot: QtBot
) -> None:
    glazes = tuple(CornerDraft(glaze_id=one) for one in (studio.kelp, studio.chalk, studio.oat))
    steps = PlanOptions(amounts=tuple(float(n) for n in range(1, 5)))
    draft = PlanDraft(name="Thick", kind="thickness", made_on=DAY, corners=glazes, options=steps)
    desk.edits.run("Plan", partial(add_plan, draft=draft))
    screen = open_screen(PlansScreen, 1216, 500)
    page = view(screen)

    def top() -> int:
        return page.reading.mapTo(screen.page_view, page.reading.rect().topLeft()).y()

    qtbot.waitUntil(lambda: page.tiles.mapTo(page, page.tiles.rect().bottomLeft()).y() > 600)
    QTest.keyClick(page.tiles, Qt.Key.Key_End)
    qtbot.waitUntil(lambda: page.drift.height() > 0)
    assert screen.page_view.verticalScrollBar().value() > 100
    qtbot.waitUntil(lambda: 0 <= top() < 250)
    high = page.height()
    screen.page_view.verticalScrollBar().setValue(0)
    qtbot.waitUntil(lambda: page.drift.height() == 0)
    assert page.height() == high

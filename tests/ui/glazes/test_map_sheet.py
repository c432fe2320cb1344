"""The map of the glazes, walked by keys: what stands there, what is hollow, what opens."""

from datetime import date
from itertools import combinations

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.clays import ClayDraft, add_clay
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_glaze, add_version
from studiolog.journal.inspections import FaultDraft, InspectionDraft, SurfaceDraft
from studiolog.journal.pieces import LayerDraft, PieceDraft, log_piece
from studiolog.journal.session import Session
from studiolog.ui.glazes.map_sheet import GlazeMapSheet
from studiolog.ui.glazes.screen import GlazesScreen
from studiolog.ui.plots.glaze_map_plot import GlazeMapPlot
from tests.ui.conftest import OpenScreen


def recipe(feldspar: float, silica: float, whiting: float, kaolin: float) -> tuple[RecipePart, ...]:
    parts = (("Orthoclase", feldspar), ("Silica", silica), ("Whiting", whiting))
    return tuple(RecipePart(*part) for part in (*parts, ("Kaolinite", kaolin)))


@pytest.fixture
def ids(desk: Desk) -> dict[str, int]:
    """A tested bright glaze, an untested version of it, and a matt one nobody looked at."""

    def enter(session: Session) -> dict[str, int]:
        bright = add_glaze(
            session, GlazeDraft(name="Sand", colour="#C8A060", recipe=recipe(40, 30, 20, 10))
        )
        matt = add_glaze(
            session, GlazeDraft(name="Moss", colour="#20402A", recipe=recipe(40, 5, 20, 35))
        )
        made = {
            "bright": bright,
            "matt": matt,
            "version": add_version(session, bright, recipe(40, 20, 20, 20)),
            "bare": add_glaze(session, GlazeDraft(name="Bought white")),
        }
        clay = add_clay(session, ClayDraft(name="Buff"))
        for crazed in (0, 0, 0, 2, 1, 0):
            look = InspectionDraft(
                looked_on=date(2026, 10, 4),
                faults=(FaultDraft("crazing", crazed),),
                surfaces=(SurfaceDraft("glossy"),),
            )
            layers = (LayerDraft(zone="outside", glaze_id=bright),)
            log_piece(session, PieceDraft(clay_id=clay, layers=layers, inspections=(look,)))
        layers = (LayerDraft(zone="outside", glaze_id=matt),)
        log_piece(session, PieceDraft(clay_id=clay, layers=layers))
        return made

    return desk.edits.run("Enter", enter)


@pytest.fixture
def screen(desk: Desk, ids: dict[str, int], open_screen: OpenScreen) -> GlazesScreen:
    return open_screen(GlazesScreen)


def open_map(screen: GlazesScreen) -> GlazeMapSheet:
    QTest.keyClick(screen.side.list, Qt.Key.Key_W)
    (sheet,) = [one for one in screen.findChildren(GlazeMapSheet) if one.isVisible()]
    return sheet


def title_at(plot: GlazeMapPlot) -> str:
    here = plot.current()
    return here.title if here is not None else ""


def test_one_key_opens_the_map_with_the_glaze_of_the_page_marked(
    screen: GlazesScreen, ids: dict[str, int]
) -> None:
    screen.show_thing(ids["matt"])
    sheet = open_map(screen)
    assert title_at(sheet.plot) == "Moss"
    assert sheet.place.text().startswith("Moss: SiO₂ ")
    assert sheet.seen.text() == "On 1 piece, but nobody looked for crazing yet."
    assert sheet.without.text().startswith("1 glaze has no place on the map. Bought white:")
    sheet.close()


def test_arrows_walk_by_silica_and_by_alumina_and_enter_opens(
    screen: GlazesScreen, ids: dict[str, int]
) -> None:
    sheet = open_map(screen)
    plot = sheet.plot
    QTest.keyClick(plot, Qt.Key.Key_Home)
    walked = [title_at(plot)]
    for _ in range(3):
        QTest.keyClick(plot, Qt.Key.Key_Right)
        walked.append(title_at(plot))
    assert walked == ["Moss", "Sand, version 2", "Sand", "Sand"]
    assert sheet.seen.text() == (
        "Crazing seen on 2 of 6 looked at, somewhere between 10 and 70 in 100."
    )
    assert plot.accessibleDescription().startswith("Sand: SiO₂ 3.71, Al₂O₃ 0.41, ratio 9.1. ")
    QTest.keyClick(plot, Qt.Key.Key_Up)
    assert title_at(plot) == "Sand, version 2"
    assert sheet.seen.text() == "No such piece yet: untested."
    QTest.keyClick(plot, Qt.Key.Key_Return)
    assert screen.page.ident == ids["version"]


def test_a_tested_glaze_has_its_own_colour_and_an_untested_one_is_hollow(
    screen: GlazesScreen, ids: dict[str, int]
) -> None:
    sheet = open_map(screen)
    plot = sheet.plot
    picture = plot.grab().toImage()
    ratio = picture.devicePixelRatio()
    frame = plot._frame()

    def colours(name: str, reach: int) -> set[str]:
        glaze = plot._glaze(ids[name])
        assert glaze is not None
        at = frame.point(glaze.silica, glaze.alumina)
        around = [QPointF(dx, dy) for dx in range(-reach, reach) for dy in range(-reach, reach)]
        points = [((at + off) * ratio).toPoint() for off in around]
        return {picture.pixelColor(point).name() for point in points}

    look = theme.current()
    rust, sheet_colour = look.color("rust").name(), look.color("sheet").name()
    assert rust in colours("bright", 24)
    assert rust not in colours("matt", 24), "nobody looked: no ring"
    assert colours("version", 6) == {sheet_colour}, "nothing fired yet: nothing inside"
    assert sheet_colour not in colours("matt", 6)


def test_names_lie_on_no_other_name_and_on_no_glaze(
    screen: GlazesScreen, ids: dict[str, int]
) -> None:
    sheet = open_map(screen)
    plot = sheet.plot
    plot.grab()
    boxes = [placed.box for placed in plot._placed.values()]
    assert len(boxes) == 3
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
    frame = plot._frame()
    for glaze in plot._glazes:
        at = frame.point(glaze.silica, glaze.alumina)
        assert not any(box.contains(at) for box in boxes)


def test_closer_and_back_keep_the_glaze_in_sight(screen: GlazesScreen, ids: dict[str, int]) -> None:
    sheet = open_map(screen)
    plot = sheet.plot
    whole = plot._view
    QTest.keyClick(plot, Qt.Key.Key_End)
    for _ in range(4):
        QTest.keyClicks(plot, "+")
    assert plot._view[1] - plot._view[0] < (whole[1] - whole[0]) / 3
    QTest.keyClick(plot, Qt.Key.Key_Home)
    here = plot.current()
    assert here is not None
    assert plot._frame().shows(here.silica, here.alumina)
    QTest.keyClicks(plot, "0")
    assert plot._view == whole


def test_the_rings_speak_of_what_is_chosen(screen: GlazesScreen, ids: dict[str, int]) -> None:
    screen.show_thing(ids["bright"])
    sheet = open_map(screen)
    sheet.about.choose(("surface", "glossy"))
    sheet.about.picked.emit(("surface", "glossy"))
    assert sheet.seen.text().startswith("Glossy seen on 6 of 6 looked at")
    assert "described otherwise" in sheet.legend.accessibleName()
    QTest.mouseDClick(sheet.plot, Qt.MouseButton.LeftButton, pos=_spot(sheet.plot, ids["matt"]))
    assert screen.page.ident == ids["matt"]


def _spot(plot: GlazeMapPlot, glaze_id: int):
    glaze = plot._glaze(glaze_id)
    assert glaze is not None
    return plot._frame().point(glaze.silica, glaze.alumina).toPoint()


def test_without_any_formula_it_says_what_to_do(desk: Desk, open_screen: OpenScreen) -> None:
    desk.edits.run("Add", lambda s: add_glaze(s, GlazeDraft(name="Bought white")))
    sheet = open_map(open_screen(GlazesScreen))
    assert sheet.empty.isVisible()
    assert not sheet.plot.isVisible()
    assert sheet.without.isVisible()
    QTest.mouseClick(sheet.empty.action, Qt.MouseButton.LeftButton)
    assert not sheet.isVisible()

"""How the demo is made: the same every time, never found half made, never in another's way."""

import importlib
import runpy
import shutil
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from sample_data.build_demo import MARK, VERSION, Workers, make_demo, make_demo_once
from sample_data.demo_pictures import choose_notable, plan_pictures
from sample_data.firing_year import (
    FiringOutcome,
    FiringPlan,
    bend_of,
    pack_for,
    plan_firings,
    run_firing,
)
from sample_data.picture_spec import SHRINKAGE_LEFT
from sample_data.piece_story import Story, tell_story
from sample_data.studio_setup import _RECIPES, PROGRAMS, SHRINKAGE
from sample_data.work_year import TODAY, plan_work
from studiolog.craft.firing.bend import parse_bend, read_pack
from studiolog.journal.opening import FILE, open_journal
from studiolog.shipped import sample_data


@pytest.fixture(scope="module")
def outcomes() -> dict[int, FiringOutcome]:
    return {one.number: one for one in map(run_firing, plan_firings())}


@pytest.fixture(scope="module")
def stories(outcomes: dict[int, FiringOutcome]) -> list[Story]:
    plans = plan_firings()
    firings = {plan.number: plan for plan in plans}
    return [tell_story(p, firings, outcomes) for run in plan_work(plans) for p in run.pieces]


def test_a_whole_demo_is_left_as_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    open_journal(folder).close()
    (folder / MARK).write_text(VERSION)
    before = sorted(path.name for path in folder.iterdir())
    assert make_demo_once(folder, lambda _: None) == folder
    assert sorted(path.name for path in folder.iterdir()) == before


def test_an_older_demo_is_set_aside_and_one_that_fails_is_never_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "demo"
    open_journal(folder).close()
    (folder / MARK).write_text("0")
    build = importlib.import_module("sample_data.build_demo")

    def out_of_room(*_: object) -> None:
        raise OSError("no space left on this disk")

    monkeypatch.setattr(build, "_build", out_of_room)
    said: list[str] = []
    with pytest.raises(OSError, match="no space"):
        make_demo_once(folder, said.append)
    assert not folder.exists()
    assert [path.name for path in tmp_path.iterdir()] == ["demo set aside"]
    assert (tmp_path / "demo set aside" / FILE).is_file()
    assert "set aside" in said[0]


def test_a_folder_with_other_things_in_it_is_not_built_into(tmp_path: Path) -> None:
    (tmp_path / "letters.txt").write_text("mine")
    with pytest.raises(FileExistsError, match="not empty"):
        make_demo(tmp_path, lambda _: None)
    assert [path.name for path in tmp_path.iterdir()] == ["letters.txt"]


def test_the_program_finds_the_script_by_its_path() -> None:
    script = runpy.run_path(str(sample_data("make_demo.py")))
    assert script["make_demo_once"] is make_demo_once


def test_the_script_finds_its_siblings_inside_an_installed_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import studiolog

    monkeypatch.setattr(sys, "path", [*sys.path])
    inside = tmp_path / "_sample_data"
    shutil.copytree(sample_data(), inside, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(studiolog, "__path__", [*studiolog.__path__, str(tmp_path)])
    script = runpy.run_path(str(inside / "make_demo.py"))
    assert script["make_demo_once"].__module__ == "studiolog._sample_data.build_demo"


def test_without_a_pool_the_work_is_done_here() -> None:
    workers = Workers(processes=1)
    assert workers.begin(str.upper, ["a", "b"], 1)() == ["A", "B"]
    workers.close()


def test_firings_of_one_kiln_follow_each_other() -> None:
    plans = plan_firings()
    assert len(plans) >= 40
    assert [plan.number for plan in plans] == list(range(49, 49 + len(plans)))
    last: dict[str, FiringPlan] = {}
    for plan in plans:
        before = last.get(plan.kiln)
        if before is not None:
            assert plan.started_at - before.started_at > timedelta(days=2)
        last[plan.kiln] = plan


def test_a_pack_tells_the_cone_its_level_got() -> None:
    """The bend and its reading are the program's own judgement table: this checks both ways."""
    import numpy as np

    random = np.random.default_rng(1)
    for cone in (5.3, 5.8, 6.1, 6.4):
        read = read_pack([(name, parse_bend(said)) for name, said in pack_for("6", cone, random)])
        assert read.low - 0.15 <= cone <= read.high + 0.15
    assert bend_of("6", 5.0) < 20
    assert bend_of("5", 6.0) > 90


def test_the_same_year_comes_out_of_the_plans_every_time(stories: list[Story]) -> None:
    plans = plan_firings()
    again = [piece for run in plan_work(plans) for piece in run.pieces]
    assert [(p.number, p.clay, p.coats, p.level, p.came_from) for p in again] == [
        (s.plan.number, s.plan.clay, s.plan.coats, s.plan.level, s.plan.came_from) for s in stories
    ]
    pictures = plan_pictures(stories)
    assert pictures == plan_pictures(stories)
    assert 100 <= len(pictures) <= 160
    assert 412 in pictures
    assert [s.plan.number for s in choose_notable(stories, 0.01)] == [412]


def test_stages_follow_each_other_and_none_is_in_the_future(stories: list[Story]) -> None:
    order = ("wet", "leather_hard", "bone_dry", "bisque", "glazed", "fired", "finished", "lost")
    for story in stories:
        named = [order.index(stage) for stage, _ in story.stages]
        times = [when for _, when in story.stages]
        assert named == sorted(named), story
        assert times == sorted(times), story
        assert times[-1] <= TODAY
        assert all(look.looked_on <= TODAY.date() for look in story.inspections)


def test_weights_and_sizes_are_ones_a_potter_would_believe(stories: list[Story]) -> None:
    """*Common practice*: a quarter of the weight goes by bisque; size follows the shrinkage."""
    measured = 0
    for story in stories:
        sizes = {size.stage: size for size in story.sizes}
        wet, bisque, fired = (sizes.get(stage) for stage in ("wet", "bisque", "fired"))
        if wet is None or bisque is None or fired is None:
            continue
        measured += 1
        assert wet.mass_g
        assert bisque.mass_g
        assert fired.mass_g
        assert 0.22 < 1 - bisque.mass_g / wet.mass_g < 0.28
        assert 1.0 < fired.mass_g / bisque.mass_g < 1.10
        assert wet.height_mm
        assert fired.height_mm
        shrunk = 1 - fired.height_mm / wet.height_mm
        tolerance = 0.015 if wet.height_mm > 40 else 0.06  # a tile is 10 mm: a millimetre counts
        assert abs(shrunk - SHRINKAGE[story.plan.clay]) < tolerance
    assert measured > 40
    assert 0 < SHRINKAGE_LEFT["bisque"] < 1


def test_recipes_add_to_a_hundred_without_their_additions() -> None:
    for name, (_, _, _, _, base, _) in _RECIPES.items():
        assert sum(parts for _, parts in base) == 100, name
    assert {plan.kind for plan in PROGRAMS.values()} == {"bisque", "glaze", "test"}

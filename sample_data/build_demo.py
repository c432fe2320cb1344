"""The demo journal from the first clay to the last picture."""

from __future__ import annotations

import concurrent.futures
import multiprocessing
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Sequence
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import TypeVar

from studiolog.journal.opening import is_journal, open_journal
from studiolog.photos.intake import take_in
from studiolog.photos.store import PhotoStore

from .bench_work import work_at_the_bench
from .bucket_history import weigh_ware, write_bucket_history
from .clay_tests import measure_clays
from .covers import note_covers
from .demo_pictures import PicturePlan, plan_pictures
from .demo_writer import Photo, Writer
from .firing_year import plan_firings, run_firing
from .glaze_plans import add_tile_pictures, plan_tile_pictures, write_test_plans
from .ideas_and_ways import write_ideas_and_ways
from .kiln_upkeep import enter_upkeep
from .next_kiln import plan_next_kiln
from .orders_in_hand import write_orders
from .piece_story import tell_story
from .pottery_pictures import render_jpeg
from .promises_ahead import write_promises
from .studio_setup import set_up_studio
from .waiting_logs import let_logs_wait
from .work_year import plan_work

VERSION = "4"
"""Goes up when the demo changes: an older one is then set aside and a new one made."""
MARK = ".demo-version"

Tell = Callable[[str], object]
Given = TypeVar("Given")
Made = TypeVar("Made")


class Workers:
    """A pool of processes; where none can be started the work is done in this one."""

    def __init__(self, processes: int | None = None) -> None:
        self.processes = processes if processes is not None else min(8, os.cpu_count() or 1)
        self._pool: concurrent.futures.ProcessPoolExecutor | None = None
        if self.processes > 1:
            # Spawned, not forked: the window's threads must not be copied into a worker.
            self._pool = concurrent.futures.ProcessPoolExecutor(
                self.processes, mp_context=multiprocessing.get_context("spawn")
            )

    def begin(
        self, work: Callable[[Given], Made], given: Sequence[Given], chunk: int
    ) -> Callable[[], list[Made]]:
        """Begin ``work`` on each of ``given``; call what is returned for what came of it."""
        begun = None
        if self._pool is not None:
            try:
                begun = self._pool.map(work, given, chunksize=chunk)
            except (BrokenProcessPool, OSError):
                self.close()

        def finish() -> list[Made]:
            if begun is not None:
                try:
                    return list(begun)
                except BrokenProcessPool:
                    self.close()
            return [work(one) for one in given]

        return finish

    def close(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(cancel_futures=True)
            self._pool = None


def make_demo(
    folder: Path, tell: Tell = print, *, photos: float = 1.0, processes: int | None = None
) -> Path:
    """Make the demo journal in ``folder``, which must not hold one; returns the folder.

    ``photos`` is the share of the usual pictures, 0 for none. It is built beside the folder and
    moved there whole, so that a half-made journal is never found.
    """
    folder = folder.resolve()
    folder.parent.mkdir(parents=True, exist_ok=True)
    if folder.exists() and any(folder.iterdir()):
        raise FileExistsError(f"{folder} is not empty: name a new folder for the demo journal.")
    building = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    workers = Workers(processes)
    try:
        _build(building / "journal", tell, photos, workers)
        if folder.exists():
            folder.rmdir()
        (building / "journal").rename(folder)
    finally:
        workers.close()
        shutil.rmtree(building, ignore_errors=True)
    tell("The demo journal is ready.")
    return folder


def make_demo_once(folder: Path, tell: Tell = print) -> Path:
    """The demo journal in ``folder``; made if it is not there whole, or of an older version.

    An older one is set aside under a name of its own, never deleted: there may be work in it.
    """
    folder = folder.resolve()
    mark = folder / MARK
    if is_journal(folder) and mark.is_file() and mark.read_text().strip() == VERSION:
        return folder
    if folder.exists() and any(folder.iterdir()):
        aside = folder.with_name(f"{folder.name} set aside")
        nth = 2
        while aside.exists():
            aside = folder.with_name(f"{folder.name} set aside {nth}")
            nth += 1
        folder.rename(aside)
        tell(f"The earlier demo journal was set aside in {aside}.")
    return make_demo(folder, tell)


def _build(folder: Path, tell: Tell, photos: float, workers: Workers) -> None:
    tell("Firing the kilns of the demo …")
    plans = plan_firings()
    firings = {plan.number: plan for plan in plans}
    outcomes = {one.number: one for one in workers.begin(run_firing, plans, 4)()}
    runs = plan_work(plans)
    stories = {run.number: [tell_story(p, firings, outcomes) for p in run.pieces] for run in runs}
    everyone = [story for some in stories.values() for story in some]
    wanted = plan_pictures(everyone, photos) | plan_tile_pictures(outcomes, photos)
    pictures = _in_drawing_order(wanted)
    tell(f"Drawing {len(pictures)} pictures, writing {len(everyone)} pieces into the journal …")
    drawing = workers.begin(render_jpeg, [plan.spec for _, plan in pictures], 6)
    journal = open_journal(folder)
    try:
        set_up = journal.edit("Set up the studio", set_up_studio).value
        writer = Writer(journal, set_up, firings, outcomes)
        writer.write(runs, stories)
        writer.keep_questions()
        journal.edit("Note the upkeep", lambda session: enter_upkeep(session, set_up.kilns))
        journal.edit(
            "Keep the buckets", lambda session: write_bucket_history(session, set_up.buckets)
        )
        journal.edit("Weigh glazed ware", lambda session: weigh_ware(session, set_up.glazes))
        journal.edit("Take in 2 logs", let_logs_wait)
        tiles = write_test_plans(journal, set_up, writer.firing_ids, outcomes)
        measure_clays(writer)
        write_ideas_and_ways(journal, set_up, writer.firing_ids, outcomes, sketches=photos > 0)
        write_orders(writer)
        journal.edit("Note how the ware stood", lambda session: note_covers(session, runs))
        work_at_the_bench(journal)
        journal.edit("Plan the next kiln", lambda session: plan_next_kiln(session, set_up))
        write_promises(writer)
        store = PhotoStore(journal.photo_folder)
        taken = _take_in(pictures, drawing(), store)
        writer.add_photos(runs, taken)
        add_tile_pictures(journal, tiles, taken)
    finally:
        journal.close()
    (folder / MARK).write_text(VERSION + "\n")


def _in_drawing_order(wanted: dict[int, list[PicturePlan]]) -> list[tuple[int, PicturePlan]]:
    return sorted(
        ((number, plan) for number, some in wanted.items() for plan in some),
        key=lambda one: (*one[1].order, one[0]),
    )


def _take_in(
    pictures: list[tuple[int, PicturePlan]], drawn: list[bytes], store: PhotoStore
) -> dict[int, list[Photo]]:
    """Keep the drawn pictures as any photo is kept; returns them by piece, in order of time."""
    sources = [(plan.name, data) for (_, plan), data in zip(pictures, drawn, strict=True)]
    intake = take_in(sources, store, thumbnail_sizes=())
    for refusal in intake.refused:
        raise AssertionError(f"A drawn picture was refused: {refusal.sentence}")
    facts = {one.name: one for one in intake.kept}
    taken: dict[int, list[Photo]] = {}
    for number, plan in pictures:
        taken.setdefault(number, []).append((plan, facts[plan.name]))
    for some in taken.values():
        some.sort(key=lambda one: one[0].spec.taken_at)
    return taken


def main(words: Sequence[str]) -> int:
    """Make the demo journal in the folder named on the command line."""
    if len(words) != 1 or words[0].startswith("-"):
        print("Usage: python sample_data/make_demo.py FOLDER", file=sys.stderr)
        return 2
    try:
        print(make_demo_once(Path(words[0])))
    except OSError as problem:
        print(f"The demo journal could not be made: {problem}", file=sys.stderr)
        return 2
    return 0

"""The wear of a kiln as its stored firings tell it."""

from datetime import date, datetime, timedelta

import pytest

from studiolog.journal.firings import CurveDraft, FiringDraft, LogDraft, PackDraft, log_firing
from studiolog.journal.kiln_map import read_kiln_map
from studiolog.journal.kiln_tasks import KilnTaskDraft, add_task
from studiolog.journal.kiln_wear import KilnWearPage, read_kiln_wear
from studiolog.journal.programs import SegmentDraft
from studiolog.journal.session import Session
from studiolog.transfer.curve_blob import pack_readings
from tests.journal.conftest import Studio
from tests.journal.test_facts import flat

FIRST = datetime(2026, 1, 5, 8)


def log_of(number: int, climb_min: float) -> LogDraft:
    """10 h to 1000 °C, so many minutes to 1150 °C, an hour on to 1222, 10 h down."""
    times = [0.0, 36000.0, 36000.0 + climb_min * 60]
    times += [times[-1] + 3600.0, times[-1] + 39600.0]
    heats = [20.0, 1000.0, 1150.0, 1222.0, 60.0]
    dense_s = [60.0 * n for n in range(int(times[-1] // 60))]
    dense_c = []
    for at in dense_s:
        k = max(i for i, t in enumerate(times) if t <= at)
        share = (at - times[k]) / (times[k + 1] - times[k])
        dense_c.append(heats[k] + share * (heats[k + 1] - heats[k]))
    curve = CurveDraft(
        channel="kiln", packed=pack_readings(dense_s, dense_c), readings=len(dense_s),
        duration_s=times[-1], peak_c=1222.0, cone=6.0, cone_low=5.6, cone_high=6.6,
    )  # fmt: skip
    return LogDraft(sha256=f"{number:064}", name="log.csv", content=b"", curves=(curve,))


@pytest.fixture
def worn(studio: Studio) -> Studio:
    """Nine firings as fast as it goes, ever slower; the elements were new before the second."""

    def enter(session: Session) -> None:
        elements = KilnTaskDraft(task="elements", done_on=date(2026, 1, 6))
        add_task(session, studio.kiln, elements, date(2026, 1, 6))
        for number in range(10):
            minutes = 90.0 if number == 0 else 46.0 + 2 * number
            packs = (PackDraft(level_id=studio.top, cones=flat("6" if number < 5 else "7")),)
            draft = FiringDraft(
                kiln_id=studio.kiln,
                started_at=FIRST + timedelta(days=3 * number),
                segments=(SegmentDraft(100, 1000), SegmentDraft(None, 1222)),
                log=log_of(number, minutes),
                packs=packs,
                kwh=60.0 + number,
            )
            log_firing(session, draft)

    studio.journal.edit("A worn kiln", enter)
    return studio


def test_climb_energy_drift_and_hours_are_read_from_what_is_stored(worn: Studio) -> None:
    page = worn.journal.read(lambda s: read_kiln_wear(s, worn.kiln))
    climb = page.wear.climb
    assert page.wear.changed_on == date(2026, 1, 6)
    assert (climb.group, len(climb.points), len(climb.earlier)) == ("as fast as it goes", 9, 1)
    # 48, 50 … 64 min: the first five have the median 52, the last three 62.
    assert climb.baseline == pytest.approx(52, abs=0.1)
    assert climb.now == pytest.approx(62, abs=0.1)
    assert climb.earlier[0].value == pytest.approx(90, abs=0.1)
    energy = page.wear.energy
    assert (energy.baseline, energy.now) == (63.0, 68.0)
    assert page.wear.hold.points == ()
    # The cones went from 6 to 7 against a sensor that always said 6.
    assert page.drift.firings == 9
    assert page.drift.per_ten_c is not None
    assert page.drift.per_ten_c > 5
    assert page.drift.sure
    elements, thermocouple = page.since_new
    # The studio's own firing of October has no log: it counts, but adds no hours.
    assert (elements.task, elements.firings, elements.logged) == ("elements", 10, 9)
    assert thermocouple.on is None
    assert thermocouple.firings == 11
    # By hand, the second firing: 1000 °C left after 10 h; 48 + 60 min on; then down 222 of
    # 1162 °C in 10 h of cooling.
    hot_h = 9 * (1 + 222 / 1162 * 10) + sum(46 + 2 * n for n in range(1, 10)) / 60
    assert elements.hot_hours == pytest.approx(hot_h, abs=0.2)


def test_the_map_holds_all_eras_and_counts_the_newest(worn: Studio) -> None:
    levels = [(worn.top, "top"), (worn.middle, "middle")]
    found = worn.journal.read(lambda s: read_kiln_map(s, worn.kiln, levels))
    top, middle = found.levels
    assert top.calibration_of == (0, *([1] * 9))
    assert top.offset is not None
    assert top.offset.readings == 9
    assert middle.offset is None
    assert middle.in_cones == "not read yet"
    assert found.since == date(2026, 1, 6)
    assert found.spread == "", "one level alone has no spread"


def test_a_kiln_never_fired_has_no_wear(studio: Studio) -> None:
    page = studio.journal.read(lambda s: read_kiln_wear(s, 77))
    assert isinstance(page, KilnWearPage)
    assert (page.wear.firings, page.wear.climb.points, page.drift.firings) == (0, (), 0)

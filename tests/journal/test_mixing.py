"""A bucket is mixed from the shelf, used up piece by piece, measured and mended; undo undoes it."""

from datetime import date, datetime
from decimal import Decimal

import pytest
from sqlalchemy.orm import Session

from studiolog.journal.buckets import (
    ChangeDraft,
    GlazeBuckets,
    add_change,
    change_change,
    delete_change,
    find_correction,
    read_glaze_buckets,
)
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_bucket,
    add_glaze,
    add_version,
    change_glaze,
    delete_bucket,
    delete_glaze,
)
from studiolog.journal.limits import set_limit
from studiolog.journal.materials import add_material
from studiolog.journal.mixing import (
    Mix,
    MixAsk,
    MixBench,
    MixDraft,
    lay_out_mix,
    mix,
    read_mix_bench,
)
from studiolog.journal.opening import Journal
from studiolog.journal.pieces import (
    LayerDraft,
    PieceDraft,
    RunDraft,
    SizeDraft,
    log_piece,
    log_run,
)
from studiolog.journal.stock import StockDraft, add_stock_change, read_stock
from studiolog.problems import UserProblem
from tests.journal.conftest import snapshot

MIXED = date(2026, 3, 2)
RECIPE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin", 10),
    RecipePart("Rutile", 4, addition=True),
)
PRICES = {"Potash feldspar": "1.10", "Silica": "0.85", "Whiting": "0.70", "Kaolin": "0.90"}


def enter_kelp(session: Session) -> int:
    """Kelp's recipe, with 10 kg bought of all but rutile, of which nobody knows."""
    for name, price in PRICES.items():
        material = add_material(session, name)
        bag = StockDraft(kind="bought", grams=10_000, on=date(2026, 1, 9), paid=Decimal(price) * 10)
        add_stock_change(session, material, bag)
    return add_glaze(session, GlazeDraft(name="Kelp", specific_gravity=1.45, recipe=RECIPE))


@pytest.fixture
def kelp(journal: Journal) -> int:
    return journal.edit("Kelp", enter_kelp).value


def bench_of(journal: Journal, glaze_id: int) -> MixBench:
    bench = journal.read(lambda session: read_mix_bench(session, glaze_id))
    assert bench is not None
    return bench


def laid_out(journal: Journal, glaze_id: int, ask: MixAsk) -> Mix:
    return lay_out_mix(bench_of(journal, glaze_id), ask)


def buckets_of(journal: Journal, glaze_id: int) -> GlazeBuckets:
    found = journal.read(lambda session: read_glaze_buckets(session, glaze_id))
    assert found is not None
    return found


def grams_on_shelf(journal: Journal) -> dict[str, float | None]:
    return {name: line.grams for name, line in journal.read(read_stock).items()}


def left(before: dict[str, float | None], after: dict[str, float | None], name: str) -> float:
    """How much of a material went."""
    return (before[name] or 0.0) - (after[name] or 0.0)


def keep(journal: Journal, glaze_id: int, mixed: Mix) -> int:
    done = journal.edit("Mix", lambda session: mix(session, glaze_id, mixed.draft(MIXED)))
    return done.value


def test_a_mix_takes_the_stock_and_one_undo_gives_it_all_back(journal: Journal, kelp: int) -> None:
    before = snapshot(journal)
    mixed = laid_out(journal, kelp, MixAsk(amount=5000, of="base"))
    assert [line.weighed_g for line in mixed.batch.lines] == [2000, 1500, 1000, 500, 200]
    assert mixed.stock_after == (8000, 8500, 9000, 9500, None)
    assert mixed.short == ()
    keep(journal, kelp, mixed)
    shelf = grams_on_shelf(journal)
    assert (shelf["Potash feldspar"], shelf["Kaolin"], shelf["Rutile"]) == (8000, 9500, None)
    (bucket,) = buckets_of(journal, kelp).buckets
    assert (bucket.dry_g, bucket.specific_gravity) == (5200, 1.45)
    assert [(line.material, line.weighed_g) for line in bucket.lines] == [
        ("Potash feldspar", 2000), ("Silica", 1500), ("Whiting", 1000), ("Kaolin", 500),
        ("Rutile", 200),
    ]  # fmt: skip
    journal.undo()
    assert snapshot(journal) == before
    journal.redo()
    assert grams_on_shelf(journal) == shelf


def test_more_than_is_on_the_shelf_is_told_and_not_refused(journal: Journal, kelp: int) -> None:
    mixed = laid_out(journal, kelp, MixAsk(amount=30_000, of="base"))
    assert mixed.short == ("Potash feldspar",)
    keep(journal, kelp, mixed)
    assert grams_on_shelf(journal)["Potash feldspar"] == -2000


def test_litres_are_mixed_at_the_density_of_the_recipes_materials(
    journal: Journal, kelp: int
) -> None:
    mixed = laid_out(journal, kelp, MixAsk(amount=10_000, of="slurry", specific_gravity=1.45))
    assert mixed.density.basis == "recipe"
    assert mixed.volume_ml == pytest.approx(10_000, rel=1e-4)
    assert mixed.batch.weighed_g + mixed.water_g == pytest.approx(14_500, rel=1e-4)
    typed = laid_out(
        journal, kelp, MixAsk(amount=10_000, of="slurry", specific_gravity=1.45, solid_density=2.6)
    )
    assert typed.density.words.endswith("as typed")
    assert typed.batch.wanted_g == pytest.approx(7312.5)  # 731.25 a litre


def test_what_really_lay_on_the_scale_is_what_is_kept(journal: Journal, kelp: int) -> None:
    ask = MixAsk(amount=5000, of="base", weighed_g={1: 1530.0})
    mixed = laid_out(journal, kelp, ask)
    assert "SiO₂" in mixed.formula_off, "thirty grams more silica than the recipe"
    keep(journal, kelp, mixed)
    (bucket,) = buckets_of(journal, kelp).buckets
    assert (bucket.lines[1].wanted_g, bucket.lines[1].weighed_g) == (1500, 1530)
    assert bucket.dry_g == 5230
    assert grams_on_shelf(journal)["Silica"] == 8470


def test_a_rounded_batch_says_how_far_its_formula_is_off(journal: Journal, kelp: int) -> None:
    large = laid_out(journal, kelp, MixAsk(amount=5000, of="base"))
    assert "stays within 0.005 mol" in large.formula_off.replace("\u202f", " ")
    small = laid_out(journal, kelp, MixAsk(amount=13, of="base", step_g=1))
    assert "where the recipe has" in small.formula_off


def test_the_scale_and_the_error_it_may_make_are_the_studios(journal: Journal, kelp: int) -> None:
    journal.edit("Scale", lambda session: set_limit(session, "scale_step_g", 5.0))
    mixed = laid_out(journal, kelp, MixAsk(amount=1000, of="base"))
    assert [line.material for line in mixed.batch.too_coarse] == ["Rutile"]
    journal.edit("Error", lambda session: set_limit(session, "weighing_error", 0.1))
    assert laid_out(journal, kelp, MixAsk(amount=1000, of="base")).batch.too_coarse == ()


def test_material_cost_counts_only_what_has_a_price_and_says_what_has_none(
    journal: Journal, kelp: int
) -> None:
    cost = bench_of(journal, kelp).cost
    # 40·1.10 + 30·0.85 + 20·0.70 + 10·0.90 = 92.50 for 104 parts.
    assert cost.per_kg == Decimal("0.889")
    assert cost.missing == ("Rutile",)
    assert cost.of(5200) == Decimal("4.623")
    assert isinstance(cost.of(31.5), Decimal)


def test_nothing_weighed_is_no_bucket(journal: Journal, kelp: int) -> None:
    with pytest.raises(UserProblem, match="give at least one line"):
        laid_out(
            journal, kelp, MixAsk(amount=100, of="base", weighed_g=dict.fromkeys(range(5), 0.0))
        )
    with pytest.raises(UserProblem, match="use a finer scale"):
        laid_out(journal, kelp, MixAsk(amount=0.1, of="base", step_g=5))
    before = snapshot(journal)
    with pytest.raises(UserProblem, match="Nothing was weighed"):
        journal.edit("Mix", lambda session: mix(session, kelp, MixDraft(mixed_on=MIXED, lines=())))
    assert snapshot(journal) == before
    bare = journal.edit("Oat", lambda session: add_glaze(session, GlazeDraft(name="Oat"))).value
    with pytest.raises(UserProblem, match="no recipe to mix from"):
        laid_out(journal, bare, MixAsk(amount=1000))


def test_a_bucket_deleted_gives_its_stock_back_and_so_does_its_glaze(
    journal: Journal, kelp: int
) -> None:
    full = grams_on_shelf(journal)
    bucket = keep(journal, kelp, laid_out(journal, kelp, MixAsk(amount=5000, of="base")))
    note = ChangeDraft(on=MIXED, kind="sieved", mesh=80)
    journal.edit("Sieved", lambda session: add_change(session, bucket, note))
    journal.edit("Delete", lambda session: delete_bucket(session, bucket))
    assert {k: v for k, v in grams_on_shelf(journal).items() if k != "Rutile"} == {
        k: v for k, v in full.items() if k != "Rutile"
    }
    journal.undo()
    journal.edit("Delete", lambda session: delete_glaze(session, kelp))
    assert grams_on_shelf(journal)["Silica"] == 10_000
    journal.undo()
    assert len(buckets_of(journal, kelp).buckets[0].changes) == 1


def weigh_cups(
    journal: Journal,
    kelp: int,
    bucket: int | None,
    *taken: float,
    form: str = "Cup",
    run_id: int | None = None,
) -> None:
    """Cups of 300 g bisque that took so much Kelp, glazed on 10 March."""

    def log(session: Session) -> None:
        form_id = add_form(session, FormDraft(name=form))
        for grams in taken:
            log_piece(
                session,
                PieceDraft(
                    form_id=form_id,
                    run_id=run_id,
                    stage="glazed",
                    stages=(("glazed", datetime(2026, 3, 10, 15)),),
                    sizes=(
                        SizeDraft(stage="bisque", mass_g=300),
                        SizeDraft(stage="glazed", mass_g=300 + grams),
                    ),
                    layers=(LayerDraft(zone="outside", glaze_id=kelp, bucket_id=bucket),),
                ),
            )

    journal.edit("Weigh cups", log)


def test_weighed_ware_tells_the_use_and_how_many_pieces_are_left(
    journal: Journal, kelp: int
) -> None:
    bucket = keep(journal, kelp, laid_out(journal, kelp, MixAsk(amount=5000, of="base")))
    assert buckets_of(journal, kelp).use is None
    weigh_cups(journal, kelp, bucket, 30, 32, 34, 40)
    found = buckets_of(journal, kelp)
    assert found.use is not None
    assert (found.use.median_g, found.use.low_g, found.use.high_g) == (33, 31.5, 35.5)
    (page,) = found.buckets
    assert page.state.basis == "mixed"
    assert page.state.pieces == 4
    assert page.state.dry_g == pytest.approx(5200 - 4 * 33)
    # 5200 − 4 · 35.5 = 5058, at 35.5 each 142; 5200 − 4 · 31.5 = 5074, at 31.5 each 161.
    assert page.pieces_left == (142, 161)
    assert found.use_by_form[0].form == "Cup"
    weigh_cups(journal, kelp, bucket, 0, form="Bowl")
    assert buckets_of(journal, kelp).odd == 1


def test_test_ware_tells_of_the_use_only_where_nothing_else_does(
    journal: Journal, kelp: int
) -> None:
    run = RunDraft(made_on=MIXED, number=1, purpose="test")
    run_id = journal.edit("Tests", lambda session: log_run(session, run)).value
    weigh_cups(journal, kelp, None, 4, 5, 6, form="Test tile", run_id=run_id)
    use = buckets_of(journal, kelp).use
    assert use is not None
    assert use.words.replace("\u202f", " ") == "5.0 g, from 4.0 to 6.0, of 3 weighed test pieces"
    weigh_cups(journal, kelp, None, 30)
    found = buckets_of(journal, kelp)
    assert found.use is not None
    assert (found.use.basis, found.use.median_g) == ("weighed", 30)
    assert [one.form for one in found.use_by_form] == ["Cup", "Test tile"]


def test_the_potters_own_figure_stands_in_and_another_versions_ware_after_it(
    journal: Journal, kelp: int
) -> None:
    weigh_cups(journal, kelp, None, 30, 34)
    second = journal.edit("Version", lambda session: add_version(session, kelp, RECIPE)).value
    found = buckets_of(journal, second).use
    assert found is not None
    assert (found.basis, found.of, found.median_g) == ("version", "Kelp", 32)
    journal.edit("Use", lambda session: change_glaze(session, second, dry_g_per_piece=25.0))
    stated = buckets_of(journal, second).use
    assert stated is not None
    assert (stated.basis, stated.median_g) == ("stated", 25)


def test_a_measured_volume_goes_before_what_was_thought(journal: Journal, kelp: int) -> None:
    bucket = keep(journal, kelp, laid_out(journal, kelp, MixAsk(amount=5000, of="base")))
    weigh_cups(journal, kelp, bucket, 30, 34)
    measured = ChangeDraft(
        on=date(2026, 3, 12), kind="measured", specific_gravity=1.52, volume_ml=4000
    )
    journal.edit("Measured", lambda session: add_change(session, bucket, measured))
    found = buckets_of(journal, kelp)
    (page,) = found.buckets
    assert page.state.basis == "measured"
    assert page.state.pieces == 0, "both cups were glazed before"
    density = found.density.g_per_ml
    assert page.state.dry_g == pytest.approx(4000 * 0.52 * density / (density - 1))
    # 4000 · (1.52 − 1.45) / 0.45 = 622 g of water.
    mend = find_correction(1.52, 1.45, page.state.volume_ml, density)
    assert (mend.kind, round(mend.grams)) == ("water", 622)
    added = ChangeDraft(on=date(2026, 3, 12), kind="water", grams=round(mend.grams, 1))
    journal.edit("Added", lambda session: add_change(session, bucket, added))
    (page,) = buckets_of(journal, kelp).buckets
    assert page.state.specific_gravity == pytest.approx(1.45, abs=1e-4)
    assert page.state.gravity_basis == "computed"
    journal.undo()
    (page,) = buckets_of(journal, kelp).buckets
    assert page.state.specific_gravity == 1.52


def test_what_is_added_to_a_bucket_comes_off_the_shelf_and_goes_back(
    journal: Journal, kelp: int
) -> None:
    full = grams_on_shelf(journal)
    bucket = keep(journal, kelp, laid_out(journal, kelp, MixAsk(amount=5000, of="base")))
    mixed = grams_on_shelf(journal)
    dry = ChangeDraft(on=MIXED, kind="dry", grams=104)
    row = journal.edit("Thicken", lambda session: add_change(session, bucket, dry)).value
    after = grams_on_shelf(journal)
    # 104 parts in all, of which 30 are silica and 10 kaolin.
    assert left(mixed, after, "Silica") == pytest.approx(30)
    assert left(mixed, after, "Kaolin") == pytest.approx(10)
    less = ChangeDraft(on=MIXED, kind="dry", grams=52)
    journal.edit("Mend", lambda session: change_change(session, row, None, less))
    assert left(mixed, grams_on_shelf(journal), "Silica") == pytest.approx(15)
    by_name = ChangeDraft(on=MIXED, kind="flocculated", grams=3, material="kaolin")
    journal.edit("Thicken", lambda session: add_change(session, bucket, by_name))
    unknown = ChangeDraft(on=MIXED, kind="deflocculated", grams=3, material="Potion")
    journal.edit("Thin", lambda session: add_change(session, bucket, unknown))
    assert "Potion" not in grams_on_shelf(journal)
    journal.edit("Take out", lambda session: delete_change(session, row))
    now = grams_on_shelf(journal)
    assert now["Silica"] == mixed["Silica"]
    assert left(mixed, now, "Kaolin") == pytest.approx(3)
    journal.edit("Delete", lambda session: delete_bucket(session, bucket))
    assert grams_on_shelf(journal)["Kaolin"] == full["Kaolin"]


def test_a_history_row_is_corrected_and_taken_out(journal: Journal, kelp: int) -> None:
    bucket = journal.edit("Bucket", lambda session: add_bucket(session, kelp, MIXED)).value
    draft = ChangeDraft(on=MIXED, kind="deflocculated", grams=5, material="Sodium silicate")
    row = journal.edit("Thin", lambda session: add_change(session, bucket, draft)).value
    better = ChangeDraft(on=MIXED, kind="deflocculated", grams=3, material="Sodium silicate")
    journal.edit("Mend", lambda session: change_change(session, row, None, better))
    assert buckets_of(journal, kelp).buckets[0].changes[0].grams == 3
    journal.edit("Take out", lambda session: delete_change(session, row))
    assert buckets_of(journal, kelp).buckets[0].changes == ()


@pytest.mark.parametrize(
    ("draft", "field"),
    [
        (ChangeDraft(on=date(2026, 3, 1), kind="sieved"), "on"),
        (ChangeDraft(on=MIXED, kind="measured"), "specific_gravity"),
        (ChangeDraft(on=MIXED, kind="measured", specific_gravity=0.9), "specific_gravity"),
        (ChangeDraft(on=MIXED, kind="measured", volume_ml=-1), "volume_ml"),
        (ChangeDraft(on=MIXED, kind="water"), "grams"),
        (ChangeDraft(on=MIXED, kind="dry", grams=-5), "grams"),
        (ChangeDraft(on=MIXED, kind="sieved", mesh=0), "mesh"),
        (ChangeDraft(on=MIXED, kind="other", note=" "), "note"),
        (ChangeDraft(on=MIXED, kind="stirred"), "kind"),
    ],
)
def test_what_cannot_have_been_done_is_said_at_its_field_and_nothing_is_kept(
    journal: Journal, kelp: int, draft: ChangeDraft, field: str
) -> None:
    bucket = journal.edit("Bucket", lambda session: add_bucket(session, kelp, MIXED)).value
    with pytest.raises(UserProblem) as told:
        journal.edit("Change", lambda session: add_change(session, bucket, draft))
    assert list(told.value.fields) == [field]
    assert buckets_of(journal, kelp).buckets[0].changes == ()

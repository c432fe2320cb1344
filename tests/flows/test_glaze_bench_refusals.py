"""What the glaze bench refuses, in one short sentence, with nothing half kept.

Whatever is typed or pasted: no number, none at all, one with hundreds of digits, less than nothing,
names that are empty, a page in place of a name, materials nobody knows, recipes without a flux.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy.orm import Session

from studiolog.craft.glaze.plans import Ladder, PlanOptions
from studiolog.journal.buckets import ChangeDraft, add_change, find_correction
from studiolog.journal.glaze_formula import read_formula, read_typed_formula
from studiolog.journal.glazes import (
    GlazeDraft,
    RecipePart,
    add_bucket,
    add_glaze,
    add_version,
    change_glaze,
    set_recipe,
)
from studiolog.journal.limits import set_limit
from studiolog.journal.materials import (
    LotDraft,
    add_lot,
    add_material,
    change_lot,
    change_material,
    set_analysis,
)
from studiolog.journal.mixing import MixAsk, lay_out_mix, mix, read_mix_bench
from studiolog.journal.opening import Journal, open_journal
from studiolog.journal.plans import CornerDraft, PlanDraft, add_plan
from studiolog.journal.recipe_search import found_recipe, keep_as_glaze, keep_as_version, read_shelf
from studiolog.journal.shopping import read_mix_words
from studiolog.journal.stock import StockDraft, add_stock_change, take_from_stock
from studiolog.problems import UserProblem
from tests.journal.conftest import snapshot

DAY = date(2026, 10, 1)
PAGE = "\n".join(f"line {number}: feldspar {number} %" for number in range(10_000))
NO_NUMBERS = (math.nan, math.inf, -math.inf, 1e308, -1.0)
EMPTY = ("", "   ", "\x00\x07", "\u202e")
RECIPE = (
    RecipePart("Potash feldspar", 40),
    RecipePart("Silica", 30),
    RecipePart("Whiting", 20),
    RecipePart("Kaolin", 10),
)


@dataclass(frozen=True)
class Bench:
    """A glaze with a recipe, one without, a slip, one with a material nobody knows, and a bag."""

    journal: Journal
    kelp: int
    empty: int
    slip: int
    unknown: int
    bag: int
    lot: int
    bucket: int


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    journal = open_journal(tmp_path_factory.mktemp("bench") / "journal")

    def enter(session: Session) -> Bench:
        def glaze(name: str, *recipe: RecipePart) -> int:
            draft = GlazeDraft(name=name, specific_gravity=1.45, recipe=recipe)
            return add_glaze(session, draft)

        kelp = glaze("Kelp", *RECIPE)
        bag = add_material(session, "Spar from the valley")
        return Bench(
            journal,
            kelp,
            glaze("Empty"),
            glaze("Slip", RecipePart("Silica", 60), RecipePart("Kaolin (kaolinite)", 40)),
            glaze("Unknown", RecipePart("Dust of the moon", 60), RecipePart("Silica", 40)),
            bag,
            add_lot(session, bag, LotDraft(dated=DAY, oxides={"SiO2": 70}, loi_percent=1)),
            add_bucket(session, kelp, DAY, dry_g=1000, water_g=1000),
        )

    yield journal.edit("Set up the bench", enter).value
    journal.close()


Act = Callable[[Session, Bench], object]


def plan(bench: Bench, kind: str = "line", *, name: str = "Plan", **options: object) -> PlanDraft:
    many = {"line": 2, "over_under": 2}.get(kind, 1)
    corners = tuple(CornerDraft(glaze_id=one) for one in (bench.kelp, bench.slip)[:many])
    return PlanDraft(
        name=name, kind=kind, corners=corners, made_on=DAY, options=PlanOptions(**options)  # type: ignore[arg-type]
    )  # fmt: skip


def weigh(session: Session, bench: Bench, **ask: object) -> int:
    found = read_mix_bench(session, bench.kelp)
    assert found is not None
    laid = lay_out_mix(found, MixAsk(**({"amount": 1000.0} | ask)))  # type: ignore[arg-type]
    return mix(session, bench.kelp, laid.draft(DAY))


NUMBERS: dict[str, Callable[[Session, Bench, float], object]] = {
    "parts of a recipe": lambda s, b, n: set_recipe(s, b.empty, (RecipePart("Silica", n),)),
    "parts of a version": lambda s, b, n: add_version(s, b.kelp, (RecipePart("Silica", n),)),
    "parts found": lambda s, b, n: keep_as_version(
        s, b.kelp, found_recipe({"Silica": n}, read_shelf(s))
    ),
    "per cent of an oxide": lambda s, b, n: add_lot(s, b.bag, LotDraft(oxides={"SiO2": n})),
    "figures of a lot": lambda s, b, n: set_analysis(s, b.lot, {"SiO2": 60, "K2O": n}, 1.0),
    "density of a material": lambda s, b, n: change_material(s, b.bag, solid_density=n),
    "low mark": lambda s, b, n: change_material(s, b.bag, low_g=n),
    "price": lambda s, b, n: change_lot(s, b.lot, price_per_kg=Decimal(n)),
    "bought": lambda s, b, n: add_stock_change(
        s, b.bag, StockDraft(kind="bought", grams=n, on=DAY)
    ),
    "counted": lambda s, b, n: add_stock_change(
        s, b.bag, StockDraft(kind="counted", grams=n, on=DAY)
    ),
    "taken": lambda s, b, n: take_from_stock(s, {"Silica": n}, DAY),
    "dry weight of a bucket": lambda s, b, n: add_bucket(s, b.kelp, DAY, dry_g=n),
    "water of a bucket": lambda s, b, n: add_bucket(s, b.kelp, DAY, water_g=n),
    "gravity of a glaze": lambda s, b, n: change_glaze(s, b.kelp, specific_gravity=n),
    "use per piece": lambda s, b, n: change_glaze(s, b.kelp, dry_g_per_piece=n),
    "gravity measured": lambda s, b, n: add_change(
        s, b.bucket, ChangeDraft(on=DAY, kind="measured", specific_gravity=n)
    ),
    "water added": lambda s, b, n: add_change(
        s, b.bucket, ChangeDraft(on=DAY, kind="water", grams=n)
    ),
    "amount of a mix": lambda s, b, n: weigh(s, b, amount=n),
    "litres of a mix": lambda s, b, n: weigh(s, b, amount=n, of="slurry"),
    "gravity of a mix": lambda s, b, n: weigh(s, b, of="slurry", specific_gravity=n),
    "step of the scale": lambda s, b, n: weigh(s, b, step_g=n),
    "what was weighed": lambda s, b, n: weigh(s, b, weighed_g={0: n}),
    "gravity to correct": lambda s, b, n: find_correction(n, 1.45, 1000, 2.6),
    "silica of a grid": lambda s, b, n: add_plan(
        s, plan(b, "silica_alumina", silica=(2, n), alumina=(0.2, 0.5))
    ),
    "steps of a ladder": lambda s, b, n: add_plan(
        s, plan(b, "additions", ladders=(Ladder("Tin oxide", (0.0, n)),))
    ),
    "seconds of a dip": lambda s, b, n: add_plan(
        s, plan(b, "thickness", measure="seconds", amounts=(1.0, n))
    ),
    "a limit": lambda s, b, n: set_limit(s, "solid_density", n),
}

NAMES: dict[str, Callable[[Session, Bench, str], object]] = {
    "glaze": lambda s, b, t: add_glaze(s, GlazeDraft(name=t)),
    "glaze renamed": lambda s, b, t: change_glaze(s, b.kelp, name=t),
    "glaze found": lambda s, b, t: keep_as_glaze(s, t, RECIPE, ""),
    "material": lambda s, b, t: add_material(s, t),
    "material renamed": lambda s, b, t: change_material(s, b.bag, name=t),
    "material of a recipe": lambda s, b, t: set_recipe(s, b.empty, (RecipePart(t, 5),)),
    "material taken": lambda s, b, t: take_from_stock(s, {t: 5.0}, DAY),
    "oxide": lambda s, b, t: add_lot(s, b.bag, LotDraft(dated=DAY, oxides={t: 5.0})),
    "plan": lambda s, b, t: add_plan(s, plan(b, name=t)),
    "material of a ladder": lambda s, b, t: add_plan(
        s, plan(b, "additions", ladders=(Ladder(t, (0.0, 1.0)),))
    ),
}

OTHERS: dict[str, tuple[Act, str]] = {
    "a grid over a slip": (
        lambda s, b: add_plan(
            s,
            PlanDraft(
                name="P", kind="silica_alumina", corners=(CornerDraft(glaze_id=b.slip),),
                made_on=DAY, options=PlanOptions(silica=(2, 4), alumina=(0.2, 0.5)),
            ),
        ),
        "flux|formula",
    ),
    "a blend of a glaze without a recipe": (
        lambda s, b: add_plan(
            s,
            PlanDraft(
                name="P", kind="line", made_on=DAY,
                corners=(CornerDraft(glaze_id=b.empty), CornerDraft(glaze_id=b.kelp)),
            ),
        ),
        "recipe",
    ),
    "a glaze that is gone": (
        lambda s, b: add_version(s, 10**9, RECIPE),
        "no longer in the journal",
    ),
    "more tiles than a day has": (lambda s, b: add_plan(s, plan(b, along=10**6)), "tiles"),
    "a page of mixes": (lambda s, b: read_mix_words(s, PAGE), "."),
    "an oxide in another form": (
        lambda s, b: add_lot(s, b.bag, LotDraft(dated=DAY, oxides={"MnO2": 5.0})),
        "not an oxide|MnO",
    ),
    "more than a hundred": (
        lambda s, b: add_lot(s, b.bag, LotDraft(dated=DAY, oxides={"SiO2": 140.0})),
        "more than",
    ),
    "a loss of all and more": (
        lambda s, b: add_lot(
            s, b.bag, LotDraft(dated=DAY, oxides={"SiO2": 40.0}, loi_percent=180.0)
        ),
        "lies between",
    ),
    "a bucket changed before it was mixed": (
        lambda s, b: add_change(s, b.bucket, ChangeDraft(on=date(2020, 1, 1), kind="sieved")),
        "later day",
    ),
    "a glaze twice": (lambda s, b: add_glaze(s, GlazeDraft(name="kelp")), "already"),
    "a recipe with one bad line": (
        lambda s, b: set_recipe(s, b.empty, (*RECIPE, RecipePart("Talc", -1))),
        "more than 0",
    ),
}  # fmt: skip


def assert_refused(bench: Bench, act: Act) -> str:
    """What is said; fails if anything else happens, or anything is kept."""
    before = snapshot(bench.journal, with_history=True)
    with pytest.raises(UserProblem) as told:
        bench.journal.edit("Try", lambda session: act(session, bench))
    assert snapshot(bench.journal, with_history=True) == before
    sentence = told.value.sentence
    assert sentence.endswith(".")
    assert len(sentence) < 500, "a page that was pasted is not read out again"
    assert "\n" not in sentence
    return sentence


@pytest.mark.parametrize("which", NUMBERS)
def test_what_is_no_number_a_potter_means_is_refused(bench: Bench, which: str) -> None:
    for number in NO_NUMBERS:
        assert_refused(bench, lambda session, on, n=number: NUMBERS[which](session, on, n))


@pytest.mark.parametrize("which", NAMES)
def test_no_name_and_a_page_in_place_of_one_are_refused(bench: Bench, which: str) -> None:
    for text in (*EMPTY, PAGE):
        assert_refused(bench, lambda session, on, t=text: NAMES[which](session, on, t))


@pytest.mark.parametrize("which", OTHERS)
def test_what_can_not_be_is_told_and_nothing_is_kept(bench: Bench, which: str) -> None:
    act, said = OTHERS[which]
    sentence = assert_refused(bench, act)
    assert any(word in sentence for word in said.split("|")), sentence


def test_a_formula_of_what_nobody_knows_says_what_is_missing(bench: Bench) -> None:
    formula = bench.journal.read(lambda session: read_formula(session, bench.unknown))
    assert formula.formula is None
    assert formula.problem.startswith("No analysis of Dust of the moon is known")
    slip = bench.journal.read(lambda session: read_formula(session, bench.slip))
    assert slip.formula is not None
    assert not slip.formula.is_defined
    assert sum(slip.formula.mole_percent.values()) == pytest.approx(100)
    nothing = bench.journal.read(lambda session: read_formula(session, bench.empty))
    assert nothing.problem
    endless = (RecipePart("Silica", math.inf), RecipePart("Whiting", 1.0))
    typed = bench.journal.read(lambda s: read_typed_formula(s, bench.kelp, endless))
    assert "no number" in typed.problem


def test_an_analysis_without_a_loss_or_with_a_sum_off_is_kept_and_told(bench: Bench) -> None:
    def enter(session: Session) -> tuple[int, int]:
        odd = add_material(session, "Odd stone")
        add_lot(session, odd, LotDraft(dated=DAY, oxides={"SiO2": 60, "CaO": 12}))
        recipe = (RecipePart("Odd stone", 50), RecipePart("Whiting", 50))
        return odd, add_glaze(session, GlazeDraft(name="Odd", recipe=recipe))

    _, glaze = bench.journal.edit("Enter", enter).value
    found = bench.journal.read(lambda session: read_formula(session, glaze))
    assert found.formula is not None
    assert found.formula.loi_by_difference == ("Odd stone",)
    (lot,) = (one for one in found.lots if one.material == "Odd stone")
    assert any("loss on ignition" in sentence.casefold() for sentence in lot.told)
    bench.journal.undo()
    assert Path(bench.journal.where).exists()

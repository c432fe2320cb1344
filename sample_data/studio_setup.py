"""What stands in the studio before the year begins: clays, glazes, forms, kilns, programs.

Recipes are invented; they are plausible stoneware recipes of generic materials whose parts add to
100 without the additions, and nobody has fired them. No glaze here is said to be food safe.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from sqlalchemy.orm import Session

from studiolog.journal.clays import ClayDraft, add_clay, change_clay
from studiolog.journal.form_steps import MakingStep
from studiolog.journal.forms import FormDraft, add_form
from studiolog.journal.glazes import GlazeDraft, RecipePart, add_bucket, add_glaze, add_version
from studiolog.journal.kilns import KilnDraft, add_kiln, list_kilns
from studiolog.journal.profiles import Profile
from studiolog.journal.programs import ProgramDraft, SegmentDraft, add_program
from studiolog.journal.studio import name_studio, set_terms
from studiolog.journal.tariffs import TariffDraft, add_tariff

from .kiln_curves import BISQUE_04, KilnSegment
from .materials import enter_frits, keep_shelf
from .profiles import form_shapes

BUFF, RED, PORCELAIN = "Buff stoneware", "Iron-red stoneware", "Porcelain P2"
KELP, CHALK, RUST, TIDE, OAT, CLEAR = (
    "Kelp", "Chalk", "Rust Shore", "Deep Tide", "Oat", "Clear 4",
)  # fmt: skip
BIG, SMALL = "Big kiln", "Test kiln"

NIGHT_MIN = (22 * 60, 6 * 60)
BIG_KILN_PRICES = (
    TariffDraft(per_kwh=Decimal("0.19"), starts_min=NIGHT_MIN[0], ends_min=NIGHT_MIN[1]),
    TariffDraft(per_kwh=Decimal("0.33"), valid_from=date(2026, 4, 1)),
    TariffDraft(
        per_kwh=Decimal("0.21"),
        starts_min=NIGHT_MIN[0],
        ends_min=NIGHT_MIN[1],
        valid_from=date(2026, 4, 1),
    ),
    TariffDraft(
        per_kwh=Decimal("0.25"), starts_min=11 * 60, ends_min=15 * 60, valid_from=date(2026, 4, 1)
    ),
)
"""Invented prices: nights are cheaper, and since April the hours of the midday sun too."""

CLAY_PRICES = {BUFF: Decimal("1.15"), RED: Decimal("1.35"), PORCELAIN: Decimal("2.60")}
"""Invented, for a kilogram."""

SHRINKAGE = {BUFF: 0.125, RED: 0.118, PORCELAIN: 0.138}


def _slow(top_c: float, hold_min: float) -> tuple[KilnSegment, ...]:
    return (
        KilnSegment(100, 120, 15), KilnSegment(150, 600), KilnSegment(160, 1100),
        KilnSegment(60, top_c, hold_min), KilnSegment(None, 1040), KilnSegment(-60, 820),
    )  # fmt: skip


def _fast(top_c: float, hold_min: float) -> tuple[KilnSegment, ...]:
    return (KilnSegment(150, 600), KilnSegment(170, 1120), KilnSegment(60, top_c, hold_min))


@dataclass(frozen=True)
class DemoProgram:
    """A program as the kiln model runs it; ``cone`` is what it aims at."""

    name: str
    kind: str
    cone: str
    segments: tuple[KilnSegment, ...]
    notes: str = ""


PROGRAMS: dict[str, DemoProgram] = {
    "bisque": DemoProgram(
        "Bisque 04", "bisque", "04", BISQUE_04,
        "An hour at 120 °C: nothing goes above 100 °C while it still holds water.",
    ),
    "six": DemoProgram(
        "Glaze 6, slow cool", "glaze", "6", _slow(1205, 15),
        "The everyday glaze firing. Slow to 820 °C so that Kelp and Deep Tide break well.",
    ),
    "six_fast": DemoProgram(
        "Glaze 6, free cooling", "glaze", "6", _fast(1210, 10),
        "For Clear 4: it clouds when cooled slowly.",
    ),
    "gentle": DemoProgram(
        "Glaze 5½, gentle", "glaze", "5.5", _slow(1192, 10),
        "Tried for Rust Shore, which is quieter at less heat.",
    ),
    "seven": DemoProgram(
        "Glaze 7, slow cool", "glaze", "7", _slow(1220, 20),
        "Oat gets a satin surface here. Stilts under anything that may run.",
    ),
    "test": DemoProgram(
        "Test 6, quick", "test", "6", _fast(1214, 10),
        "The small kiln cools in half a day: not the same surface as the big one.",
    ),
}  # fmt: skip


@dataclass(frozen=True)
class SetUp:
    """Ids by name of everything that was entered."""

    clays: dict[str, int]
    glazes: dict[str, int]
    buckets: dict[str, list[int]]
    forms: dict[str, int]
    kilns: dict[str, int]
    levels: dict[tuple[str, str], int]
    programs: dict[str, int]


def set_up_studio(session: Session) -> SetUp:
    """Enter everything that stands ready; returns the ids."""
    name_studio(session, "Tern Yard")
    set_terms(session, currency="€", hour_rate=Decimal(26))
    clays = {name: add_clay(session, draft) for name, draft in _clays().items()}
    for name, price in CLAY_PRICES.items():
        change_clay(session, clays[name], price_per_kg=price)
    glazes, buckets = _enter_glazes(session)
    forms = {key: add_form(session, draft) for key, draft in _forms().items()}
    kilns = {draft.name: add_kiln(session, draft) for draft in _kilns()}
    for price in BIG_KILN_PRICES:
        add_tariff(session, kilns[BIG], price)
    levels = {
        (kiln.name, level.name): level.level_id
        for kiln in list_kilns(session)
        for level in kiln.levels
    }
    programs = {
        key: add_program(
            session,
            ProgramDraft(
                name=plan.name, kind=plan.kind, cone=plan.cone, notes=plan.notes,
                segments=tuple(
                    SegmentDraft(abs(s.rate_c_per_h) if s.rate_c_per_h else None,
                                 s.target_c, s.hold_min)
                    for s in plan.segments
                ),
            ),
        )
        for key, plan in PROGRAMS.items()
    }  # fmt: skip
    return SetUp(clays, glazes, buckets, forms, kilns, levels, programs)


def _clays() -> dict[str, ClayDraft]:
    return {
        BUFF: ClayDraft(
            name=BUFF, colour="#C6A67C", specks="coarse", shrinkage_percent=12.5,
            absorption_percent=1.6, cone_range="5–7",
            notes="Throws kindly, forgives a thick foot. Specks come through Chalk.",
        ),
        RED: ClayDraft(
            name=RED, colour="#7A3F2E", specks="fine", shrinkage_percent=11.8,
            absorption_percent=2.4, cone_range="4–6",
            notes="Bloats if it is fired much above 7. Bisque slowly: it holds more to burn out.",
        ),
        PORCELAIN: ClayDraft(
            name=PORCELAIN, colour="#E6E3DC", specks="none", shrinkage_percent=13.8,
            absorption_percent=0.4, cone_range="6–8",
            notes="Dry it under plastic. Handles crack off if they go on late.",
        ),
    }  # fmt: skip


_RECIPES: dict[str, tuple[str, str, str, float, tuple[tuple[str, float], ...],
                          tuple[tuple[str, float], ...]]] = {
    KELP: ("#48654C", "5–7", "Green where thick, amber where it breaks. Moves a little.", 1.46,
           (("Nepheline syenite", 36), ("Silica", 24), ("Whiting", 16), ("Kaolin", 10),
            ("Talc", 6), ("Zinc oxide", 8)),
           (("Copper carbonate", 3), ("Red iron oxide", 2.5), ("Rutile", 2))),
    CHALK: ("#F2EEE2", "5–6", "Satin white. Shows every ripple.", 1.50,
            (("Nepheline syenite", 56), ("Silica", 14), ("Whiting", 18), ("Kaolin", 6),
             ("Talc", 6)),
            (("Zirconium silicate", 6), ("Bentonite", 2))),
    RUST: ("#92402A", "5–6", "A rim and an accent. Over Kelp, stop well above the foot.",
           1.48,
           (("Frit, calcium borate", 26), ("Potash feldspar", 22), ("Silica", 22), ("Kaolin", 14),
            ("Bone ash", 10), ("Talc", 6)),
           (("Red iron oxide", 11),)),
    TIDE: ("#27407D", "5–7", "Deep blue, brown at the edges.", 1.45,
           (("Soda feldspar", 38), ("Silica", 25), ("Whiting", 15), ("Kaolin", 12),
            ("Dolomite", 10)),
           (("Cobalt carbonate", 1.4), ("Rutile", 4), ("Red iron oxide", 1.5))),
    OAT: ("#DDC491", "5–7", "For the insides of tumblers. Thin: it draws up when thick.", 1.52,
          (("Potash feldspar", 40), ("Whiting", 17), ("Kaolin", 27), ("Silica", 10),
           ("Zinc oxide", 6)),
          (("Rutile", 5), ("Yellow ochre", 2))),
    CLEAR: ("#DCE0DA", "5–7", "Fourth clear tried, and the one that stayed.", 1.42,
            (("Frit, boron", 30), ("Silica", 28), ("Kaolin", 18), ("Soda feldspar", 14),
             ("Whiting", 10)), (("Bentonite", 1.5),)),
}  # fmt: skip


def _enter_glazes(session: Session) -> tuple[dict[str, int], dict[str, list[int]]]:
    glazes: dict[str, int] = {}
    buckets: dict[str, list[int]] = {}
    recipes: dict[str, tuple[RecipePart, ...]] = {}
    enter_frits(session)
    for name, (colour, cones, notes, gravity, base, additions) in _RECIPES.items():
        recipe = tuple(RecipePart(m, p) for m, p in base)
        recipe += tuple(RecipePart(m, p, addition=True) for m, p in additions)
        recipes[name] = recipe
        glazes[name] = add_glaze(
            session,
            GlazeDraft(name=name, colour=colour, cone_range=cones, notes=notes,
                       specific_gravity=gravity, recipe=recipe),
        )  # fmt: skip
        buckets[name] = [
            add_bucket(
                session, glazes[name], day, dry_g=dry, water_g=round(dry * water),
                specific_gravity=round(gravity + shift, 2), adjustments=said,
            )
            for day, dry, water, shift, said in (
                (date(2025, 11, 12), 6000.0, 0.92, 0.0, ""),
                (date(2026, 4, 20), 8000.0, 0.90, 0.01, "Sieved twice, 80 mesh."),
                (date(2026, 8, 31), 8000.0, 0.92, 0.0, "Let down with 300 ml after a week."),
            )
        ]  # fmt: skip
    keep_shelf(session, recipes, buckets)
    # One change of recipe that is still being tried: more silica against the crazing.
    changed = [RecipePart(m, p) for m, p in (
        ("Nepheline syenite", 50.0), ("Silica", 22.0), ("Whiting", 17.0), ("Kaolin", 6.0),
        ("Talc", 5.0))]  # fmt: skip
    changed += [
        RecipePart("Zirconium silicate", 6, addition=True),
        RecipePart("Bentonite", 2, addition=True),
    ]
    glazes["Chalk 2"] = add_version(session, glazes[CHALK], changed)
    buckets["Chalk 2"] = []
    return glazes, buckets


_STEP = MakingStep

_FORM_WORDS: dict[str, tuple[str, float | None, str, tuple[MakingStep, ...]]] = {
    "ripple_tumbler": ("thrown", 28, "Keep the rings. Trim only the foot.", (
        _STEP("thrown", 6, "wet"), _STEP("trimmed", 4, "leather_hard"),
        _STEP("glazed", 5, "bisque"), _STEP("ground and checked", 2, "fired"))),
    "soup_bowl": ("thrown", 34, "Rib the inside smooth, leave the outside.", (
        _STEP("thrown", 8, "wet"), _STEP("trimmed", 7, "leather_hard"),
        _STEP("glazed", 5, "bisque"), _STEP("ground and checked", 2, "fired"))),
    "lidded_jar": ("thrown", 68, "Measure lid and gallery wet, dry them together.", (
        _STEP("jar thrown", 11, "wet"), _STEP("lid thrown", 7, "wet"),
        _STEP("trimmed", 12, "leather_hard"), _STEP("glazed", 9, "bisque"),
        _STEP("lid fitted", 5, "fired"))),
    "test_tumbler": ("thrown", None, "Straight wall, rings at half height to see breaking.", (
        _STEP("thrown", 4, "wet"), _STEP("trimmed", 2, "leather_hard"),
        _STEP("glazed", 6, "bisque"))),
    "lantern_house": ("box", 95, "Join at leather-hard, dry a week under cloth.", (
        _STEP("slabs rolled", 8, "wet"), _STEP("cut", 9, "leather_hard"),
        _STEP("joined", 18, "leather_hard"), _STEP("windows cut", 10, "leather_hard"),
        _STEP("glazed", 8, "bisque"))),
    "hexagonal_tile": ("tile", 7, "Turn them every day between boards.", (
        _STEP("rolled", 1, "wet"), _STEP("cut", 1, "leather_hard"),
        _STEP("turned", 1, "leather_hard"), _STEP("glazed", 2, "bisque"))),
    "test_tile": ("tile", None, "Stands by itself; half of it ribbed.", (
        _STEP("cut and bent", 1, "wet"), _STEP("glazed", 4, "bisque"))),
    "panel_mug": ("thrown", 46,
                  "Six panels, pressed and cut back by hand: a handful at a time, or they dry.", (
        _STEP("thrown", 9, "wet"), _STEP("trimmed", 6, "leather_hard"),
        _STEP("handle on", 9, "leather_hard"), _STEP("panels pressed", 34, "leather_hard"),
        _STEP("panels cut back", 22, "leather_hard"), _STEP("glazed", 14, "bisque"),
        _STEP("ground and checked", 2, "fired"))),
}  # fmt: skip

_ZONES = {
    "panel_mug": ("handle", "panels", "body"),
    "lidded_jar": ("inside", "outside", "lid"),
    "lantern_house": ("roof", "walls"),
}

# What each further piece adds where they are nested or stacked for the bisque, mm.
_STACK = {"soup_bowl": 22.0, "hexagonal_tile": 10.0}
_DEEP = {"lantern_house": 90.0, "hexagonal_tile": 87.0}


def _forms() -> dict[str, FormDraft]:
    drafts: dict[str, FormDraft] = {}
    for key, (shape, price, notes, steps) in _FORM_WORDS.items():
        made = form_shapes()[key]
        outside = made.outside + (made.lid if made.lid else ())
        drafts[key] = FormDraft(
            name=made.name,
            shape=shape,
            clay_g=made.wet_clay_g,
            fired_height_mm=made.height_mm,
            fired_across_mm=made.width_mm,
            fired_deep_mm=_DEEP.get(key),
            stack_mm=_STACK.get(key),
            profile=Profile(outside, made.inside) if shape != "tile" else None,
            price=None if price is None else Decimal(str(price)),
            notes=notes,
            steps=steps,
            zones=_ZONES.get(key, ()),
        )
    return drafts


def _kilns() -> tuple[KilnDraft, ...]:
    return (
        KilnDraft(
            name=BIG, levels=("top", "middle", "bottom"), power_kw=9.0, volume_l=180,
            shelf_across_mm=520, thermocouple_type="S", tariff_per_kwh=Decimal("0.31"),
            notes="The lower shelf comes up last and cools last: thick floor, no element in it.",
        ),
        KilnDraft(
            name=SMALL, levels=("upper", "lower"), power_kw=2.9, volume_l=22,
            shelf_across_mm=250, thermocouple_type="K", tariff_per_kwh=Decimal("0.31"),
            notes="For tiles and single tumblers. Even to a fifth of a cone.",
        ),
    )  # fmt: skip

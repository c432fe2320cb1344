"""The shelves of a kiln: their shape and posts, the room above, and where its sensor reaches in.

Where the potter has not said a value, a usual one stands in for it, and is told as such.
"""

import re
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import select
from sqlalchemy.orm import Session

from studiolog.craft.limits import Limits
from studiolog.craft.units import show_quantity
from studiolog.craft.words import SHELF_SHAPES, join_words
from studiolog.journal.limits import read_limits
from studiolog.journal.writing import change, get
from studiolog.problems import UserProblem
from studiolog.records.kilns import Kiln, KilnLevel

_SPLIT = re.compile(r"[\s,;/]+")
_LARGEST_MM: Final = 5000.0
_MOST_SHELVES: Final = 60
_SIZES: Final = {
    "shelf_across_mm": "The shelf's width",
    "shelf_deep_mm": "The shelf's depth",
    "chamber_height_mm": "The height of the chamber",
}
_COUNTS: Final = {"shelves": "whole shelves", "half_shelves": "half shelves"}


@dataclass(frozen=True)
class ShelfLevelLine:
    """A level of the kiln, and where it begins above the floor in mm, if that was said."""

    level_id: int
    name: str
    from_floor_mm: float | None


@dataclass(frozen=True)
class KilnShelves:
    """The shelves of a kiln as the potter said them (None: not said), levels from the top down."""

    kiln_id: int
    shelf_shape: str
    shelf_across_mm: float | None
    shelf_deep_mm: float | None
    shelf_thick_mm: float | None
    chamber_height_mm: float | None
    posts_mm: str
    shelves: int | None
    half_shelves: int | None
    probe_x: float | None
    probe_y: float | None
    probe_clear_mm: float | None
    worth_percent: float | None
    levels: tuple[ShelfLevelLine, ...]


@dataclass(frozen=True)
class ShelvesInForce:
    """The shelves a load is planned on: all values known, ``assumed`` in sentences.

    ``posts_mm`` from low to high. ``probe_mm`` is where the thermocouple reaches in, from the
    middle of the shelf, y towards the door; None where nobody said. ``levels`` are (level id,
    name, begins at mm above the floor) from the floor up.
    """

    kiln_id: int
    shape: str
    across_mm: float
    deep_mm: float
    thick_mm: float
    chamber_mm: float
    posts_mm: tuple[float, ...]
    shelves: int
    half_shelves: int
    probe_mm: tuple[float, float] | None
    probe_clear_mm: float
    worth_percent: float
    levels: tuple[tuple[int, str, float], ...]
    assumed: tuple[str, ...]

    def level_at(self, height_mm: float) -> tuple[int, str] | None:
        """The level in which something stands at a height above the floor."""
        found = None
        for level_id, name, begins in self.levels:
            if found is None or begins <= height_mm + 0.5:
                found = (level_id, name)
        return found


def read_posts(text: str) -> tuple[float, ...]:
    """Heights of posts in mm as typed, "50 75 100" or "50, 75 and 100 mm", from low to high.

    Raises `UserProblem` naming what is no height.
    """
    heights: set[float] = set()
    for word in _SPLIT.split(text.strip()):
        plain = word.strip().lower().removesuffix("mm")
        if plain in ("", "and"):
            continue
        try:
            height = float(plain)
        except ValueError:
            raise _wrong_posts(word) from None
        if not 0 < height <= _LARGEST_MM:
            raise _wrong_posts(word)
        heights.add(height)
    return tuple(sorted(heights))


def _wrong_posts(word: str) -> UserProblem:
    told = f"“{word}” is no height of a post: write them in mm like 50 75 100."
    return UserProblem(told, {"posts_mm": told})


def write_posts(heights: tuple[float, ...]) -> str:
    """Heights as they are kept: "50 75 100"."""
    return " ".join(f"{height:g}" for height in heights)


def check_shelf_fields(fields: dict[str, Any]) -> dict[str, Any]:
    """Fields of a kiln that tell its shelves, as they are to be kept.

    Raises `UserProblem` for a size of 0, posts that are no numbers, or a part of a shelf.
    """
    kept = dict(fields)
    for key, words in _SIZES.items():
        _hold(kept, key, words, 0.0, _LARGEST_MM, above=True)
    _hold(kept, "shelf_thick_mm", "The shelf's thickness", 0.0, 200.0)
    _hold(kept, "probe_clear_mm", "The room around the thermocouple", 0.0, 1000.0)
    for key in ("probe_x", "probe_y"):
        _hold(kept, key, "The thermocouple's place", 0.0, 1.0)
    _hold(kept, "worth_percent", "Worth firing from", 0.0, 100.0, above=True, unit="%")
    for key, words in _COUNTS.items():
        value = kept.get(key)
        if value is None:
            continue
        if value != int(value) or not 0 <= value <= _MOST_SHELVES:
            raise _refused(key, f"The {words} are a whole number from 0 to {_MOST_SHELVES}.")
        kept[key] = int(value)
    if "shelf_shape" in kept and kept["shelf_shape"] not in SHELF_SHAPES:
        shapes = join_words(tuple(SHELF_SHAPES.values()), "or")
        raise _refused("shelf_shape", f"A shelf is {shapes}.")
    if "posts_mm" in kept:
        kept["posts_mm"] = write_posts(read_posts(kept["posts_mm"] or ""))
    return kept


def _hold(
    fields: dict[str, Any],
    key: str,
    words: str,
    least: float,
    most: float,
    *,
    above: bool = False,
    unit: str = "mm",
) -> None:
    value = fields.get(key)
    if value is None:
        return
    if not (least < value <= most if above else least <= value <= most):
        low = f"more than {least:g}" if above else f"at least {least:g}"
        raise _refused(key, f"{words} must be {low} and at most {most:g} {unit}; {value:g} is not.")


def _refused(key: str, told: str) -> UserProblem:
    return UserProblem(told, {key: told})


def read_shelves(session: Session, kiln_id: int) -> KilnShelves | None:
    """The shelves of a kiln as they were said; None if the kiln is gone."""
    kiln = session.get(Kiln, kiln_id)
    if kiln is None:
        return None
    return KilnShelves(
        kiln.id,
        kiln.shelf_shape,
        kiln.shelf_across_mm,
        kiln.shelf_deep_mm,
        kiln.shelf_thick_mm,
        kiln.chamber_height_mm,
        kiln.posts_mm,
        kiln.shelves,
        kiln.half_shelves,
        kiln.probe_x,
        kiln.probe_y,
        kiln.probe_clear_mm,
        kiln.worth_percent,
        tuple(
            ShelfLevelLine(level.id, level.name, level.from_floor_mm)
            for level in session.scalars(
                select(KilnLevel).where(KilnLevel.kiln_id == kiln_id).order_by(KilnLevel.position)
            )
        ),
    )


def shelves_in_force(said: KilnShelves, limits: Limits) -> ShelvesInForce:
    """The shelves with usual values where nothing was said, each told in a sentence."""
    assumed: list[str] = []

    def usual(value: float | None, key: str, words: str, unit: str = "mm") -> float:
        if value is not None:
            return float(value)
        shown = show_quantity(limits[key], unit)
        assumed.append(f"{words}: {shown} taken.")
        return limits[key]

    across = usual(said.shelf_across_mm, "shelf_across_mm", "Nobody said how wide the shelves are")
    deep = across
    if said.shelf_shape == "rectangle":
        if said.shelf_deep_mm is None:
            assumed.append("Nobody said how deep the shelves are: as deep as wide taken.")
        deep = said.shelf_deep_mm or across
    thick = usual(said.shelf_thick_mm, "shelf_thick_mm", "Nobody said how thick the shelves are")
    chamber = usual(
        said.chamber_height_mm, "chamber_height_mm", "Nobody said how high the chamber is"
    )
    posts = read_posts(said.posts_mm)
    if not posts:
        step = limits["post_step_mm"]
        assumed.append(
            f"No posts are named: heights in steps of {show_quantity(step, 'mm')} taken."
        )
        posts = tuple(step * number for number in range(2, max(3, int(chamber / step)) + 1))
    whole = said.shelves
    if whole is None:
        whole = max(1, int(chamber / (thick + limits["post_usual_mm"])))
        assumed.append(f"Nobody counted the shelves: {whole} taken.")
    probe = None
    if said.probe_x is not None and said.probe_y is not None:
        probe = ((said.probe_x - 0.5) * across, (said.probe_y - 0.5) * deep)
    clear = limits["probe_clear_mm"] if said.probe_clear_mm is None else said.probe_clear_mm
    if probe is None:
        assumed.append("Nobody said where the thermocouple reaches in: no place is kept for it.")
    elif said.probe_clear_mm is None:
        assumed.append(
            f"Nobody said how much room the thermocouple wants: {show_quantity(clear, 'mm')} taken."
        )
    return ShelvesInForce(
        said.kiln_id,
        said.shelf_shape,
        across,
        deep,
        thick,
        chamber,
        posts,
        whole,
        said.half_shelves or 0,
        probe,
        clear,
        limits["kiln_worth_percent"] if said.worth_percent is None else said.worth_percent,
        _levels_up(said, chamber, assumed),
        tuple(assumed),
    )


def _levels_up(
    said: KilnShelves, chamber_mm: float, assumed: list[str]
) -> tuple[tuple[int, str, float], ...]:
    """Levels from the floor up; those without a height share the chamber evenly."""
    upward = tuple(reversed(said.levels))
    if not upward:
        return ()
    share = chamber_mm / len(upward)
    if any(level.from_floor_mm is None for level in upward):
        assumed.append(
            "Nobody said where every level begins above the floor: equal parts of the chamber "
            "taken."
        )
        found = [(level.level_id, level.name, share * n) for n, level in enumerate(upward)]
    else:
        found = [(lev.level_id, lev.name, lev.from_floor_mm or 0.0) for lev in upward]
    return tuple(sorted(found, key=lambda level: level[2]))


def read_shelves_in_force(session: Session, kiln_id: int) -> ShelvesInForce:
    """The shelves a load of a kiln is planned on. Raises `UserProblem` if the kiln is gone."""
    get(session, Kiln, kiln_id)
    said = read_shelves(session, kiln_id)
    assert said is not None
    return shelves_in_force(said, read_limits(session))


def set_level_height(session: Session, level_id: int, from_floor_mm: float | None) -> None:
    """Say where a level begins above the floor of the chamber; None takes it back.

    Raises `UserProblem` for a height above the chamber, or one that is not above the level below.
    """
    level = get(session, KilnLevel, level_id)
    kiln = get(session, Kiln, level.kiln_id)
    if from_floor_mm is not None:
        most = kiln.chamber_height_mm or _LARGEST_MM
        if not 0 <= from_floor_mm < most:
            where = f"below {most:g} mm, the height of the chamber"
            raise _refused(
                "from_floor_mm",
                f"“{level.name}” begins between 0 and {where}; {from_floor_mm:g} does not.",
            )
        for other in session.scalars(select(KilnLevel).where(KilnLevel.kiln_id == kiln.id)):
            begins = other.from_floor_mm
            if other.id == level_id or begins is None:
                continue
            lower = other.position > level.position
            if (lower and begins >= from_floor_mm) or (not lower and begins <= from_floor_mm):
                side = "above" if lower else "below"
                raise _refused(
                    "from_floor_mm",
                    f"“{level.name}” stands {side} “{other.name}”, which begins at {begins:g} mm: "
                    f"{from_floor_mm:g} mm is not {side} it.",
                )
    change(session, KilnLevel, level_id, from_floor_mm=from_floor_mm)

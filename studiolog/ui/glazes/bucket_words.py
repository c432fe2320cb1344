"""Buckets in words: what was done, what is in one, what it costs."""

from studiolog.craft.glaze.ware_use import UsePerPiece
from studiolog.craft.money import show_money
from studiolog.craft.units import show_number, show_quantity
from studiolog.journal.buckets import BucketPage, ChangeLine, Correction, GlazeBuckets
from studiolog.journal.material_cost import MaterialCost
from studiolog.ui.parts.fields import write_day

_ADDED = {"water": "of water", "dry": "of dry glaze"}
_AIDS = {"flocculated": "flocculant", "deflocculated": "deflocculant"}


def say_gravity(specific_gravity: float) -> str:
    """A specific gravity to a hundredth, to a thousandth where one was typed."""
    thousandths = abs(specific_gravity - round(specific_gravity, 2)) > 5e-4
    return show_number(specific_gravity, 3 if thousandths else 2)


def say_litres(volume_ml: float) -> str:
    """Litres, in tenths from ten on."""
    return show_quantity(volume_ml / 1000.0, "l", 1 if volume_ml >= 9950 else 2)


def say_dry(grams: float) -> str:
    """Grams under a kilogram, kilograms above."""
    if grams < 995:
        return show_quantity(grams, "g")
    return show_quantity(grams / 1000.0, "kg", 1 if grams >= 9950 else 2)


def say_change(line: ChangeLine) -> str:
    """What was done or measured: ``specific gravity 1.52, 8.2 l``, ``310 g of water added``."""
    parts: list[str] = []
    if line.kind == "measured":
        if line.specific_gravity is not None:
            parts.append(f"specific gravity {say_gravity(line.specific_gravity)}")
        if line.volume_ml is not None:
            parts.append(say_litres(line.volume_ml))
    elif line.kind in _ADDED:
        parts.append(f"{show_quantity(line.grams or 0.0, 'g')} {_ADDED[line.kind]} added")
    elif line.kind in _AIDS:
        much = show_quantity(line.grams, "g", 1) + " of " if line.grams else ""
        parts.append(f"{much}{line.material or _AIDS[line.kind]} added")
    elif line.kind == "sieved":
        parts.append(f"sieved through {line.mesh} mesh" if line.mesh else "sieved")
    if line.note:
        parts.append(line.note)
    return ", ".join(parts)


def say_correction(mend: Correction) -> str:
    """``Add 310 g of water to reach 1.45.``"""
    target = say_gravity(mend.target)
    if not mend.kind:
        return f"It is at its target of {target}."
    grams = show_quantity(mend.grams, "g")
    what = "water" if mend.kind == "water" else "dry glaze"
    words = f"Add {grams} of {what} to reach {target}"
    if mend.per_litre:
        words = f"Add {grams} of {what} to each litre to reach {target}"
    if mend.draw_off_g is not None:
        drawn = show_quantity(mend.draw_off_g, "g")
        words += f", or let it settle and draw {drawn} of clear water off"
    return f"{words}."


def say_state(page: BucketPage) -> str:
    """What is in a bucket today and how that is known, in sentences."""
    state = page.state
    if page.used_up:
        return "It is used up."
    if state.dry_g is None:
        return (
            "How much is in it is not known: give its dry weight as mixed, or measure its volume "
            "and specific gravity."
        )
    if state.emptied:
        return (
            "By these figures more was taken out than was in it. Measure what is left, or mark it "
            "as used up."
        )
    words = f"{say_dry(state.dry_g)} dry"
    between = page.dry_range_g
    if between is not None and between[1] - between[0] > 0.02 * max(state.dry_g, 1.0):
        words += f" ({say_dry(between[0])} to {say_dry(between[1])})"
    volume = state.volume_ml
    if volume is not None:
        words = f"About {say_litres(volume)}, {words}"
    words += f", {_say_basis(page)}."
    if state.pieces > state.unweighed:
        words += " A piece is taken off at what one takes of this glaze alone."
    if state.unweighed:
        words += (
            f" {_pieces(state.unweighed)} glazed from it since: what they took is not known, so "
            "it is not taken off."
        )
    return words


def _say_basis(page: BucketPage) -> str:
    state = page.state
    day = write_day(state.basis_on)
    words = f"as measured on {day}" if state.basis == "measured" else f"as mixed on {day}"
    taken = state.pieces - state.unweighed
    if taken:
        words += f" less {_pieces(taken)} glazed since"
    return words


def say_gravity_now(page: BucketPage) -> str:
    """``1.52, measured on 3 Oct 2026``; "" where it is not known."""
    state = page.state
    if state.specific_gravity is None:
        return ""
    shown = say_gravity(round(state.specific_gravity, 3))
    day = write_day(state.gravity_on)
    basis = {
        "measured": f"measured on {day}",
        "mixed": f"as mixed on {day}",
        "computed": f"computed from what was added on {day}",
    }[state.gravity_basis]
    return f"{shown}, {basis}"


def say_left(between: tuple[int, int]) -> str:
    """``142 to 161 pieces``; without a spread it is ``about 142 pieces``."""
    least, most = between
    if least == most:
        return f"about {_pieces(least)}"
    return f"{least} to {most} pieces"


def say_use(use: UsePerPiece | None) -> str:
    """The use per piece, or how to come to know it."""
    if use is None:
        return (
            "Use per piece is not known. Weigh a piece at bisque and again with its glaze raw and "
            "dry, on the piece's page, or state it here."
        )
    return f"A piece takes up {use.words}, dry."


def say_cost(cost: MaterialCost, page: GlazeBuckets) -> str:
    """The material cost of a kilogram, a litre and a piece, and what has no price."""
    if cost.per_kg is None:
        if not page.has_recipe:
            return ""
        return "Material cost is not known: none of its materials has a price on the shelf."
    parts = [f"{show_money(cost.per_kg, cost.currency)} a kg dry"]
    if page.target is not None:
        dry_g = page.dry_g_per_l(page.target)
        litre = cost.of(dry_g) if dry_g is not None else None
        if litre is not None:
            parts.append(
                f"{show_money(litre, cost.currency)} a litre at {say_gravity(page.target)}"
            )
    if page.use is not None:
        piece = cost.of(page.use.median_g)
        if piece is not None:
            parts.append(f"{show_money(piece, cost.currency)} a piece")
    words = f"Material costs {', '.join(parts)}"
    if cost.missing:
        words += f", at least: no price of {', '.join(cost.missing)}"
    return f"{words}."


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"

"""Which screen shows which noun; screens are made when first seen."""

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from studiolog.desktop.desk import Desk
    from studiolog.ui.parts.screen import Screen


@dataclass(frozen=True)
class Place:
    """A screen by its key, its words, and the nouns it shows."""

    key: str
    text: str
    module: str
    screen: str
    nouns: tuple[str, ...]


@dataclass(frozen=True)
class Tab:
    """A tab of the window; one with several places shows a row to choose among them."""

    text: str
    places: tuple[Place, ...]


def _place(key: str, text: str, screen: str, *nouns: str) -> Place:
    return Place(key, text, f"studiolog.ui.{key}.screen", screen, nouns)


TABS: tuple[Tab, ...] = (
    Tab("Bench", (_place("bench", "Bench", "BenchScreen", "bench", "run"),)),
    Tab(
        "Pieces",
        (
            _place("pieces", "Pieces", "PiecesScreen", "pieces", "piece"),
            _place("ideas", "Ideas", "IdeasScreen", "ideas", "idea"),
            _place("tools", "Tools", "ToolsScreen", "tools", "tool"),
        ),
    ),
    Tab(
        "Firings",
        (
            _place("firings", "Firings", "FiringsScreen", "firings", "firing"),
            _place("loads", "The next kiln", "LoadsScreen", "loads", "load"),
        ),
    ),
    Tab("Findings", (_place("findings", "Findings", "FindingsScreen", "findings"),)),
    Tab(
        "Orders",
        (
            _place("orders", "Orders", "OrdersScreen", "orders", "order"),
            _place("sets", "Sets", "SetsScreen", "sets", "set"),
            _place("promises", "Promises", "PromisesScreen", "promises", "promise"),
            _place("costs", "Costs", "CostsScreen", "costs"),
            _place("review", "Look back", "ReviewScreen", "review"),
        ),
    ),
    Tab(
        "Glazes and clays",
        (
            _place("glazes", "Glazes", "GlazesScreen", "glazes", "glaze"),
            _place("materials", "Materials", "MaterialsScreen", "materials", "material"),
            _place("plans", "Test plans", "PlansScreen", "plans", "plan"),
            _place("clays", "Clays", "ClaysScreen", "clays", "clay"),
            _place("forms", "Forms", "FormsScreen", "forms", "form"),
            _place("kilns", "Kilns", "KilnsScreen", "kilns", "kiln"),
            _place("programs", "Programs", "ProgramsScreen", "programs", "program"),
        ),
    ),
)

PLACES: dict[str, Place] = {place.key: place for tab in TABS for place in tab.places}
PLACE_OF_NOUN: dict[str, str] = {
    noun: place.key for place in PLACES.values() for noun in place.nouns
}
TAB_OF_PLACE: dict[str, int] = {
    place.key: index for index, tab in enumerate(TABS) for place in tab.places
}


def make_screen(place: Place, desk: "Desk") -> "Screen":
    """Load and make the screen of a place."""
    maker: Callable[[Desk], Screen] = getattr(import_module(place.module), place.screen)
    return maker(desk)

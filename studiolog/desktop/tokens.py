"""The look in one place: colours, type sizes and spaces, light and dark.

Everything that paints reads these tokens; no screen writes a colour of its own. Contrast was
checked on the worst of paper, sheet and sunk: text tokens reach 4.5:1, meaningful lines 3:1.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Tokens:
    """One theme. Colours are ``#RRGGBB``."""

    dark: bool
    paper: str  # window ground
    sheet: str  # cards, plots, dialogs, fields
    sunk: str  # empty track of a bar, inset wells
    line: str  # hairlines between rows, grid
    line2: str  # borders of controls, ticks, hollow cells, leader rules
    ink: str  # text, main marks
    ink2: str  # secondary text, leader lines
    ink3: str  # captions, axis numbers, hints
    cobalt: (
        str  # the accent: selection, focus, primary action, links, cursor, aimed or measured cone
    )
    oncobalt: str  # text on cobalt
    cobaltwash: str  # selected cell, filter token
    rust: str  # heat (logged curve) and anything wrong (fault, late, lost), as text or line
    rustwash: str  # fault ground, hold band
    rustfill: str  # fault-rate bar
    celadon: str  # sound: looked for and none seen, promise met
    celadonwash: str  # ground for sound, slow-cool band
    celadonfill: str  # solid sound marks larger than 8 px
    ochre: str  # no slack, unknown that matters
    ochrewash: str  # its ground
    ochrefill: str  # its solid mark
    prev: str  # curves of earlier firings
    stage_fill: dict[str, str]  # stage key -> how the clay looks
    stage_number: dict[str, str]  # stage key -> a number written on it


LIGHT = Tokens(
    dark=False,
    paper="#F3EEE4",
    sheet="#FBF8F1",
    sunk="#E8E1D3",
    line="#DCD3C3",
    line2="#908574",
    ink="#1C1917",
    ink2="#4A433B",
    ink3="#686055",
    cobalt="#1F45B4",
    oncobalt="#FFFFFF",
    cobaltwash="#E1E7F5",
    rust="#A63F1A",
    rustwash="#F3DDD0",
    rustfill="#C4623A",
    celadon="#2B6350",
    celadonwash="#DAE8DF",
    celadonfill="#7DAA94",
    ochre="#7A560B",
    ochrewash="#F1E3C2",
    ochrefill="#C99A3A",
    prev="#908574",
    stage_fill={
        "wet": "#4B453F",
        "leather_hard": "#7F6E5F",
        "bone_dry": "#D2C8B7",
        "bisque": "#DFAB92",
        "glazed": "#F4F1EA",
        "fired": "#3F6F73",
    },
    stage_number={
        "wet": "#FFFFFF",
        "leather_hard": "#FFFFFF",
        "bone_dry": "#1C1917",
        "bisque": "#1C1917",
        "glazed": "#1C1917",
        "fired": "#FFFFFF",
    },
)

DARK = Tokens(
    dark=True,
    paper="#161412",
    sheet="#1E1B18",
    sunk="#100E0D",
    line="#37312B",
    line2="#756B60",
    ink="#F1EADE",
    ink2="#C6BCAD",
    ink3="#9E9386",
    cobalt="#93A9FF",
    oncobalt="#12182E",
    cobaltwash="#242C4C",
    rust="#F0976B",
    rustwash="#42261B",
    rustfill="#C96F45",
    celadon="#97CBB3",
    celadonwash="#1F322B",
    celadonfill="#5F9280",
    ochre="#E0B862",
    ochrewash="#3A2E16",
    ochrefill="#B98C35",
    prev="#7C7267",
    stage_fill={
        "wet": "#6A625A",
        "leather_hard": "#94816F",
        "bone_dry": "#CFC5B4",
        "bisque": "#D59F86",
        "glazed": "#EFEBE2",
        "fired": "#5B9397",
    },
    stage_number={
        "wet": "#FFFFFF",
        "leather_hard": "#1C1917",
        "bone_dry": "#1C1917",
        "bisque": "#1C1917",
        "glazed": "#1C1917",
        "fired": "#1C1917",
    },
)

GLAZE_PATTERNS = (
    "upright lines",
    "dots",
    "broken level lines",
    "diagonals",
    "small crosses",
    "waves",
    "open rings",
    "level lines",
)
"""The eight patterns, given to glazes in order of creation, so that two greens still differ."""

# Type: pixel size and line height. Nothing is smaller than CAPTION.
TITLE = (28, 32)
FIGURE = (20, 28)
HEAD = (15, 24)
BODY = (13, 20)
SECONDARY = (12, 16)
CAPTION = (11, 16)

# Space, in pixels on an 8 px grid (4 inside a control).
PAGE_MARGIN = 32
COLUMN_GAP = 24
CARD_INSET = 20
SECTION_HEAD = 36
BUTTON_HEIGHT = 32
ANY_WIDTH = 16_777_215  # Qt's own word for a widget without a widest width

# Corner radii and line widths.
RADIUS_STAMP = 3
RADIUS_CHIP = 4
RADIUS_CARD = 6
RADIUS_DIALOG = 8
MARK_LINE = 1.25
SECTION_RULE = 1.5
CUT_OUTLINE = 1.75
FOCUS_LINE = 2.0

"""Layers as a potter types them, read into layers in order, and written back as words.

``kelp 4s, chalk 3s upper, oat in pour 2s, rust rim brush 2 coats``: a comma between layers, and
within one the glaze, zone, method and amount in any order. No database and no Qt: pure text.
"""

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from studiolog.craft.words import METHODS, ZONES

_ZONE_WORDS = {
    "out": "outside",
    "outside": "outside",
    "in": "inside",
    "inside": "inside",
    "rim": "rim",
    "foot": "foot",
    "upper": "outside, upper",
    "lower": "outside, lower",
}
_ZONE_WRITTEN = {
    "outside": "",
    "inside": "in",
    "rim": "rim",
    "foot": "foot",
    "outside, upper": "upper",
    "outside, lower": "lower",
}
_METHOD_WORDS = {
    **{key: key for key in METHODS},
    "brushed": "brush",
    "dipped": "dip",
    "poured": "pour",
    "sprayed": "spray",
    "trailed": "trail",
}
_QUOTED = r'"(?:[^"]|"")*"'
_NUMBER = r"\d+(?:[.,]\d+)?"
_SECONDS = rf"(?P<s>{_NUMBER})\s*(?:seconds|second|secs|sec|s)\b"
_COATS = r"(?P<c>\d+)\s*(?:coats|coat|x)\b"
_PIECE = re.compile(
    rf"(?P<q>{_QUOTED})|(?:{_SECONDS})|(?:{_COATS})|(?P<stop>[,;\n])|(?P<w>[^\s,;\"]+|\")",
    re.IGNORECASE,
)
# A zone as the journal spells it, "outside, upper", is one zone and no two layers.
_SPELT_OUT = re.compile(
    r"\b(?:outside|out),\s*(upper|lower)(?=\s*(?:$|[,;\n]|\d|(?:" + "|".join(METHODS) + r")\b))",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class GlazeName:
    """A glaze that may be typed, by the title shown on screens."""

    glaze_id: int
    title: str


@dataclass(frozen=True)
class WordedLayer:
    """One layer as it was understood; ``seconds`` of a dip, a pour or a spray."""

    glaze_id: int
    zone: str = "outside"
    method: str | None = None
    seconds: float | None = None
    coats: int | None = None


@dataclass(frozen=True)
class Unread:
    """Words that say no layer: where they stand in the text, and what they may have meant.

    ``ambiguous`` when they fit several glazes: ``nearest`` are then those.
    """

    words: str
    start: int
    end: int
    nearest: tuple[str, ...] = ()
    ambiguous: bool = False
    problem: str = ""

    def sentence(self) -> str:
        """``Which glaze is “tid”? Deep Tide, Oat or Kelp.``"""
        if self.problem:
            return self.problem
        listed = _listed(self.nearest)
        if self.ambiguous:
            return f"“{self.words}” fits {_listed(self.nearest, 'and')}: type more of the name."
        if listed:
            return f"Which glaze is “{self.words}”? {listed}."
        return f"Which glaze is “{self.words}”? There is no glaze in the journal yet."


@dataclass(frozen=True)
class LayerReading:
    """What a line of layers says, in the order they went on."""

    layers: tuple[WordedLayer, ...] = ()
    unread: tuple[Unread, ...] = ()


@dataclass
class _Word:
    text: str
    start: int
    end: int
    quoted: bool = False


def _listed(names: Sequence[str], joint: str = "or") -> str:
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"


def read_layers(text: str, glazes: Sequence[GlazeName]) -> LayerReading:
    """Read typed layers. What can't be read is told in ``unread`` and makes no layer.

    A glaze is named by the start of its title, or of any of its words, if that fits only one.
    Without a zone it is the outside; seconds without a method are a dip, coats a brush.
    """
    # The zone spelt out keeps its length, so that places in the text stay true.
    plain = _SPELT_OUT.sub(lambda m: m[1].rjust(len(m[0])), text)
    layers: list[WordedLayer] = []
    unread: list[Unread] = []
    for part in _parts(plain):
        read = [_read_part(one, glazes) for one in _laid_over(part, glazes)]
        said = {zone for _, zone, _ in read if zone is not None}
        for layer, zone, left in read:
            unread.extend(left)
            if layer is not None:
                # "Chalk over kelp upper" speaks of one zone.
                shared = zone is None and len(said) == 1
                layers.append(replace(layer, zone=next(iter(said))) if shared else layer)
    return LayerReading(tuple(layers), tuple(unread))


def _laid_over(part: list[re.Match[str]], glazes: Sequence[GlazeName]) -> list[list[re.Match[str]]]:
    """``chalk over kelp`` is kelp, then chalk; unless a glaze has the word in its title."""
    if any("over" in glaze.title.casefold().split() for glaze in glazes):
        return [part]
    laid: list[list[re.Match[str]]] = [[]]
    for match in part:
        if match["w"] and match["w"].casefold() == "over":
            laid.append([])
        else:
            laid[-1].append(match)
    return laid[::-1] if all(laid) else [part]


def _parts(text: str) -> list[list[re.Match[str]]]:
    parts: list[list[re.Match[str]]] = [[]]
    for match in _PIECE.finditer(text):
        if match["stop"]:
            parts.append([])
        else:
            parts[-1].append(match)
    return [part for part in parts if part]


def _read_part(
    part: Sequence[re.Match[str]], glazes: Sequence[GlazeName]
) -> tuple[WordedLayer | None, str | None, list[Unread]]:
    """One layer, its zone if it was said, and what was not read.

    First what a whole title names, then amounts, zones and methods, then the rest.
    """
    glaze_id, taken = _titled(part, glazes)
    zone: str | None = None
    method: str | None = None
    seconds: float | None = None
    coats: int | None = None
    rest: list[_Word] = []
    unread: list[Unread] = []
    place = 0
    while place < len(part):
        match = part[place]
        word = _word(match)
        place += 1
        if place - 1 in taken:
            continue
        lower = word.text.casefold()
        if match["s"] or match["c"]:
            amount = float((match["s"] or match["c"]).replace(",", "."))
            twice = (seconds if match["s"] else coats) is not None
            if amount <= 0 or twice:
                said = "is more than 0" if amount <= 0 else "is said once a layer"
                sentence = f"“{match[0]}”: an amount {said}."
                unread.append(Unread(match[0], match.start(), match.end(), problem=sentence))
            elif match["s"]:
                seconds = amount
            else:
                coats = int(amount)
        elif not word.quoted and lower == "on" and zone is None and place < len(part):
            zone, place = _custom_zone(part, place, taken)
        elif word.quoted and zone is None and word.text.strip():
            zone = _known_zone(word.text)
        elif not word.quoted and lower in _ZONE_WORDS and zone is None:
            zone = _ZONE_WORDS[lower]
        elif not word.quoted and lower in _METHOD_WORDS and method is None:
            method = _METHOD_WORDS[lower]
        else:
            rest.append(word)
    if rest or glaze_id is None:
        found, doubt = _name_glaze(part, rest, glazes, glaze_id)
        glaze_id = found
        unread.extend(doubt)
    if glaze_id is None or unread:
        return None, zone, unread
    if method is None:
        method = "brush" if coats is not None else "dip" if seconds is not None else None
    return WordedLayer(glaze_id, zone or "outside", method, seconds, coats), zone, []


def _word(match: re.Match[str]) -> _Word:
    if match["q"]:
        return _Word(match["q"][1:-1].replace('""', '"'), match.start(), match.end(), True)
    return _Word(match[0], match.start(), match.end())


def _titled(
    part: Sequence[re.Match[str]], glazes: Sequence[GlazeName]
) -> tuple[int | None, frozenset[int]]:
    """The glaze whose whole title stands in the part, and which words it takes.

    A title may hold a word that else means a zone or a method ("Rim Blue"), or a number.
    """
    words = [_word(match) for match in part]
    by_title = {" ".join(g.title.casefold().split()): g.glaze_id for g in glazes}
    runs: list[tuple[bool, int, int, int]] = []
    for first, word in enumerate(words):
        if first and words[first - 1].text.casefold() == "on":
            continue
        if word.quoted:
            whole = " ".join(word.text.casefold().split())
            if whole in by_title:
                runs.append((False, first, -1, by_title[whole]))
            continue
        said = ""
        for last in range(first, len(words)):
            if words[last].quoted:
                break
            said = " ".join(f"{said} {words[last].text}".casefold().split())
            if said in by_title:
                between = [w.text.casefold() for w in words[first : last + 1]]
                common = all(w in _ZONE_WORDS or w in _METHOD_WORDS for w in between)
                runs.append((common, first, first - last - 1, by_title[said]))
    if not runs:
        return None, frozenset()
    _, first, minus_count, glaze_id = min(runs)
    return glaze_id, frozenset(range(first, first - minus_count))


def _custom_zone(
    part: Sequence[re.Match[str]], place: int, taken: frozenset[int]
) -> tuple[str, int]:
    """A zone of the potter's own after *on*: quoted, or words up to an amount or a method."""
    word = _word(part[place])
    if word.quoted:
        return _known_zone(word.text), place + 1
    said: list[str] = []
    while place < len(part) and place not in taken:
        match = part[place]
        if not match["w"] or (said and match[0].casefold() in _METHOD_WORDS):
            break
        if not (not said and match[0].casefold() == "the"):
            said.append(match[0])
        place += 1
    return _known_zone(" ".join(said)), place


def _known_zone(said: str) -> str:
    zone = " ".join(said.split())
    lower = zone.casefold()
    return lower if lower in ZONES else _ZONE_WORDS.get(lower, zone)


def _name_glaze(
    part: Sequence[re.Match[str]],
    rest: Sequence[_Word],
    glazes: Sequence[GlazeName],
    titled: int | None,
) -> tuple[int | None, list[Unread]]:
    if not rest:
        start, end = part[0].start(), part[-1].end()
        words = part[0].string[start:end]
        sentence = f"Which glaze went on with “{words}”?"
        return None, [Unread(words, start, end, problem=sentence)]
    said = " ".join(word.text for word in rest)
    if titled is None:
        fits = find_glazes(said, glazes)
        if len(fits) == 1:
            return fits[0].glaze_id, []
        if fits:
            names = tuple(glaze.title for glaze in fits[:3])
            return None, [Unread(said, rest[0].start, rest[-1].end, names, ambiguous=True)]
    wrong = [w for w in rest if not find_glazes(w.text, glazes)] or list(rest)
    if titled is None and len(wrong) == len(rest):
        return None, [
            Unread(said, rest[0].start, rest[-1].end, nearest_titles(said, glazes)),
        ]
    return None, [Unread(w.text, w.start, w.end, nearest_titles(w.text, glazes)) for w in wrong]


def find_glazes(said: str, glazes: Sequence[GlazeName]) -> list[GlazeName]:
    """The glazes these words may name: by whole title, else its start, else starts of words."""
    typed = " ".join(said.casefold().split())
    if not typed:
        return []
    titles = [(glaze, " ".join(glaze.title.casefold().split())) for glaze in glazes]
    for tier in (
        [glaze for glaze, title in titles if title == typed],
        [glaze for glaze, title in titles if title.startswith(typed)],
        [glaze for glaze, title in titles if _starts_words(typed.split(), title)],
    ):
        if tier:
            return tier
    return []


def _starts_words(typed: Sequence[str], title: str) -> bool:
    """Whether each typed word starts a word of the title, in the title's order."""
    names = iter(re.findall(r"\w+", title))
    return all(any(name.startswith(word) for name in names) for word in typed)


def nearest_titles(said: str, glazes: Sequence[GlazeName], most: int = 3) -> tuple[str, ...]:
    """The titles most like what was typed, best first."""
    typed = said.casefold()

    def likeness(title: str) -> float:
        whole = title.casefold()
        parts = (whole, *whole.split())
        return max(difflib.SequenceMatcher(None, typed, part).ratio() for part in parts)

    titles = [glaze.title for glaze in glazes]
    return tuple(sorted(titles, key=lambda title: (-likeness(title), title))[:most])


def write_layers(layers: Sequence[WordedLayer], glazes: Sequence[GlazeName]) -> str:
    """Layers as words that `read_layers` understands, glaze first."""
    return ", ".join(write_layer(layer, glazes) for layer in layers)


def say_laid(layers: Sequence[WordedLayer], glazes: Sequence[GlazeName]) -> str:
    """Layers of one zone as they lie, the last first: ``Kelp over Chalk dip 3 s``."""
    titles = {glaze.glaze_id: glaze.title for glaze in glazes}
    said = [f"{titles.get(one.glaze_id, '?')} {how_words(one)}".strip() for one in layers]
    return " over ".join(reversed(said))


def write_layer(layer: WordedLayer, glazes: Sequence[GlazeName]) -> str:
    """One layer in words: ``Chalk upper 3s``. What would be misread is put in quotes."""
    title = next((g.title for g in glazes if g.glaze_id == layer.glaze_id), "?")
    words = title.casefold()
    for named in (words, _quote(title)):
        for zone in _zone_spellings(layer.zone):
            written = " ".join(filter(None, (named, zone, _how(layer))))
            read = read_layers(written, glazes)
            if not read.unread and read.layers == (layer,):
                return written
    # A dip without its method, or a zone in other capitals, has no words of its own.
    return " ".join(filter(None, (_quote(title), _zone_spellings(layer.zone)[-1], _how(layer))))


def _zone_spellings(zone: str) -> tuple[str, ...]:
    if zone in _ZONE_WRITTEN:
        return (_ZONE_WRITTEN[zone],)
    return (f"on {zone}", f"on {_quote(zone)}")


def _how(layer: WordedLayer) -> str:
    """Method and amount, the method left out where the amount says it."""
    usual = "brush" if layer.coats is not None else "dip" if layer.seconds is not None else None
    parts = [layer.method] if layer.method and layer.method != usual else []
    if layer.seconds is not None:
        parts.append(f"{write_amount(layer.seconds)}s")
    if layer.coats is not None:
        parts.append(f"{layer.coats} coat{'' if layer.coats == 1 else 's'}")
    return " ".join(parts)


def write_amount(value: float) -> str:
    """A number without needless zeros."""
    written = f"{value:f}".rstrip("0").rstrip(".") if value >= 1e-6 else repr(value)
    return written if float(written) == value else repr(value)


def _quote(text: str) -> str:
    return '"' + text.replace('"', '""') + '"'


def how_words(layer: WordedLayer) -> str:
    """How a layer went on, for people: ``dip 3 s``, ``brush, 2 coats``."""
    parts = [METHODS[layer.method]] if layer.method else []
    if layer.seconds is not None:
        parts.append(f"{write_amount(layer.seconds)} s")
    said = " ".join(parts)
    if layer.coats is not None:
        coats = f"{layer.coats} coat{'' if layer.coats == 1 else 's'}"
        said = f"{said}, {coats}" if said else coats
    return said

"""What covers the form: clay, coats of glaze in their order, and faults, pixel by pixel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .picture_camera import Floats, SeenSurface
from .picture_grain import look_up, look_up_softly
from .picture_looks import Colour, GlazeLook, clay_look, glaze_look
from .picture_spec import PictureLayer, PictureSpec
from .profiles import FormShape


@dataclass
class Skin:
    """Colour (3 × n, linear-ish: the square of sRGB), gloss 0…1, tooth, slope and dark pits."""

    colour: Floats
    gloss: Floats
    tooth: float
    lift: Floats
    """Brightness given by small relief lit from the upper left; 0 for none."""


def paint_surface(seen: SeenSurface, shape: FormShape, spec: PictureSpec) -> Skin:
    """The surface of the piece at the moment the picture was taken."""
    paint = _Paint(seen, shape, spec)
    paint.lay_clay()
    if spec.moment == "glazed":
        for order, layer in enumerate(spec.layers):
            paint.lay_raw_coat(layer, order)
    elif spec.moment in ("fired", "later"):
        paint.fire_coats()
        for fault, severity, zone in spec.faults:
            if severity > 0:
                paint.show_fault(fault, severity, zone)
    return Skin(paint.colour, paint.gloss, paint.tooth, paint.lift)


def _squared(colour: Colour) -> Floats:
    return (np.asarray(colour, dtype=np.float32)[:, None] / 255) ** 2


def _smooth(x: Floats, low: float, high: float) -> Floats:
    t = (x - np.float32(low)) * np.float32(1 / (high - low))
    np.clip(t, 0, 1, out=t)
    return t * t * (3 - 2 * t)


class _Paint:
    def __init__(self, seen: SeenSurface, shape: FormShape, spec: PictureSpec) -> None:
        self.seen, self.shape, self.spec = seen, shape, spec
        self.u, self.v = seen.around_mm, seen.height_mm
        self.close = spec.view != "whole"
        self.n = len(seen.pixel)
        self.seed = spec.seed
        self.lift = np.zeros(self.n, dtype=np.float32)
        self.gloss = np.zeros(self.n, dtype=np.float32)
        self.colour = np.zeros((3, self.n), dtype=np.float32)
        self.tooth = 1.0
        self.glazed = np.zeros(self.n, dtype=np.float32)
        self._round_from = float(self.u.min()) if self.n else 0.0
        self._round_steps = ((self.u - np.float32(self._round_from)) * 12).astype(np.int32)
        self._round_count = int(self._round_steps.max()) + 1 if self.n else 1
        self.cloud = self._look("cloud", 3.1, 1)

    def _look(
        self,
        name: str,
        texels_per_mm: float,
        salt: int,
        layer: int = 0,
        at: np.ndarray | None = None,
    ) -> Floats:
        """A tile's value at every place, or at the places ``at`` only."""
        find = look_up_softly if self.close else look_up
        along_wall = name in ("streak", "bristle")
        u = self.u if along_wall else self.seen.cloth_u_mm
        v = self.v if along_wall else self.seen.cloth_v_mm
        if at is not None:
            u, v = u.take(at), v.take(at)
        return find(name, u, v, texels_per_mm, self.seed * 13 + salt, layer)

    # --- clay -----------------------------------------------------------------------------

    def lay_clay(self) -> None:
        look, moment = clay_look(self.spec.clay), self.spec.moment
        base = {
            "making": look.wet,
            "bone_dry": look.bone_dry,
            "bisque": look.bisque,
            "glazed": look.bisque,
        }.get(moment, look.fired)
        shade = 1 + self.cloud * np.float32(0.045)
        if moment in ("fired", "later"):
            # Bare clay flashes a little warmer towards the foot.
            shade -= 0.12 * _smooth(self.seen.relief, 0.1, 1.0)
        self.colour = _squared(base) * shade
        fresh = moment in ("making", "bone_dry", "bisque")
        tooth = self._look("grain", 4.2, 2)
        strength = {"making": 0.035, "bone_dry": 0.05, "bisque": 0.055}.get(moment, 0.05)
        if not look.speck_share:  # a clay without sand is smoother
            strength *= 0.6
        self.lift += tooth * np.float32(strength)
        if moment == "making":
            drag = self._look("bristle", 3.0, 3) * np.float32(1 if self.seen.upright else 0.25)
            self.lift += drag * np.float32(0.05)
            self.gloss += 0.34 + 0.10 * self.cloud + 0.05 * drag
            np.clip(self.gloss, 0, 0.7, out=self.gloss)
        if moment == "bone_dry":
            damp = _smooth(self.cloud + 1.4 - self.v * np.float32(0.06), 0.4, 1.6)
            self.colour *= 1 - np.float32(0.12) * damp
        if look.speck_share and (fresh or moment != "glazed"):
            self._specks(look.speck, look.speck_share, look.speck_mm, 0.55 if fresh else 0.9)

    def _specks(self, colour: Colour, share: float, size_mm: float, depth: float) -> None:
        for salt, texels, part in ((5, 5.0, 1.0), (6, 7.5, 0.7)):
            at = np.nonzero(self._look("dots", texels, salt, 1) < share * part)[0]
            gap = self._look("dots", texels, salt, 0, at) * np.float32(512 / texels)
            near = gap < size_mm * 1.1
            at, gap = at[near], gap[near]
            dot = (1 - _smooth(gap, size_mm * 0.5, size_mm * 1.1)) * np.float32(depth)
            before = self.colour[:, at]
            self.colour[:, at] = before + (_squared(colour) - before) * dot

    def _mix(self, colour: Floats, part: Floats) -> None:
        self.colour += (colour - self.colour) * part

    # --- where a coat lies ------------------------------------------------------------------

    def _zone(self, layer: PictureLayer) -> tuple[np.ndarray, Floats]:
        """Where the layer may lie, and how far (mm) inside its lower border each place is."""
        seen, shape = self.seen, self.shape
        zone = layer.zone
        inner = seen.side == 1
        lid_is_apart = shape.built == "house"
        low, high = layer.low_mm, layer.high_mm
        if zone == "inside":
            over = inner | (seen.from_rim_mm < 1.0)
            return over & ~seen.bare, np.full(self.n, 50.0, dtype=np.float32)
        if zone == "rim":
            wave = 0.35 * self.cloud
            inside_by = np.float32(shape.rim_mm) - seen.from_rim_mm + wave
            return inside_by > -3, inside_by
        if zone == "foot":
            return (self.v < shape.foot_bare_mm) & ~inner, np.full(self.n, 50.0, dtype=np.float32)
        outer = ~inner
        if zone in ("roof", "lid"):
            outer = seen.side == 2
            low = 0.0 if low is None else low
        elif lid_is_apart and zone in ("outside, lower", "walls"):
            outer = seen.side == 0
        if low is None:
            low = shape.upper_from_mm if zone == "outside, upper" else shape.foot_bare_mm
        if high is None and zone == "outside, lower" and not lid_is_apart:
            high = shape.upper_from_mm
        tilt = np.float32(0.02 * ((self.seed % 7) - 3))

        def hand_held(u: Floats) -> Floats:
            """A dipped line is never quite level; each slab has its own."""
            if shape.built != "lathe":
                u = (u + 95) % 190 - 95
            wave = np.sin(u * 0.045 + self.seed) * 1.3
            return wave + u * tilt if seen.upright else 0.6 * wave

        slant = self._round_the_piece(hand_held)
        inside_by = self.v - np.float32(low) + slant
        inside_by += 0.35 * self.cloud
        over = outer & ~seen.bare
        if high is not None:
            over &= self.v < high + 3 + slant
        return over, inside_by

    # --- raw --------------------------------------------------------------------------------

    def lay_raw_coat(self, layer: PictureLayer, order: int) -> None:
        look = glaze_look(layer.glaze)
        over, inside_by = self._zone(layer)
        salt = 20 + 7 * order
        if layer.method == "brush":
            drag = self._look("bristle", 2.4, salt)
            inside_by = inside_by + 0.45 * drag
        elif layer.method == "spray":
            inside_by = inside_by + 1.6 * self._look("fine", 5.0, salt)
        edge = 3.0 if layer.method == "spray" else 0.7
        coat = over * _smooth(inside_by, 0.0, edge)
        thick = np.float32(min(1.0, 0.72 + 0.28 * layer.thickness))
        patch = 1 + 0.03 * self.cloud
        colour = _squared(look.raw) * patch
        if layer.method == "brush":
            thin = _smooth(drag, -0.4, 1.8)
            coat = coat * (1 - 0.45 * thin / max(layer.thickness, 0.6))
            self.lift += 0.05 * drag * coat
        # The ridge dries first and takes less: the clay's pink grins through a thin coat.
        grin = np.clip(self.seen.relief, 0, 1) * np.float32(0.16 / max(layer.thickness, 0.4))
        self._mix(colour, coat * thick * (1 - grin))
        # Powder: a soft rounded step at the border, then tooth and a few pinholes in the coat.
        step = over * np.exp(-((inside_by - 0.6) ** 2) * np.float32(1.6)).astype(np.float32)
        self.lift += (coat - 0.5 * step) * np.float32(0.03) - step * np.float32(0.05)
        tooth = self._look("grain", 2.6, salt + 1)
        self.lift += tooth * coat * np.float32(0.038)
        gap = self._look("dots", 3.4, salt + 2, 0) * np.float32(512 / 3.4)
        which = self._look("dots", 3.4, salt + 2, 1)
        hole = (which < 0.10) * (1 - _smooth(gap, 0.15, 0.5)) * coat
        self.lift -= hole * np.float32(0.3)
        self.glazed = np.maximum(self.glazed, coat)

    # --- fired ------------------------------------------------------------------------------

    def _running(self) -> int:
        return max((s for f, s, _ in self.spec.faults if f == "running"), default=0)

    def _round_the_piece(
        self, drawn: Callable[[Floats], Floats], at: np.ndarray | None = None
    ) -> Floats:
        """Values that depend only on where one is round the piece: drawn once, looked up."""
        steps = np.float32(12)
        places = self._round_steps if at is None else self._round_steps.take(at)
        table = drawn(np.arange(self._round_count) / steps + self._round_from)
        return np.asarray(table, dtype=np.float32).take(places)

    def _drips(self, u: Floats, reach_mm: float, often: float, salt: int) -> Floats:
        """How far below its line the glaze hangs, mm, round the piece: tongues of many sizes."""
        random = np.random.default_rng((self.seed, salt))
        spacing = 6.5
        columns = 128
        tongue = random.random(columns) < often
        length = np.where(tongue, 0.3 + 0.7 * random.random(columns) ** 1.5, 0.0)
        centre = random.uniform(-0.3, 0.3, columns)
        narrow = random.uniform(1.5, 3.4, columns)
        at = u / spacing + 64
        cell = at.astype(np.int32)
        hang = np.zeros_like(at)
        for step in (-1, 0, 1):
            index = (cell + step) & (columns - 1)
            gap = at - (cell + step) - 0.5 - centre[index]
            lobe = np.clip(1 - (gap * narrow[index]) ** 2, 0, 1)
            hang = np.maximum(hang, length[index] * lobe**0.6)
        return hang * reach_mm

    def _hang(
        self, layer: PictureLayer, look: GlazeLook, stacked: bool, salt: int
    ) -> Callable[[Floats], Floats]:
        """How far the melted coat has moved below its line, mm, at places round the piece."""
        running = self._running() if layer.zone != "rim" else 0
        flow = look.runny * (1.6 if stacked else 1.0) * layer.thickness
        if layer.zone == "rim":
            flow *= 0.25

        def drawn(u: Floats) -> Floats:
            hang = self._drips(u, 0.7 + 1.9 * flow, 0.30, salt)
            # Between the tongues the line itself has softened in slow waves.
            wave = np.sin(u * 0.31 + self.seed) + np.sin(u * 0.83 + 2 * self.seed)
            hang = hang + 0.22 * flow * (wave + 1.2)
            if running:
                far = self._drips(u, 3.5 + 4.2 * running, 0.10 + 0.13 * running, salt + 3)
                hang = np.maximum(hang, far)
            return hang

        return drawn

    def fire_coats(self) -> None:
        """Melt every coat in its order: where it is thin it breaks, where it is thick it moves."""
        seen = self.seen
        under = np.zeros(self.n, dtype=np.float32)  # thickness of what melted below
        upright = seen.upright
        streak = self._look("streak", 3.2, 9) if upright else 0.7 * self._look("cloud", 5.0, 9)
        if self.shape.built != "lathe":
            streak *= np.float32(0.55)
        for order, layer in enumerate(self.spec.layers):
            look = glaze_look(layer.glaze)
            over, inside_by = self._zone(layer)
            at = np.nonzero(over)[0]
            if len(at) == 0:
                continue
            salt = 40 + 11 * order
            inside_by = inside_by.take(at)
            below, drift = under.take(at), streak.take(at)
            relief = seen.relief.take(at)
            ridge = np.maximum(relief, 0)
            film = 1 - np.float32(0.80) * ridge - np.float32(0.40) * (relief - ridge)
            film -= np.float32(0.30) * np.exp(seen.from_rim_mm.take(at) * np.float32(-0.55))
            film += np.float32(0.14 * look.streaky) * drift * (0.35 + 0.9 * ridge)
            film += np.float32(0.06) * self.cloud.take(at)
            film *= np.float32(layer.thickness)
            moves = layer.zone not in ("inside", "foot") and upright
            lift = self.lift.take(at)
            if moves:
                stacked = bool((below > 0.2).any())
                hang = self._round_the_piece(self._hang(layer, look, stacked, salt), at)
                if layer.zone == "rim":
                    hang *= seen.side.take(at) != 1
                inside_by += hang - np.float32(0.4)
                bead = np.exp((inside_by - 1.0) ** 2 * np.float32(-0.8)) * (hang > 1.2)
                coat = _smooth(inside_by, 0.0, 0.9)
                film += np.float32(0.5) * bead
                if self._running():
                    film = np.where(inside_by < hang, np.maximum(film, np.float32(0.75)), film)
                # A coat slides: thicker just above its line.
                film += np.float32(0.22) * np.exp(np.maximum(inside_by, 0) * np.float32(-0.25))
                film += below * np.float32(0.10) * drift
                step = np.exp((inside_by - 0.35) ** 2 * np.float32(-3.0))
                lift += np.float32(0.05) * bead * coat - step * np.float32(0.10)
            else:
                coat = _smooth(inside_by, 0.0, 0.9)
            if layer.method == "brush":
                film *= 1 + np.float32(0.07) * self._look("bristle", 2.4, salt + 1, at=at)
            thinnest = 0.62 if layer.zone == "rim" else 0.32  # a rim is glazed to be seen
            np.clip(film, thinnest * layer.thickness, 2, out=film)
            self._melt_in(at, look, coat, film, below, drift)
            self.lift[at] = lift * (1 - np.float32(0.75) * coat)
            under[at] = np.maximum(below * (1 - np.float32(0.5) * coat), coat * film)
        self._bleed_specks()

    def _bleed_specks(self) -> None:
        """Iron in the clay bleeds up through the glaze in soft spots."""
        look = clay_look(self.spec.clay)
        if not look.speck_share:
            return
        which = self._look("dots", 3.0, 15, 1)
        at = np.nonzero((which < look.speck_share * 0.22) & (self.glazed > 0))[0]
        which = which.take(at)
        gap = self._look("dots", 3.0, 15, 0, at) * np.float32(512 / 3.0)
        size = np.float32(look.speck_mm * 1.7) * (0.6 + 3 * which)
        spot = (1 - _smooth(gap / size, 0.4, 1.0)) * self.glazed.take(at) * np.float32(0.5)
        colour = self.colour[:, at]
        self.colour[:, at] = colour + (_squared((98, 74, 52)) - colour) * spot

    def _melt_in(
        self,
        at: np.ndarray,
        look: GlazeLook,
        coat: Floats,
        film: Floats,
        under: Floats,
        streak: Floats,
    ) -> None:
        """One fired coat over what is there: colour by thickness, hiding by thickness."""
        gloss = np.float32(0.12 if self.spec_dry() else look.gloss)
        full = _smooth(film, 0.22 * look.break_at, 1.08 * look.break_at)
        thin, thick = _squared(look.thin), _squared(look.thick)
        if look.cover < 0.5:  # clear: the clay reads darker and warmer under it
            part = coat
        else:
            melted = under > 0.15
            hide = 1 - np.exp(
                np.float32(-look.cover) * film * np.where(melted, np.float32(0.85), np.float32(1))
            )
            # Where two coats met, the lower one comes up in streaks.
            comes_up = np.clip(0.18 + np.float32(0.34 * look.streaky) * streak, 0, 0.7)
            hide -= melted * comes_up * (1 - np.float32(0.45) * full)
            part = coat * np.clip(hide, 0, 1)
        for channel in range(3):
            line = self.colour[channel]
            before = line.take(at)
            colour = thin[channel] + (thick[channel] - thin[channel]) * full
            if look.cover < 0.5:
                colour = before * np.float32(0.744) + np.float32(0.07) * colour
            line[at] = before + (colour - before) * part
        shine = self.gloss.take(at)
        self.gloss[at] = shine + (gloss - shine) * coat
        self.glazed[at] = np.maximum(self.glazed.take(at), coat)

    def spec_dry(self) -> bool:
        return any(f == "dry" and s > 1 for f, s, _ in self.spec.faults)

    # --- faults -----------------------------------------------------------------------------

    def _within(self, zone: str) -> Floats:
        over, _ = self._zone(PictureLayer("", zone or "outside"))
        if zone in ("", "everywhere"):
            return self.glazed
        return self.glazed * over

    def show_fault(self, fault: str, severity: int, zone: str) -> None:
        show = getattr(self, f"_show_{fault}", None)
        if show is not None:
            show(severity, self._within(zone))

    def _show_crazing(self, severity: int, where: Floats) -> None:
        spread = (8.4, 11.2, 15.0)[severity - 1]  # texels a mm: closer cracks when worse
        width = np.float32(0.10 + 0.03 * severity)
        if not self.close:
            width = np.float32(max(width, 0.62 / self.spec.scale_px_per_mm))
        coarse = self._look("cracks", spread, 31, 0) * np.float32(512 / spread)
        line = 1 - _smooth(coarse, 0.3 * width, 1.6 * width)
        depth = np.float32(0.34 + 0.13 * severity)
        if severity > 1 or self.close:
            fine = self._look("cracks", spread, 31, 1) * np.float32(512 / spread)
            second = (1 - _smooth(fine, 0.2 * width, 1.0 * width)) * np.float32(0.55)
            patch = _smooth(self._look("cracks", spread, 31, 2), 0.35, 0.6)
            line = np.maximum(line, second * patch)
        line *= where
        dark = _squared((104, 76, 50))
        self._mix(self.colour * 0.35 + dark * 0.4, line * depth)
        self.lift -= line * np.float32(0.10)

    def _show_crawling(self, severity: int, where: Floats) -> None:
        field = self._look("swell", 5.6, 33) + 0.12 * self._look("swell", 17.0, 34)
        level = (2.0, 1.55, 1.15)[severity - 1]
        bare = _smooth(field, level, level + 0.07) * where
        lump = np.exp(-((field - level + 0.17) ** 2) * np.float32(70)) * where
        look = clay_look(self.spec.clay)
        self._mix(_squared(look.fired) * (1 + 0.05 * self.cloud), bare)
        self._mix(np.clip(self.colour * 1.16, 0, 1), lump * np.float32(0.7))
        self.gloss *= 1 - bare
        edge = np.exp(-((field - level - 0.02) ** 2) * np.float32(900)) * where
        self.lift += 0.16 * lump - 0.34 * edge

    def _dots(self, texels: float, salt: int, share: float, size_mm: float) -> Floats:
        gap = self._look("dots", texels, salt, 0) * np.float32(512 / texels)
        which = self._look("dots", texels, salt, 1)
        size = np.float32(size_mm) * (0.55 + which / np.float32(share))
        return (which < share) * (1 - _smooth(gap / size, 0.55, 1.1))

    def _show_pinhole(self, severity: int, where: Floats) -> None:
        hole = self._dots(5.6, 35, 0.10 + 0.12 * severity, 0.34) * where
        halo = self._dots(5.6, 35, 0.10 + 0.12 * severity, 0.75) * where
        self._mix(np.clip(self.colour * 1.12, 0, 1), halo * np.float32(0.5))
        self._mix(self.colour * np.float32(0.22), hole)
        self.gloss *= 1 - hole

    def _show_blister(self, severity: int, where: Floats) -> None:
        ring = self._dots(3.0, 36, 0.10 + 0.10 * severity, 1.5) * where
        core = self._dots(3.0, 36, 0.10 + 0.10 * severity, 1.0) * where
        self._mix(np.clip(self.colour * 1.2, 0, 1), ring * np.float32(0.6))
        self._mix(self.colour * np.float32(0.42), core * np.float32(0.8))
        self.lift += 0.10 * (ring - core)

    def _show_speck(self, severity: int, where: Floats) -> None:
        spot = self._dots(2.2, 37, 0.06 * severity, 0.9)
        self._mix(_squared((48, 36, 32)), spot * np.float32(0.85))

    def _show_shivering(self, severity: int, where: Floats) -> None:
        field = self._look("cracks", 3.4, 38, 2)
        flake = (field < 0.14 * severity) * np.exp(-self.seen.from_rim_mm * 0.35) > 0.3
        flake = flake * where
        self._mix(_squared(clay_look(self.spec.clay).fired), flake)
        self.gloss *= 1 - flake

    def _show_crack(self, severity: int, where: Floats) -> None:
        wander = np.sin(self.v * 0.21 + self.seed) * 1.4 + np.sin(self.v * 0.63) * 0.5
        gap = np.abs(self.u + 14 - wander)
        rise = np.clip(1 - self.seen.from_rim_mm / np.float32(12 + 16 * severity), 0, 1)
        line = (1 - _smooth(gap, 0.12 * severity * rise.max(), 0.22 * severity + 0.3)) * (rise > 0)
        self._mix(_squared((40, 28, 22)), line * np.float32(0.9))

    _show_dunting = _show_crack

    def _show_dry(self, severity: int, where: Floats) -> None:
        self.gloss *= 1 - np.float32(0.3 * severity) * where
        self.lift += self._look("grain", 3.4, 39) * where * np.float32(0.02 * severity)

    def _show_colour_off(self, severity: int, where: Floats) -> None:
        grey = self.colour.mean(axis=0, keepdims=True) * _squared((236, 214, 190)) * 1.15
        self._mix(grey, where * np.float32(0.22 * severity))

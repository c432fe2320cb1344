"""The size to make so that the fired piece has the size wanted: plate, hole, lid, stamp."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from studiolog.craft.clay.shrinkage import KnownShrinkage
from studiolog.craft.clay.shrinkage_words import say_basis, say_known
from studiolog.craft.clay.sizes import lid_and_gallery, size_to_make, size_to_pass, stamp_to_make
from studiolog.craft.firing.cones import say_band
from studiolog.craft.units import show_number
from studiolog.desktop.desk import Desk
from studiolog.journal.clays import list_clays
from studiolog.journal.history import Touched
from studiolog.journal.sizes import ClayShrinkage, read_shrinkage
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, PickOne, SegmentedChoice
from studiolog.ui.parts.fields import NumberField
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import KeepSheet, labelled
from studiolog.ui.parts.make_size_words import Answer, tell_hole, tell_lid, tell_size, tell_stamp
from studiolog.ui.parts.section import Card, link_button
from studiolog.ui.parts.size_curve import SizeCurve
from studiolog.ui.parts.swatch import ClayLook
from studiolog.ui.parts.text import Text, Words

KINDS = {"size": "A size", "hole": "A hole to pass", "lid": "A lid", "stamp": "A stamp of clay"}
NO_CLAY = "Name a clay first, on the page of clays: a make size is always that of a clay."
_ANY = "any cone"
_WIDE, _HIGH = 760, 820


class MakeSizeSheet(KeepSheet):
    """Nothing is kept: the answer can be copied. Esc closes it."""

    scrolls = True

    def __init__(
        self,
        desk: Desk,
        clay_id: int = 0,
        fired_mm: float | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__("Make size", "Copy", parent)
        self._desk = desk
        self._known: dict[int, ClayShrinkage] = {}
        self.answer: Answer | None = None
        self.leave_button.setText("Close")
        self.leave_button.setAccessibleName("Close")
        self._build()
        self._connect()
        self.keep_button.setAccessibleName("Copy the make size with its sum")
        self._offer_clays(clay_id)
        self._fields["fired"].set_value(100.0 if fired_mm is None else fired_mm)
        self.kind.choose("size")
        self._show_kind()
        self.take_size(_WIDE, _HIGH)
        self._fields["fired"].setFocus()

    def set_allowed(self, low_mm: float | None, high_mm: float | None) -> None:
        """Say between which sizes the fired piece may lie."""
        self._fields["low"].set_value(low_mm)
        self._fields["high"].set_value(high_mm)

    def _build(self) -> None:
        self.clay = PickOne("Clay")
        self.cone = PickOne("Cone it is fired to")
        self.tool = PickOne("Clay of the stamp")
        for pick in (self.clay, self.cone, self.tool):
            pick.setMinimumContentsLength(14)
        self.kind = SegmentedChoice("What for", [Choice(k, w) for k, w in KINDS.items()], keys="")
        of_kind = {
            "size": ("fired", "low", "high"),
            "hole": ("bulb", "clearance", "chance"),
            "lid": ("gallery", "least", "most"),
            "stamp": ("mark", "low", "high"),
        }
        self._of_kind = of_kind
        mm = ("mm", None, 1, 0.0, 10_000.0)
        self._fields = {
            "fired": NumberField("Fired size", *mm),
            "low": NumberField("Allowed from", *mm, hint="any"),
            "high": NumberField("Allowed to", *mm, hint="any"),
            "bulb": NumberField("What must pass", "mm", 27.0, 1, 0.0, 10_000.0),
            "clearance": NumberField("Clearance", "mm", 1.0, 1, 0.0, 1000.0),
            "chance": NumberField("May miss", "%", None, 1, 0.0, 100.0),
            "gallery": NumberField("Gallery, fired", "mm", 100.0, 1, 0.0, 10_000.0),
            "least": NumberField("Gap at the least", "mm", 1.0, 1, 0.0, 1000.0),
            "most": NumberField("Gap at the most", "mm", 3.0, 1, 0.0, 1000.0),
            "mark": NumberField("Mark, fired", "mm", 20.0, 1, 0.0, 10_000.0),
        }
        self._tool_box = QWidget()
        self._tool_box.setLayout(labelled("Clay of the stamp", self.tool))
        self.known = Text("", "body", 500, wrap=True)
        self.basis = Text("", "secondary", tone="ink2", wrap=True)
        self.head = Words("", "title", 600)
        self.curve = SizeCurve()
        self.sums = QVBoxLayout()
        self.sums.setSpacing(4)
        self._lines = [Text("", "body", wrap=True) for _ in range(5)]
        for line in self._lines:
            self.sums.addWidget(line)
        self.judgements = link_button("The judgements behind it")
        self.judgements.setAutoDefault(False)
        picks = QHBoxLayout()
        picks.setSpacing(16)
        picks.addLayout(labelled("Clay", self.clay), 3)
        picks.addLayout(labelled("Cone", self.cone), 2)
        fields, self._row = FlowLayout(spacing=24, line_spacing=8), QWidget()
        self._row.setLayout(fields)
        for field in self._fields.values():
            fields.addWidget(field)
        fields.addWidget(self._tool_box)
        card = Card(12)
        card.add(self.curve)
        self.body.addLayout(picks)
        for widget in (self.known, self.basis, self.kind, self._row, self.head, card):
            self.body.addWidget(widget)
        self.body.addLayout(self.sums)
        under = QHBoxLayout()
        under.addWidget(self.judgements)
        under.addStretch(1)
        self.body.addLayout(under)
        self.body.addStretch(1)

    def _connect(self) -> None:
        self.clay.picked.connect(self._take_clay)
        self.cone.picked.connect(lambda _band: self.refresh())
        self.tool.picked.connect(lambda _clay: self.refresh())
        self.kind.picked.connect(lambda _kind: self._show_kind())
        for field in self._fields.values():
            field.line.textChanged.connect(lambda _text: self.refresh())
        self._desk.edits.edited.connect(self._hear_edit)
        self.judgements.clicked.connect(lambda: self._desk.show("limits", 0, "clay"))

    def _hear_edit(self, touched: Touched) -> None:
        """A limit was set, or a bar measured, while the sheet stood open."""
        if touched.kinds & {"limit", "clay", "piece", "firing"}:
            self._known.clear()
            self.refresh()

    def _offer_clays(self, clay_id: int) -> None:
        clays = self._desk.read(lambda session: list_clays(session, counted=False))
        choices = [
            Choice(one.clay_id, one.name, ClayLook(one.name, one.colour, one.specks))
            for one in clays
        ]
        for pick in (self.clay, self.tool):
            pick.set_choices(choices)
        ids = [one.clay_id for one in clays]
        first = clay_id if clay_id in ids else next(iter(ids), None)
        self.clay.choose(first)
        self.tool.choose(first)
        self._offer_cones()

    def _take_clay(self, clay_id: object) -> None:
        if self.tool.chosen() is None:
            self.tool.choose(int(str(clay_id)))
        self._offer_cones()
        self.refresh()

    def _offer_cones(self) -> None:
        clay = self._shrinkage(self.clay.chosen())
        bands = [] if clay is None else [one.band for one in clay.bands if one.band is not None]
        choices = [Choice(_ANY, _ANY)]
        for band in bands:
            few = "" if clay is not None and clay.band_speaks(band) else ", too few"
            choices.append(Choice(band, f"{say_band(band)}{few}"))
        self.cone.set_choices(choices)
        if self.cone.chosen() is None:
            self.cone.choose(_ANY)
        self.cone.setEnabled(len(choices) > 1)

    def _shrinkage(self, clay_id: object) -> ClayShrinkage | None:
        if clay_id is None:
            return None
        ident = int(str(clay_id))
        if ident not in self._known:
            self._known[ident] = self._desk.read(lambda session: read_shrinkage(session, ident))
        return self._known[ident]

    def _show_kind(self) -> None:
        shown = self._of_kind[str(self.kind.chosen())]
        for key, field in self._fields.items():
            field.setVisible(key in shown)
        self._tool_box.setVisible(self.kind.chosen() == "stamp")
        self.refresh()

    def refresh(self) -> None:
        """Tell the answer for what is typed, or why there is none."""
        clay = self._shrinkage(self.clay.chosen())
        answer, problem = None, ""
        if clay is None:
            problem = NO_CLAY
        else:
            band = self.cone.chosen()
            known = clay.known(band if isinstance(band, int) else None)
            usual = show_number(100 * clay.limits["clay_miss_chance"], 1)
            self._fields["chance"].line.setPlaceholderText(usual)
            self.known.setText(say_known(known))
            basis = say_basis(known, clay.stated, clay.limits)
            if isinstance(band, int) and not clay.band_speaks(band):
                basis += f" Too few of {say_band(band)} alone: all cones are taken together."
            far = sum(one.far for one in clay.telling("total"))
            if far:
                which = "One of them lies" if far == 1 else f"{far} of them lie"
                basis += f" {which} far from the others and counts: see the page of the clay."
            self.basis.setText(basis)
            try:
                answer = self._answer(clay, known)
            except UserProblem as found:
                problem = found.sentence
        self.answer = answer
        self.why_not.say(problem)
        self.keep_button.setEnabled(answer is not None)
        self.head.setText("" if answer is None else answer.head)
        lines = () if answer is None else answer.lines
        for place, widget in enumerate(self._lines):
            widget.setText(lines[place] if place < len(lines) else "")
            widget.setVisible(place < len(lines))
        if answer is not None:
            self.curve.show_forecast(
                answer.coming, answer.low_mm, answer.high_mm, answer.miss, answer.what
            )
        self.curve.setVisible(answer is not None)

    def _answer(self, clay: ClayShrinkage, known: KnownShrinkage) -> Answer:
        drying, limits = clay.known_drying(), clay.limits
        kind = self.kind.chosen()
        if kind == "hole":
            bulb, clearance = self._given("bulb"), self._given("clearance")
            percent = self._fields["chance"].value()
            chance = None if percent is None else percent / 100
            hole = size_to_pass(bulb, clearance, known, chance, limits)
            return tell_hole(hole, bulb, clearance, known, drying)
        if kind == "lid":
            gallery, least, most = (self._given(key) for key in ("gallery", "least", "most"))
            fit = lid_and_gallery(gallery, least, most, known, limits)
            return tell_lid(fit, gallery, least, most, known, drying)
        low, high = self._fields["low"].value(), self._fields["high"].value()
        if kind == "stamp":
            tool = self._shrinkage(self.tool.chosen())
            if tool is None:
                raise UserProblem("Choose the clay the stamp is made of.")
            mark, of_tool = self._given("mark"), tool.known()
            one = tool.clay_id == clay.clay_id
            stamp = stamp_to_make(mark, known, of_tool, low, high, limits, one_clay=one)
            return tell_stamp(stamp, mark, low, high, known, of_tool)
        fired = self._given("fired")
        plate = size_to_make(fired, known, low, high, limits)
        return tell_size(plate, fired, low, high, known, drying)

    def _given(self, key: str) -> float:
        field = self._fields[key]
        value = field.value()
        if value is None:
            raise UserProblem(f"Give “{field.label.text()}”.")
        return value

    def keep(self) -> None:
        """Put the answer on the clipboard; the sheet stays."""
        clay = self._shrinkage(self.clay.chosen())
        if self.answer is None or clay is None:
            return
        text = f"{clay.name}: {self.answer.text}\n{self.known.text()} {self.basis.text()}"
        QGuiApplication.clipboard().setText(text)
        self._desk.notices.say("Copied the make size with its sum.")


def open_make_size(
    desk: Desk, clay_id: int = 0, fired_mm: float | None = None, parent: QWidget | None = None
) -> MakeSizeSheet:
    """Open the sheet over a window."""
    sheet = MakeSizeSheet(desk, clay_id, fired_mm, parent)
    sheet.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    sheet.open()
    return sheet

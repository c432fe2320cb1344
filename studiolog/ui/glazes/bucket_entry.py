"""Quick entry into a bucket's history: measured now, mended at once, sieved, thinned, thickened."""

from collections.abc import Callable, Sequence
from datetime import date

from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from studiolog.craft.glaze.bucket_state import BucketEvent, follow_bucket
from studiolog.craft.glaze.slurry import weighed_gravity
from studiolog.craft.words import BUCKET_CHANGES
from studiolog.journal.buckets import (
    BucketPage,
    ChangeDraft,
    Correction,
    GlazeBuckets,
    add_change,
    find_correction,
)
from studiolog.journal.session import Session
from studiolog.problems import UserProblem
from studiolog.ui.glazes.bucket_words import say_correction
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fields import (
    DayField,
    LineField,
    NumberField,
    ProblemLine,
    read_number,
    write_day,
)
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.keep_sheet import labelled
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.text import Caption, Words

_DONE = {key: words for key, words in BUCKET_CHANGES.items() if key != "measured"}
_GRAMS = ("water", "dry", "flocculated", "deflocculated")
_AIDS = ("flocculated", "deflocculated")


class BucketEntry(QWidget):
    """What was measured tells at once what to add; *Added* writes both in one step.

    Enter writes what the line it is pressed in belongs to.
    """

    def __init__(
        self,
        page: ThingPage,
        bucket_id: int,
        today: Callable[[], date],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._page, self._bucket_id, self._today = page, bucket_id, today
        self._bucket: BucketPage | None = None
        self._glaze: GlazeBuckets | None = None
        self._mend: Correction | None = None
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addLayout(self._build_measure())
        rows.addLayout(self._build_answer())
        rows.addLayout(self._build_done())
        self.stock_words = Caption(
            "What is on the shelf is taken from the stock, dry glaze by the recipe; it comes back "
            "if the line is taken out of the history.",
            wrap=True,
        )
        rows.addWidget(self.stock_words)
        feet = FlowLayout()
        feet.addWidget(self.done)
        rows.addLayout(feet)
        self.problem = ProblemLine()
        rows.addWidget(self.problem)
        self._show_fields()

    def _build_measure(self) -> FlowLayout:
        self.day = DayField("On this day", self._today(), today=self._today)
        self.gravity = NumberField("Specific gravity now", "", None, 3, 1.001, 2.999)
        self.jug = NumberField("or 100 ml weigh", "g", None, 1, 100.1, 299.9)
        self.jug.setToolTip(
            "Stir, sieve and let it stand first. Specific gravity is the mass of 100 ml in grams, "
            "divided by 100."
        )
        self.volume = NumberField("Volume", "l", None, 2, 0)
        self.measured = QPushButton("Measured")
        self.measured.setAutoDefault(False)
        row = FlowLayout(spacing=16, line_spacing=8)
        row.addWidget(self.day)
        for field in (self.gravity, self.jug, self.volume):
            row.addWidget(field)
            field.line.textEdited.connect(self._tell)
            field.line.returnPressed.connect(self.keep_measured)
        self.measured.clicked.connect(self.keep_measured)
        return row

    def _build_answer(self) -> FlowLayout:
        self.answer = Words("", "body", 600)
        self.added = QPushButton("Added")
        self.added.setAutoDefault(False)
        row = FlowLayout(spacing=12, line_spacing=6)
        for widget in (self.measured, self.answer, self.added):
            row.addWidget(widget)
        self.added.clicked.connect(self.keep_added)
        return row

    def _build_done(self) -> FlowLayout:
        self.kind = PickOne("What was done", [Choice(key, words) for key, words in _DONE.items()])
        self.kind.choose("sieved")
        holder = QWidget()
        box = labelled("What was done", self.kind)
        box.setContentsMargins(0, 0, 0, 0)
        holder.setLayout(box)
        self.mesh = NumberField("Mesh", "", None, 0, 1, hint="80")
        self.grams = NumberField("Grams", "g", None, 1, 0)
        self.material = LineField("With", hint="sodium silicate")
        self.note = LineField("Note on it")
        self.done = QPushButton("Done")
        self.done.setAutoDefault(False)
        row = FlowLayout(spacing=16, line_spacing=8)
        for widget in (holder, self.mesh, self.grams, self.material, self.note):
            row.addWidget(widget)
        for field in (self.mesh, self.grams, self.material, self.note):
            field.line.returnPressed.connect(self.keep_done)
        self.kind.picked.connect(self._show_fields)
        self.done.clicked.connect(self.keep_done)
        return row

    def show_bucket(self, bucket: BucketPage, glaze: GlazeBuckets) -> None:
        """Stand ready for a bucket; what is being typed stays."""
        self._bucket, self._glaze = bucket, glaze
        day = write_day(bucket.mixed_on)
        self.measured.setAccessibleName(f"Measured: the bucket of {day}")
        self.done.setAccessibleName(f"Done: to the bucket of {day}")
        self._tell()

    def _show_fields(self, _kind: object = None) -> None:
        kind = str(self.kind.chosen())
        self.mesh.setVisible(kind == "sieved")
        self.grams.setVisible(kind in _GRAMS)
        self.material.setVisible(kind in _AIDS)
        self.stock_words.setVisible(kind in ("dry", *_AIDS))

    # What was measured

    def _typed_gravity(self) -> float | None:
        """The specific gravity as typed, or as the jug weighs. Raises `UserProblem`."""
        gravity = read_number(self.gravity.text())
        if gravity is not None:
            return gravity
        mass = read_number(self.jug.text(), "g")
        return round(weighed_gravity(mass, 100.0), 4) if mass is not None else None

    def _measured_draft(self) -> ChangeDraft | None:
        """What was typed as measured; None if nothing was. Raises `UserProblem`."""
        gravity = self._typed_gravity()
        litres = read_number(self.volume.text(), "l")
        if gravity is None and litres is None:
            return None
        volume_ml = None if litres is None else 1000.0 * litres
        on = self.day.day() or self._today()
        return ChangeDraft(on=on, kind="measured", specific_gravity=gravity, volume_ml=volume_ml)

    def _tell(self) -> None:
        """What is to be added to what was typed, at every letter."""
        self._mend = None
        words = ""
        try:
            self._mend = self._find_mend()
            if self._mend is not None:
                words = say_correction(self._mend)
        except UserProblem as problem:
            words = problem.sentence
        self.answer.setText(words)
        self.answer.setVisible(bool(words))
        may = self._mend is not None and bool(self._mend.kind) and not self._mend.per_litre
        self.added.setVisible(may)
        if may and self._mend is not None:
            self.added.setAccessibleName(f"Added: {words}")

    def _find_mend(self) -> Correction | None:
        bucket, glaze = self._bucket, self._glaze
        if bucket is None or glaze is None or bucket.used_up:
            return None
        draft = self._measured_draft()
        state = bucket.state
        if draft is not None:
            event = BucketEvent(draft.on, draft.kind, draft.specific_gravity, draft.volume_ml)
            state = follow_bucket(state, [event])
        # Where the glaze has no usual one, the bucket is brought back to what it was mixed to.
        target = bucket.specific_gravity if glaze.target is None else glaze.target
        if state.specific_gravity is None or target is None:
            return None
        return find_correction(
            state.specific_gravity, target, state.volume_ml, glaze.density.g_per_ml
        )

    def keep_measured(self) -> None:
        """Write what was measured into the history."""
        try:
            draft = self._measured_draft()
            if draft is None:
                raise UserProblem("Give the specific gravity or the volume that was measured.")
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        if self._write("Measure", [draft]):
            self._clear_measured()

    def keep_added(self) -> None:
        """Write what was measured, and that what it asked for was added, in one step."""
        mend = self._mend
        if mend is None or not mend.kind:
            return
        try:
            measured = self._measured_draft()
            on = self.day.day() or self._today()
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        added = ChangeDraft(on=on, kind=mend.kind, grams=round(mend.grams, 1))
        drafts = [added] if measured is None else [measured, added]
        what = "Thin" if mend.kind == "water" else "Thicken"
        if self._write(what, drafts):
            self._clear_measured()

    def _clear_measured(self) -> None:
        for field in (self.gravity, self.jug, self.volume):
            field.set_text("")
        self._tell()

    # What was done

    def keep_done(self) -> None:
        """Write what was done into the history."""
        kind = str(self.kind.chosen())
        try:
            mesh = self.mesh.value() if kind == "sieved" else None
            if mesh is not None and mesh != round(mesh):
                raise UserProblem("A mesh is a whole number above 0, such as 80.")
            draft = ChangeDraft(
                on=self.day.day() or self._today(),
                kind=kind,
                grams=self.grams.value() if kind in _GRAMS else None,
                mesh=None if mesh is None else round(mesh),
                material=self.material.text() if kind in _AIDS else "",
                note=self.note.text(),
            )
        except UserProblem as problem:
            self.problem.say(problem.sentence)
            return
        if self._write(_DONE[kind][0].upper() + _DONE[kind][1:] + ":", [draft]):
            for field in (self.mesh, self.grams, self.material, self.note):
                field.set_text("")

    def _write(self, what: str, drafts: Sequence[ChangeDraft]) -> bool:
        bucket_id = self._bucket_id

        def edit(session: Session) -> None:
            for draft in drafts:
                add_change(session, bucket_id, draft)

        label = f"{what} a bucket of {self._page.head.name.text()}"
        return self._page.run(label, edit, self.problem.say)

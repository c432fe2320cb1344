"""How many tiles and in what steps: the fields that a kind of plan needs besides its glazes."""

from collections.abc import Sequence

from PySide6.QtCore import QStringListModel, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QCompleter, QVBoxLayout, QWidget

from studiolog.craft.glaze.plans import BLENDS, Ladder, PlanOptions
from studiolog.craft.words import METHODS
from studiolog.desktop import theme
from studiolog.problems import UserProblem
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import LineField, NumberField, ProblemLine
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.text import Text
from studiolog.ui.parts.typed import read_number
from studiolog.ui.plans.labelled_pick import LabelledPick

USUAL = PlanOptions()
_PYRAMID_ALONG = 4  # twenty tiles; six along an edge would be fifty-six
_UNSAID = "unsaid"
_MIXED = (*BLENDS, "additions")
"""Kinds whose tiles are mixed for the plan, and not dipped into buckets as they are."""


class _Labelled(QWidget):
    """A row of options under its label."""

    def __init__(self, label: str, choice: SegmentedChoice) -> None:
        super().__init__()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(4)
        rows.addWidget(Text(label, "secondary", 500, "ink2"))
        rows.addWidget(choice)
        rows.setAlignment(Qt.AlignmentFlag.AlignTop)


def _count(label: str, least: int, most: int) -> NumberField:
    field = NumberField(label, "", None, 0, least, most)
    field.line.setMaximumWidth(theme.current().px(72))
    return field


class StepsFields(QWidget):
    """``changed`` tells that something else was said; ``options`` reads all of it."""

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._kind = "line"
        self._build()
        self._connect()
        self.show_options(USUAL)
        self.set_kind("line")

    def _build(self) -> None:
        self.along = _count("Tiles", 3, 21)
        self.rows = _count("Rows", 2, 12)
        self.columns = _count("Columns", 2, 12)
        self.silica = LineField("SiO₂ from, to", hint="2.0 to 4.5", unit="mol")
        self.alumina = LineField("Al₂O₃ from, to", hint="0.2 to 0.6", unit="mol")
        self.shelf = LineField("Besides its own materials", hint="Kaolin, Silica")
        self.equal_weight = QCheckBox("Blend the corners by equal dry weight (not exact)")
        self.material = LineField("Addition", hint="Copper carbonate")
        self.amounts = LineField("Amounts on 100", hint="0, 1, 2, 4", unit="%")
        self.second = LineField("Crossed with", hint="nothing")
        self.second_amounts = LineField("Its amounts on 100", hint="0, 5, 10", unit="%")
        self.measure = SegmentedChoice(
            "Thicker by", [Choice("coats", "Coats"), Choice("seconds", "Seconds")], keys=""
        )
        self.steps = LineField("Steps", hint="1, 2, 3")
        self.blend_by = SegmentedChoice(
            "Blended by", [Choice("volume", "Volume"), Choice("weight", "Dry weight")], keys=""
        )
        self.method = LabelledPick(
            "Laid by",
            [Choice(_UNSAID, "not said"), *(Choice(key, word) for key, word in METHODS.items())],
            wide=128,
        )
        self.coats = _count("Coats", 1, 12)
        self.seconds = NumberField("Seconds", "s", None, 1, 0.1, 60)
        self._blend_by = _Labelled("Blended by", self.blend_by)
        self._measure = _Labelled("Thicker by", self.measure)
        self.problem_line = ProblemLine()
        self._fields: dict[str, QWidget] = {
            "along": self.along, "rows": self.rows, "columns": self.columns,
            "silica": self.silica, "alumina": self.alumina, "shelf": self.shelf,
            "material": self.material, "amounts": self.amounts, "second": self.second,
            "second_amounts": self.second_amounts, "measure": self._measure, "steps": self.steps,
            "blend_by": self._blend_by, "method": self.method, "coats": self.coats,
            "seconds": self.seconds, "equal_weight": self.equal_weight,
        }  # fmt: skip
        flow = FlowLayout(spacing=20, line_spacing=12)
        for field in self._fields.values():
            flow.addWidget(field)
        for line, wide in (
            (self.silica, 112), (self.alumina, 112), (self.shelf, 176), (self.material, 176),
            (self.amounts, 128), (self.second, 176), (self.second_amounts, 128), (self.steps, 112),
        ):  # fmt: skip
            line.line.setFixedWidth(theme.current().px(wide))
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(8)
        rows.addLayout(flow)
        rows.addWidget(self.problem_line)

    def _connect(self) -> None:
        for field in self._fields.values():
            if isinstance(field, LineField):
                field.edited.connect(lambda _text: self.changed.emit())
                field.line.textEdited.connect(lambda _text: self.changed.emit())
        for choice in (self.measure, self.blend_by, self.method.pick):
            choice.picked.connect(lambda _key: self.changed.emit())
        self.measure.picked.connect(lambda _key: self._follow())
        self.equal_weight.toggled.connect(lambda _on: self.changed.emit())

    def set_materials(self, names: Sequence[str]) -> None:
        """Offer these where a material is typed."""
        for field in (self.material, self.second):
            completer = QCompleter(QStringListModel(list(names), field), field)
            completer.setFilterMode(Qt.MatchFlag.MatchContains)
            completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
            popup = completer.popup()
            if popup is not None:
                popup.setProperty("role", "popup")
            field.line.setCompleter(completer)
            completer.activated.connect(lambda _name: self.changed.emit())

    def set_kind(self, kind: str) -> None:
        """Show what a kind needs, and nothing else."""
        if kind == "pyramid" and self.along.value() == USUAL.along:
            self.along.set_value(_PYRAMID_ALONG)
        elif self._kind == "pyramid" and self.along.value() == _PYRAMID_ALONG:
            self.along.set_value(USUAL.along)
        self._kind = kind
        shown = {
            "line": {"along"},
            "triaxial": {"along"},
            "grid": {"rows", "columns"},
            "pyramid": {"along"},
            "silica_alumina": {"silica", "alumina", "rows", "columns", "shelf", "equal_weight"},
            "additions": {"material", "amounts", "second", "second_amounts"},
            "over_under": set(),
            "thickness": {"measure", "steps"},
        }[kind] | {"method", "coats", "seconds"}
        if kind in _MIXED:
            shown.add("blend_by")
        for key, field in self._fields.items():
            field.setVisible(key in shown)
        edges = kind in ("triaxial", "pyramid")
        self.along.label.setText("Tiles along an edge" if edges else "Tiles")
        self._follow()
        self.clear_problems()

    def _follow(self) -> None:
        """What is stepped through is not asked for again."""
        if self._kind == "thickness":
            stepped = self.measure.chosen()
            self.coats.setVisible(stepped != "coats")
            self.seconds.setVisible(stepped != "seconds")

    def by_volume_of(self, kind: str) -> bool:
        """Whether slurries are poured together in a plan of this kind."""
        return kind in _MIXED and self.blend_by.chosen() != "weight"

    def show_options(self, options: PlanOptions) -> None:
        """Show options without telling anyone."""
        self.along.set_value(options.along)
        self.rows.set_value(options.rows)
        self.columns.set_value(options.columns)
        self.silica.set_text(_write_span(options.silica))
        self.alumina.set_text(_write_span(options.alumina))
        self.shelf.set_text(", ".join(options.shelf))
        self.equal_weight.setChecked(options.equal_weight)
        ladders = (*options.ladders, *(Ladder("", ()) for _ in range(2)))[:2]
        for ladder, material, amounts in zip(
            ladders, (self.material, self.second), (self.amounts, self.second_amounts), strict=True
        ):
            material.set_text(ladder.material)
            amounts.set_text(_write_numbers(ladder.amounts))
        self.measure.choose(options.measure)
        self.steps.set_text(_write_numbers(options.amounts))
        self.blend_by.choose(options.blend_by)
        self.method.pick.choose(options.method or _UNSAID)
        self.coats.set_value(options.coats)
        self.seconds.set_value(options.seconds)

    def options(self) -> PlanOptions:
        """What is said. Raises UserProblem with the field it speaks of."""
        kind = self._kind
        method = self.method.pick.chosen()
        coats = self.coats.value() if self.coats.isVisibleTo(self) else None
        said: dict[str, object] = {
            "method": str(method) if method not in (_UNSAID, None) else None,
            "coats": int(coats) if coats else None,
            "seconds": self.seconds.value() if self.seconds.isVisibleTo(self) else None,
        }
        if kind in _MIXED:
            said["blend_by"] = str(self.blend_by.chosen() or "volume")
        if kind in ("line", "triaxial", "pyramid"):
            usual = _PYRAMID_ALONG if kind == "pyramid" else USUAL.along
            said["along"] = _whole(self.along, usual)
        if kind in ("grid", "silica_alumina"):
            said["rows"] = _whole(self.rows, USUAL.rows)
            said["columns"] = _whole(self.columns, USUAL.columns)
        if kind == "silica_alumina":
            said["silica"] = _span(self.silica, "silica")
            said["alumina"] = _span(self.alumina, "alumina")
            said["shelf"] = tuple(filter(None, (one.strip() for one in
                                                self.shelf.text().split(","))))  # fmt: skip
            said["equal_weight"] = self.equal_weight.isChecked()
        if kind == "additions":
            said["ladders"] = self._ladders()
        if kind == "thickness":
            said["measure"] = str(self.measure.chosen() or "coats")
            said["amounts"] = _numbers(self.steps, "amounts")
        return PlanOptions(**said)  # type: ignore[arg-type]

    def _ladders(self) -> tuple[Ladder, ...]:
        found = []
        for material, amounts in (
            (self.material, self.amounts), (self.second, self.second_amounts),
        ):  # fmt: skip
            if not material.text() and material is self.second:
                continue
            if not material.text():
                sentence = "Say which material is added."
                raise UserProblem(sentence, {"material": sentence})
            key = "amounts" if material is self.material else "second_amounts"
            found.append(Ladder(material.text(), _numbers(amounts, key)))
        return tuple(found)

    def say_problem(self, key: str, sentence: str) -> bool:
        """Say it at the field of a key; False where there is none that is seen."""
        key = {"ladders": "amounts", "seconds": "seconds"}.get(key, key)
        if key == "amounts" and self._kind == "thickness":
            key = "steps"
        field = self._fields.get(key)
        if not isinstance(field, LineField) or not field.isVisibleTo(self):
            return False
        field.set_problem(sentence)
        return True

    def clear_problems(self) -> None:
        """All is well."""
        for field in self._fields.values():
            if isinstance(field, LineField):
                field.set_problem("")
        self.problem_line.say("")


def _write_numbers(numbers: Sequence[float]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)


def _write_span(span: tuple[float, float] | None) -> str:
    return f"{span[0]:g} to {span[1]:g}" if span else ""


def _whole(field: NumberField, usual: int) -> int:
    number = field.value()
    if number is None:
        return usual
    return round(number)


def _numbers(field: LineField, key: str) -> tuple[float, ...]:
    """Numbers as typed, by commas or spaces; a comma within a number needs semicolons between."""
    text = field.text()
    parts = text.split(";") if ";" in text else text.replace(",", " ").split()
    try:
        found = [read_number(part.strip(), "") for part in parts if part.strip()]
    except UserProblem as problem:
        raise UserProblem(problem.sentence, {key: problem.sentence}) from None
    numbers = tuple(number for number in found if number is not None)
    if not numbers:
        sentence = f"Type the steps, like {field.line.placeholderText()}."
        raise UserProblem(sentence, {key: sentence})
    return numbers


def _span(field: LineField, key: str) -> tuple[float, float] | None:
    """Two numbers: from, to; nothing leaves it to the program."""
    text = field.text().replace("to", " ").replace("–", " ").replace("-", " ")
    if not text.strip():
        return None
    parts = text.split(";") if ";" in text else text.split()
    try:
        numbers = [read_number(part.strip(" ,"), "") for part in parts if part.strip(" ,")]
    except UserProblem as problem:
        raise UserProblem(problem.sentence, {key: problem.sentence}) from None
    if len(numbers) != 2 or None in numbers:
        sentence = "Write it as two numbers, like 2.0 to 4.5."
        raise UserProblem(sentence, {key: sentence})
    return float(numbers[0] or 0.0), float(numbers[1] or 0.0)

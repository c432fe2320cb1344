"""The sheet on which versions of a glaze, or several glazes, stand side by side."""

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtWidgets import QCheckBox, QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from studiolog.desktop import theme
from studiolog.desktop.desk import Desk
from studiolog.journal.glaze_versions import (
    VersionCompare,
    list_versions,
    read_version_compare,
    usual_choice,
)
from studiolog.journal.glazes import list_glazes
from studiolog.journal.history import Touched
from studiolog.ui.glazes.version_compare import VersionTable
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.fault_rate_sections import clear_layout
from studiolog.ui.parts.flow import FlowLayout
from studiolog.ui.parts.swatch import GlazeLook
from studiolog.ui.parts.text import Caption, Text, Words

_WIDE, _HIGH, _EDGE = 1080, 820, 24
_SHOWN_BY = frozenset(
    {"glaze", "recipe_line", "material", "material_lot", "lot_oxide", "limit", "inspection"}
)


class VersionCompareSheet(QDialog):
    """Ticked versions are columns, glazes of other names can be fetched beside them.

    ``version_asked`` carries one to open. Esc closes it.
    """

    version_asked = Signal(int)

    def __init__(self, desk: Desk, glaze_id: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.setWindowModality(Qt.WindowModality.WindowModal)
        self.title = Words("", "figure", 600)
        self.boxes: dict[int, QCheckBox] = {}
        self._choices = FlowLayout(spacing=16, line_spacing=4)
        self.other = PickOne("Compare with another glaze", hint="Another glaze")
        self.other.setFixedWidth(theme.current().px(220))
        self.other.picked.connect(self._fetch)
        self._sentences = QVBoxLayout()
        self._sentences.setSpacing(6)
        self.table = VersionTable()
        self.table.opened.connect(self._open)
        self.note = Caption(
            "Each version is compared with the one it came from, or else with the one before it. "
            "Fired pieces count where the version lies alone on the clay: seen, of those looked "
            "at. What changed and what was seen stand together; one need not have made the other.",
            wrap=True,
        )
        self.close_button = QPushButton("Close")
        self.close_button.setAccessibleName("Close")
        self.close_button.setAutoDefault(False)
        self.close_button.clicked.connect(self.reject)
        self._lay_out()
        self._offer(glaze_id)
        self.refresh()
        self._take_size()
        self.table.setFocus()
        desk.edits.edited.connect(self._hear_edit)

    def _lay_out(self) -> None:
        feet = QHBoxLayout()
        feet.addStretch(1)
        feet.addWidget(self.close_button)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(24, 20, 24, 20)
        rows.setSpacing(12)
        rows.addWidget(self.title)
        rows.addLayout(self._choices)
        rows.addLayout(self._sentences)
        rows.addWidget(self.table, 1)
        rows.addWidget(self.note)
        rows.addLayout(feet)

    def _offer(self, glaze_id: int) -> None:
        versions = self._desk.read(lambda session: list_versions(session, glaze_id))
        chosen = usual_choice(versions, glaze_id)
        for one in versions:
            self._add_box(one.glaze_id, f"Version {one.version_number}", one.glaze_id in chosen)
        self._choices.addWidget(self.other)
        listed = self._desk.read(lambda session: list_glazes(session, counted=False, trial=True))
        others = [one for one in listed if one.glaze_id not in self.boxes]
        self._titles = {one.glaze_id: one.title for one in others}
        self.other.set_choices(
            [
                Choice(one.glaze_id, one.title, GlazeLook(one.title, one.colour, one.pattern))
                for one in others
            ]
        )

    def _add_box(self, glaze_id: int, words: str, ticked: bool) -> None:
        box = QCheckBox(words)
        box.setChecked(ticked)
        box.clicked.connect(lambda _on: self.refresh())
        self.boxes[glaze_id] = box
        self._choices.insertWidget(len(self.boxes) - 1, box)

    def _fetch(self, picked: object) -> None:
        """Put another glaze beside the versions."""
        glaze_id = int(str(picked))
        if glaze_id in self.boxes:
            self.boxes[glaze_id].setChecked(True)
        else:
            self._add_box(glaze_id, self._titles[glaze_id], True)
        self.refresh()
        QTimer.singleShot(0, self.other, lambda: self.other.choose(None))

    def refresh(self) -> None:
        """Read the ticked versions and show them."""
        ids = [glaze_id for glaze_id, box in self.boxes.items() if box.isChecked()]
        compared = self._desk.read(lambda session: read_version_compare(session, ids))
        title = f"Versions of {compared.name}" if compared.name else "Glazes side by side"
        self.title.setText(title)
        self.setWindowTitle(title)
        self._say_changes(compared)
        self.table.setVisible(bool(compared.columns))
        self.table.show_compare(compared)

    def _say_changes(self, compared: VersionCompare) -> None:
        clear_layout(self._sentences)
        if len(compared.columns) < 2:
            words = "Tick another version or name another glaze to compare it with."
            self._sentences.addWidget(Text(words, "secondary", tone="ink2", wrap=True))
            return
        for column in compared.columns:
            if column.against is None:
                continue
            before = compared.columns[column.against].label
            words = f"{column.label} against {_lower(before)}: {column.sentence}"
            if column.fired:
                words += f" {column.fired}"
            self._sentences.addWidget(Text(words, "body", wrap=True))

    def sentences(self) -> list[str]:
        """What is said of each change."""
        items = [self._sentences.itemAt(n) for n in range(self._sentences.count())]
        widgets = [item.widget() for item in items if item is not None]
        return [one.text() for one in widgets if isinstance(one, Text)]

    def _take_size(self) -> None:
        size = QSize(theme.current().px(_WIDE), theme.current().px(_HIGH))
        parent = self.parentWidget()
        if parent is not None:
            size = size.boundedTo(parent.window().size() - QSize(2 * _EDGE, 2 * _EDGE))
        self.resize(size)

    def _open(self, glaze_id: int) -> None:
        self.accept()
        self.version_asked.emit(glaze_id)

    def _hear_edit(self, touched: Touched) -> None:
        if self.isVisible() and _SHOWN_BY & touched.kinds:
            self.refresh()


def _lower(label: str) -> str:
    return label.replace("Version ", "version ") if label.startswith("Version ") else label

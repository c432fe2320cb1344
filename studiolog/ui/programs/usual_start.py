"""What a new program starts from: nothing, or one of the usual programs."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QVBoxLayout, QWidget

from studiolog.craft.firing.usual_programs import TO_CHECK, UsualProgram, usual_programs
from studiolog.ui.parts.choice import Choice, PickOne
from studiolog.ui.parts.text import Caption, Text

_NOTHING = ""


class UsualStart(QWidget):
    """``picked`` carries the name of the usual program chosen, "" for none."""

    picked = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._usual = {one.key: one for one in usual_programs()}
        self.pick = PickOne(
            "Start from a usual program",
            [
                Choice(_NOTHING, "an empty program"),
                *(Choice(one.key, one.name) for one in self._usual.values()),
            ],
        )
        self.pick.choose(_NOTHING)
        self.use = Caption(wrap=True)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 8)
        rows.setSpacing(4)
        rows.addWidget(Text("Start from", "secondary", 500, "ink2"))
        rows.addWidget(self.pick)
        rows.addWidget(self.use)
        self.use.hide()
        self.pick.picked.connect(self._tell)

    def chosen(self) -> UsualProgram | None:
        """The usual program chosen, None for an empty one."""
        return self._usual.get(str(self.pick.chosen() or _NOTHING))

    def clear(self) -> None:
        """Start from nothing the next time."""
        self.pick.choose(_NOTHING)
        self.use.hide()

    def _tell(self, _key: object) -> None:
        usual = self.chosen()
        if usual is not None:
            self.use.setText(f"{usual.use[0].upper()}{usual.use[1:]}. {TO_CHECK}")
        self.use.setVisible(usual is not None)
        self.picked.emit(usual.name if usual is not None else "")

"""Settings of this desk, and of the studio: its name and its money."""

from decimal import Decimal
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from studiolog.desktop.desk import Desk
from studiolog.desktop.settings import ThemeChoice
from studiolog.journal.studio import name_studio, read_studio, read_terms, set_terms
from studiolog.problems import UserProblem
from studiolog.ui.frame.sheet import Sheet
from studiolog.ui.parts.choice import Choice, SegmentedChoice
from studiolog.ui.parts.fields import LineField
from studiolog.ui.parts.money_field import MoneyField
from studiolog.ui.parts.section import link_button
from studiolog.ui.parts.text import Caption, Text

_THEMES: tuple[ThemeChoice, ...] = ("system", "light", "dark")
_SCALES = (100, 125, 150, 200)


class SettingsSheet(Sheet):
    """Every choice takes effect at once; there is nothing to confirm."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__("Settings", parent)
        self._desk = desk
        settings = desk.settings
        self.name = LineField("The studio's name, kept in the journal")
        self.name.set_text(desk.read(read_studio).name)
        self.name.edited.connect(self._rename)
        terms = desk.read(read_terms)
        self.currency = LineField("Currency, kept in the journal", hint="€, kr, SEK …")
        self.currency.set_text(terms.currency)
        self.currency.edited.connect(self._set_currency)
        self.rate = MoneyField("An hour of your work is to earn", terms.currency)
        self.rate.set_value(terms.hour_rate)
        self.rate.value_changed.connect(self._set_rate)
        self.unit = SegmentedChoice("Temperatures in", [Choice(0, "°C"), Choice(1, "°F")])
        self.unit.choose(1 if settings.temperature_unit == "F" else 0)
        self.unit.picked.connect(self._set_unit)
        self.theme = SegmentedChoice(
            "Light or dark",
            [Choice(0, "As the system"), Choice(1, "Light"), Choice(2, "Dark")],
        )
        self.theme.choose(_THEMES.index(settings.theme))
        self.theme.picked.connect(self._set_theme)
        self.scale = SegmentedChoice(
            "Text size", [Choice(number, f"{scale} %") for number, scale in enumerate(_SCALES)]
        )
        nearest = min(range(len(_SCALES)), key=lambda n: abs(_SCALES[n] - settings.text_scale))
        self.scale.choose(nearest)
        self.scale.picked.connect(self._set_scale)
        self.body.addWidget(self.name)
        money = QHBoxLayout()
        money.setSpacing(24)
        money.addWidget(self.currency)
        money.addWidget(self.rate)
        money.addStretch(1)
        self.body.addLayout(money)
        # Beside their words: with large text the sheet would be higher than a small window.
        choices = QGridLayout()
        choices.setHorizontalSpacing(24)
        choices.setVerticalSpacing(12)
        choices.setColumnStretch(1, 1)
        for row, (words, field) in enumerate((
            ("Temperatures in", self.unit),
            ("Light or dark", self.theme),
            ("Text size", self.scale),
        )):  # fmt: skip
            choices.addWidget(Text(words, weight=600), row, 0)
            choices.addWidget(field, row, 1)
        self.body.addLayout(choices)
        self.folders = link_button("Folders the loggers write to…")
        self.folders.setAutoDefault(False)
        self.folders.clicked.connect(self._name_folders)
        self.body.addWidget(self.folders, 0, Qt.AlignmentFlag.AlignLeft)
        self.body.addWidget(Caption(f"This journal is in {desk.journal.where}", wrap=True))
        self.name.setFocus()

    def _name_folders(self) -> None:
        """Logs that appear there come in by themselves: a sheet of its own, at the firings."""
        self.accept()
        self._desk.show("firings", 0, "logger folders")

    def _rename(self, typed: str) -> None:
        name = typed.strip()
        if name != self._desk.read(read_studio).name:
            self._desk.edits.try_run("Name the studio", partial(name_studio, name=name))

    def _set_currency(self, typed: str) -> None:
        try:
            self._desk.edits.run("Name the currency", partial(set_terms, currency=typed))
        except UserProblem as problem:
            self.currency.set_problem(problem.sentence)
            return
        self.rate.set_currency(self._desk.read(read_terms).currency)

    def _set_rate(self, rate: Decimal | None) -> None:
        self._desk.edits.try_run("What an hour is to earn", partial(set_terms, hour_rate=rate))

    def _set_unit(self, choice: int) -> None:
        self._desk.settings.temperature_unit = "F" if choice == 1 else "C"

    def _set_theme(self, choice: int) -> None:
        self._desk.settings.theme = _THEMES[choice]

    def _set_scale(self, choice: int) -> None:
        self._desk.settings.text_scale = _SCALES[choice]

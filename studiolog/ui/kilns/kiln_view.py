"""The page of a kiln."""

from typing import Any

from studiolog.craft.units import celsius_step_from_fahrenheit, fahrenheit_step_from_celsius
from studiolog.desktop.desk import Desk
from studiolog.journal.kiln_page import KilnPage
from studiolog.journal.kilns import change_kiln
from studiolog.journal.session import Session
from studiolog.ui.kilns.levels import LevelSection
from studiolog.ui.parts.fault_rate_sections import (
    ComparedGroup,
    FaultCompareSection,
    FaultRateSection,
)
from studiolog.ui.parts.fields import EditableNote, write_number
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.parts.use_sections import FiringUseSection

PROPERTIES = (
    Property("power_kw", "Power", "number", "kW", 1, 0.1, 1000),
    Property("volume_l", "Volume", "number", "l", 0, 1, 100000),
    Property("shelf_across_mm", "Shelf across", "number", "mm", 0, 1, 10000),
    Property("tariff_per_kwh", "Tariff", "number", "a kWh", 3, 0),
)
ELECTRIC = (
    "Elements, thermocouples and wiring carry mains current: switch off and lock off before you "
    "reach inside, and leave repairs to a qualified person. Fumes: vent to the outside. Local "
    "rules go first."
)


def sensor_properties(unit: str) -> tuple[Property, ...]:
    """The thermocouple, its offset in the unit the potter reads."""
    most = 100.0 if unit == "C" else 180.0
    return (
        Property("thermocouple_type", "Thermocouple type", hint="K, S, R or N"),
        Property("thermocouple_offset_c", "Offset set", "number", f"°{unit}", 1, -most, most),
        Property("calibrated_from", "Readings count from", "day"),
    )


class KilnView(ThingPage):
    """Levels and offsets, sensor, firings, fault rates by level."""

    noun = "kiln"

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._version: int | None = None
        self._unit = desk.settings.temperature_unit
        self.sheet = PropertySheet(PROPERTIES, 2)
        self.sensors = {unit: PropertySheet(sensor_properties(unit), 2) for unit in ("C", "F")}
        self.levels = LevelSection(self)
        self.note = EditableNote("Notes", hint="Add a note: elements changed, how it is packed")
        self.compare = FaultCompareSection("Faults by level")
        self.rates = FaultRateSection("Fault rates of its ware")
        self.uses = FiringUseSection(kiln=False)
        self.energy = Caption()
        known = self.add_sheet("What is known", self.sheet)
        known.add(self.energy)
        sensor = Section("Thermocouple")
        for sheet in self.sensors.values():
            sensor.add(sheet)
            sheet.changed.connect(self._keep_sensor)
        sensor.add(
            Caption(
                "After a new thermocouple or new elements, give the day: readings before it no "
                "longer correct the curves.",
                wrap=True,
            )
        )
        notes = Section("Notes")
        notes.add(self.note)
        safety = Section("Take care")
        safety.add(Text(ELECTRIC, "secondary", tone="ink2", wrap=True))
        for section in (self.levels, self.compare, self.uses):
            self.body.main.addWidget(section)
        for beside in (known, sensor, self.rates, notes, safety):
            self.body.side.addWidget(beside)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        self.uses.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)

    def change(self, session: Session, **fields: Any) -> None:
        change_kiln(session, self.ident, self._version, **fields)

    def show_page(self, page: KilnPage) -> None:
        self._version = page.version
        self._unit = self.desk.settings.temperature_unit
        times = "once" if page.uses.total == 1 else f"{page.uses.total} times"
        self.head.quiet.setText(f"Kiln, fired {times}" if page.uses.total else "Kiln, never fired")
        self.sheet.show_values(vars(page))
        values = dict(vars(page))
        if self._unit == "F":
            values["thermocouple_offset_c"] = fahrenheit_step_from_celsius(
                page.thermocouple_offset_c
            )
        for unit, sheet in self.sensors.items():
            sheet.setVisible(unit == self._unit)
            sheet.show_values(values)
        self.energy.setVisible(page.kwh_firings > 0)
        if page.kwh_total is not None:
            of = "firing" if page.kwh_firings == 1 else "firings"
            each = write_number(page.kwh_total / page.kwh_firings, 1)
            words = f"{each} kWh a firing, over {page.kwh_firings} {of} with a reading"
            if page.tariff_per_kwh:
                cost = page.tariff_per_kwh * page.kwh_total / page.kwh_firings
                words += f"; {cost:.2f} each at this tariff"
            self.energy.setText(words)
        self.note.set_text(page.notes)
        self.levels.show_page(page, self._unit)
        self.compare.show_groups(
            [ComparedGroup(level.name, level.group) for level in page.levels if level.group.pieces],
            "No glaze-fired piece with a level yet.",
        )
        self.rates.show_group(page.rates)
        self.uses.show_uses(page.uses, self._unit, "It was never fired.")

    def _keep_sensor(self, key: str, value: object) -> None:
        if key == "thermocouple_offset_c":
            step = float(str(value)) if value is not None else 0.0
            value = celsius_step_from_fahrenheit(step) if self._unit == "F" else step
        self.keep(key, value, self.sensors[self._unit])

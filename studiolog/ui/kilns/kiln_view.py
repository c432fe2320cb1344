"""The page of a kiln."""

from typing import Any

from studiolog.craft.units import celsius_step_from_fahrenheit, fahrenheit_step_from_celsius
from studiolog.desktop.desk import Desk
from studiolog.journal.compare import Comparing
from studiolog.journal.kiln_page import KilnPage
from studiolog.journal.kilns import change_kiln
from studiolog.journal.session import Session
from studiolog.ui.kilns.energy_section import EnergySection
from studiolog.ui.kilns.levels import LevelSection
from studiolog.ui.kilns.map_section import MapSection
from studiolog.ui.kilns.sensor_lines import SensorLines
from studiolog.ui.kilns.shelves_section import ShelvesSection
from studiolog.ui.kilns.tariff_section import TariffSection
from studiolog.ui.kilns.upkeep_section import UpkeepSection
from studiolog.ui.kilns.wear_section import WearSection
from studiolog.ui.parts.fault_rate_sections import (
    ComparedGroup,
    FaultCompareSection,
    FaultRateSection,
)
from studiolog.ui.parts.fields import EditableNote
from studiolog.ui.parts.list_and_page import ThingPage
from studiolog.ui.parts.property_sheet import Property, PropertySheet
from studiolog.ui.parts.section import Section
from studiolog.ui.parts.task_words import due_words, task_title
from studiolog.ui.parts.text import Caption, Text
from studiolog.ui.parts.use_sections import FiringUseSection

PROPERTIES = (
    Property("power_kw", "Power", "number", "kW", 1, 0.1, 1000),
    Property("volume_l", "Volume", "number", "l", 0, 1, 100000),
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
        self.map = MapSection()
        self.wear = WearSection()
        self.upkeep = UpkeepSection(self)
        self.sensor_lines = SensorLines()
        self.note = EditableNote("Notes", hint="Add a note: elements changed, how it is packed")
        self.compare = FaultCompareSection("Faults by level")
        self.rates = FaultRateSection("Fault rates of its ware")
        self.uses = FiringUseSection(kiln=False)
        self.energy = EnergySection()
        self.tariffs = TariffSection(self)
        self.shelves = ShelvesSection(self)
        known = self.add_sheet("What is known", self.sheet)
        sensor = Section("Thermocouple")
        for sheet in self.sensors.values():
            sensor.add(sheet)
            sheet.changed.connect(self._keep_sensor)
        sensor.add(
            Caption(
                "New elements or a new thermocouple, once they are done under Upkeep, start a new "
                "calibration; a day given here starts one too. Firings before it keep the "
                "correction of their own time.",
                wrap=True,
            )
        )
        sensor.add(self.sensor_lines)
        sensor.set_link("Limits")
        sensor.link_opened.connect(lambda: desk.show("limits", 0, "cones"))
        self.wear.set_link("Limits")
        self.wear.link_opened.connect(lambda: desk.show("limits", 0, "wear"))
        notes = Section("Notes")
        notes.add(self.note)
        safety = Section("Take care")
        safety.add(Text(ELECTRIC, "secondary", tone="ink2", wrap=True))
        for section in (
            self.map,
            self.levels,
            self.shelves,
            self.wear,
            self.upkeep,
            self.compare,
            self.energy,
            self.tariffs,
            self.uses,
        ):
            self.body.main.addWidget(section)
        for beside in (known, sensor, self.rates, notes, safety):
            self.body.side.addWidget(beside)
        self.note.edited.connect(lambda text: self.keep("notes", text))
        for shown in (self.uses, self.map, self.wear):
            shown.opened.connect(desk.show)
        self.uses.page_asked.connect(self.page_asked)
        self.uses.link_opened.connect(self._compare)

    def change(self, session: Session, **fields: Any) -> None:
        change_kiln(session, self.ident, self._version, **fields)

    def _compare(self) -> None:
        self.desk.show("firing", 0, Comparing("kiln", self.ident))

    def show_page(self, page: KilnPage) -> None:
        self._version = page.version
        self._unit = self.desk.settings.temperature_unit
        times = "once" if page.uses.total == 1 else f"{page.uses.total} times"
        fired = f"Kiln, fired {times}" if page.uses.total else "Kiln, never fired"
        late = ", ".join(f"{task_title(line)}: {due_words(line)}" for line in page.tasks.overdue)
        self.head.quiet.setText(f"{fired}; {late}" if late else fired)
        self.sheet.show_values(vars(page))
        values = dict(vars(page))
        if self._unit == "F":
            values["thermocouple_offset_c"] = fahrenheit_step_from_celsius(
                page.thermocouple_offset_c
            )
        for unit, sheet in self.sensors.items():
            sheet.setVisible(unit == self._unit)
            sheet.show_values(values)
        self.energy.show_energy(page.energy)
        self.tariffs.show_page(page)
        self.note.set_text(page.notes)
        self.levels.show_page(page, self._unit)
        self.shelves.show_shelves(page.shelves, page.shelves_in_force)
        self.map.show_map(page.heat_map, self._unit)
        self.wear.show_wear(page.wear, page.thermocouple_type, self._unit)
        self.upkeep.show_tasks(page.tasks)
        self.sensor_lines.show_sensor(page.thermocouple_type, page.top_c, self._unit)
        self.sensor_lines.show_since(page.heat_map.changes)
        self.compare.show_groups(
            [ComparedGroup(level.name, level.group) for level in page.levels if level.group.pieces],
            "No glaze-fired piece with a level yet.",
        )
        self.rates.show_group(page.rates)
        self.uses.set_link("Compare its firings" if page.uses.total > 1 else "")
        self.uses.show_uses(page.uses, self._unit, "It was never fired.")

    def _keep_sensor(self, key: str, value: object) -> None:
        if key == "thermocouple_offset_c":
            step = float(str(value)) if value is not None else 0.0
            value = celsius_step_from_fahrenheit(step) if self._unit == "F" else step
        self.keep(key, value, self.sensors[self._unit])

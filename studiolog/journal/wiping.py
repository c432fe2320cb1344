"""Forgetting who ordered: all that is personal goes, what was made and sold stays.

Of every order under a label, the label becomes "customer of order 31", and contact, notes and the
notes of its shipments go: in the records, in every image the history keeps of them, and in the
labels of the history. The words of the promise, days, counts, prices and pieces stay. Nothing
brings it back: the images are changed too, so that undo of earlier edits still works and gives
back all but the person. What stands elsewhere in the potter's own words (a note of a run) is
listed and left alone; once it was changed by hand, wiping again clears the history of that too.
"""

import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, partial
from pathlib import Path
from typing import Any

from sqlalchemy import CheckConstraint, Connection, Row, String, Table, insert, select, update
from sqlalchemy.orm import Session

from studiolog.craft.words import join_words
from studiolog.journal.history import KIND_OF_TABLE, Touched
from studiolog.journal.opening import BACKUPS, FILE, Journal
from studiolog.journal.whole_words import Needle, find_whole, folded
from studiolog.problems import UserProblem
from studiolog.records import Record
from studiolog.records.facts import FACT_TABLES
from studiolog.records.history import HISTORY_TABLES, history_change, history_entry
from studiolog.records.orders import Order, Shipment
from studiolog.records.scouring import is_in_bytes, scour_file

_ORDERS: Table = Order.__table__  # type: ignore[assignment]
_SHIPMENTS: Table = Shipment.__table__  # type: ignore[assignment]
_LEAST_CONTACT = 4  # letters: a shorter contact names nobody, and stands in half of all notes
_WIPED = re.compile(r"customer of order \d+")
_MOST_NAMED = 8


@dataclass(frozen=True)
class Mention:
    """A label, or a contact, in the potter's own words elsewhere."""

    kind: str
    row_id: int
    what: str
    words: str


@dataclass(frozen=True)
class Wiping:
    """What is to be wiped, or was. ``orders`` are the numbers of the orders under the label.

    ``history`` counts what was changed in the history; ``remains`` says, where it could not be
    cleared from the file itself, why.
    """

    label: str
    orders: tuple[int, ...]
    mentions: tuple[Mention, ...]
    backups: tuple[str, ...]
    touched: Touched
    history: int = 0
    remains: str = ""

    @property
    def warning(self) -> str:
        """What will be done, said before it is."""
        which = _say_orders(self.orders)
        return (
            f"This wipes the customer of {which}: label, contact, notes and the notes of "
            "shipments, in the journal and in its history. Days, counts, prices and pieces stay. "
            "This is the one change that can't be undone."
        )

    @property
    def outcome(self) -> tuple[str, ...]:
        """What was done and what is left to do, a sentence each."""
        if self.orders:
            told = [f"The customer of {_say_orders(self.orders)} is wiped."]
        else:
            told = [f"No order is for “{self.label}” any more; the history is cleared of it."]
        if self.remains:
            told.append(
                f"Its old bytes may still be in the file ({self.remains}): close other windows on "
                "this journal and wipe the same label again."
            )
        return (*told, *say_mentions(self.mentions), *say_backups(self.backups))

    @property
    def is_clear(self) -> bool:
        """Whether nothing is left to do by hand."""
        return not (self.mentions or self.backups or self.remains)


def _say_orders(numbers: Sequence[int]) -> str:
    named = join_words([str(number) for number in numbers[:_MOST_NAMED]])
    more = f" and {len(numbers) - _MOST_NAMED} more" if len(numbers) > _MOST_NAMED else ""
    return f"order{'s' if len(numbers) > 1 else ''} {named}{more}"


def say_mentions(mentions: Sequence[Mention]) -> tuple[str, ...]:
    """Where it still stands in the potter's own words; nothing if nowhere."""
    if not mentions:
        return ()
    named = join_words([one.what for one in mentions[:_MOST_NAMED]])
    more = f", and {len(mentions) - _MOST_NAMED} more" if len(mentions) > _MOST_NAMED else ""
    return (
        f"It still stands in your own words in {named}{more}: change these by hand, then wipe the "
        "same label again to clear the history of it.",
    )


def say_backups(backups: Sequence[str]) -> tuple[str, ...]:
    """Which copies still hold it, and what to do about them; nothing if there are none."""
    if not backups:
        return ()
    named = join_words(list(backups[:_MOST_NAMED]))
    more = f" and {len(backups) - _MOST_NAMED} more" if len(backups) > _MOST_NAMED else ""
    return (
        f"Backups made before this still hold it: {named}{more}, in the folder {BACKUPS}, and "
        "those you keep elsewhere, exports too. Make a new backup, then delete the old ones.",
    )


def read_wiping(journal: Journal, label: str) -> Wiping:
    """What wiping a label would do and could not do; nothing is changed.

    Raises `UserProblem` for no label, and for one that neither an order nor the history knows.
    """
    return journal.read(lambda session: _look(session.connection(), journal, label).told)


def wipe(journal: Journal, label: str) -> Wiping:
    """Wipe a label and clear the file of its old bytes. It can't be undone.

    Raises `UserProblem` as `read_wiping` does, and where the journal may only be read; then
    nothing is changed.
    """
    file = Path(journal.where) / FILE
    try:
        done = wipe_records(journal, label)
    except UserProblem:
        # Wiped before, while another window kept the file from being cleared?
        words = label.strip()
        forms = (words, *(unicodedata.normalize(form, words) for form in ("NFC", "NFD")))
        if journal.only_read or not file.is_file() or not is_in_bytes(file, forms):
            raise
        nothing = Touched(frozenset(), frozenset())
        done = Wiping(words, (), (), _backups(journal), nothing)
    if not file.is_file():
        said = "a database server keeps old rows until its keeper vacuums it"
        return _with(done, remains=said)
    return _with(done, remains=scour_file(file))


def wipe_records(journal: Journal, label: str) -> Wiping:
    """The same without clearing the file: for a window, which does that beside its work."""
    return journal.rewrite(partial(_wipe, journal, label))


def _wipe(journal: Journal, label: str, connection: Connection) -> Wiping:
    found = _look(connection, journal, label)
    changed = _wipe_orders(connection, found)
    changed += _wipe_images(connection, found)
    changed += _wipe_labels(connection, found)
    which = _say_orders(found.told.orders) if found.told.orders else "orders of the past"
    connection.execute(
        insert(history_entry).values(
            at_utc=datetime.now(UTC).replace(tzinfo=None),
            desk=journal.desk,
            label=f"Wipe the customer of {which}",
            state="kept",
        )
    )
    return _with(found.told, history=changed)


def clear_file(journal: Journal) -> Callable[[], str]:
    """The work that clears the file of old bytes, for a job: a function of its path alone."""
    return partial(scour_file, Path(journal.where) / FILE)


def _with(told: Wiping, *, history: int | None = None, remains: str = "") -> Wiping:
    return Wiping(
        told.label, told.orders, told.mentions, told.backups, told.touched,
        told.history if history is None else history, remains,
    )  # fmt: skip


@dataclass(frozen=True)
class _Found:
    """What a label was found on. ``names`` gives each order its new name: ``current`` ones have the
    label, ``gone`` ones are only in the history, the others are another's by now. ``needles`` find
    the label, and contacts given with it, in words; each is passed over quickly (`Needle`)."""

    told: Wiping
    wanted: str
    names: Mapping[int, str]
    current: frozenset[int]
    gone: frozenset[int]
    shipments: frozenset[int]
    needles: tuple[Needle, ...]
    general: str

    def may_name_it(self, text: str) -> bool:
        """Whether an image as text may name it, asked quickly."""
        plain = folded(text)
        return any(needle.may_be_in(plain) for needle in self.needles)

    def names_it(self, words: str) -> bool:
        """Whether words name it."""
        return any(needle.is_in(words) for needle in self.needles)

    def without_it(self, words: str) -> str:
        """Words with the new name in place of what was found."""
        for needle in self.needles:
            if needle.may_be_in(folded(words)):
                words = needle.pattern.sub(self.general, words)
        return words


def _plain(label: str) -> str:
    return " ".join(unicodedata.normalize("NFC", label).split()).casefold()


def _look(connection: Connection, journal: Journal, label: str) -> _Found:
    wanted = _plain(label)
    if not wanted:
        raise UserProblem("Say whom to wipe: the label of the order, as it is written there.")
    if _WIPED.fullmatch(wanted):
        raise UserProblem(f"“{label.strip()}” is what a wiped customer is called: it is done.")
    live = {
        row.id: row
        for row in connection.execute(select(_ORDERS).order_by(_ORDERS.c.number))
        if _plain(row.whom) == wanted
    }
    contacts = {row.contact.strip() for row in live.values()}
    past, past_contacts = _orders_in_history(connection, wanted, set(live))
    names = {row.id: f"customer of order {row.number}" for row in live.values()} | past
    there = set(connection.execute(select(_ORDERS.c.id)).scalars())
    persons = sorted(one for one in contacts | past_contacts if _tells_a_person(one))
    needles = tuple(find_whole(one) for one in (label.strip(), *persons))
    if not names and not _in_history(connection, needles[0]):
        raise UserProblem(
            f"No order is for “{label.strip()}”, and the history knows nobody of that name. Write "
            "the label as the order has it."
        )
    shipments = frozenset(
        connection.execute(
            select(_SHIPMENTS.c.id).where(_SHIPMENTS.c.order_id.in_(list(live)))
        ).scalars()
    )
    told = Wiping(
        label.strip(),
        tuple(row.number for row in live.values()),
        tuple(_mentions(connection, needles, set(live), shipments)),
        _backups(journal),
        Touched(frozenset({"order"}), frozenset(("orders", order_id) for order_id in live)),
    )
    return _Found(
        told, wanted, names, frozenset(live), frozenset(set(past) - there), shipments, needles,
        next(iter(names.values()), "a customer"),
    )  # fmt: skip


def _tells_a_person(contact: str) -> bool:
    """Whether a contact is worth looking for: "by phone" stands in any note, and names nobody."""
    capitals = sum(word[:1].isupper() for word in contact.split())
    told = any(sign.isdigit() or sign == "@" for sign in contact)
    return len(contact) >= _LEAST_CONTACT and (told or capitals > 1)


def _orders_in_history(
    connection: Connection, wanted: str, live: set[int]
) -> tuple[dict[int, str], set[str]]:
    """Orders that had the label once and are gone or another's by now, with their new names."""
    found: dict[int, str] = {}
    contacts: set[str] = set()
    for row in connection.execute(
        select(history_change).where(history_change.c.table_name == _ORDERS.name)
    ):
        for text in (row.before, row.after):
            image = json.loads(text) if text else {}
            had = _plain(str(image.get("whom", ""))) == wanted
            if had or row.row_id in live:
                contacts.add(str(image.get("contact", "")).strip())
            if had and row.row_id not in live:
                found[row.row_id] = f"customer of order {image['number']}"
    return found, contacts - {""}


def _in_history(connection: Connection, needle: Needle) -> bool:
    labels = connection.execute(select(history_entry.c.label)).scalars()
    if any(needle.is_in(text) for text in labels):
        return True
    images = connection.execute(select(history_change.c.before, history_change.c.after))
    return any(
        needle.is_in(value)
        for row in images
        for text in row
        if text and needle.may_be_in(folded(text))
        for value in json.loads(text).values()
        if isinstance(value, str)
    )


def _backups(journal: Journal) -> tuple[str, ...]:
    folder = Path(journal.where) / BACKUPS
    if not folder.is_dir():
        return ()
    return tuple(sorted(path.name for path in folder.iterdir() if not path.name.startswith(".")))


_LEFT_OUT = {table.name for table in (*HISTORY_TABLES, *FACT_TABLES)}
_WIPED_FIELDS = {_ORDERS.name: ("whom", "contact", "notes"), _SHIPMENTS.name: ("note",)}


@cache
def _worded(table: Table) -> tuple[str, ...]:
    """The columns of a table that hold words of the potter's own, not one of the trade's words."""
    known = {
        str(rule.name).removesuffix("_known").removeprefix(f"ck_{table.name}_")
        for rule in table.constraints
        if isinstance(rule, CheckConstraint) and str(rule.name).endswith("_known")
    }
    return tuple(
        column.name
        for column in table.columns
        if isinstance(column.type, String) and column.name not in known
    )


def _worded_rows(connection: Connection) -> Iterable[tuple[Table, Row[Any]]]:
    """Every row with words of the potter's own; those of the history apart."""
    for table in Record.metadata.sorted_tables:
        if table.name not in _LEFT_OUT and _worded(table):
            columns = [table.c[name] for name in _worded(table)]
            for row in connection.execute(select(table.c.id, *columns)):
                yield table, row


def _mentions(
    connection: Connection,
    needles: Sequence[Needle],
    order_ids: set[int],
    shipment_ids: frozenset[int],
) -> Iterable[Mention]:
    """Where the potter's own words name it, apart from what is wiped."""
    own = {_ORDERS.name: order_ids, _SHIPMENTS.name: shipment_ids}
    for table, row in _worded_rows(connection):
        wiped = _WIPED_FIELDS.get(table.name, ()) if row.id in own.get(table.name, ()) else ()
        for field in _worded(table):
            words = getattr(row, field)
            if words and field not in wiped and any(needle.is_in(words) for needle in needles):
                what = _name_of(connection, table, row.id, field)
                yield Mention(KIND_OF_TABLE[table.name], row.id, what, words[:200])


_NOUNS = {
    "orders": "order", "run": "run", "piece": "piece", "firing": "firing", "ware_set": "set",
    "idea": "idea", "form": "form", "glaze": "glaze", "clay": "clay", "kiln": "kiln",
}  # fmt: skip
_PARENTS = {
    "order_line": "order_id", "shipment": "order_id", "set_part": "set_id", "step": "piece_id",
    "stage_change": "piece_id", "inspection": "piece_id", "layer": "piece_id",
    "idea_picture": "idea_id", "form_step": "form_id", "cover_change": "run_id",
    "placement": "piece_id", "way": "form_id", "form_decision": "form_id",
}  # fmt: skip


def _name_of(connection: Connection, table: Table, row_id: int, field: str) -> str:
    """A row as a potter calls it: "the notes of run 62"."""
    words = "the " + field.replace("_", " ")
    parent = _PARENTS.get(table.name)
    if parent is not None:
        column = table.c[parent]
        target = next(iter(column.foreign_keys)).column.table
        parent_id = connection.execute(select(column).where(table.c.id == row_id)).scalar()
        noun = KIND_OF_TABLE[table.name] if table.name != "stage_change" else "stage"
        part = table.name.replace("_", " ")
        if parent_id is not None and part != noun:
            return f"{words} of a {part} of {_called(connection, target, parent_id)}"
        if parent_id is not None:
            return f"{words} of {_called(connection, target, parent_id)}"
    return f"{words} of {_called(connection, table, row_id)}"


def _called(connection: Connection, table: Table, row_id: int) -> str:
    noun = _NOUNS.get(table.name, table.name.replace("_", " "))
    for column in ("number", "name", "title"):
        if column in table.c:
            known = connection.execute(select(table.c[column]).where(table.c.id == row_id)).scalar()
            if known:
                return f"{noun} {known}" if column == "number" else f"{noun} “{known}”"
    return f"a {noun}"


def _wipe_orders(connection: Connection, found: _Found) -> int:
    """The records themselves. Their versions stay: undo of earlier edits finds what it expects."""
    for order_id in found.current:
        connection.execute(
            update(_ORDERS)
            .where(_ORDERS.c.id == order_id)
            .values(whom=found.names[order_id], contact="", notes="")
        )
    connection.execute(
        update(_SHIPMENTS).where(_SHIPMENTS.c.id.in_(list(found.shipments))).values(note="")
    )
    return len(found.current)


def _wipe_images(connection: Connection, found: _Found) -> int:
    """Every image the history keeps of them, and of rows whose words name them no more."""
    own = (_ORDERS.name, _SHIPMENTS.name)
    looked_at = [
        row
        for row in connection.execute(select(history_change).order_by(history_change.c.id))
        if row.table_name in own or found.may_name_it(f"{row.before}{row.after}")
    ]
    changed = 0
    for row in looked_at:
        # Images of rows whose own words still name it stay as they are, or undo would refuse them.
        kept = _names_it_now(connection, row.table_name, row.row_id, found)
        fresh = [
            _cleared(text, row.table_name, row.row_id, found, kept)
            for text in (row.before, row.after)
        ]
        if fresh != [row.before, row.after]:
            connection.execute(
                update(history_change)
                .where(history_change.c.id == row.id)
                .values(before=fresh[0], after=fresh[1])
            )
            changed += 1
    return changed


def _names_it_now(connection: Connection, table_name: str, row_id: int, found: _Found) -> bool:
    """Whether the row as it is has words that name it."""
    table = Record.metadata.tables[table_name]
    columns = [table.c[name] for name in _worded(table)]
    if not columns:
        return False
    row = connection.execute(select(*columns).where(table.c.id == row_id)).first()
    return row is not None and any(found.names_it(str(words or "")) for words in row)


def _cleared(
    text: str | None, table_name: str, row_id: int, found: _Found, kept: bool
) -> str | None:
    if not text:
        return text
    image: dict[str, Any] = json.loads(text)
    fresh = dict(image)
    of_it = found.current | found.gone
    if table_name == _ORDERS.name and row_id in found.names:
        if row_id in of_it or _plain(str(image.get("whom", ""))) == found.wanted:
            fresh |= {"whom": found.names[row_id], "contact": "", "notes": ""}
    elif table_name == _SHIPMENTS.name and image.get("order_id") in of_it:
        fresh["note"] = ""
    if not kept:
        for field in _worded(Record.metadata.tables[table_name]):
            if isinstance(fresh.get(field), str):
                fresh[field] = found.without_it(fresh[field])
    if fresh == image:
        return text
    return json.dumps(fresh, ensure_ascii=False, sort_keys=True)


def _wipe_labels(connection: Connection, found: _Found) -> int:
    changed = 0
    for row in connection.execute(select(history_entry.c.id, history_entry.c.label)).all():
        fresh = found.without_it(row.label)
        if fresh != row.label:
            connection.execute(
                update(history_entry).where(history_entry.c.id == row.id).values(label=fresh)
            )
            changed += 1
    return changed


def label_of(session: Session, order_id: int) -> str:
    """The label of an order, as `wipe` wants it; "" if it is gone or wiped already."""
    whom = session.scalar(select(Order.whom).where(Order.id == order_id)) or ""
    return "" if _WIPED.fullmatch(whom) else whom

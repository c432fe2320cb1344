"""Opening journals: new ones, older ones, newer ones, damaged ones."""

import sqlite3
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import inspect, select
from sqlalchemy.exc import IntegrityError

from studiolog.journal.facts import rebuild_facts
from studiolog.journal.opening import FILE, open_journal
from studiolog.problems import JournalUnreadable
from studiolog.records import Record, upgrade
from studiolog.records.change_recorder import image_from_text
from studiolog.records.engine import open_engine, sqlite_url
from studiolog.transfer.curve_blob import pack_readings


def test_a_new_journal_has_every_table_of_the_model(tmp_path: Path) -> None:
    journal = open_journal(tmp_path / "journal")
    found = set(inspect(journal.engine).get_table_names())
    journal.close()
    assert found - {"alembic_version", "sqlite_sequence"} == set(Record.metadata.tables)


def test_the_migrations_write_what_the_records_say(tmp_path: Path) -> None:
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    journal = open_journal(tmp_path / "journal")
    with journal.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Record.metadata) == []
    journal.close()


def test_the_revision_the_program_knows_is_the_last_of_the_migrations() -> None:
    from alembic.script import ScriptDirectory

    assert ScriptDirectory.from_config(upgrade._config()).get_current_head() == upgrade.NEWEST


def test_a_newer_journal_is_refused_and_left_as_it_was(tmp_path: Path) -> None:
    open_journal(tmp_path / "journal").close()
    file = tmp_path / "journal" / FILE
    with sqlite3.connect(file) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '9999'")
    connection.close()
    before = file.read_bytes()
    with pytest.raises(JournalUnreadable, match="newer version of the program"):
        open_journal(tmp_path / "journal")
    assert file.read_bytes() == before


def test_a_damaged_journal_is_told_in_a_sentence(tmp_path: Path) -> None:
    folder = tmp_path / "journal"
    open_journal(folder).close()
    (folder / FILE).write_bytes(b"SQLite format 3\x00" + b"clay dust" * 500)
    with pytest.raises(JournalUnreadable, match="can't be read"):
        open_journal(folder)


def test_a_folder_of_other_files_is_not_made_a_journal(tmp_path: Path) -> None:
    (tmp_path / "tax.pdf").write_bytes(b"%PDF")
    with pytest.raises(JournalUnreadable, match=r"tax\.pdf"):
        open_journal(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["tax.pdf"]


def test_a_half_done_upgrade_leaves_the_journal_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    engine = open_engine(sqlite_url(tmp_path / FILE))

    def fail_at_the_end(_connection: object) -> None:
        raise OSError("the power went")

    monkeypatch.setattr(upgrade, "_check_foreign_keys", fail_at_the_end)
    with pytest.raises(OSError, match="power"):
        upgrade.upgrade(engine)
    assert inspect(engine).get_table_names() == []
    monkeypatch.undo()
    upgrade.upgrade(engine)
    assert "piece" in inspect(engine).get_table_names()
    engine.dispose()


def test_an_older_journal_is_backed_up_before_it_is_upgraded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "journal"
    open_journal(folder).close()
    calls: list[str] = []
    # The newest revision seems to be one further, so that this journal is an older one.
    now = upgrade.NEWEST
    newer = f"{int(now) + 1:04}"
    monkeypatch.setattr(upgrade, "NEWEST", newer)
    monkeypatch.setattr(upgrade, "_migrate", lambda _engine: calls.append("migrated"))
    open_journal(folder).close()
    (backup,) = (folder / "backups").iterdir()
    assert backup.name == f"journal-before-{newer}-was-{now}.sqlite"
    with sqlite3.connect(backup) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(now,)]
    connection.close()
    assert calls == ["migrated"]


def test_a_journal_of_the_first_tables_keeps_its_firings_when_it_is_upgraded(
    tmp_path: Path,
) -> None:
    """A studio that logged firings with the first version opens its journal with this one."""
    from alembic import command

    engine = open_engine(sqlite_url(tmp_path / FILE))
    config = upgrade._config()
    with engine.execution_options(writing=True).connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
        connection.exec_driver_sql(
            "INSERT INTO kiln (id, version, name, thermocouple_type, thermocouple_offset_c, notes,"
            " archived) VALUES (1, 1, 'Big kiln', 'S', 0, '', 0)"
        )
        connection.exec_driver_sql(
            "INSERT INTO firing (id, version, number, kiln_id, started_at, title, kind,"
            " atmosphere, kwh, notes, lesson, next_time) VALUES (1, 1, 41, 1,"
            " '2026-03-04 07:10:00', '', 'glaze', 'oxidation', 58.4, '', '', '')"
        )
        times = [60.0 * minute for minute in range(120)]
        connection.exec_driver_sql(
            "INSERT INTO curve (id, version, firing_id, channel, packed, readings, duration_s,"
            " role, main, readings_dropped, flags, reading_notes) VALUES (1, 1, 1, 'kiln', ?, 120,"
            " 7140, 'measured', 1, 0, '', '')",
            (pack_readings(times, [20 + at_s / 6 for at_s in times]),),
        )
    upgrade.upgrade(engine, derive=rebuild_facts)
    with engine.connect() as connection:
        row = connection.exec_driver_sql("SELECT number, kwh, meter_after_kwh FROM firing").one()
        (hours,) = connection.exec_driver_sql("SELECT heating_h FROM curve_fact").one()
    assert tuple(row) == (41, 58.4, None)
    assert hours == pytest.approx(7140 / 3600), "what a curve says of its kiln is derived at once"
    # The rules that came with the new columns hold for old rows too.
    with (
        pytest.raises(IntegrityError),
        engine.execution_options(writing=True).connect() as connection,
        connection.begin(),
    ):
        connection.exec_driver_sql("UPDATE firing SET meter_before_kwh = 5, meter_after_kwh = 4")
    engine.dispose()


def test_a_recipe_keeps_its_lines_and_their_ids_when_lots_come(tmp_path: Path) -> None:
    """A potter who took the last line of a recipe away upgrades, then adds another line."""
    from alembic import command

    engine = open_engine(sqlite_url(tmp_path / FILE))
    config = upgrade._config()
    with engine.execution_options(writing=True).connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0002")
        connection.exec_driver_sql(
            "INSERT INTO glaze (id, version, name, version_number, kind, bought, colour, pattern,"
            " cone_range, notes, archived) VALUES (1, 1, 'Kelp', 1, 'glaze', 0, '#5F7F73', 0, '',"
            " '', 0)"
        )
        for line, material in enumerate(("Whiting", "Silica", "Talc"), start=1):
            connection.exec_driver_sql(
                "INSERT INTO recipe_line (id, version, glaze_id, position, material, parts,"
                " addition) VALUES (?, 1, 1, ?, ?, 30, 0)",
                (line, line, material),
            )
        connection.exec_driver_sql("DELETE FROM recipe_line WHERE id = 3")
    upgrade.upgrade(engine, derive=rebuild_facts)
    add_line = (
        "INSERT INTO recipe_line (version, glaze_id, position, material, parts, addition)"
        " VALUES (1, 1, 3, 'Dolomite', 10, 0)"
    )
    with engine.execution_options(writing=True).connect() as connection, connection.begin():
        connection.exec_driver_sql(add_line)
        rows = connection.exec_driver_sql(
            "SELECT id, material, lot_id FROM recipe_line ORDER BY id"
        ).all()
        trial = connection.exec_driver_sql("SELECT trial FROM glaze").scalar_one()
        # What no recipe may hold is refused after the upgrade as it was before.
        with pytest.raises(IntegrityError):
            connection.exec_driver_sql(add_line.replace("10, 0", "-10, 0"))
    engine.dispose()
    assert [tuple(row) for row in rows] == [
        (1, "Whiting", None),
        (2, "Silica", None),
        (4, "Dolomite", None),
    ]
    assert not trial


def test_prices_become_exact_and_losses_keep_their_stage(tmp_path: Path) -> None:
    """A potter with priced forms, a night tariff and a split bowl opens the journal anew."""
    from alembic import command

    engine = open_engine(sqlite_url(tmp_path / FILE))
    config = upgrade._config()
    with engine.execution_options(writing=True).connect() as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "0003")
        for statement in (
            "INSERT INTO form (id, version, name, shape, price, notes, archived)"
            " VALUES (4, 1, 'Soup bowl', 'thrown', 34.35, '', 0), (5, 1, 'Jar', 'thrown', NULL,"
            " '', 0), (9, 1, 'Dropped', 'thrown', 1, '', 0)",
            "INSERT INTO kiln (id, version, name, thermocouple_type, thermocouple_offset_c, notes,"
            " archived, tariff_per_kwh) VALUES (1, 1, 'Big kiln', 'S', 0, '', 0, 0.28675)",
            "INSERT INTO tariff (id, version, kiln_id, per_kwh, days, starts_min, ends_min)"
            " VALUES (1, 1, 1, 0.19, 'every', 1320, 360)",
            "INSERT INTO orders (id, version, number, whom, state, notes)"
            " VALUES (1, 1, 29, 'Quay café', 'open', '')",
            "INSERT INTO order_line (id, version, order_id, position, wanted, form_id, what,"
            " price) VALUES (1, 1, 1, 1, 12, 4, '', 33.333)",
            "INSERT INTO run (id, version, number, made_on, title, purpose, notes, next_time,"
            " form_id) VALUES (1, 1, 63, '2026-11-04', '', 'order', '', '', 4)",
            "INSERT INTO piece (id, version, run_id, form_id, title, stage, lost_why, kept_where,"
            " notes, lesson, next_time) VALUES (7, 1, 1, 4, '', 'lost', 'rim split', '', '', '',"
            " ''), (8, 1, 1, 4, '', 'bisque', '', '', '', '', '')",
            "INSERT INTO stage_change (version, piece_id, stage, at, note) VALUES"
            " (1, 7, 'wet', '2026-11-04 10:00:00', ''),"
            " (1, 7, 'leather_hard', '2026-11-05 09:00:00', ''),"
            " (1, 7, 'lost', '2026-11-05 11:00:00', 'rim split')",
        ):
            connection.exec_driver_sql(statement)
        connection.exec_driver_sql("DELETE FROM form WHERE id = 9")
    upgrade.upgrade(engine, derive=rebuild_facts)
    with engine.connect() as connection:
        form, line, kiln, tariff = (
            connection.execute(select(column)).scalars().first()
            for column in (
                Record.metadata.tables["form"].c.price,
                Record.metadata.tables["order_line"].c.price,
                Record.metadata.tables["kiln"].c.tariff_per_kwh,
                Record.metadata.tables["tariff"].c.per_kwh,
            )
        )
        lost_at = connection.exec_driver_sql("SELECT lost_at FROM piece ORDER BY id").all()
        served = connection.exec_driver_sql(
            "SELECT form.name FROM piece JOIN form ON form.id = piece.form_id"
        ).all()
    assert (form, line) == (Decimal("34.35"), Decimal("33.333"))
    assert (kiln, tariff) == (Decimal("0.28675"), Decimal("0.19"))
    assert [tuple(row) for row in lost_at] == [("leather_hard",), (None,)]
    assert [tuple(row) for row in served] == [("Soup bowl",), ("Soup bowl",)]
    with engine.execution_options(writing=True).connect() as connection, connection.begin():
        connection.exec_driver_sql(
            "INSERT INTO form (version, name, shape, notes, archived) VALUES (1, 'Cup', 'thrown',"
            " '', 0)"
        )
        newest = connection.exec_driver_sql("SELECT max(id) FROM form").scalar_one()
        assert newest == 10, "an id is never given twice, also not that of a form deleted before"
        # The old rules of a table that was copied, and those of its new columns, hold.
        for wrong in (
            "UPDATE form SET price = -1",
            "UPDATE form SET name = ' ' WHERE id = 4",
            "UPDATE form SET standing = 'maybe'",
            "UPDATE piece SET lost_at = 'raku'",
            "UPDATE orders SET promised_from = '2026-12-24', promised_on = '2026-12-01'",
        ):
            with pytest.raises(IntegrityError), connection.begin_nested():
                connection.exec_driver_sql(wrong)
    engine.dispose()


def test_facts_are_derived_anew_only_where_a_revision_changed_them(tmp_path: Path) -> None:
    from alembic import command

    derived: list[str] = []
    for revision in ("0002", "0003"):
        engine = open_engine(sqlite_url(tmp_path / f"{revision}.sqlite"))
        config = upgrade._config()
        with engine.execution_options(writing=True).connect() as connection, connection.begin():
            config.attributes["connection"] = connection
            command.upgrade(config, revision)
        upgrade.upgrade(engine, derive=lambda _connection, was=revision: derived.append(was))
        engine.dispose()
    assert derived == ["0002"]


def test_a_price_typed_before_money_was_exact_can_still_be_undone() -> None:
    """The history keeps older row images as they were written: floats among them."""
    form = Record.metadata.tables["form"]
    image = image_from_text(form, '{"id": 4, "price": 24.99}')
    assert image is not None
    assert image["price"] == Decimal("24.99")

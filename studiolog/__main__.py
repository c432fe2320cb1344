"""The command line: open the window, or do one job without a screen.

Exit 0 done, 1 done but something needs looking at, 2 could not: with one sentence on standard
error.
"""

import argparse
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from studiolog.problems import UserProblem

if TYPE_CHECKING:
    from typing import Any

    from studiolog.journal.opening import Journal

DONE, LOOK, COULD_NOT = 0, 1, 2


def _words() -> argparse.ArgumentParser:
    words = argparse.ArgumentParser(
        prog="studiolog", description="A studio journal and firing log for potters."
    )
    which = words.add_mutually_exclusive_group()
    which.add_argument("--demo", action="store_true", help="the demo journal, made on first use")
    which.add_argument("--journal", metavar="FOLDER|URL", help="the journal to open")
    words.add_argument("--photos", metavar="FOLDER", type=Path, help="photos of a shared studio")
    jobs = words.add_subparsers(dest="job", metavar="JOB")
    rates = jobs.add_parser("rates", help="fault rates by clay, layers, zone and cone")
    rates.add_argument("--json", action="store_true", help="as JSON")
    rates.add_argument("question", nargs="*", help="a question to narrow it, as typed in Findings")
    curve = jobs.add_parser("curve", help="what the log reader understands of a file")
    curve.add_argument("file", type=Path, help="a log file, or a folder of them")
    curve.add_argument("--json", action="store_true", help="as JSON")
    check = jobs.add_parser("check", help="check the journal and its photos")
    check.add_argument("--mend", action="store_true", help="derive the facts anew")
    backup = jobs.add_parser("backup", help="copy the journal whole")
    backup.add_argument("to", type=Path, nargs="?", help="a folder; else the journal's own backups")
    export = jobs.add_parser("export", help="records as CSV and photos, in one ZIP archive")
    export.add_argument("to", type=Path, help="the archive to write")
    wipe = jobs.add_parser("wipe", help="forget who ordered under a label; it can't be undone")
    wipe.add_argument("label", help="the label, as the orders have it")
    wipe.add_argument("--look", action="store_true", help="only say what would be wiped")
    screens = jobs.add_parser("screens", help="a PNG of every screen")
    screens.add_argument("to", type=Path, nargs="?", default=Path("build/screens"))
    return words


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    # What a terminal cannot write is written as its number, never a reason to stop.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    given = _words().parse_args(argv)
    try:
        return _run(given)
    except UserProblem as problem:
        sys.stderr.write(problem.sentence + "\n")
        return COULD_NOT
    except KeyboardInterrupt:
        _say("Stopped; every change made until then is saved.")
        return COULD_NOT
    except BrokenPipeError:
        # The reader of our output went away (`| head`); that is no fault.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except OSError as problem:
        where = f"{problem.filename} can't be used" if problem.filename else "That was not done"
        _say(f"{where}: {problem.strerror or problem}. Check the place and its permissions.")
        return COULD_NOT


def _run(given: argparse.Namespace) -> int:
    if given.job == "curve":
        return _curve(given.file, as_json=given.json)
    from studiolog.system_check import find_missing_for_a_window, has_display

    if given.job is None and has_display():
        missing = find_missing_for_a_window()
        if missing is not None:
            raise UserProblem(missing)
        from studiolog.app import open_window

        return open_window(given.journal, given.photos, demo=given.demo)
    journal = _open(given)
    try:
        if given.job is None:
            return _unseen(journal)
        if given.job == "rates":
            return _rates(journal, " ".join(given.question), as_json=given.json)
        if given.job == "check":
            return _check(journal, mend=given.mend)
        if given.job == "screens":
            return _screens(journal, given.to)
        if given.job == "wipe":
            return _wipe(journal, given.label, only_look=given.look)
        return _keep(journal, given.job, given.to)
    finally:
        journal.close()


def _open(given: argparse.Namespace) -> "Journal":
    from studiolog.journal.opening import open_journal

    if given.journal:
        return open_journal(given.journal, create=False, photos=given.photos)
    if given.demo:
        from studiolog.app import make_demo

        return open_journal(make_demo(_say), create=False)
    raise UserProblem("Name the journal: --demo, or --journal with its folder.")


def _say(sentence: str) -> None:
    sys.stderr.write(sentence + "\n")


def _unseen(journal: "Journal") -> int:
    """The same job without a display: what crazed and ran on what, and pictures of the screens."""
    from studiolog.journal.rates_words import describe_rates

    print(f"There is no display here, so the window stays unseen. The journal is {journal.where}.")
    print(journal.read(lambda session: describe_rates(session, ("crazing", "running"))))
    return _screens(journal, Path("build/screens"))


def _screens(journal: "Journal", folder: Path) -> int:
    from studiolog.app import draw_screens

    files = draw_screens(journal, folder, _say)
    print(f"{len(files)} pictures of the screens are in {folder}.")
    return DONE


def _rates(journal: "Journal", question: str, *, as_json: bool) -> int:
    from studiolog.journal.rates_report import rates_as_json
    from studiolog.journal.rates_words import (
        rates_as_text,
        read_rates_for,
        say_without_formula,
    )

    rows = journal.read(lambda session: read_rates_for(session, question))
    if as_json:
        _print_json(rates_as_json(rows))
    else:
        print(rates_as_text(rows))
    left_out = journal.read(lambda session: say_without_formula(session, question))
    if left_out:
        _say(left_out)
    return LOOK if left_out else DONE


def _curve(file: Path, *, as_json: bool) -> int:
    from studiolog.transfer.curve_report import describe_curve_file, describe_curve_folder

    if file.is_dir():
        return _curves(describe_curve_folder(file), as_json=as_json)
    report = describe_curve_file(file)
    if as_json:
        import json

        _print_json(json.dumps(report, ensure_ascii=False, indent=2))
    else:
        for name, value in report.items():
            print(f"{name}: {value}")
    return LOOK if _needs_a_look(report) else DONE


def _curves(reports: "list[dict[str, Any]]", *, as_json: bool) -> int:
    """A folder: one report for each file, or a line for each."""
    if not reports:
        raise UserProblem("There is no file in this folder: name the one the logger writes to.")
    if as_json:
        import json

        _print_json(json.dumps(reports, ensure_ascii=False, indent=2))
    else:
        for report in reports:
            said = report["problem"] or (
                f"{report['rows_kept']} readings, peak {report['peak_c']} °C, "
                f"cone {report['cone_label']}, {len(report['questions'])} open questions"
            )
            print(f"{report['file']}: {said}")
    return LOOK if any(map(_needs_a_look, reports)) else DONE


def _needs_a_look(report: "dict[str, Any]") -> bool:
    odd = any(note["kind"] == "no_firing" for note in report["notes"])
    return bool(report["questions"] or not report["rows_kept"] or odd)


def _print_json(text: str) -> None:
    """As it is where the stream can write it, else with JSON's own escapes."""
    try:
        text.encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        import json

        text = json.dumps(json.loads(text), indent=2)
    print(text)


def _check(journal: "Journal", *, mend: bool) -> int:
    from studiolog.journal.safekeeping import check_journal, mend_facts

    if mend:
        mend_facts(journal)
    report = check_journal(journal)
    for problem in report.problems:
        print(problem)
    print(
        f"Checked {report.rows} rows and {report.photos} photos: {len(report.problems)} to look at."
    )
    return LOOK if report.problems else DONE


def _wipe(journal: "Journal", label: str, *, only_look: bool) -> int:
    from studiolog.journal.wiping import read_wiping, say_backups, say_mentions, wipe

    if only_look:
        found = read_wiping(journal, label)
        for sentence in (found.warning, *say_mentions(found.mentions), *say_backups(found.backups)):
            print(sentence)
        return DONE
    done = wipe(journal, label)
    for sentence in done.outcome:
        print(sentence)
    return DONE if done.is_clear else LOOK


def _keep(journal: "Journal", job: str, to: Path | None) -> int:
    from studiolog.journal.opening import BACKUPS
    from studiolog.journal.safekeeping import back_up, export

    if job == "backup":
        print(f"Backed up to {back_up(journal, to or Path(journal.where) / BACKUPS)}.")
    else:
        assert to is not None  # argparse demands it
        print(f"Exported to {export(journal, to)}.")
    return DONE


if __name__ == "__main__":
    sys.exit(main())

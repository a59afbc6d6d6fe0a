"""What can be done from a shell: run a batch, check a price list, open the workbook."""

import argparse
import errno
import io
import shutil
import sys
import textwrap
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any

from quotelib import register_commands, resources
from quotelib.cli_help import ending
from quotelib.documents.exports import EXPORTS
from quotelib.errors import InputError, NotExported, shown, table
from quotelib.register_commands import WHERE
from quotelib.register_commands.answering import again, is_number
from quotelib.register_commands.exporting import add_exports, exports_of
from quotelib.terminal import Parser, ended_as_by_hand, reported, say, width
from quotelib.text import both, count, mark


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command, with the arguments of the process by default; give its exit status."""
    for stream in (sys.stdout, sys.stderr):
        # Customers' names go to terminals that know few characters, too.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    given = _parser().parse_args(arguments)
    try:
        return int(given.run(given))
    except InputError as error:
        said = f"{table(error.problems)}\nNothing was written."
    except NotExported as error:
        said = f"Cannot be exported: {error}. No file was written."
    except OSError as error:
        where = f" {error.filename}" if error.filename else ""
        said = f"Cannot go on:{where}: {error.strerror or error}"
    except KeyboardInterrupt:
        said = "Stopped. No file is half written."
    except MemoryError:
        said = "Cannot go on: out of memory."
    except Exception as error:
        said = f"Cannot go on: a fault of the program ({type(error).__name__}){reported(error)}."
    with suppress(OSError):  # nobody may be there any more to read it
        say(said, sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    from quotelib import __version__

    about = "Quotes for servers with RAID storage."
    parser = Parser(prog="quotelib", description=about)
    parser.add_argument("--version", action="version", version=f"quotelib {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    def command(run: Callable[[argparse.Namespace], int], **more: Any) -> argparse.ArgumentParser:
        made = commands.add_parser(run.__name__.strip("_"), **more)
        made.set_defaults(run=run)
        return made

    jobs = partial(_number, noun="whole number", most=256)
    batch = command(_batch, help="answer every enquiry of a CSV file")
    batch.add_argument("enquiries", type=Path, metavar="ENQUIRIES.csv")
    batch.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    batch.add_argument("--prices", type=Path, metavar="FOLDER", help=_PRICES)
    batch.add_argument("--date", default="", metavar="YYYY-MM-DD", help=_DATE)
    batch.add_argument("--jobs", type=jobs, default=1, metavar="N", help="processes to use; 1")
    add_exports(batch)
    batch.add_argument("--register", metavar="WHERE", help=_INTO)
    batch.add_argument("--by", default="", metavar="NAME", help="who gives them; this user")

    same = "quote the very same once more at today's prices"
    example = "Example: quotelib again 2026-0007 --out again"
    again = command(_again, help=same, epilog=example)
    again.add_argument(
        "record", metavar="RECORD.json", help="or the number of a quote in the register"
    )
    again.add_argument("--register", metavar="WHERE", help=f"{WHERE}; register")
    again.add_argument("--by", default="", metavar="NAME", help="who gives it; this user")
    again.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    again.add_argument("--prices", type=Path, metavar="FOLDER", help=_PRICES)
    again.add_argument("--date", default="", metavar="YYYY-MM-DD", help=_DATE)
    add_exports(again)

    measured = command(_measured, help="hold what fio measured against a quote", description=_FIO)
    measured.add_argument("record", type=Path, nargs="?", metavar="RECORD.json")
    measured.add_argument("files", type=Path, nargs="*", metavar="FIO.json")
    measured.add_argument("--evidence", type=Path, metavar="FOLDER", help=_EVIDENCE)
    for name in ("controller", "drive", "level"):
        measured.add_argument(f"--{name}", default="", help="of this one only, with --evidence")

    check = command(_check, help="find every problem of a price list")
    check.add_argument("folder", nargs="?", type=Path, metavar="FOLDER", help=_PRICES)
    check.add_argument("--prices", type=Path, metavar="FOLDER", help="the same")

    starter = command(_starter, help="copy the starter price list and example enquiries, to edit")
    starter.add_argument("folder", type=Path, metavar="FOLDER")

    about = "Open a notebook as a page in the browser, code hidden, until Ctrl and C."
    opening = command(_open, help="open the workbook in the browser", description=about)
    opening.add_argument(
        "notebook", nargs="?", metavar="NOTEBOOK", default="quote_one_customer", help=_WHICH
    )
    opening.add_argument("--prices", default="", metavar="FOLDER", help=_PRICES)
    opening.add_argument("--date", default="", metavar="YYYY-MM-DD", help=_DATE)
    opening.add_argument("--out", type=Path, metavar="FOLDER", help="for what it writes; this one")
    opening.add_argument("--register", default="", metavar="WHERE", help=_INTO)
    port = partial(_number, noun="port", most=65535)
    opening.add_argument("--port", type=port, default=8878, metavar="N", help="to serve on; 8878")
    opening.add_argument(
        "--no-browser", action="store_false", dest="browser", help="only print the address"
    )
    register_commands.add(command)
    for name, made in commands.choices.items():
        made.epilog = made.epilog or ending(name)
        made.formatter_class = argparse.RawDescriptionHelpFormatter
    return parser


_PRICES = "folder of a price list; the starter list where it is left out"
_DATE = "of the quotes; today"
_FIO = """Hold what fio wrote with --output-format=json against the record of a quote, and keep it
beside the record."""
_EVIDENCE = "instead, list what was measured before, as kept beside the records in a folder"
_INTO = f"give the quotes into it: {WHERE}"
_WHICH = "which; %(default)s"


def _number(text: str, noun: str, most: int) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= most:
        raise argparse.ArgumentTypeError(f"{text!r} is not a {noun} from 1 to {most}")
    return int(text)


def _open(given: argparse.Namespace) -> int:
    from quotelib.workbook.serve import serve

    return serve(
        given.notebook, given.prices, given.date, given.out, given.port, given.browser,
        given.register,
    )  # fmt: skip


def _batch(given: argparse.Namespace) -> int:
    from quotelib.documents.batch.answers import FAULT, OUTCOMES
    from quotelib.documents.batch.run import Progress, run_batch
    from quotelib.documents.quoting import read_date

    with ended_as_by_hand(), Progress() as meter:
        result = run_batch(
            given.enquiries,
            given.out,
            prices=given.prices,
            date=read_date(given.date),
            jobs=given.jobs,
            exports=exports_of(given),
            progress=meter.told,
            register=given.register,
            by=given.by,
        )
    _print_outcomes(result.told, _customers(given.enquiries))
    outcomes = (*OUTCOMES, FAULT) if result.count(FAULT) else OUTCOMES
    say(", ".join(f"{result.count(outcome)} {outcome}" for outcome in outcomes))
    for notice in result.notices:
        say(textwrap.fill(notice, width(), break_long_words=False))
    at = f"at the prices of list {mark(result.price_list.fingerprint)}"
    say(f"Written to {given.out}, {at}:")
    made = dict.fromkeys(EXPORTS[export][0] for export in exports_of(given))
    rooms = both(["quotes", "bench sheets", *(room for room in made if room != "quotes")])
    say(f"summary.csv, run.json and records for you only, {rooms}.")
    return 0 if result.all_answered else 1


def _again(given: argparse.Namespace) -> int:
    from quotelib.documents.again import quote_again

    with ended_as_by_hand():
        if given.register is not None or is_number(given.record):
            files = again(given)
        else:
            path = Path(given.record)
            came, files = quote_again(
                path, given.out, given.prices, given.date, exports=exports_of(given)
            )
            say("\n".join(came))
    if not files:
        say("Nothing was written.")
        return 1
    say(f"Written to {given.out}: {', '.join(files)}")
    return 0


def _customers(enquiries: Path) -> dict[str, str]:
    """Give the customer of each enquiry number, which the columns of the summary leave out."""
    from quotelib.catalogue.tables import read_rows

    rows, _ = read_rows(enquiries, ("enquiry_id", "customer"), ())
    found: dict[str, str] = {}
    for row in rows:
        if row.cells.get("customer"):
            found.setdefault(row.cells.get("enquiry_id", ""), row.cells["customer"])
    return found


def _print_outcomes(rows: Sequence[dict[str, str]], customers: Mapping[str, str]) -> None:
    wide = width()
    names = [shown(row["enquiry_id"], 24) for row in rows]
    left = max([len("enquiry"), *map(len, names)])
    say(f"{'enquiry':{left}}  outcome  customer, net and reason")
    for name, row in zip(names, rows, strict=True):
        net = f"{row['currency']} {row['net']}" if row.get("net") else ""
        customer = shown(customers.get(row["enquiry_id"], ""), 40)
        text = ". ".join(filter(None, (customer, net, shown(row["reason"], 400))))
        head = f"{name:{left}}  {row['outcome']:7}  "
        said = textwrap.fill(text, wide, initial_indent=head, subsequent_indent=" " * len(head))
        say(said or head.rstrip())


def _measured(given: argparse.Namespace) -> int:
    from quotelib.documents.measuring import lines, measure
    from quotelib.measured.kept import evidence
    from quotelib.measured.words import ending, told

    if given.evidence is not None and given.record is None:
        if not given.evidence.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, "is no folder", str(given.evidence))
        found = list(evidence(given.evidence, given.controller, given.drive, given.level))
        say("\n".join([*told(found), f"{count(len(found), 'measurement')} in {given.evidence}"]))
        return 0
    if given.evidence is not None or not given.files:
        say("Give the record of a quote and files of fio's, or --evidence FOLDER", sys.stderr)
        return 2
    came = measure(given.record, given.files)
    compared = came.compared
    say("\n".join([*told(compared.measurements), ending(compared.measurements), *lines(came)]))
    return 0 if compared.all_as_quoted else 1


def _check(given: argparse.Namespace) -> int:
    from quotelib.catalogue.checks import uncounted
    from quotelib.catalogue.price_list import read_folder

    if given.folder and given.prices:
        say(f"Name one folder, not {given.folder} and {given.prices}", sys.stderr)
        return 2
    folder = given.folder or given.prices or resources.starter_prices()
    price_list, problems = read_folder(folder)
    if price_list is None:
        say(table(problems))
        say(f"\n{count(len(problems), 'problem')} in {folder}")
        return 1
    kinds = (
        "drives", "controllers", "chassis", "accessories", "options", "services", "workloads",
    )  # fmt: skip
    there = ", ".join(f"{len(getattr(price_list, kind))} {kind}" for kind in kinds)
    say(f"No problem in {folder}: {there}, prices in {price_list.terms.currency}")
    if not_counted := uncounted(folder):
        say(not_counted)
    return 0


def _starter(given: argparse.Namespace) -> int:
    folder: Path = given.folder
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        say(f"{folder} is there already and not empty; name a new folder", sys.stderr)
        return 2
    prices, enquiries = folder / "price_list", folder / "enquiries.csv"
    resources.copy_starter_prices(prices)
    shutil.copyfile(resources.demo_enquiries(), enquiries)
    say(
        f"Copied the starter price list to {prices} and example enquiries to {enquiries}"
        " (invented demo data). Try:"
    )
    say(f"  quotelib batch {enquiries} --prices {prices} --out quotes")
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""What can be done from a shell: run a batch, check a price list, open the workbook."""

import argparse
import io
import sys
from collections.abc import Sequence
from pathlib import Path

from quotelib.errors import InputError, shown, table


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Those of the process by default.

    Returns
    -------
    int
        Exit status.
    """
    for stream in (sys.stdout, sys.stderr):
        # Customers' names go to terminals that know few characters, too.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    given = _parser().parse_args(arguments)
    try:
        status: int = given.run(given)
    except InputError as error:
        print(table(error.problems), file=sys.stderr)
        print("Nothing was written.", file=sys.stderr)
        return 2
    except OSError as error:
        where = f" {error.filename}" if error.filename else ""
        print(f"Cannot go on:{where}: {error.strerror or error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Stopped. What was written so far is whole.", file=sys.stderr)
        return 2
    return status


def _parser() -> argparse.ArgumentParser:
    from quotelib import __version__

    parser = argparse.ArgumentParser(
        prog="quotelib", description="Quotes for servers with RAID storage."
    )
    parser.add_argument("--version", action="version", version=f"quotelib {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    batch = commands.add_parser("batch", help="answer every enquiry of a CSV file")
    batch.add_argument("enquiries", type=Path, metavar="ENQUIRIES.csv")
    batch.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    batch.add_argument("--prices", type=Path, metavar="FOLDER", help=_PRICES)
    batch.add_argument("--date", default="", metavar="YYYY-MM-DD", help="of the quotes; today")
    batch.add_argument("--jobs", type=_jobs, default=1, metavar="N", help="processes to use; 1")
    batch.set_defaults(run=_batch)

    check = commands.add_parser("check", help="find every problem of a price list")
    check.add_argument("--prices", type=Path, metavar="FOLDER", help=_PRICES)
    check.set_defaults(run=_check)

    starter = commands.add_parser(
        "starter", help="copy the starter price list and example enquiries, to edit"
    )
    starter.add_argument("folder", type=Path, metavar="FOLDER")
    starter.set_defaults(run=_starter)

    opening = commands.add_parser("open", help="open the workbook in the browser")
    opening.add_argument(
        "notebook", nargs="?", default="quote_one_customer", help="which; quote_one_customer"
    )
    opening.add_argument("--port", type=_port, default=8878, metavar="N", help="to serve on; 8878")
    opening.add_argument("--no-browser", action="store_true", help="only print the address")
    opening.set_defaults(run=_open)
    return parser


_PRICES = "folder of a price list; the starter list where it is left out"


def _jobs(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 256:
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 to 256")
    return int(text)


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is not a port from 1 to 65535")
    return int(text)


def _open(given: argparse.Namespace) -> int:
    from quotelib.workbook.serve import serve

    return serve(given.notebook, port=given.port, browser=not given.no_browser)


def _batch(given: argparse.Namespace) -> int:
    from quotelib.documents.batch import run_batch
    from quotelib.documents.progress import Progress
    from quotelib.documents.quoting import read_date

    date = read_date(given.date)
    with Progress() as meter:
        result = run_batch(
            given.enquiries,
            given.out,
            prices=given.prices,
            date=date,
            jobs=given.jobs,
            progress=meter.told,
        )
    _print_outcomes(result.rows)
    if result.left_over:
        count = len(result.left_over)
        files = "file is" if count == 1 else "files are"
        print(f"{count} {files} there from an earlier batch: {result.left_over[0]}, ...")
    print(f"Written to {given.out}: summary.csv, quotes, bench sheets and records.")
    return 0 if result.all_answered else 1


def _print_outcomes(rows: Sequence[dict[str, str]]) -> None:
    import shutil
    import textwrap
    from collections import Counter

    width = max(60, shutil.get_terminal_size((100, 24)).columns)
    names = [shown(row["enquiry_id"], 24) for row in rows]
    left = max([len("enquiry"), *map(len, names)])
    print(f"{'enquiry':{left}}  outcome  net and reason")
    for name, row in zip(names, rows, strict=True):
        net = f"{row['currency']} {row['net']}" if row.get("net") else ""
        text = ". ".join(filter(None, (net, shown(row["reason"], 400))))
        lines = textwrap.wrap(text, width - left - 11) or [""]
        print(f"{name:{left}}  {row['outcome']:7}  {lines[0]}".rstrip())
        for line in lines[1:]:
            print(f"{'':{left + 11}}{line}")
    counts = Counter(row["outcome"] for row in rows)
    print(", ".join(f"{counts[o]} {o}" for o in ("quoted", "held", "refused", "invalid")))


def _check(given: argparse.Namespace) -> int:
    from quotelib import resources
    from quotelib.catalogue.price_list import read_folder

    folder = given.prices or resources.starter_prices()
    price_list, problems = read_folder(folder)
    if price_list is None:
        print(table(problems))
        count = len(problems)
        print(f"\n{count} {'problem' if count == 1 else 'problems'} in {folder}")
        return 1
    print(
        f"No problem in {folder}: {len(price_list.drives)} drives, "
        f"{len(price_list.controllers)} controllers, {len(price_list.chassis)} chassis, "
        f"{len(price_list.accessories)} accessories, {len(price_list.services)} services, "
        f"{len(price_list.workloads)} workloads, prices in {price_list.terms.currency}"
    )
    return 0


def _starter(given: argparse.Namespace) -> int:
    import shutil

    from quotelib import resources

    folder: Path = given.folder
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        print(f"{folder} is there already and not empty; name a new folder", file=sys.stderr)
        return 2
    shutil.copytree(resources.starter_prices(), folder / "price_list")
    shutil.copy(resources.demo_enquiries(), folder / "enquiries.csv")
    print(
        f"Copied the starter price list to {folder / 'price_list'} and example enquiries to "
        f"{folder / 'enquiries.csv'} (invented demo data). Try:\n"
        f"  quotelib batch {folder / 'enquiries.csv'} --prices {folder / 'price_list'} --out quotes"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())

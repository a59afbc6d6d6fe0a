"""What can be done from a shell with the register: find, reopen, revise, approve, say what came."""

import argparse
from collections.abc import Callable
from pathlib import Path

from quotelib.register_commands.answering import approve, revise
from quotelib.register_commands.exporting import add_exports
from quotelib.register_commands.looking import became, follow, given, reopen

Command = Callable[..., argparse.ArgumentParser]
"""Adds a command that runs a function."""
WHERE = "folder of the register, or its address (postgresql://USER@HOST/DATABASE)"
_OUTCOME = "open, ordered, delivered, declined or lapsed"
_BY = "who does it; the user of this machine"
_NUMBER = "of the quote, such as 2026-0001"
_PRICES = "folder of a price list; the starter list where it is left out"
_DATE = "of the revision; today"


def add(command: Command) -> None:
    """Add the commands."""
    listing = _command(
        command, given, "list the quotes given, or find some", "given --customer library",
        "Exit status: 0 there are some, 1 there is none, 2 could not run.",
    )  # fmt: skip
    listing.add_argument(
        "--customer", default="", metavar="TEXT", help="in the name, or the number of the enquiry"
    )
    listing.add_argument("--outcome", default="", metavar="WORD", help=_OUTCOME)
    listing.add_argument(
        "--from", dest="since", default="", metavar="YYYY-MM-DD", help="given then or later"
    )
    listing.add_argument(
        "--to", dest="until", default="", metavar="YYYY-MM-DD", help="given then or earlier"
    )
    listing.add_argument(
        "--due",
        nargs="?",
        const="today",
        default="",
        metavar="YYYY-MM-DD",
        help="open and to be asked after by then; today",
    )
    listing.add_argument(
        "--number",
        default="",
        metavar="NUMBER",
        help="this one alone, with all that was done to it",
    )

    to_reopen = _command(
        command, reopen, "write a quote's documents again, exactly as given",
        "reopen 2026-0007 --out again",
    )  # fmt: skip
    _numbered(to_reopen)
    to_reopen.add_argument("--revision", type=int, metavar="N", help="which; the last one")
    to_reopen.add_argument("--out", type=Path, required=True, metavar="FOLDER")
    add_exports(to_reopen)

    to_say = _command(
        command, became, "say what became of a quote",
        "became 2026-0007 ordered --by Kim --note 'order no. 4711'",
    )  # fmt: skip
    _numbered(to_say)
    to_say.add_argument("outcome", metavar="OUTCOME", help=_OUTCOME)
    to_say.add_argument("--note", default="", metavar="TEXT", help="why")
    _by(to_say)

    to_follow = _command(
        command, follow, "say when to ask after a quote", "follow 2026-0007 2026-12-15",
    )  # fmt: skip
    _numbered(to_follow)
    to_follow.add_argument("date", metavar="DATE", help="YYYY-MM-DD, or never")
    _by(to_follow)

    to_revise = _command(
        command, revise, "answer a quote anew, its parts kept as far as can be",
        "revise 2026-0007 enquiries.csv --out revised",
        "Exit status: 0 it is quoted or held, 1 it is refused, 2 could not run.",
    )  # fmt: skip
    _numbered(to_revise)
    what = "with what is asked now, under the same number; as it was asked where it is left out"
    to_revise.add_argument("enquiries", type=Path, nargs="?", metavar="ENQUIRIES.csv", help=what)
    _by(to_revise)
    _answering(to_revise)

    to_approve = _command(
        command, approve, "say yes to what holds a quote",
        "approve 2026-0007 margin_floor --by 'Kim Example' --note 'agreed with the owner'",
        "It becomes a revision of the quote. The offer does not say who said yes.",
    )  # fmt: skip
    _numbered(to_approve)
    to_approve.add_argument(
        "codes", nargs="+", metavar="CODE", help="of a finding, or margin_floor"
    )
    to_approve.add_argument("--by", required=True, metavar="NAME", help="who says yes")
    to_approve.add_argument("--note", default="", metavar="TEXT", help="why")
    _answering(to_approve)


def _command(
    command: Command,
    run: Callable[[argparse.Namespace], int],
    what: str,
    example: str,
    more: str = "",
) -> argparse.ArgumentParser:
    made = command(
        run,
        help=what,
        description=f"{what[0].upper()}{what[1:]}. {more}".strip(),
        epilog=f"Example: quotelib {example}",
    )
    made.add_argument(
        "--register", default="register", metavar="WHERE", help=f"{WHERE}; %(default)s"
    )
    return made


def _numbered(made: argparse.ArgumentParser) -> None:
    made.add_argument("number", metavar="NUMBER", help=_NUMBER)


def _by(made: argparse.ArgumentParser) -> None:
    made.add_argument("--by", default="", metavar="NAME", help=_BY)


def _answering(made: argparse.ArgumentParser) -> None:
    made.add_argument("--prices", default="", metavar="FOLDER", help=_PRICES)
    made.add_argument("--date", default="", metavar="YYYY-MM-DD", help=_DATE)
    made.add_argument("--out", type=Path, metavar="FOLDER", help="write its documents there, too")
    add_exports(made)

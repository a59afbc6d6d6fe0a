"""Which exports a command makes beside the pages."""

import argparse

from quotelib.documents.exports import EXPORTS
from quotelib.errors import InputError, Problem


def add_exports(made: argparse.ArgumentParser) -> None:
    """Let a command be asked for each export."""
    for export, (room, what) in EXPORTS.items():
        made.add_argument(f"--{export}", action="store_true", help=f"{what}, too, in {room}")


def exports_of(given: argparse.Namespace) -> tuple[str, ...]:
    """Give the exports that were asked for."""
    return tuple(export for export in EXPORTS if getattr(given, export))


def ready_for(given: argparse.Namespace) -> tuple[str, ...]:
    """Give the exports that were asked for, before a number is taken for what has none then.

    Raises
    ------
    InputError
        Where there is nowhere to put them, or nothing to print a PDF with.
    """
    exports = exports_of(given)
    if exports and given.out is None:
        why, right = "has nowhere to go", "name a folder with --out, or leave it out"
        raise InputError([Problem(f"--{export}", None, "", "", why, right) for export in exports])
    if "pdf" in exports:
        from quotelib.documents.exports.browser import try_out

        try_out()
    return exports

"""What do the register's commands say of a quote, and write."""

from collections.abc import Collection
from pathlib import Path
from typing import TYPE_CHECKING

from quotelib.errors import shown
from quotelib.terminal import say

if TYPE_CHECKING:
    from quotelib.promise.record import QuoteRecord
    from quotelib.register.standing import Standing


def line(one: "Standing") -> str:
    """Say in one line how a quote stands."""
    from quotelib.promise.record import numbered
    from quotelib.text import money

    number = numbered(one.number, one.revision)
    state = "held" if one.state == "held" and one.outcome == "open" else one.outcome
    due = (
        f", to be asked after on {one.follow_up}" if one.follow_up and one.outcome == "open" else ""
    )
    margin = "" if one.margin_pct is None else f", margin {one.margin_pct} %"
    net = money(one.net, one.currency)
    what = f"{shown(one.customer, 40)} ({shown(one.enquiry_id, 24)})"
    return f"{number:16}  {one.date}  {state:9}  {net:>16}{margin}  {what}{due}"


def write(record: "QuoteRecord", text: str, folder: Path, exports: Collection[str]) -> None:
    """Write the documents of a record, its own file to the letter, and say where."""
    from quotelib.documents.batch.files import file_stems
    from quotelib.documents.making import write_documents

    names = write_documents(
        record, folder, file_stems([record.enquiry_id])[0], text, exports=exports
    )
    for name in names.values():
        say(f"  {folder / name}")

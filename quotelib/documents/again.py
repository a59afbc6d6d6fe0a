"""How is the very same quoted once more: from the file of a record to documents of today."""

from collections.abc import Collection, Iterator
from pathlib import Path

from quotelib.catalogue.price_list import load_price_list
from quotelib.documents.batch.files import file_stems
from quotelib.documents.making import write_documents
from quotelib.documents.quoting import read_date, read_record
from quotelib.promise.again import Revised, again
from quotelib.promise.difference import lines


def quote_again(
    file: Path,
    folder: Path,
    prices: Path | None = None,
    date: str = "",
    *,
    exports: Collection[str] = (),
) -> tuple[list[str], list[str]]:
    """Quote what a record holds once more, and write its documents, some exports among them.

    Returns
    -------
    tuple of (list of str, list of str)
        What came of it, in lines, and the files; none where it cannot be had as it was.

    Raises
    ------
    InputError
        Where record, price list or date cannot be read, or a batch writes into the folder.
    NotExported
        Where an export cannot be made.
    OSError
        Where the folder cannot be written.
    """
    record = read_record(file)
    came = again(record, load_price_list(prices), read_date(date))
    if came.record is None:
        return list(told(came)), []
    (stem,) = file_stems([came.record.enquiry_id])
    written = write_documents(came.record, folder, stem, exports=exports)
    return list(told(came)), list(written.values())


def told(came: Revised) -> Iterator[str]:
    """Say what came of it, line by line."""
    record, found = came.record, came.difference
    if record is None or found is None:
        yield "It cannot be quoted as it was:"
        yield from (f"  {reason.code}: {reason.words}" for reason in came.answer.reasons)
        return
    against = f"{found.since.quote_number} of {found.since.date}"
    yield f"{record.quote_number}, {came.answer.outcome}, against {against}"
    yield from (f"  {reason.code}: {reason.words}" for reason in came.answer.reasons)
    yield from lines(found)

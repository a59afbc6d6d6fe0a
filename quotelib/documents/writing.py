"""Which files does a record become: the same ones from a batch and from the workbook."""

from pathlib import Path

from quotelib.documents.files import write_aside
from quotelib.documents.quoting import bench_page, quote_page
from quotelib.quote.record import QuoteRecord


def write_documents(
    record: QuoteRecord, folder: Path, stem: str, prices: str = ""
) -> dict[str, str]:
    """Write every document of a record.

    Parameters
    ----------
    record : QuoteRecord
    folder : Path
        Output folder; made where it is missing.
    stem : str
        File name without its ending, safe already.
    prices : str
        Folder of the price list it was made from; blank for the starter list.

    Returns
    -------
    dict of str to str
        Name within `folder` of each file, by its column in ``summary.csv``.

    Raises
    ------
    OSError
        Where the folder cannot be written.
    """
    # All are rendered before the first is written: no half a set after a fault.
    files = {
        "quote_file": (f"quotes/{stem}.html", quote_page(record, prices)),
        "bench_file": (f"bench/{stem}.html", bench_page(record, prices)),
        "record_file": (f"records/{stem}.json", record.to_json()),
    }
    for name, text in files.values():
        write_aside(folder / name, text)
    return {column: name for column, (name, _) in files.items()}

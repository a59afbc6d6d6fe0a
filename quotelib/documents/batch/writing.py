"""Which files does a record become: the same ones from a batch and from the workbook."""

from pathlib import Path
from tempfile import TemporaryDirectory

from quotelib.documents.batch.files import write_aside
from quotelib.documents.quoting import bench_page, quote_page
from quotelib.promise.record import QuoteRecord


def write_documents(record: QuoteRecord, folder: Path, stem: str) -> dict[str, str]:
    """Write every document of a record.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    stem : str
        File name without its ending, safe already.

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
    text = record.to_json()
    with TemporaryDirectory(prefix="quotelib-") as aside:
        file = Path(aside) / "record.json"
        file.write_text(text, "utf-8")
        files = {
            "quote_file": (f"quotes/{stem}.html", quote_page(file)),
            "bench_file": (f"bench/{stem}.html", bench_page(file)),
            "record_file": (f"records/{stem}.json", text),
        }
    for name, content in files.values():
        write_aside(folder / name, content)
    return {column: name for column, (name, _) in files.items()}

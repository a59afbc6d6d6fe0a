"""Which documents are made of a record: pages and exports, one by one or all of them."""

from collections.abc import Collection
from pathlib import Path

from quotelib.documents.batch.files import ANNEX, write_new
from quotelib.documents.batch.whole import Changing
from quotelib.documents.exports import EXPORTS, file_of
from quotelib.documents.offer import offer_kind
from quotelib.documents.pages import run_notebook, to_html
from quotelib.documents.quoting import read_record
from quotelib.measured.jobs import job_file, trials
from quotelib.promise.offer import offer_of
from quotelib.promise.record import QuoteRecord


def offer_page(file: str | Path) -> str:
    """Render the two pages a customer gets, as HTML, from the file of a record alone.

    Raises
    ------
    InputError
        As in `read_record`.
    """
    record = read_record(file)
    offer = offer_of(record)
    return to_html(
        run_notebook("offer", {"record": str(file)}),
        title=offer.title,
        kind=offer_kind(record),
        language=offer.language,
        running=offer.running,
    )


def annex_page(file: str | Path) -> str:
    """Render what is for the customer's engineer, as `offer_page`."""
    return _page(file, "Draft annex" if read_record(file).draft else "Annex", "annex", "annex")


def bench_page(file: str | Path) -> str:
    """Render the sheet that the bench works from, without prices, as `offer_page`."""
    what = "Bench sheet" if read_record(file).servers else "Pick list"
    return _page(file, what, "bench_sheet", "bench")


def _page(file: str | Path, what: str, template: str, kind: str) -> str:
    record = read_record(file)
    title = f"{what} {record.numbered} for {record.customer}"
    running = f"{what} {record.numbered} · {record.seller.name}"
    return to_html(
        run_notebook(template, {"record": str(file)}), title=title, kind=kind, running=running
    )


def quote_pdf(file: str | Path, scratch: Path | None = None) -> bytes:
    """Print the page a customer gets, from the file of a record alone; `scratch` as in `printed`.

    Raises
    ------
    InputError
        As in `read_record`, or where there is no browser.
    NotExported
        Where it does not print.
    """
    return _pdf(offer_page(file), read_record(file), scratch)


def items_workbook(file: str | Path) -> bytes:
    """Write the lines of a quote as a workbook, from the file of a record alone.

    Raises
    ------
    InputError
        As in `read_record`.
    NotExported
        Where an amount does not go into a spreadsheet.
    """
    return _workbook(read_record(file))


def ubl_quotation(file: str | Path) -> bytes:
    """Write a quote as a UBL 2.1 Quotation, from the file of a record alone.

    Raises
    ------
    InputError
        As in `read_record`.
    NotExported
        Where its currency is none.
    """
    return _quotation(read_record(file))


# What follows imports its library where it is used: most quotes are made without any of them.
def _pdf(page: str, record: QuoteRecord, scratch: Path | None) -> bytes:
    from quotelib.documents.exports.pdf import printed

    return printed(page, record.date, scratch)


def _workbook(record: QuoteRecord) -> bytes:
    from quotelib.documents.exports.xlsx import items

    return items(record)


def _quotation(record: QuoteRecord) -> bytes:
    from quotelib.documents.exports.ubl import quotation

    return quotation(record)


def make_documents(
    record: QuoteRecord,
    stage: Path,
    stem: str,
    text: str = "",
    *,
    exports: Collection[str] = (),
    scratch: Path | None = None,
) -> dict[str, tuple[str, str]]:
    """Make every document of a record in a folder that nobody reads yet.

    Parameters
    ----------
    stage : Path
        With the rooms that files go to.
    stem : str
        File name without its ending, safe already.
    text : str
        Of the record's file, where it was written before and must be the same to the letter.
    exports
        Which of `EXPORTS` to make, too.
    scratch
        As in `printed`.

    Returns
    -------
    dict of str to tuple
        Name within `stage` of each file and its SHA-256, by its column in ``summary.csv``; the
        annex, job files and exports have none there, and are by what they are.

    Raises
    ------
    OSError
        Where the folder cannot be written.
    InputError, NotExported
        Where an export cannot be made.
    """
    name = f"records/{stem}.json"
    made = {"record_file": (name, write_new(stage / name, text or record.to_json()))}
    pages = {
        "quote_file": (f"quotes/{stem}.html", offer_page),
        "annex": (f"quotes/{stem}{ANNEX}.html", annex_page),
        "bench_file": (f"bench/{stem}.html", bench_page),
    }
    for column, (name, page) in pages.items():
        text = page(stage / f"records/{stem}.json")
        made[column] = name, write_new(stage / name, text)
    for of in trials(record):
        if of.jobs:
            name = f"bench/{stem}.{of.place}.fio"
            made[f"speed trial {of.place}"] = name, write_new(stage / name, job_file(record, of))
    for export in filter(exports.__contains__, EXPORTS):
        name = file_of(export, stem)
        if export == "pdf":
            offer = (stage / made["quote_file"][0]).read_text("utf-8")
            data = _pdf(offer, record, scratch)
        else:
            data = {"xlsx": _workbook, "ubl": _quotation}[export](record)
        made[export] = name, write_new(stage / name, data)
    record_file = made.pop("record_file")
    return {**made, "record_file": record_file}


def write_documents(
    record: QuoteRecord,
    folder: Path,
    stem: str,
    text: str = "",
    *,
    exports: Collection[str] = (),
) -> dict[str, str]:
    """Write every document of a record: all of them, or it shows that they are not.

    Exports of the quote before that are not made anew are moved aside: they would say otherwise.

    Parameters
    ----------
    folder : Path
        Made where it is missing.
    stem, text, exports
        As of `make_documents`.

    Returns
    -------
    dict of str to str
        Name within `folder` of each file, as by `make_documents`.

    Raises
    ------
    InputError
        Where a batch is writing into the folder, or an export cannot be made.
    NotExported
        Where an export cannot be made.
    OSError
        Where it cannot be written.
    """
    with Changing(folder) as change:
        files = make_documents(record, change.stage, stem, text, exports=exports)
        older = (file_of(export, stem) for export in EXPORTS if export not in exports)
        leave = [name for name in older if (folder / name).is_file()]
        called = change.last_run()[0] if leave else ""
        made = [name for name, _ in files.values()]
        change.replace(made, leave, called or record.date.isoformat())
    return {column: name for column, (name, _) in files.items()}

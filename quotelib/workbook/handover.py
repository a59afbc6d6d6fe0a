"""What happens next: the files of a quote are written, a row for a file of enquiries is made."""

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from markupsafe import escape

from quotelib.bounded import read_text
from quotelib.documents.batch.files import file_stems
from quotelib.documents.making import write_documents
from quotelib.errors import InputError
from quotelib.foreign import read_json
from quotelib.promise.answer import Answer
from quotelib.promise.record import QuoteRecord
from quotelib.text import sentence
from quotelib.workbook.after import After
from quotelib.workbook.background import Background
from quotelib.workbook.book import Book
from quotelib.workbook.widgets import button, html

_KINDS = {
    "quote_file": "Offer, for the customer",
    "annex": "Annex of the offer, for the customer's engineer",
    "bench_file": "Bench sheet, for the workshop",
    "record_file": "Record, for the seller only",
}


class Writer:
    """Writes the documents of a record into a folder and says what came of it.

    `pressed` is called when somebody wants the files, `failed` is told of a fault of ours; where
    there is a register, quotes are given into it before they are written.
    """

    def __init__(
        self,
        folder: Path,
        pressed: Callable[[], None],
        failed: Callable[[Exception], None],
        book: Book,
    ) -> None:
        self._folder, self._book = folder, book
        self._background = Background(failed)
        self._turn = 0
        self._replace = ""
        self._done: tuple[QuoteRecord, dict[str, str]] | None = None
        tip = "Write the documents of the enquiry above into the folder"
        title = "Write quote, bench sheet and record"
        self.button = button(title, tip, pressed, "ql-main", "ql-write")
        self.told = html()
        self.after = After(folder)

    def say(self, words: str) -> None:
        """Say how the writing goes; blank: nothing is said."""
        self._tell(f"<p>{escape(words)}</p>" if words else "")

    def _tell(self, text: str) -> None:
        self.told.value = f'<div class="ql-written" role="status">{text}</div>'

    def forget(self) -> None:
        """Take back what is said: the enquiry is another one now."""
        self._turn += 1
        self._replace = ""
        self.after.forget()
        self.say("")

    def write(self, enquiry_id: str, make: Callable[[], Answer], note: str) -> None:
        """Write the documents, unless there are some that nobody has agreed to replace.

        `make` gives the answer to write; `note` is said beside what is written.
        """
        there = earlier_quote(self._folder, enquiry_id)
        if there and self._replace != enquiry_id:
            self._replace = enquiry_id
            self.say(f"There is {there} already. Press again to replace it, or change the number.")
            return
        self._replace = ""
        self._done = None
        self.say("Writing …")
        shown = partial(self._written, self._turn)
        self._background.start([(partial(self._work, make, note), shown)])

    def _work(self, make: Callable[[], Answer], note: str) -> str:
        record = make().record
        if record is None:
            return "<p>Not written: no build meets the enquiry.</p>"
        said = ""
        try:
            record, text, said = self._book.give(record)
            (stem,) = file_stems([record.enquiry_id])
            names = write_documents(record, self._folder, stem, text)
        except OSError as error:
            why = f"{self._folder}: {error.strerror or error}"
            return _not_written(why, said)
        except InputError as error:
            return _not_written(str(error.problems[0]), said)
        self._done = record, {_kind(column): name for column, name in names.items()}
        return _words(record, self._folder, names, " ".join(filter(None, (said, note))))

    def _written(self, turn: int, text: str) -> None:
        if turn == self._turn:
            self._tell(text)
            if self._done is not None:
                self.after.show(*self._done)
        else:
            self.say("The files of the enquiry as it was before have been written.")


def _not_written(why: str, said: str) -> str:
    more = f" {said}" if said else ""
    return f"<p>Not written: {escape(why)}.{escape(more)} Nothing typed is lost.</p>"


def earlier_quote(folder: Path, enquiry_id: str) -> str:
    """Say which quote would be replaced; blank where there is none."""
    path = folder / "records" / f"{file_stems([enquiry_id])[0]}.json"
    if not path.exists():
        return ""
    try:
        data = read_json(read_text(path))
        return f"{data['quote_number']} for {data['customer']}"
    except OSError as error:
        return f"a record that cannot be read ({error.strerror or error})"
    except (ValueError, LookupError, TypeError):
        return "a file that is no record of ours"


def _kind(column: str) -> str:
    return _KINDS.get(column, f"{sentence(column)}, for the workshop")


def _words(record: QuoteRecord, folder: Path, names: Mapping[str, str], note: str) -> str:
    """Say what was written and where, as HTML."""
    items = "".join(
        f"<li>{_kind(column)}: <code>{escape(folder / name)}</code></li>"
        for column, name in names.items()
    )
    draft = " It is a <strong>draft</strong>." if record.draft else ""
    more = f"<p>{escape(note)}</p>" if note else ""
    said = f"<strong>Written: {escape(record.numbered)}.</strong>{draft}"
    return f"<p>{said}</p><ul>{items}</ul>{more}"

"""Is every truncation of every starter file noticed, or without effect?"""

from collections.abc import Iterator
from pathlib import Path
from unittest import mock

from quotelib import resources
from quotelib.catalogue import price_list as reading
from quotelib.catalogue import tables
from quotelib.catalogue.price_list import PriceList, load_price_list, read_folder
from quotelib.enquiry.reading import open_end, read_enquiries
from quotelib.enquiry.request import Request
from quotelib.errors import InputError

STARTER = resources.starter_prices()
PRICES = sorted(p.name for p in STARTER.iterdir() if p.suffix in {".csv", ".toml"})
ENQUIRIES = (resources.demo_enquiries(), resources.a_day())


def every_cut(folder: Path, step: int) -> tuple[int, int, list[str]]:
    """Cut each file at every byte, or every so many.

    Returns
    -------
    cuts, told : int
        How many there are, and of how many something is said.
    unnoticed : list of str
        What is read as another list, or another quote, without a word.
    """
    cuts = told = 0
    unnoticed: list[str] = []
    for name, at, effect in (*_of_prices(step), *_of_enquiries(folder, step)):
        cuts += 1
        told += effect == "told"
        if effect == "other":
            unnoticed.append(f"{name} cut at {at}")
    return cuts, told, unnoticed


def _of_prices(step: int) -> Iterator[tuple[str, int, str]]:
    whole = load_price_list()
    kept = {path.name: path.read_bytes() for path in STARTER.iterdir()}
    contents = dict(kept)
    # Of ten files one changes: the others are read, and parsed, once.
    files: dict[str, object] = {}
    read, read_terms = reading._read_file, reading._read_terms

    def file(folder: Path, model: type[tables.Row]) -> object:
        if model.file_name == changing:
            return read(folder, model)
        if model.file_name not in files:
            files[model.file_name] = read(folder, model)
        return files[model.file_name]

    def terms(folder: Path) -> object:
        if changing == "terms.toml":
            return read_terms(folder)
        if "terms" not in files:
            files["terms"] = read_terms(folder)
        return files["terms"]

    def of_memory(path: Path, _: int = 0) -> bytes:
        return contents[path.name]

    changing = ""
    with (
        mock.patch.object(tables, "read_bytes", of_memory),
        mock.patch.object(reading, "read_bytes", of_memory),
        mock.patch.object(reading, "_read_file", file),
        mock.patch.object(reading, "_read_terms", terms),
    ):
        for changing in PRICES:
            files.clear()
            data = kept[changing]
            for at in range(0, len(data), step):
                contents[changing] = data[:at]
                cut, _ = read_folder(STARTER)
                yield changing, at, "told" if cut is None else _compare(cut, whole)
            contents[changing] = data


def _compare(cut: PriceList, whole: PriceList) -> str:
    names = [name for name in PriceList.__dataclass_fields__ if name != "fingerprint"]
    return "same" if all(getattr(cut, n) == getattr(whole, n) for n in names) else "other"


def _of_enquiries(folder: Path, step: int) -> Iterator[tuple[str, int, str]]:
    """Cut files of enquiries: each quote of what is left is as it was, or a row is told.

    A cut just behind a row leaves a whole file of fewer rows, which nobody can tell from one that
    somebody wrote; it is not looked at where the quote goes on in the next row.
    """
    prices = load_price_list()
    for path in ENQUIRIES:
        data = path.read_bytes()
        whole: dict[str, Request | None] = {
            asked.enquiry_id: asked.request for asked in read_enquiries(path, prices)
        }
        file = folder / path.name
        for at in range(0, len(data), step):
            if data[at - 1 : at] == b"\n" or data[at : at + 1] == b"\n":
                continue
            file.write_bytes(data[:at])
            try:
                read = read_enquiries(file, prices)
            except InputError:
                yield path.name, at, "told"
                continue
            other = any(a.request and a.request != whole.get(a.enquiry_id) for a in read)
            told = any(a.request is None for a in read) or open_end(file)
            yield path.name, at, "told" if told else "other" if other else "same"

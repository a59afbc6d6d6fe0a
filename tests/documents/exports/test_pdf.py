"""A page is printed as the browser shows it: tagged, named, dated by its quote, without a trace."""

import datetime as dt
import io
import os
import re
import signal
import stat
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from quotelib import cli
from quotelib.documents.exports import browser, pdf
from quotelib.documents.making import offer_page, quote_pdf
from quotelib.errors import InputError, NotExported
from tests import orders

Print = Callable[..., bytes]
DATE = dt.date(2026, 11, 25)
_PAGE = """<!DOCTYPE html><html lang="fr"><head><meta charset="utf-8">
<title>Devis n° 7 & Cie</title></head>
<body><h1>Devis</h1><table><tr><th>un</th><td>deux</td></tr></table>{}</body></html>"""


def _read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data))


def test_it_is_tagged_and_has_title_language_and_outline(prints: Print) -> None:
    read = _read(prints(_PAGE.format(""), DATE))
    root = read.trailer["/Root"]
    assert root["/Lang"] == "fr" and root["/MarkInfo"]["/Marked"] and "/StructTreeRoot" in root
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert read.metadata is not None and read.metadata.title == "Devis n° 7 & Cie"
    assert [entry["/Title"] for entry in read.outline] == ["Devis"]
    kinds = re.findall(r"/S'?: '/(H1|Table|TR|TH|TD)'", str(_tree(root["/StructTreeRoot"])))
    assert {"H1", "Table", "TH", "TD"} <= set(kinds)


def _tree(node: pypdf.generic.PdfObject, depth: int = 0) -> object:
    node = node.get_object()
    if isinstance(node, list):
        return [_tree(one, depth) for one in node]
    if not isinstance(node, dict) or depth > 20:
        return None
    return {"/S": node.get("/S"), "/K": _tree(node["/K"], depth + 1) if "/K" in node else None}


def test_the_same_page_gives_the_same_bytes_in_any_browser(prints: Print) -> None:
    first = prints(_PAGE.format("<p>one"), DATE)
    between = prints(_PAGE.format("<p>another"), DATE)
    assert prints(_PAGE.format("<p>one"), DATE) == first != between
    pdf.end()
    assert prints(_PAGE.format("<p>one"), DATE) == first
    metadata = _read(first).metadata
    assert metadata is not None
    assert metadata.creation_date == metadata.modification_date
    assert str(metadata.creation_date).startswith("2026-11-25 00:00:00")
    assert metadata.creator == "quotelib"


def test_the_paper_is_a4_unless_the_page_says_otherwise(prints: Print) -> None:
    letter = "<style>@page { size: Letter }</style>"
    for more, size in (("", (595, 842)), (letter, (612, 792))):
        box = _read(prints(_PAGE.format(more), DATE)).pages[0].mediabox
        # A browser rounds to whole pixels, of which 96 are an inch.
        assert (box.width, box.height) == pytest.approx(size, abs=1)


def test_it_sees_no_file_and_tells_no_folder(prints: Print, tmp_path: Path) -> None:
    (tmp_path / "secret.txt").write_text("zq7-secret")
    links = '<a href="7-annex.html">annex</a><a href="#x">x</a><p id="x">'
    for way in ("iframe src", "object data", "img src"):
        links += f'<{way}="{(tmp_path / "secret.txt").as_uri()}"></{way.split()[0]}>'
    data = prints(_PAGE.format(links), DATE)
    read = _read(data)
    assert "zq7" not in "".join(page.extract_text() for page in read.pages)
    notes = [note.get_object() for page in read.pages for note in page.get("/Annots", [])]
    assert all("/URI" not in str(note.get("/A", "")) for note in notes)
    assert b"file:" not in data and str(tmp_path).encode() not in data


def test_a_quote_prints_all_that_its_page_says(prints: Print, tmp_path: Path) -> None:
    record = orders.order(orders.LOOSE)
    file = tmp_path / "r.json"
    file.write_text(record.to_json(), "utf-8")
    read = _read(quote_pdf(file))
    page = offer_page(file)
    title = re.search("<title>(.*?)</title>", page)
    assert title is not None and read.metadata is not None
    assert read.metadata.title == title[1]
    words = " ".join(page.extract_text() for page in read.pages).split()
    text = re.sub(r"(?s)<(style|svg|title).*?</\1>|<[^>]*>", " ", page)
    told = set(re.findall(r"[A-Za-z]{4,}", text)) - {"nbsp", "quot"}
    printed = set(re.findall(r"[A-Za-z]{4,}", " ".join(words)))
    # Some are broken between lines.
    assert len(told - printed) <= len(told) // 20, told - printed
    assert str(record.totals.gross) in words


def test_nothing_is_left_when_it_ends_or_is_killed(prints: Print, short: Path) -> None:
    pdf.end()
    prints(_PAGE.format(""), DATE, short)
    assert len(list(short.iterdir())) == 1
    own = pdf._press._browser
    assert own is not None
    os.killpg(own._process.pid, signal.SIGKILL)
    assert prints(_PAGE.format(""), DATE, short)  # by another one
    assert pdf._press._browser is not own and len(list(short.iterdir())) == 1
    pdf.end()
    assert list(short.iterdir()) == []


def test_without_a_browser_nothing_is_begun(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(browser.COMMAND, "no-such-browser")
    with pytest.raises(InputError, match="needs chromium, and no-such-browser is not there"):
        browser.try_out()
    out = tmp_path / "out"
    given = ["batch", str(tmp_path / "not-read.csv"), "--out", str(out), "--pdf"]
    assert cli.main(given) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "apt-get install chromium" in said and "Nothing was written." in said
    assert not out.exists()


def _program(folder: Path, name: str, script: str) -> str:
    path = folder / name
    path.write_text(f"#!/bin/sh\n{script}\n")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


def test_a_browser_that_does_not_start_is_told_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    script = "echo 'No usable sandbox!' >&2; exit 1"
    monkeypatch.setenv(browser.COMMAND, _program(tmp_path, "broken", script))
    with pytest.raises(InputError, match=r"the browser ended \(No usable sandbox!\)"):
        browser.try_out()


def test_a_browser_that_says_nothing_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(browser.COMMAND, _program(tmp_path, "silent", "exec sleep 60"))
    monkeypatch.setattr(browser, "_SECONDS", 0.2)
    monkeypatch.setattr(browser, "_GRACE", 0.2)
    with pytest.raises(NotExported, match="did not answer"):
        browser.Browser(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["silent"]


def test_one_that_cannot_be_begun_is_told(prints: Print, tmp_path: Path) -> None:
    with pytest.raises(NotExported, match="does not start \\(No such file or directory"):
        browser.Browser(tmp_path / "missing")


def test_only_root_goes_without_the_sandbox(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    assert browser._unboxed() == ()
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    assert browser._unboxed() == ("--no-sandbox",)

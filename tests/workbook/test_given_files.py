"""What is no file of ours is told in words, and the page goes on as it was."""

import datetime as dt
import json
import os
import sys
from pathlib import Path

import pytest

from quotelib.workbook import handover
from quotelib.workbook.autosave import FILE_NAME, Autosave
from quotelib.workbook.page import Workbook

NEED = {"customer": "Tidal Mill (invented)", "enquiry_id": "W-1", "usable_tb": "20"}
_DEEP = "[" * 100_000
_ROWS = {"rows": [{"cells": {"enquiry_id": "A-1", "customer": "Müller", "usable_tb": "20"}}]}
_HALF = '{"rows": [{"cells": {"enquiry_id": "A-1", "usable_tb": "20", "customer": "M\\ud800"}}]}'


@pytest.mark.parametrize(
    ("name", "data", "told"),
    [
        ("a.json", _DEEP.encode(), "nested too deep"),
        ("a.json", f'{{"rows": {_DEEP}'.encode(), "nested too deep"),
        ("a.json", _HALF.encode(), "half a character"),
        (
            "a.json",
            json.dumps(_ROWS, ensure_ascii=False).encode("latin-1"),
            "0xfc) that is not UTF",
        ),
        ("a.json", json.dumps(_ROWS, ensure_ascii=False).encode("utf-16"), "0xff) that is not UTF"),
        ("a.json", b'{"rows": [{"cells": {"customer": {"a": 1}}}]}', "no record of a quote"),
        ("a.json", b'{"rows": [{"cells": {"customer": 1e999}}]}', "no record of a quote"),
        ("a.json", b'{"rows": [{"cells": {"customer": ' + b"9" * 5000 + b"}}]}", "well-formed"),
        ("a.csv", "enquiry_id,customer\nA-1,Müller\n".encode("latin-1"), "0xfc) that is not UTF"),
        ("a.csv", "enquiry_id,customer\nA-1,Müller\n".encode("utf-16"), "0xff) that is not UTF"),
        ("a.csv", _DEEP.encode(), "no known column"),
    ],
)
def test_a_file_of_another_kind_is_told_and_leaves_the_form(
    tmp_path: Path, name: str, data: bytes, told: str
) -> None:
    workbook = Workbook(folder=tmp_path)
    workbook.order.take(NEED)
    now = dt.datetime.now(dt.UTC)
    given = {"name": name, "type": "", "size": len(data), "content": data, "last_modified": now}
    workbook.loader.file.value = (given,)
    assert told in workbook.loader.says.value
    assert workbook.order.texts(workbook.order.asked())[0]["customer"] == NEED["customer"]


@pytest.mark.parametrize(
    "text", [_DEEP, f'[{{"rows": {_DEEP}', '[{"rows": {"1": {"note": "\\ud800"}}}]']
)
def test_the_page_opens_whatever_was_kept(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE_NAME).write_text(text, "utf-8")
    workbook = Workbook(folder=tmp_path)
    workbook.found_in_browser(text)
    assert workbook.autosave.earlier == []
    assert workbook.autosave.keep({"1": {"customer": "Two"}}) == ""
    assert Autosave(tmp_path).earlier[0].rows == {"1": {"customer": "Two"}}


@pytest.mark.skipif(sys.platform == "win32", reason="who may read is not told by a mode there")
def test_what_another_user_has_typed_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Autosave(tmp_path).keep({"1": {"customer": "Theirs"}})
    # Root may read everything: what access() says to any other user.
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert "another user" in Autosave(tmp_path).keep({"1": {"customer": "Mine"}})
    assert "Theirs" in (tmp_path / FILE_NAME).read_text("utf-8")


@pytest.mark.parametrize("text", [_DEEP, '{"quote_number": "\\ud800", "customer": ""}'])
def test_a_record_that_cannot_be_read_is_asked_about(tmp_path: Path, text: str) -> None:
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "A.json").write_text(text, "utf-8")
    assert handover.earlier_quote(tmp_path, "A") == "a file that is no record of ours"

"""Whatever an enquiry holds, its summary can be read, and a terminal shows it as text."""

import csv
import json
import sys
from pathlib import Path

import pytest

from quotelib.documents.batch.files import csv_text
from quotelib.documents.batch.run import run_batch
from quotelib.documents.batch.summary import COLUMNS, to_csv
from quotelib.enquiry import columns
from quotelib.errors import InputError, Problem, one_line, shown, table
from tests import small_list
from tests.end_to_end.running import DATE, run, write_csv

_ROW = {"enquiry_id": "A-1", "customer": "Somebody", "usable_tb": "20"}
_LONG = 131_000
"""Characters; the csv module reads 131,072 in a field by default (its field_size_limit())."""


def _summary(folder: Path, rows: list[dict[str, str]]) -> tuple[list[dict[str, str]], str]:
    """Run a batch; give its summary as the csv module reads it, and what was said."""
    path, out = write_csv(folder / "enquiries.csv", rows), folder / "out"
    done = run("batch", path, "--out", out, "--date", DATE)
    assert done.returncode == 1, done.stderr
    assert not list(out.glob("fault-*"))
    with (out / "summary.csv").open(encoding="utf-8", newline="") as file:
        found = list(csv.DictReader(file, strict=True))
    return found, done.stdout


def test_any_id_and_any_long_cell_leave_a_summary_that_can_be_read(tmp_path: Path) -> None:
    ids = ["A\rB", "A\r\nB", "A\nB", 'A"\rB', "A\x1b[31mB", "A\x85B", "A\u2028B", "x" * _LONG]
    rows = [{**_ROW, "enquiry_id": name} for name in ids]
    for number, name in enumerate(columns.COLUMNS):
        if name != "enquiry_id":
            rows.append({**_ROW, "enquiry_id": f"L-{number}", name: "x" * _LONG})
    found, said = _summary(tmp_path, rows)
    assert len(found) == len(rows)
    # Any text will do for an id, and comes back to the letter.
    assert [row["enquiry_id"] for row in found[: len(ids)]] == [*ids[:-1], "x" * 299 + "…"]
    assert {row["outcome"] for row in found[: len(ids) - 1]} == {"quoted"}
    assert all(set(row) == set(COLUMNS) for row in found)
    assert max(len(cell) for row in found for cell in row.values()) < 3000
    assert "\x1b" not in said and "\r" not in said


def test_a_summary_shortens_only_what_is_not_ours() -> None:
    row = {"enquiry_id": "x" * 301, "reason": "y" * 40_000, "quote_file": "z" * 300}
    cells = next(csv.DictReader(to_csv([row]).splitlines()))
    assert cells["enquiry_id"] == "x" * 299 + "…"
    assert cells["reason"] == "y" * 32_766 + "…"
    assert cells["quote_file"] == row["quote_file"]


@pytest.mark.parametrize("cell", ["a\rb", "\r", "a\nb", "\r\n", 'a"b', ",", "a\r\n", ""])
def test_rows_to_copy_are_read_back(cell: str) -> None:
    """Before Python 3.13 the csv module leaves a carriage return without quotation marks."""
    text = csv_text(["one", "two"], [cell, "b"])
    assert list(csv.reader([*text.splitlines(keepends=True)], strict=True)) == [
        ["one", "two"],
        [cell, "b"],
    ]


_ESCAPE = "\x1b]0;gone\x07\x1b[2J"


def test_what_is_wrong_is_told_without_a_live_escape() -> None:
    wrong = Problem(f"a{_ESCAPE}.toml", 1, f"k{_ESCAPE}", f"v{_ESCAPE}", f"w{_ESCAPE}", _ESCAPE)
    told = [str(wrong), wrong.words, table([wrong] * 300), str(InputError([wrong]))]
    told += InputError([wrong])._render_traceback_()
    for text in told:
        assert "\x1b" not in text and "\x07" not in text
        assert "\N{REPLACEMENT CHARACTER}[2J" in text or "more" in text or "as it is" in text


def test_endless_words_are_cut() -> None:
    wrong = Problem("a.csv", 1, "c" * 10**6, "v" * 10**6, "w" * 10**6, "r" * 10**6)
    assert len(str(wrong)) < 2300
    assert len(table([wrong])) < 10_000


def test_letters_and_signs_of_any_script_stay() -> None:
    text = (
        "Bäckerei ﷼ नमस्ते\u200dक می\u200cخواهم 👩\u200d🔬 12\u00a0kg \N{CJK UNIFIED IDEOGRAPH-4E2D}"
    )
    assert one_line(text) == text
    assert shown("x" * 61) == "x" * 59 + "…"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("", '"k\\u001b[2J" = 1\n'),
        ("[seller]\n", '[seller]\n"n\\u001b[2J" = 1\n'),
        ("[rates]\n", '[rates]\n"\\u001b[2J" = 1.5\n'),
        ("[offer.tax_reasons]\n", '[offer.tax_reasons]\n"\\u001b[2J" = ""\n'),
        ("", '"\\u001b[2J" = 1\n"\\u001b[2J" = 2\n'),
        ("", "k = {a = 1, a = 2}\x1b[2J\n"),
        ('currency = "GBP"', 'currency = "\\u001b[2J"\nrates = { "\\u001b[2J" = 2 }\n[old]'),
    ],
)
def test_a_key_of_the_terms_is_only_shown(copy_of_starter: Path, before: str, after: str) -> None:
    path = copy_of_starter / "terms.toml"
    text = path.read_text("utf-8")
    assert before in text
    text = text.replace("[rates]", "[other]") if "rates =" in after else text
    path.write_text(text.replace(before, after, 1), "utf-8")
    done = run("check", "--prices", copy_of_starter)
    assert done.returncode == 1
    assert "terms.toml" in done.stdout
    assert "\x1b" not in done.stdout + done.stderr
    done = run("batch", path, "--out", copy_of_starter / "out", "--prices", copy_of_starter)
    assert done.returncode == 2
    assert "\x1b" not in done.stdout + done.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="no such file name there")
def test_names_of_files_and_arguments_are_only_shown(copy_of_starter: Path, tmp_path: Path) -> None:
    folder = tmp_path / "a\x1b[2J"
    copy_of_starter.rename(folder)
    path = write_csv(tmp_path / "e\x1b[2J.csv", [_ROW])
    out = tmp_path / "o\x1b[2J"
    (out / "quotes").mkdir(parents=True)
    (out / "quotes" / "l\x1b[2J.html").write_text("left over")
    for arguments, status in {
        ("check", "--prices", folder): 0,
        ("check", "--prices", tmp_path / "n\x1b[2J"): 1,
        ("check", "\x1b[2J"): 1,
        ("check", "--prices", folder, "\x1b[2J"): 2,
        ("\x1b[2J",): 2,
        ("batch", path, "--out", out, "--prices", folder, "--date", DATE): 0,
        ("batch", path, "--out", path, "--date", DATE): 2,
        ("batch", path, "--out", out, "--jobs", "\x1b[2J"): 2,
        ("starter", folder): 2,
        ("starter", tmp_path / "s\x1b[2J"): 0,
        ("open", "\x1b[2J"): 2,
    }.items():
        done = run(*arguments)
        assert done.returncode == status, (arguments, done.stderr)
        assert "[2J" in done.stdout + done.stderr
        assert "\x1b" not in done.stdout + done.stderr, arguments
    assert json.loads((out / "records" / "A-1.json").read_text("utf-8"))["customer"] == "Somebody"


def test_a_last_line_without_an_end_is_told(tmp_path: Path) -> None:
    """What was cut off there may be a figure, or what a person has said yes to."""
    prices = small_list.write(tmp_path / "prices")
    asked = tmp_path / "asked.csv"
    for end, told in (("\n", []), ("", ["The last line of asked.csv has no end: see that nothing "
                                        "of it is missing."])):  # fmt: skip
        asked.write_text(f"enquiry_id,customer,usable_tb\nA,X,4{end}", "utf-8")
        assert run_batch(asked, tmp_path / f"out{len(end)}", prices=prices).notices == told

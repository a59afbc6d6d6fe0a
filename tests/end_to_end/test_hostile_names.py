"""Names are data: whatever a customer is called, it comes through harmless and readable."""

import json
import re
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli

from .page_text import Page, squeezed
from .running import DATE, Batch, all_files, write_csv

CUSTOMERS = {
    "script": "<script>alert(1)</script>",
    "image": '<img src=x onerror="alert(2)">',
    "end_of_title": "</title></style><script>alert(3)</script><!--",
    "path": "../../etc/passwd",
    "formula": '=HYPERLINK("x")',
    "at": "@SUM(1+1)*cmd|' /C calc'!A0",
    "minus": "-1+1",
    "quotation_marks": "\"quotes\" and 'apostrophes'",
    "umlauts": "Müller & Söhne",
    "arabic": "قاعة دفاتر اللؤلؤ",
    "hebrew": "ארכיון המגדלור",
    "long": "Long Name Brothers & Sons " * 11 + "and so on to 300",
    "long_word": "W" * 300,
    "jinja": "{{ 7*7 }}",
    "jinja_block": "{% include 'style.css' %}",
    "braces": "{curly} {0} {record.internal.cost}",
    "percent": "%s %d %(name)s 100 %",
    "new_line": "Two\nLines",
    "backslashes": "C:\\new\\table \\u0041 \\N{BULLET}",
    "python": '"""); import os; print("""',
    "right_to_left_override": "Reversed \u202egnp.exe",
    "entity": "&lt;b&gt; &amp; &#65;",
    "control": "Bell \x07 and \x1b[31mred",
    "astral": "𝔊𝔬𝔱𝔥𝔦𝔠 🦭",
}

IDS = [
    "../x",
    "..",
    ".hidden",
    "CON",
    "con.txt",
    "a/b",
    "a\\b",
    "a:b",
    "a b",
    "A1",
    "a1",
    "\u200b",  # looks empty: a space of no width
    "\u3164",
    "x" * 299 + "1",
    "x" * 299 + "2",
    "=1+1",
    "+1",
    "-rf",
    "@id",
    "🦭",
    "é",
    "e\u0301",  # the same letter, written as two characters
    "$(id);`id`",
    "<b>id</b>",
    "%2e%2e",
    "\x1b[31mred",
    "summary.csv",
    "ends.",
]
PLAIN = "plain-1"
# Each id with a customer; more than once for some, so that all ids have one.
GIVEN = {PLAIN: "Somebody", **dict(zip(IDS, cycle(CUSTOMERS.values()), strict=False))}
WANTS = {
    "chassis": "CHS-1U-4L", "controller": "CTL-BOARD-6", "drive": "DRV-HDD-4T-SATA",
    "members": "2", "level": "1",
}  # fmt: skip


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a folder, empty but for what these tests write."""
    return tmp_path_factory.mktemp("names")


@pytest.fixture(scope="module")
def batch(here: Path) -> Batch:
    """Quote for every name and every id, deep inside the folder."""
    rows = [
        {"enquiry_id": name, "customer": customer, "note": customer, **WANTS}
        for name, customer in GIVEN.items()
    ]
    path = write_csv(here / "enquiries.csv", rows)
    out = here / "one" / "two" / "out"
    status = cli.main(["batch", str(path), "--out", str(out), "--date", DATE])
    return Batch(out, status, "", "")


@pytest.fixture(scope="module")
def read(batch: Batch) -> dict[str, Page]:
    """Parse every page once, by its path in the folder."""
    paths = [path for kind in ("quotes", "bench") for path in (batch.folder / kind).glob("*.html")]
    return {path.relative_to(batch.folder).as_posix(): Page.read(path) for path in paths}


def test_every_one_of_them_is_quoted(batch: Batch) -> None:
    assert batch.status == 0
    assert [r["enquiry_id"] for r in batch.rows() if r["outcome"] != "quoted"] == []
    assert len(batch.offers()) == len(batch.annexes()) == len(batch.records()) == len(GIVEN)
    assert set(GIVEN.values()) >= set(CUSTOMERS.values())


def test_nothing_is_written_outside_the_folder(batch: Batch, here: Path) -> None:
    inside = batch.folder.relative_to(here).as_posix()
    outside = [name for name in all_files(here) if not name.startswith(f"{inside}/")]
    assert outside == ["enquiries.csv"]
    folders = {name.rpartition("/")[0] for name in all_files(batch.folder)}
    assert folders == {"", "quotes", "bench", "records"}


def test_file_names_are_safe_everywhere_and_do_not_collide(batch: Batch) -> None:
    for column in ("quote_file", "bench_file", "record_file"):
        names = [row[column].rpartition("/")[2] for row in batch.rows()]
        assert len({name.casefold() for name in names}) == len(names)
        for name in names:
            assert re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,90}\.(html|json)", name), name
            stem = name.split(".")[0].casefold()
            assert not re.fullmatch(r"con|prn|aux|nul|(com|lpt)\d", stem), name


def test_ids_that_are_safe_keep_their_name(batch: Batch) -> None:
    files = {row["enquiry_id"]: row["quote_file"] for row in batch.rows()}
    assert files["A1"] == "quotes/A1.html"
    assert files[PLAIN] == f"quotes/{PLAIN}.html"


def test_names_come_back_from_the_records(batch: Batch) -> None:
    read = {name: record["customer"] for name, record in batch.records().items()}
    assert read == GIVEN


def test_names_can_be_read_in_the_pages(batch: Batch, read: dict[str, Page]) -> None:
    for row in batch.rows():
        record = json.loads((batch.folder / row["record_file"]).read_text("utf-8"))
        page = read[row["quote_file"]]
        name = squeezed(record["customer"])
        assert page.within("customer") == f"For {name}"
        number = f"Q-20261125-{record['enquiry_id']}"
        assert page.within("title") == squeezed(f"Offer {number} for {name}")
        assert squeezed(number) in page.within("what")
        annex = read[row["quote_file"].replace(".html", "-annex.html")]
        assert annex.within("customer") == f"Technical annex for {name}"
        assert annex.within("title") == squeezed(f"Annex {number} for {name}")
        assert squeezed(number) in annex.within("reference")


def test_names_add_no_element_to_a_page(batch: Batch, read: dict[str, Page]) -> None:
    for kind, end in (("quotes", ""), ("quotes", "-annex"), ("bench", "")):
        plain = read[f"{kind}/{PLAIN}{end}.html"]
        paths = [path for path in read if path.startswith(f"{kind}/")]
        paths = [path for path in paths if path.endswith("-annex.html") == bool(end)]
        assert len(paths) == len(batch.rows())
        for path in paths:
            assert read[path].tags == plain.tags, path


def test_ids_can_be_read_in_the_summary(batch: Batch) -> None:
    read = [row["enquiry_id"] for row in batch.rows()]
    assert [name.removeprefix("'") for name in read] == list(GIVEN)


def test_no_cell_of_the_summary_starts_a_formula(batch: Batch) -> None:
    number = re.compile(r"[+-]?\d+(\.\d+)?")
    cells = [cell for row in batch.rows() for cell in row.values()]
    bad = [c for c in cells if c[:1] in "=+-@\t\r" and c and not number.fullmatch(c)]
    assert bad == []
    # "+1" is an id, and a spreadsheet would make a number of it.
    assert "'+1" in cells and "'=1+1" in cells


def test_no_control_character_reaches_the_terminal(
    here: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    row = {**WANTS, "enquiry_id": "\x1b[31m\u202ered", "customer": "x", "level": "\x1b[2J"}
    path = write_csv(tmp_path / "e.csv", [row])
    assert cli.main(["batch", str(path), "--out", str(tmp_path / "out"), "--date", DATE]) == 1
    told = capsys.readouterr()
    assert not re.search("[\x1b\u202e]", told.out + told.err)


def test_a_blank_id_or_name_is_refused_by_row(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [{"enquiry_id": " \u00a0", "customer": "x", **WANTS}]
    rows += [{"enquiry_id": "E2", "customer": " \t", **WANTS}]
    path = write_csv(tmp_path / "e.csv", rows)
    assert cli.main(["batch", str(path), "--out", str(tmp_path / "out"), "--date", DATE]) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "e.csv, row 2, enquiry_id: is blank" in told
    assert "e.csv, row 3, customer: is blank" in told
    assert list(all_files(tmp_path / "out")) == ["SELLER_ONLY.txt", "run.json", "summary.csv"]


@pytest.mark.browser
def test_nothing_of_a_name_runs_in_a_browser(browser: Any, batch: Batch) -> None:
    # Without the page's own policy, so that escaping alone must do.
    context = browser.new_context(bypass_csp=True)
    page = context.new_page()
    dialogs: list[str] = []

    def dismiss(dialog: Any) -> None:
        dialogs.append(dialog.message)
        dialog.dismiss()

    page.on("dialog", dismiss)
    page.on("pageerror", lambda error: dialogs.append(str(error)))
    look = """() => ({
      name: document.querySelector('.customer .name bdi').textContent,
      acting: [...document.querySelectorAll('*')].filter(e =>
        e.tagName === 'SCRIPT' || e.getAttributeNames().some(n => n.startsWith('on'))).length,
      apart: getComputedStyle(document.querySelector('.customer .name bdi')).unicodeBidi,
      wide: document.scrollingElement.scrollWidth - innerWidth})"""
    seen = set()
    for row, name in zip(batch.rows(), GIVEN.values(), strict=True):
        if name in seen:  # some customers ask more than once
            continue
        seen.add(name)
        page.goto((batch.folder / row["quote_file"]).as_uri())
        told = page.evaluate(look)
        assert squeezed(told["name"]) == squeezed(name)
        assert (told["acting"], told["apart"], told["wide"] <= 0) == (0, "isolate", True), name
    context.close()
    assert dialogs == []
    assert seen >= set(CUSTOMERS.values())

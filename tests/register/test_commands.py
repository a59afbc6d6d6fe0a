"""The register from a shell: what each command says, its exit status, and no traceback ever."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

from quotelib import cli
from quotelib.catalogue.price_list import PriceList, load_price_list
from quotelib.documents.quoting import read_record
from quotelib.errors import NotExported
from quotelib.register.book import Register
from quotelib.register.standing import Wanted
from tests.register.quotes import made

COMMANDS = ("given", "reopen", "became", "follow", "revise", "approve")


@pytest.fixture
def prices(copy_of_small: Path) -> PriceList:
    return load_price_list(copy_of_small)


@pytest.fixture
def where(tmp_path: Path, prices: PriceList) -> Path:
    """Make a register with a quote of each kind."""
    place = tmp_path / "register"
    low = made(prices, "LOW", discount_pct="15", customer="Thistle Baths")
    Register(place, make=True).give([made(prices, "A"), low], "Kim")
    return place


@pytest.fixture
def run(where: Path, copy_of_small: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run a command; give its status and what it said, in one line."""

    def command(*words: str | Path, priced: bool = False) -> tuple[int, str]:
        more = ["--prices", str(copy_of_small), "--date", "2026-11-30"] if priced else []
        status = cli.main([*map(str, words), "--register", str(where), *more])
        said = capsys.readouterr()
        assert "Traceback" not in said.out + said.err
        return status, " ".join((said.out + said.err).split())

    return command


@pytest.mark.parametrize("command", [*COMMANDS, "again"])
def test_each_has_help_with_an_example(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main([command, "--help"])
    said = capsys.readouterr().out
    assert ended.value.code == 0 and "--register WHERE" in said
    assert f"Example: quotelib {command} " in said


def test_given(run: Any) -> None:
    status, said = run("given")
    assert status == 0 and said.endswith("2 quotes in " + said.rpartition(" ")[2])
    assert "2026-0001 2026-11-28 open" in said and "2026-0002 2026-11-28 held" in said
    status, said = run("given", "--customer", "thistle")
    assert status == 0 and "2026-0002" in said and "2026-0001" not in said
    assert run("given", "--outcome", "ordered")[0] == 1
    assert run("given", "--from", "2026-11-29")[0] == 1
    assert run("given", "--to", "2026-11-28")[0] == 0
    status, said = run("given", "--from", "soon")
    assert status == 2 and "is not a date" in said
    status, said = run("given", "--outcome", "gone")
    assert status == 2 and "'gone'" not in said and "gone is none we know; use open" in said


def test_follow_and_became(run: Any) -> None:
    assert run("follow", "2026-0001", "2026-12-05", "--by", "Lou")[0] == 0
    assert run("given", "--due", "2026-12-04")[0] == 1
    assert run("given", "--due", "2026-12-05")[0] == 0
    assert "asked after" not in run("follow", "2026-0001", "never")[1]
    status, said = run("became", "2026-0001", "ordered", "--by", "Lou", "--note", "no. 4711")
    assert status == 0 and "ordered" in said
    _, said = run("given", "--number", "2026-0001")
    for words in ("follow-up 2026-12-05, by Lou", "outcome ordered (no. 4711), by Lou"):
        assert words in said
    status, said = run("became", "2026-0001", "ordered")
    assert status == 2 and "is ordered already" in said
    status, said = run("became", "2026-0009", "ordered")
    assert status == 2 and "is no number of a quote here" in said
    status, said = run("became", "2026-0002", "ordered")
    assert status == 2 and "quotelib approve 2026-0002 CODE --by NAME" in said
    status, said = run("follow", "2026-0001", "")
    assert status == 2 and "is not a date" in said


def test_exports_of_a_quote_that_was_given(run: Any, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("reopen", "2026-0001", "--out", out, "--xlsx", "--ubl")[0] == 0
    assert (out / "items/A.xlsx").read_bytes()[:2] == b"PK"
    assert b"2026-0001" in (out / "ubl/A.xml").read_bytes()
    # Another writing without them must not leave what may say otherwise.
    status, _ = run("revise", "2026-0001", "--out", out, "--ubl", priced=True)
    assert status == 0 and (out / "ubl/A.xml").is_file()
    assert not (out / "items/A.xlsx").exists()


def test_what_cannot_be_exported_is_told(
    run: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(record: object) -> bytes:
        raise NotExported("an amount has too many digits")

    monkeypatch.setattr("quotelib.documents.exports.xlsx.items", fails)
    status, said = run("reopen", "2026-0001", "--out", tmp_path / "out", "--xlsx")
    assert status == 2
    assert said.endswith("Cannot be exported: an amount has too many digits. No file was written.")
    assert not list((tmp_path / "out").rglob("*.html"))


def test_exports_need_a_folder(run: Any, where: Path) -> None:
    status, said = run("revise", "2026-0001", "--xlsx", "--ubl", priced=True)
    assert status == 2 and said.count("has nowhere to go; name a folder with --out") == 2
    assert [quote.revision for quote in Register(where).find(Wanted())] == [1, 1]


@pytest.mark.parametrize("command", ["again", "revise", "approve"])
def test_no_number_is_taken_where_nothing_can_print(
    command: str, run: Any, where: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QUOTELIB_CHROMIUM", str(tmp_path / "none"))
    more = ["margin_floor", "--by", "Kim"] if command == "approve" else []
    status, said = run(command, "2026-0002", *more, "--out", tmp_path / "o", "--pdf", priced=True)
    assert status == 2 and "needs chromium" in said
    found = Register(where).find(Wanted())
    assert [(quote.number, quote.revision) for quote in found] == [
        ("2026-0001", 1),
        ("2026-0002", 1),
    ]


def test_reopen(run: Any, where: Path, tmp_path: Path) -> None:
    out = tmp_path / "again"
    status, said = run("reopen", "2026-0001", "--out", out)
    assert status == 0 and "2026-0001 for Invented, as given:" in said
    text = (out / "records/A.json").read_text("utf-8")
    assert text == Register(where).revision("2026-0001").text
    assert (out / "quotes/A.html").is_file() and (out / "bench/A.html").is_file()
    assert run("reopen", "2026-0001", "--revision", "2", "--out", out)[0] == 2
    status, said = run("reopen", "2026-0001", "--revision", "0", "--out", out)
    assert status == 2 and "revisions are counted from 1" in said


def test_approve(run: Any, where: Path, tmp_path: Path) -> None:
    out = tmp_path / "approved"
    yes = ("approve", "2026-0002", "margin_floor", "--by", "Lou", "--note", "an old customer")
    status, said = run(*yes, "--out", out, priced=True)
    assert status == 0 and "2026-0002 rev. 2 for Thistle Baths: revised, quoted" in said
    assert read_record(out / "records/LOW.json").internal.approvals[0].note == "an old customer"
    assert Register(where).find()[1].given_by == "Lou"
    status, said = run(*yes, priced=True)
    assert status == 2 and "is not held for margin_floor; it needs no yes" in said
    assert run("became", "2026-0002", "ordered")[0] == 0


def asked(path: Path, **cells: str) -> Path:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, cells)
        writer.writeheader()
        writer.writerow(cells)
    return path


def test_revise(run: Any, where: Path, tmp_path: Path) -> None:
    cells = dict(Register(where).revision("2026-0001").record.rows[0].cells)
    enquiries, out = tmp_path / "now.csv", tmp_path / "revised"
    status, said = run("revise", "2026-0001", asked(enquiries, **cells), priced=True)
    assert status == 0 and "2026-0001 stays as it is: nothing is otherwise." in said
    assert run("revise", "2026-0001", priced=True)[1] == said.strip()
    more = asked(enquiries, **{**cells, "builds": "3"})
    status, said = run("revise", "2026-0001", more, "--by", "Lou", "--out", out, priced=True)
    assert status == 0 and "2026-0001 rev. 2 for Invented: revised, quoted" in said
    assert "How many alike: 3" in said
    record = read_record(out / "records/A.json")
    assert record.servers[0].builds == 3 and record.changes
    assert record.servers[0].parts[0].sku == "BOX-4"
    other = asked(enquiries, **{**cells, "enquiry_id": "B"})
    status, said = run("revise", "2026-0001", other, priced=True)
    assert status == 2 and "has no enquiry A of Invented, as 2026-0001 has; write what" in said
    status, said = run("revise", "2026-0001", tmp_path / "none.csv", priced=True)
    assert status == 2
    bad = asked(enquiries, **{**cells, "members": "many"})
    status, said = run("revise", "2026-0001", bad, priced=True)
    assert status == 2 and "members" in said
    run("became", "2026-0001", "declined")
    status, said = run("revise", "2026-0001", more, priced=True)
    assert status == 2 and "is declined, so it is not revised" in said
    assert Register(where).revision("2026-0001").revision == 2


def test_what_cannot_be_revised_so_stays(run: Any, where: Path, tmp_path: Path) -> None:
    cells = dict(Register(where).revision("2026-0001").record.rows[0].cells)
    enquiries = asked(tmp_path / "now.csv", **{**cells, "members": "", "usable_tb": "9000"})
    status, said = run("revise", "2026-0001", enquiries, priced=True)
    assert status == 1 and "2026-0001 stays as it is; it cannot be revised so:" in said
    assert Register(where).revision("2026-0001").revision == 1


def test_again(run: Any, where: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run("became", "2026-0001", "ordered")
    status, said = run("again", "2026-0001", "--out", out, "--by", "Lou", priced=True)
    assert status == 0 and "2026-0003, quoted, against 2026-0001 of 2026-11-28" in said
    record = read_record(out / "records/A-2.json")
    assert (record.enquiry_id, record.numbered) == ("A-2", "2026-0003")
    assert record.rows[0].cells["enquiry_id"] == "A-2"
    assert run("again", "2026-0001", "--out", out, priced=True)[0] == 0
    assert [one.enquiry_id for one in Register(where).find()] == ["A", "LOW", "A-2", "A-3"]
    status, said = run("again", "2026-0077", "--out", out, priced=True)
    assert status == 2 and "is no number of a quote here" in said


def test_without_a_register_the_place_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert cli.main(["given"]) == 2
    said = " ".join(capsys.readouterr().err.split())
    assert "register register" in said and "is not there; name another" in said
    assert list(tmp_path.iterdir()) == []

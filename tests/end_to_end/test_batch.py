"""The example enquiries, through the installed command."""

import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from quotelib import cli
from quotelib.promise.record import schema_json
from quotelib.resources import demo_enquiries, templates

from .running import (
    Batch,
    all_files,
    read_csv,
    run,
    write_csv,
)

# The contract's columns, written out so that a change of the program's own list is seen.
COLUMNS = (
    "enquiry_id,outcome,reason,currency,lines_total,discount,freight,net,tax_code,tax,gross,"
    "margin_pct,chassis,controller,drive,members,level,spans,spares,usable_bytes,usable_tb,"
    "usable_tib,read_iops,write_iops,read_mb_s,write_mb_s,rebuild_hours,loss_pct,watts,mass_kg,"
    "lead_days,quote_file,bench_file,record_file,server,array,action,ship_date"
)
LEVELS = {"none", "0", "1", "5", "6", "10", "50", "60"}
GOOD = {"usable_tb": "4", "chassis": "CHS-1U-4L", "drive": "DRV-HDD-4T-SATA", "survive": "1"}


def test_every_outcome_is_reached(demo: Batch) -> None:
    outcomes = {row["outcome"] for row in demo.rows()}
    assert outcomes == {"quoted", "held", "refused", "invalid"}


def test_every_level_is_reached(demo: Batch) -> None:
    assert {row["level"] for row in demo.rows() if row["quote_file"]} == LEVELS


def test_there_are_enough_examples(demo: Batch) -> None:
    assert len(demo.rows()) >= 24


def test_summary_has_exactly_the_columns_of_the_contract(demo: Batch) -> None:
    first = (demo.folder / "summary.csv").read_text("utf-8").splitlines()[0]
    assert first == COLUMNS


def test_summary_is_in_input_order(demo: Batch) -> None:
    given = [row["enquiry_id"] for row in read_csv(demo_enquiries())]
    assert [row["enquiry_id"] for row in demo.rows()] == given


def test_status_is_1_where_some_are_refused(demo: Batch) -> None:
    assert demo.status == 1, demo.stderr


def test_terminal_gets_outcomes_with_reasons_and_quiet_progress(demo: Batch) -> None:
    rows = demo.rows()
    assert f"{len(rows)} of {len(rows)} enquiries answered" in demo.stderr
    assert "\r" not in demo.stderr and "\x1b" not in demo.stdout + demo.stderr
    flat = " ".join(demo.stdout.split())
    for row in rows:
        assert f"{row['enquiry_id']} {row['outcome']}" in flat
    last = demo.stdout.splitlines()[-3]
    for outcome in ("quoted", "held", "refused", "invalid"):
        assert f"{sum(row['outcome'] == outcome for row in rows)} {outcome}" in last


def test_only_quoted_and_held_rows_have_files(demo: Batch) -> None:
    rows = demo.rows()
    for row in rows:
        name = row["enquiry_id"]
        files = [row[f"{kind}_file"] for kind in ("quote", "bench", "record")]
        if row["outcome"] in {"quoted", "held"}:
            assert files == [f"quotes/{name}.html", f"bench/{name}.html", f"records/{name}.json"]
        else:
            assert files == ["", "", ""] and row["reason"]
    named = {row[c] for row in rows for c in ("quote_file", "bench_file", "record_file") if row[c]}
    # A job file for the bench, beside the sheet, where the customer has said what may be erased.
    jobs = {f"bench/{name}.s1-a1.fio" for name in demo.records()} - {"bench/BSW-1011.s1-a1.fio"}
    annexes = {f"quotes/{name}-annex.html" for name in demo.records()}
    ours = {"summary.csv", "run.json", "SELLER_ONLY.txt"}
    assert set(all_files(demo.folder)) == {*named, *jobs, *annexes, *ours}


def test_summary_agrees_with_the_records(demo: Batch) -> None:
    records = demo.records()
    for row in (row for row in demo.rows() if row["record_file"]):
        record = records[row["enquiry_id"]]
        for column in ("lines_total", "discount", "freight", "net", "tax", "gross"):
            assert row[column] == record["totals"][column], (row["enquiry_id"], column)
        (array,) = record["servers"][0]["arrays"]
        assert row["usable_bytes"] == str(array["capacity"]["usable_bytes"])
        assert row["outcome"] == record["outcome"]


def test_status_is_0_where_all_are_answered(tmp_path: Path) -> None:
    rows = [{"enquiry_id": name, "customer": "Somebody", **GOOD} for name in ("E1", "E2")]
    done = run("batch", write_csv(tmp_path / "good.csv", rows), "--out", tmp_path / "out")
    assert (done.returncode, done.stderr.count("Traceback")) == (0, 0), done.stderr
    assert [r["outcome"] for r in read_csv(tmp_path / "out" / "summary.csv")] == ["quoted"] * 2


CANNOT_RUN = {
    "no_enquiries": (("nowhere.csv", "--out", "out"), "is missing"),
    "out_is_a_file": (("good.csv", "--out", "good.csv"), "good.csv: File exists"),
    "out_in_a_file": (("good.csv", "--out", "good.csv/out"), "Not a directory"),
    "no_prices": (("good.csv", "--out", "out", "--prices", "nowhere"), "does not exist"),
    "no_date": (("good.csv", "--out", "out", "--date", "2026-13-01"), "write it as YYYY-MM-DD"),
}


@pytest.mark.parametrize("case", CANNOT_RUN)
def test_status_is_2_with_words_where_it_cannot_run(
    case: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    write_csv(tmp_path / "good.csv", [{"enquiry_id": "E1", "customer": "Somebody", **GOOD}])
    monkeypatch.chdir(tmp_path)
    arguments, words = CANNOT_RUN[case]
    assert cli.main(["batch", *arguments]) == 2
    told = capsys.readouterr()
    assert words in " ".join(told.err.split())
    assert "Traceback" not in told.out + told.err
    assert list(all_files(tmp_path)) == ["good.csv"]


def test_the_command_itself_ends_with_2_and_words(tmp_path: Path) -> None:
    done = run("batch", "nowhere.csv", "--out", "out", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert "is missing" in done.stderr and "Traceback" not in done.stderr
    assert run("batch", "nowhere.csv", cwd=tmp_path).returncode == 2  # no --out


def test_a_terminal_that_knows_only_ascii_is_no_reason_to_stop(tmp_path: Path) -> None:
    rows = [{"enquiry_id": "Größe-قاعة", "customer": "Somebody", **GOOD, "survive": "9"}]
    path = write_csv(tmp_path / "e.csv", rows)
    done = run("batch", path, "--out", tmp_path / "out", env={"PYTHONIOENCODING": "ascii"})
    assert (done.returncode, done.stderr.count("Traceback")) == (1, 0), done.stderr
    assert "1 refused" in done.stdout


def schema() -> dict[str, Any]:
    shipped: dict[str, Any] = json.loads(
        (templates() / "quote_record.schema.json").read_text("utf-8")
    )
    return shipped


def test_shipped_schema_is_that_of_the_record() -> None:
    shipped = (templates() / "quote_record.schema.json").read_text("utf-8")
    assert shipped == schema_json(), "write it anew: quotelib.promise.record.schema_json()"


def test_every_record_follows_the_schema(demo: Batch) -> None:
    jsonschema.Draft202012Validator.check_schema(schema())
    validator = jsonschema.Draft202012Validator(schema())
    records = demo.records()
    assert len(records) == sum(bool(row["record_file"]) for row in demo.rows()) > 0
    for name, record in records.items():
        assert [error.message for error in validator.iter_errors(record)] == [], name


@pytest.mark.parametrize(
    "broken",
    [{"unheard_of": 1}, {"outcome": "refused"}, {"lead_days": "three"}, {"totals": {}}],
    ids=lambda broken: next(iter(broken)),
)
def test_schema_finds_a_broken_record(demo: Batch, broken: dict[str, Any]) -> None:
    record = next(iter(demo.records().values()))
    assert not jsonschema.Draft202012Validator(schema()).is_valid({**record, **broken})

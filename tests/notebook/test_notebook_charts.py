"""Is every chart of a notebook a sound Vega-Lite specification?

The judge is the schema that the makers of Vega-Lite publish; altair ships it.
"""

import json
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

from quotelib.documents.batch.run import run_batch
from quotelib.notebook import batch, explained


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    schema = files("altair.vegalite.v5.schema").joinpath("vega-lite-schema.json")
    return jsonschema.Draft7Validator(json.loads(schema.read_text("utf-8")))


def test_charts_and_summary_of_a_batch(tmp_path: Path, judge: jsonschema.Draft7Validator) -> None:
    enquiries = tmp_path / "enquiries.csv"
    pinned = "1,CHS-2U-8L,CTL-RB2-12G-CD,DRV-HDD-4T-SATA"
    header = "enquiry_id,customer,usable_tb,survive,chassis,controller,drive"
    enquiries.write_text(f"{header}\nA,Nobody,6,{pinned}\nB,Nobody,9e9,{pinned}\n")
    result = run_batch(enquiries, tmp_path / "out")
    judge.validate(batch.outcome_chart(result).spec)
    judge.validate(batch.margin_chart(result).spec)
    words = "Margins of 1 quote, 0 of them under the floor of 14 %"
    assert batch.margin_chart(result).words == words
    (quoted,) = [row for row in result.rows if row["outcome"] == "quoted"]
    text = repr(batch.summary_table(result))
    assert f"RAID {quoted['level']}, {quoted['members']} × {quoted['drive']}" in text
    assert all(row.get("reason", "") in text for row in result.rows)


def test_charts_that_explain_follow_the_schema(judge: jsonschema.Draft7Validator) -> None:
    lines = [1.0, 10.0, 100.0], [0.5, 5.0, 50.0], [2.0, 20.0, 200.0]
    judge.validate(explained.throughput_chart([1, 2, 4], *lines, 2.5).spec)
    rows = [("one", 1.0, 0.5, 2.0), ("other", 10.0, 5.0, 20.0)]
    beside = ("the other way", [1.1, 11.0])
    judge.validate(explained.range_chart(rows, "A title", "%", beside=beside).spec)


def test_figures_of_a_table_are_written_as_people_do() -> None:
    shown = repr(explained.table(("case", "a", "b"), ("one", 1234.5, "text"), ("two", 8, 1e-5)))
    assert shown == "case a b one 1,230 text two 8 1.00 × 10⁻⁵"

"""The form is made from the columns: what is added there stands on the page, by itself."""

from dataclasses import replace
from pathlib import Path

import pytest

from quotelib.build.findings import ABOUT, ADVICE, CODES
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.options import State
from quotelib.enquiry.column import Demand
from quotelib.enquiry.columns import COLUMNS, PINS
from quotelib.errors import Problem
from quotelib.facts import Reason
from quotelib.workbook import form
from quotelib.workbook.page import Workbook


def _form(price_list: PriceList) -> form.Form:
    return form.Form(price_list, lambda _: None, "here", "now")


def _options(made: form.Form, name: str) -> list[str]:
    return [item["value"] for item in made.fields[name].options]


def test_every_column_stands_in_one_place() -> None:
    placed = [name for names in form.groups().values() for name in names]
    assert sorted(placed) == sorted(COLUMNS)


def test_lists_offer_what_there_is(small: PriceList) -> None:
    made = _form(small)
    assert _options(made, "drive") == ["", *small.drives]
    assert _options(made, "chassis") == ["", *small.chassis]
    assert _options(made, "workload") == ["", "files"]
    assert _options(made, "currency") == ["", "GBP", "EUR", "JPY", "KWD"]
    assert _options(made, "tax_code") == ["", "S", "ODD"]
    assert _options(made, "accept") == list(ADVICE)
    labels = {item["value"]: item["label"] for item in made.fields["tax_code"].options}
    assert labels["ODD"] == "ODD: 8.875 %"
    chassis = {item["value"]: item["detail"] for item in made.fields["chassis"].options}
    assert chassis["BOX-12"] == "Server; 12 bays, 2 slots"


def test_help_names_the_years_of_the_terms(small: PriceList) -> None:
    assert small.terms.risk.years == 5
    assert _form(small).fields["max_loss_pct"].help == "At most, over 5 years"


def test_every_stop_is_told_beside_a_pin() -> None:
    stops = {code for code, severity in CODES.items() if severity == "stop"}
    assert set(ABOUT) == stops
    assert set(ABOUT.values()) <= {*PINS, "action", "options", "services"}


def test_a_demand_and_a_finding_are_told_beside_their_fields(small: PriceList) -> None:
    made = _form(small)
    made.refuse(
        [
            Reason(code="bays_full", what="there are 4 bays", change="use another chassis"),
            Reason(code="max_price", what="at most GBP 5 asked", change="nearest is GBP 9"),
        ]
    )
    assert made.fields["members"].error == "There are 4 bays; use another chassis."
    said = "At most GBP 5 asked: nothing gives that; see what comes nearest."
    assert made.fields["max_price"].error == said
    made.say([Problem("", None, "builds", "x" * 999, "is no number", "give one")])
    assert made.fields["members"].error == ""
    assert made.fields["builds"].error.startswith("'xxx")
    assert len(made.fields["builds"].error) < 120  # nobody reads a thousand letters
    assert made.fields["builds"].error.endswith("is no number; give one.")


def test_a_new_demand_needs_no_line_here(
    copy_of_small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One entry among the columns: it is asked for, judged, refused beside its field, copied."""
    drives = Demand(
        "build",
        "at most",
        lambda c, _: c.build.drives,
        lambda value, _: f"at most {value} drives in all",
        lambda c, _: f"{c.build.drives} drives",
    )
    column = replace(
        COLUMNS["cores"],
        name="max_drives",
        label="Most drives in all",
        help="Spares too",
        demand=drives,
    )
    monkeypatch.setitem(COLUMNS, "max_drives", column)
    workbook = Workbook(str(copy_of_small), folder=tmp_path)
    field = workbook.form.fields["max_drives"]
    assert (field.label, field.help) == ("Most drives in all", "Spares too")
    assert "max_drives" in form.groups()["need"]
    for name, text in {"usable_tb": "20", "survive": "1", "media": "hdd"}.items():
        workbook.form.fields[name].value = text
    before = workbook.results.record
    assert before is not None
    field.value = "4"
    record = workbook.results.record
    assert record is not None
    assert record.rows[0].cells["max_drives"] == "4"
    assert sum(array.layout.drives for array in record.servers[0].arrays) <= 4
    field.value = "2"
    assert workbook.results.record is None
    assert "at most 2 drives in all" in field.error.lower()
    assert workbook.blocks.copy.value.splitlines()[0].split(",")[-1] == "max_drives"


@pytest.mark.parametrize(
    ("left", "words"),
    [
        ({"2": "", "3": "", "4": ""}, "2 to 4"),
        ({"4": "", "6": "unmet", "7": "impossible", "8": ""}, "4, 6, 8"),
        ({"2": "", "3": "", "5": ""}, "2 to 3, 5"),
        ({"1": "impossible"}, "none"),
    ],
)
def test_counts(left: dict[str, State], words: str) -> None:
    assert form.counts({value: (state, "") for value, state in left.items()}) == words

"""Is each column described once: README, form and file say the same."""

import datetime as dt
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from quotelib import resources
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.columns import COLUMNS, PINS, readme_table
from quotelib.enquiry.reading import read_enquiries
from quotelib.promise.answer import answer

README = (resources.templates() / "README.md").read_text("utf-8")
EXAMPLES = re.findall(r"```csv\n(.*?)```", README, re.DOTALL)


def test_the_readme_has_the_table_of_the_columns() -> None:
    assert readme_table() in README


@pytest.mark.parametrize("of", ["quote", "server"])
def test_the_readme_says_which_columns_stand_on_first_rows(of: str) -> None:
    (line,) = [x for x in README.splitlines() if x.startswith("| the first row of") and of in x]
    names = [c.name for c in COLUMNS.values() if c.of == of and c.name != "enquiry_id"]
    assert sorted(re.findall(r"`(\w+)`", line)) == sorted(names)


@pytest.mark.parametrize(
    ("example", "servers", "arrays", "items"),
    [
        (0, [2, 1], [2, 1], []),
        (1, [1], [1], []),
        (2, [], [], ["parts", "lines"]),
    ],
)
def test_the_readmes_examples_are_quoted(
    starter: PriceList,
    tmp_path: Path,
    example: int,
    servers: list[int],
    arrays: list[int],
    items: list[str],
) -> None:
    assert len(EXAMPLES) == 3
    path = tmp_path / "enquiries.csv"
    path.write_text(EXAMPLES[example], "utf-8")
    (asked,) = read_enquiries(path, starter)
    assert asked.request is not None, [str(p) for row in asked.rows for p in row.problems]
    answered = answer(starter, asked.request, dt.date(2026, 3, 2), alternatives=False)
    assert answered.outcome == "quoted", answered.reason
    assert answered.record is not None
    assert [server.builds for server in answered.record.servers] == servers
    assert [len(server.arrays) for server in answered.record.servers] == arrays
    assert [item.kind for item in answered.record.items] == items


def test_example_enquiries_name_columns_in_their_order() -> None:
    header = resources.demo_enquiries().read_text("utf-8").splitlines()[0].split(",")
    assert header == [name for name in COLUMNS if name in header]


def test_every_column_says_what_to_write() -> None:
    for column in COLUMNS.values():
        assert column.label and column.write, column.name
        assert column.required or column.blank or column.name == "note", column.name
    assert set(PINS) <= set(COLUMNS)


ONE_ROW_MORE = """
import json
from quotelib.levels import LEVELS, Level

LEVELS["T0"] = Level("T0", 5, None, 1, 3, 1, True, "Each span has three drives' worth of parity.")
from quotelib.enquiry.columns import COLUMNS

print(json.dumps({name: [column.help, column.write] for name, column in COLUMNS.items()}))
"""


def test_a_level_more_is_named_wherever_levels_are_listed() -> None:
    done = subprocess.run(
        [sys.executable, "-c", ONE_ROW_MORE], capture_output=True, text=True, check=True
    )
    said = json.loads(done.stdout)
    changed = {name for name, c in COLUMNS.items() if said[name] != [c.help, c.write]}
    assert changed == {"level", "spans", "survive"}
    assert "T0" in said["level"][1]
    assert all("T0" in words for words in said["spans"])
    assert said["survive"][0].endswith("2 or 3")

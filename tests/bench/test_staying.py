"""Arrays that are there already on a bench sheet: found again, never made anew."""

import datetime as dt
import re

import pytest

from quotelib.bench.shown import BenchSheet
from quotelib.catalogue.price_list import PriceList
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer

BOX = {"enquiry_id": "E", "customer": "C", "chassis": "CHS-2U-12L"}
ARRAY = {"controller": "CTL-RB2-12G-CD", "drive": "DRV-HDD-8T-SAS", "level": "6"}
KEEP = {**BOX, **ARRAY, "members": "8", "owned": "chassis;drive", "action": "keep",
        "from_controller": "CTL-RU1-12G-CD"}  # fmt: skip
OWN = {**KEEP, "owned": "chassis;controller;drive"}
GROW = {**BOX, **ARRAY, "members": "8", "owned": "chassis;controller", "action": "grow",
        "have_drives": "4", "spares": "1"}  # fmt: skip
REPLACE = {**GROW, "drive": "DRV-HDD-16T-SATA", "action": "replace", "have_drives": "0",
           "spares": "", "from_drive": "DRV-HDD-8T-SATA"}  # fmt: skip
OPTIONS = {**BOX, "owned": "chassis", "options": "CPU-16C-150W*2"}
ERASED = {**BOX, **ARRAY, "members": "8", "owned": "chassis;drive", "accept": "erases_data"}
MAKES = re.compile(r"creat|initialis|eras|overwrit|\bmake the array|\bwritten\b", re.IGNORECASE)


def sheet(starter: PriceList, *rows: dict[str, str]) -> BenchSheet:
    """Give the sheet of the only server of an enquiry."""
    record = answer(starter, read_request(rows, starter), dt.date(2026, 3, 2)).record
    assert record is not None
    (server,) = record.servers
    return server.bench


def steps(made: BenchSheet) -> list[str]:
    """Write each step with its cautions."""
    return [
        " ".join([*(c.words for c in step.cautions), step.title, step.words]) for step in made.steps
    ]


def place(said: list[str], words: str) -> int:
    """Give the place of the only step with some words."""
    (at,) = [at for at, step in enumerate(said) if words in step]
    return at


@pytest.mark.parametrize("row", [KEEP, GROW, REPLACE], ids=["keep", "grow", "replace"])
def test_nothing_makes_or_clears_an_array(starter: PriceList, row: dict[str, str]) -> None:
    made = sheet(starter, row)
    allowed = "Nothing is written to these drives: no test load, no read-back."
    said = [step.replace(allowed, "") for step in steps(made)]
    said += [f"{fact.label} {fact.value}" for array in made.arrays for fact in array.settings]
    said += [f"{check.what} {check.must}" for array in made.arrays for check in array.checks]
    said += [f"{check.what} {check.must}" for check in made.checks]
    said += [wait.words for wait in made.waits]
    assert [words for words in said if MAKES.search(words)] == []
    assert {wait.what for wait in made.waits}.isdisjoint({"initialisation", "soak"})
    # The search finds what it looks for where an array is made.
    assert any(map(MAKES.search, steps(sheet(starter, ERASED))))


def test_a_kept_array_is_read_in_by_the_other_controller(starter: PriceList) -> None:
    said = steps(sheet(starter, KEEP))
    out, back = (
        place(said, "Take out the old CTL-RU1-12G-CD"),
        place(said, "Push the customer's drives"),
    )
    read_in = place(said, "Have CTL-RB2-12G-CD read in the array")
    assert out < place(said, "Seat CTL-RB2-12G-CD in slot") < back < read_in
    assert read_in < place(said, "Find the array again") < place(said, "Check the data")
    assert "None changes its place" in said[back]
    assert "change nothing, shut down, ask" in said[read_in]
    assert place(said, "Export the settings it has") < place(said, "Shut the customer's server")


def test_a_controller_of_the_customers_that_takes_an_array_over_is_fitted(
    starter: PriceList,
) -> None:
    made = sheet(starter, OWN)
    assert [line.sku for line in made.pick if line.owned and line.role == "controller"] == [
        "CTL-RB2-12G-CD"
    ]
    said = steps(made)
    out, seated = (
        place(said, "Take out the old CTL-RU1-12G-CD"),
        place(said, "Seat CTL-RB2-12G-CD in slot"),
    )
    assert out < place(said, "Remove the blank of slot") < seated
    assert seated < place(said, "Connect CTL-RB2-12G-CD to the backplane")
    assert place(said, "so that held writes reach the drives") < out
    assert "answer nothing yet" in said[place(said, "Connect the supply and start")]
    assert place(said, "Have CTL-RB2-12G-CD read in the array") > seated
    assert "the old CTL-RU1-12G-CD" in said[place(said, "Pack the chassis")]
    # What it ran before is not cleared with the customer's drives in.
    (own,) = [words for words in made.data_first if words.startswith("CTL-RB2-12G-CD")]
    assert "Ask before clearing any, and never with these drives in it" in own
    (cache,) = [fact.value for fact in made.arrays[0].settings if fact.label == "Write cache"]
    assert "as it is" not in cache
    # Where it made the array itself, nothing is fitted.
    same = steps(sheet(starter, {**OWN, "from_controller": ""}))
    assert not [step for step in same if "Seat CTL" in step or "Take out the old" in step]


def test_an_old_controller_of_which_nobody_knows_is_taken_out_too(starter: PriceList) -> None:
    said = steps(sheet(starter, {**KEEP, "from_controller": "", "accept": "controller_unknown"}))
    assert place(said, "Take out the controller that ran the array") < place(said, "Seat CTL-RB2")
    assert "with what was taken out" in said[place(said, "Pack the chassis")]


@pytest.mark.parametrize(
    ("row", "tested"),
    [
        (KEEP, ""),
        (GROW, "Those in bays 5 to 8, 12."),
        (REPLACE, "In another machine the 8 new drives DRV-HDD-16T-SATA."),
    ],
    ids=["keep", "grow", "replace"],
)
def test_no_drive_that_holds_data_is_tested_before_its_array_is_found(
    starter: PriceList, row: dict[str, str], tested: str
) -> None:
    made = sheet(starter, row)
    runs = [step for step in steps(made) if "self-test" in step]
    hours = [wait.hours for wait in made.waits if wait.what == "self_test"]
    checks = [check.what for check in made.arrays[0].checks if "Self-test" in check.what]
    assert checks == (["Self-test of the new drives"] if tested else [])
    if not tested:
        assert runs == hours == []
        assert made.time_words.endswith("Unattended: none.")
        return
    (run,) = runs
    assert tested in run and "On no drive whose data stays" in run
    drive = starter.drives[row["drive"]]
    # Decimal gigabytes at the rated rate; the whole blocks differ by less than a thousandth.
    assert hours == pytest.approx(
        [float(drive.capacity_gb) * 1e9 / (drive.read_mb_s * 1e6) / 3600], rel=1e-3
    )
    said = made.time_words
    idle = "Self-test: estimated for an idle machine, each drive read once; at most twice that"
    assert idle in said and "initialisation" not in said and "written once" not in said
    at_work = "Growing" if row is GROW else "where each takes longer)"
    assert f"{at_work}: estimated for an array that works meanwhile." in said


@pytest.mark.parametrize("row", [KEEP, GROW, REPLACE], ids=["keep", "grow", "replace"])
def test_no_soak_is_spoken_of_where_there_is_none(starter: PriceList, row: dict[str, str]) -> None:
    assert not [step for step in steps(sheet(starter, row)) if "soak" in step]
    assert [step for step in steps(sheet(starter, ERASED)) if "before the soak" in step]


def test_an_array_grows_only_by_the_new_drives(starter: PriceList) -> None:
    made = sheet(starter, GROW)
    said = steps(made)
    assert "bays 1 to 4" in said[place(said, "Push the customer's drives back")]
    assert "bays 5 to 8, 12" in said[place(said, "Push in the new drives")]
    found, confirmed = place(said, "Find the array again"), place(said, "Confirm the backup")
    grown, wait = place(said, "Grow the array"), place(said, "Wait until it has grown")
    assert found < confirmed < grown < wait < place(said, "Assign the hot spare")
    assert "4 members in bays 1 to 4" in said[found]
    assert "Only bays 5 to 8" in said[grown]
    assert "from 4 to 8 members" in said[grown]
    (growth,) = [one for one in made.waits if one.what == "growth"]
    assert growth.words.removeprefix("about ") in said[wait]
    # Nothing of the customer's own controller is taken apart.
    assert not [step for step in said if "riser" in step or "Seat CTL" in step]
    assert [line.quantity for line in made.pick if line.sku == "DRV-HDD-8T-SAS"] == [4, 5]


def test_drives_are_replaced_one_at_a_time(starter: PriceList) -> None:
    made = sheet(starter, REPLACE)
    said = steps(made)
    (one,) = [step for step in said if "Replace one drive after the other" in step]
    assert "One at a time" in one
    assert "Bays 1 to 8, in this order" in one
    assert "12 drives" not in one
    checks = [check.what for array in made.arrays for check in array.checks]
    assert [what for what in checks if what.startswith("Bay ")] == [f"Bay {n}" for n in range(1, 9)]
    assert "8 drives DRV-HDD-8T-SATA" in said[place(said, "Compare what the controller sees")]
    assert made.returned is not None


def test_drives_of_a_server_without_an_array_stay_out(starter: PriceList) -> None:
    made = sheet(starter, OPTIONS)
    said = steps(made)
    assert "packed apart" in said[place(said, "Take out the drives that are in it")]
    assert "the customer's drives out" in said[place(said, "Go through the acceptance table")]
    assert not any(map(MAKES.search, said))


def test_a_new_array_beside_one_that_stays_is_the_only_one_written_to(starter: PriceList) -> None:
    old = {**KEEP, "controller": "CTL-RB2-12G-CD", "owned": "chassis;controller;drive",
           "from_controller": "", "members": "6", "server": "one", "array": "old"}  # fmt: skip
    new = {**ARRAY, "enquiry_id": "E", "members": "4", "server": "one", "array": "new"}
    made = sheet(starter, old, new)
    said = steps(made)
    assert "bays 7 to 10" in said[place(said, "Create array new")]
    assert "Those in bays 7 to 10." in said[place(said, "Run the extended self-test")]
    assert "Test data on array new alone" in said[place(said, "Go through the acceptance table")]
    assert "bays 1 to 6" in said[place(said, "Push the customer's drives back of array old")]
    (of_old, of_new) = made.arrays
    assert not any("Read-back" in check.what for check in of_old.checks)
    assert any("Read-back" in check.what for check in of_new.checks)


def test_nothing_settled_ends_before_anything_is_written(starter: PriceList) -> None:
    said = steps(sheet(starter, {**ERASED, "accept": ""}))
    assert "Stop and ask" in said[place(said, "Stop and ask")]
    assert not any(re.search("Create|Initialise|Assign", step) for step in said)

"""Job files for the bench: what they ask for, what they may write to, and what they never do."""

import configparser
import re

import pytest

from quotelib.documents.quoting import quote
from quotelib.measured.jobs import ArrayTrial, command, job_file, trials
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import sheet_of
from tests.ten_builds import ALL

from . import outputs

WRITES = {"write", "randwrite", "rw", "readwrite", "randrw", "trim", "randtrim", "trimwrite"}


def files(record: QuoteRecord) -> list[tuple[ArrayTrial, str]]:
    return [(of, job_file(record, of)) for of in trials(record) if of.jobs]


def jobs(text: str) -> dict[str, dict[str, str]]:
    """Read a job file as an ini file: no other than fio's own reading, but one that is not ours."""
    read = configparser.ConfigParser(interpolation=None, comment_prefixes="#", delimiters="=")
    read.read_string(text)
    return {name: dict(read[name]) for name in read.sections()}


def test_a_new_array_is_measured_as_the_workload_has_it() -> None:
    ((of, text),) = files(outputs.record())
    found = jobs(text)
    shared = found.pop("global")
    assert of.place == "s1-a1" and list(found) == [
        f"quotelib-s1-a1-{key}"
        for key in (
            "write_mb_s",
            "read_mb_s",
            "lone_read_ms",
            "read_iops",
            "write_ms",
            "write_iops",
            "host_iops",
        )
    ]
    # The starter list's database: 67 % reads, all random, 8 KiB, 32 outstanding.
    assert found["quotelib-s1-a1-host_iops"] == {
        "rw": "randrw", "rwmixread": "67", "bs": "8192", "iodepth": "32",
    }  # fmt: skip
    assert found["quotelib-s1-a1-read_iops"] == {"rw": "randread", "bs": "8192", "iodepth": "32"}
    assert found["quotelib-s1-a1-lone_read_ms"] == {"rw": "randread", "bs": "8192", "iodepth": "1"}
    assert found["quotelib-s1-a1-write_ms"] == {"rw": "randwrite", "bs": "8192", "iodepth": "1"}
    assert found["quotelib-s1-a1-write_mb_s"]["rw"] == "write"
    assert shared["filename"] == "${DEVICE}" and shared["direct"] == "1"
    assert shared["allow_file_create"] == shared["allow_mounted_write"] == "0"
    assert int(shared["runtime"]) >= 60 and shared["time_based"] == "1"
    assert "THIS ERASES EVERYTHING" in text and "serial number" in text
    assert "--readonly" not in text


@pytest.mark.parametrize("action", outputs.STAYING)
def test_what_stays_is_only_read(action: str) -> None:
    ((of, text),) = files(outputs.rows(outputs.STAYING[action]))
    found = jobs(text)
    assert {one["rw"] for one in found.values() if "rw" in one} == {"read", "randread"}
    assert "--readonly" in command(of) and "--readonly" in text and "ERASES" not in text


def test_a_new_array_beside_one_that_stays_has_a_file_of_its_own() -> None:
    found = {of.place: (of, text) for of, text in files(outputs.rows(outputs.OLD, outputs.NEW))}
    kinds = {place: {j["rw"] for j in jobs(text).values() if "rw" in j} for place, (_, text) in
             found.items()}  # fmt: skip
    assert not kinds["s1-a1"] & WRITES and kinds["s1-a2"] & WRITES
    assert "--readonly" in command(found["s1-a1"][0])
    assert "--readonly" not in command(found["s1-a2"][0])
    assert "array old" in found["s1-a1"][1] and "array new" in found["s1-a2"][1]


def test_nothing_is_measured_before_somebody_said_that_it_may_be_erased() -> None:
    held = outputs.rows({**outputs.ERASED, "accept": ""})
    assert held.draft and files(held) == []
    ((_, text),) = files(outputs.rows(outputs.ERASED))
    assert "THIS ERASES EVERYTHING" in text


def test_a_held_quote_says_that_nothing_of_it_is_built_yet() -> None:
    held = quote({"enquiry_id": "H", "customer": "Invented", **ALL["passed through"], "accept": ""})
    assert held.draft and all("DRAFT" in text for _, text in files(held))
    fine = outputs.record(accept="wide_group")
    assert not fine.draft and "DRAFT" not in files(fine)[0][1]


@pytest.mark.parametrize("workload", ["virtual_machines", "office_files", "sound_archive"])
def test_what_is_not_all_random_is_in_as_many_streams_as_are_outstanding(workload: str) -> None:
    ((of, text),) = files(outputs.record(workload=workload))
    found, load = jobs(text)["quotelib-s1-a1-host_iops"], of.array.outlook.load
    assert (found["numjobs"], found["iodepth"]) == (str(load.outstanding), "1")
    assert found["percentage_random"] == str(load.random_pct)


def test_mostly_sequential_operations_are_streams_of_their_own() -> None:
    ((of, text),) = files(outputs.record(workload="video_edit"))
    # 75 % reads, 10 % random, 512 KiB, 6 outstanding.
    found = jobs(text)["quotelib-s1-a1-host_iops"]
    assert (found["rw"], found["percentage_random"], found["rwmixread"]) == ("randrw", "10", "75")
    assert (found["numjobs"], found["iodepth"], found["bs"]) == ("6", "1", "524288")
    each = int(found["offset_increment"])
    assert found["size"] == found["offset_increment"] and each % 524288 == 0
    usable = of.array.capacity.usable_bytes
    assert usable - 6 * 2**20 < 6 * each <= usable


def test_drives_passed_through_are_all_measured_together() -> None:
    ((of, text),) = files(outputs.record("passed through"))
    shared = jobs(text)["global"]
    assert shared["file_service_type"] == "random"
    assert "its 10 drives with colons between, of 8.00 TB" in text
    assert of.array.layout.members == 10


def test_what_was_typed_never_becomes_an_option() -> None:
    name = "Q\nexec_prerun=touch /tmp/x\n[x]\u2028" + "n" * 250
    text = files(quote({**outputs.NEW, "enquiry_id": name, "customer": "C\n[y]"}))[0][1]
    head = text[: text.index("[global]")]
    assert "exec_prerun" in head and set(jobs(text)) == {
        "global", *(s for s in jobs(text) if s.startswith("quotelib-s1-a1-")),
    }  # fmt: skip
    # Of a comment of 9,000 characters fio 3.33 takes the end for an option.
    assert all(re.fullmatch(r"#.{0,400}|", line) for line in head.splitlines())


@pytest.mark.parametrize("name", ALL)
def test_the_sheet_shows_how_each_array_is_measured(name: str) -> None:
    made = quote({"enquiry_id": "S", "customer": "Invented", **ALL[name]}, date=outputs.DATE)
    page = sheet_of(made)
    ((of, _),) = files(made)
    assert command(of) in page
    assert "All on DEVICE is lost" in page
    ((_, bench),) = [(s.name, s.bench) for s in made.servers]
    (step,) = [one for one in bench.steps if "then the speed by the job file" in one.words]
    data = [caution.words for caution in step.cautions if caution.hazard == "data"]
    assert data == ["Test data overwrites all: read size and serial number back."]
    done = [one.number for one in bench.steps if one.title.startswith(("Initialise", "Pass"))]
    assert done and max(done) < step.number


@pytest.mark.parametrize("action", outputs.STAYING)
def test_the_sheet_of_what_stays_shows_reads_only(action: str) -> None:
    page = sheet_of(outputs.rows(outputs.STAYING[action]))
    assert "All on DEVICE is lost" not in page and "Only read it, with the data on it" in page
    assert "fio --readonly " in page


def test_a_block_that_no_device_takes_is_not_measured() -> None:
    made = outputs.record()
    (server,) = made.servers
    (array,) = server.arrays
    load = array.outlook.load.model_copy(update={"block_kib": array.outlook.load.block_kib / 1000})
    outlook = array.outlook.model_copy(update={"load": load})
    array = array.model_copy(update={"outlook": outlook})
    odd = made.model_copy(update={"servers": (server.model_copy(update={"arrays": (array,)}),)})
    ((of, _),) = files(odd)
    assert [job.key for job in of.jobs] == ["write_mb_s", "read_mb_s"]

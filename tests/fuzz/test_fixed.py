"""A fixed part of what ``python -m tests.fuzz`` tries, and everything that once broke.

``corpus/KIND-NAME/`` holds the files of one input each. The command tries tens of thousands more.
"""

from pathlib import Path

import pytest

from tests.fuzz.cuts import every_cut
from tests.fuzz.seeds import seeds
from tests.fuzz.trying import KINDS, Broken, Found, mutant, run, try_many

CORPUS = sorted(Path(__file__).with_name("corpus").iterdir())


@pytest.mark.parametrize("kind", KINDS)
def test_mutants(kind: str, tmp_path: Path) -> None:
    found = Found()
    # From 1 on: a page is rendered for every fortieth, and each takes a tenth of a second.
    try_many(kind, range(1, 61), tmp_path, found)
    assert found.faults == []
    assert sum(found.ends.values()) == 60
    assert len(found.ends) > 1, "every mutant ends alike: they break nothing, or everything"


@pytest.mark.parametrize("folder", CORPUS, ids=lambda folder: folder.name)
def test_what_once_broke(folder: Path, tmp_path: Path) -> None:
    kind = folder.name.partition("-")[0]
    files = dict(seeds().prices) if kind == "prices" else {}
    files |= {path.name: path.read_bytes() for path in folder.iterdir()}
    assert run(kind, files, tmp_path / "it")


@pytest.mark.parametrize("kind", KINDS)
def test_a_mutant_can_be_made_again(kind: str) -> None:
    assert [mutant(kind, n) for n in range(40)] == [mutant(kind, n) for n in range(40)]
    assert len({str(mutant(kind, n)) for n in range(40)}) > 36


def test_every_cut_of_a_starter_file_is_told_or_without_effect(tmp_path: Path) -> None:
    cuts, told, unnoticed = every_cut(tmp_path, step=61)
    assert unnoticed == []
    assert told > 0.9 * cuts > 500


def _one() -> int:
    return 1


@pytest.mark.parametrize(
    ("what", "does"),
    [
        ("a fault", lambda given, out, number: [][1]),
        ("a hang", lambda given, out, number: any(n == 0 for n in iter(_one, 0))),
        ("a file elsewhere", lambda given, out, number: (given / "more").write_text("x")),
        ("a hidden rest", lambda given, out, number: (out.mkdir(), (out / ".part-1").touch())),
    ],
)
def test_what_must_not_be_is_found(what, does, tmp_path, monkeypatch) -> None:
    from tests.fuzz import trying

    monkeypatch.setattr(trying, "SECONDS", 1)
    monkeypatch.setitem(trying._DOES, "record", does)
    with pytest.raises((Broken, trying.Endless)):
        run("record", {"record.json": b"{}"}, tmp_path / "it")


def test_a_summary_that_cannot_be_read_is_found(tmp_path: Path) -> None:
    from tests.fuzz.trying import _readable

    summary = tmp_path / "summary.csv"
    summary.write_text("enquiry_id,outcome\nA,quoted\n", "utf-8")
    _readable(summary, 1)
    for text in (
        "enquiry_id,outcome\nA,quoted,x\n",
        'enquiry_id,outcome\n"A\n',
        "enquiry_id\nA\rB\n",
    ):
        summary.write_bytes(text.encode())
        with pytest.raises(Exception):  # noqa: B017 - whichever of the two readers it is
            _readable(summary, 1)

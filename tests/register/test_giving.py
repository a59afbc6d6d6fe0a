"""Quotes are given: numbers without a gap, revisions that stay, and nothing given twice."""

from __future__ import annotations

import datetime as dt
import threading
from typing import Any

import pytest
import sqlalchemy as sa

from quotelib.errors import InputError
from quotelib.register import giving
from quotelib.register.book import Register
from quotelib.register.standing import Wanted

from .quotes import DATE


def told(given: Any) -> tuple[str, str, int]:
    return given.news, given.number, given.revision


def test_numbers_count_from_one_in_each_year(register: Register, record: Any) -> None:
    first = register.give([record("A"), record("B")], "Kim")
    later = register.give([record("C", date=dt.date(2027, 1, 4)), record("D")], "Kim")
    assert [told(one) for one in (*first, *later)] == [
        ("new", "2026-0001", 1), ("new", "2026-0002", 1),
        ("new", "2027-0001", 1), ("new", "2026-0003", 1),
    ]  # fmt: skip
    assert [one.number for one in register.find()][-1] == "2027-0001"
    assert first[0].record.quote_number == "2026-0001"


def test_what_is_read_again_is_what_was_given(register: Register, record: Any) -> None:
    (given,) = register.give([record("A")], "Kim")
    found = register.revision("2026-0001")
    assert (found.text, found.record) == (given.text, given.record)
    assert found.text == found.record.to_json()
    expected = record("A").model_copy(update={"quote_number": "2026-0001"})
    assert found.record == expected
    standing = found.standing
    assert (standing.net, standing.margin_pct) == (
        expected.totals.net, expected.internal.margin_pct,
    )  # fmt: skip
    assert standing.given_by == "Kim"
    assert abs(standing.moment - dt.datetime.now(dt.UTC)) < dt.timedelta(minutes=5)


def test_the_same_answer_is_not_given_again(register: Register, record: Any) -> None:
    register.give([record("A")], "Kim")
    later = DATE + dt.timedelta(days=14)
    (again,) = register.give([record("A", date=later)], "Lou")
    assert told(again) == ("as it was", "2026-0001", 1)
    # It is the one that the customer has.
    assert again.record.date == DATE
    assert [event.done_by for event in register.history("2026-0001")] == ["Kim"]


def test_another_answer_is_a_revision_and_the_first_stays(register: Register, record: Any) -> None:
    (first,) = register.give([record("A")], "Kim")
    (second,) = register.give([record("A", builds="2")], "Lou")
    assert told(second) == ("revised", "2026-0001", 2)
    assert second.record.numbered == "2026-0001 rev. 2"
    assert register.revision("2026-0001", 1).text == first.text
    assert register.revision("2026-0001").text == second.text
    # What was asked first again is another change.
    assert told(register.give([record("A")], "Kim")[0]) == ("revised", "2026-0001", 3)


def test_one_that_is_no_longer_valid_is_given_anew(register: Register, record: Any) -> None:
    (first,) = register.give([record("A")], "Kim")
    last_day = first.record.valid_until
    assert told(register.give([record("A", date=last_day)], "Kim")[0])[0] == "as it was"
    later = register.give([record("A", date=last_day + dt.timedelta(days=1))], "Kim")
    assert told(later[0]) == ("revised", "2026-0001", 2)


def test_the_same_enquiry_of_another_customer_is_another_quote(
    register: Register, record: Any
) -> None:
    register.give([record("A")], "Kim")
    (other,) = register.give([record("A", customer="Invented too")], "Kim")
    assert told(other) == ("new", "2026-0002", 1)


def test_what_is_ordered_is_not_revised(register: Register, record: Any) -> None:
    register.give([record("A")], "Kim")
    register.became("2026-0001", "ordered", "Kim")
    assert told(register.give([record("A")], "Kim")[0]) == ("as it was", "2026-0001", 1)
    (refused,) = register.give([record("A", builds="2")], "Kim")
    assert (told(refused), refused.outcome) == (("closed", "2026-0001", 1), "ordered")
    assert register.revision("2026-0001").revision == 1
    with pytest.raises(InputError, match="2026-0001' is ordered, so it is not revised; say first"):
        register.revise(register.revision("2026-0001"), record("A", builds="2"), "Kim")
    register.became("2026-0001", "open", "Kim", "they want two after all")
    assert told(register.give([record("A", builds="2")], "Kim")[0]) == ("revised", "2026-0001", 2)


def test_what_fails_takes_no_number_and_gives_none_of_several(
    register: Register, record: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    register.give([record("A")], "Kim")
    real = giving.insert

    def failing(connection: Any, one: Any, *more: Any) -> Any:
        made = real(connection, one, *more)
        if one.enquiry_id == "C":
            connection.execute(sa.text("SELECT * FROM no_such_table"))
        return made

    monkeypatch.setattr(giving, "insert", failing)
    with pytest.raises(InputError):
        register.give([record("B"), record("C")], "Kim")
    monkeypatch.undo()
    assert [one.enquiry_id for one in register.find()] == ["A"]
    assert told(register.give([record("D")], "Kim")[0]) == ("new", "2026-0002", 1)


@pytest.mark.parametrize("same", [False, True], ids=("two enquiries", "one enquiry"))
def test_a_number_asked_for_twice_at_once_is_given_once(
    where: str, register: Register, record: Any, same: bool
) -> None:
    asked = [record("A"), record("A" if same else "B")]
    start, found = threading.Barrier(2), list[Any]()

    def give(one: Any) -> None:
        mine = Register(where, wait_s=30)
        start.wait()
        found.extend(mine.give([one], "Kim"))

    threads = [threading.Thread(target=give, args=(one,)) for one in asked]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    expected = ["2026-0001", "2026-0001"] if same else ["2026-0001", "2026-0002"]
    assert sorted(one.number for one in found) == expected
    assert sorted(one.news for one in found) == (["as it was", "new"] if same else ["new", "new"])
    assert len(register.find()) == len(set(expected))


def test_two_who_revise_at_once_do_not_overwrite(register: Register, record: Any) -> None:
    register.give([record("A")], "Kim")
    seen = register.revision("2026-0001")
    register.revise(seen, record("A", builds="2"), "Kim")
    with pytest.raises(InputError, match=r"is 2026-0001 rev\. 2 by now; look at that one"):
        register.revise(seen, record("A", builds="3"), "Lou")
    assert register.revision("2026-0001").record.servers[0].builds == 2


def test_finding(register: Register, record: Any) -> None:
    customers = {"A": "Ægir Hall", "B": "Thistle School", "C": "Thistle Baths"}
    for number, (name, customer) in enumerate(customers.items()):
        day = DATE + dt.timedelta(days=number)
        register.give([record(name, date=day, customer=customer)], "Kim")
    register.became("2026-0002", "declined", "Kim", "too dear")
    register.follow("2026-0003", dt.date(2026, 12, 10), "Kim")

    def numbers(**wanted: Any) -> list[str]:
        return [one.number.removeprefix("2026-000") for one in register.find(Wanted(**wanted))]

    assert numbers() == ["1", "2", "3"]
    assert numbers(customer="thistle") == ["2", "3"]
    assert numbers(customer="ÆGIR") == ["1"]
    assert numbers(outcome="declined") == ["2"]
    assert numbers(since=DATE + dt.timedelta(days=1)) == ["2", "3"]
    assert numbers(until=DATE + dt.timedelta(days=1)) == ["1", "2"]
    assert numbers(due=dt.date(2026, 12, 9)) == []
    assert numbers(due=dt.date(2026, 12, 10)) == ["3"]
    register.became("2026-0003", "ordered", "Kim")
    assert numbers(due=dt.date(2026, 12, 10)) == []


def test_who_did_what_and_when_is_kept(register: Register, record: Any) -> None:
    register.give([record("A")], "Kim")
    register.follow("2026-0001", dt.date(2026, 12, 10), "Lou")
    register.give([record("A", builds="2")], "Max")
    register.became("2026-0001", "ordered", "Nia", "order no. 4711")
    done = [(e.revision, e.kind, e.value, e.note, e.done_by) for e in register.history("2026-0001")]
    assert done == [
        (1, "revision", "quoted", "", "Kim"),
        (1, "follow-up", "2026-12-10", "", "Lou"),
        (2, "revision", "quoted", "", "Max"),
        (2, "outcome", "ordered", "order no. 4711", "Nia"),
    ]


@pytest.mark.parametrize(
    ("outcome", "wrong"),
    [
        ("open", "is open already"),
        ("delivered", "is open, and was not ordered; say first that it is ordered"),
        ("gone", "'gone' is none we know; use open, ordered, delivered, declined or lapsed"),
    ],
)
def test_an_outcome_that_cannot_be(
    register: Register, record: Any, outcome: str, wrong: str
) -> None:
    register.give([record("A")], "Kim")
    with pytest.raises(InputError, match=wrong):
        register.became("2026-0001", outcome, "Kim")


def test_a_number_that_is_not_there(register: Register) -> None:
    with pytest.raises(InputError, match="'2026-0001' is no number of a quote here; use one that"):
        register.revision("2026-0001")
    with pytest.raises(InputError, match="names nobody"):
        register.became("2026-0001", "ordered", " ")

"""The offer of a record: in the customer's language, and of records of before."""

import json
from datetime import date
from decimal import Decimal

import pytest

from quotelib.catalogue.tables import parse_row
from quotelib.catalogue.work import Customer
from quotelib.documents.offer import offer_sections
from quotelib.documents.quoting import quote
from quotelib.promise.changed import Change, Since
from quotelib.promise.offer import offer_of
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import offer, page
from tests.orders import BOX, LOOSE, PLAIN, SERVICES, SEVERAL, order

KNOWN = "Moorklang-Archiv Nebelsiel e. V."


def asked(**cells: str) -> QuoteRecord:
    return quote({"enquiry_id": "E", "usable_tb": "10", **cells}, date="2026-11-28")


def test_a_customer_has_a_language() -> None:
    known = asked(customer=KNOWN)
    assert (known.language, offer_of(known).language) == ("de", "de")
    html = offer(known)
    assert '<html lang="de"' in html and "<title>Angebot Q-20261128-E für" in html
    assert asked(customer="Nobody").language == "en"


def test_a_language_without_texts_is_a_problem_of_its_row() -> None:
    _, (problem,) = parse_row(Customer, "customers.csv", 2, {"customer": "C", "language": "xx"})
    assert (problem.column, problem.value) == ("language", "xx")
    assert problem.right == "use de, en or fr"
    row, _ = parse_row(Customer, "customers.csv", 2, {"customer": "C", "language": ""})
    assert row is not None and row.language == "en"


def before(record: QuoteRecord) -> QuoteRecord:
    """Give a record as a program wrote it that knew no offer."""
    data = json.loads(record.to_json())
    data["format"] = "quotelib quote record 5"
    for name in ("language", "lacks", "buyer", "offer_terms", "revision", "ship_date"):
        del data[name]
    for server in data["servers"]:
        for array in server["arrays"]:
            del array["outlook"]["load"]["description"]
        for part in server["parts"]:
            del part["condition"], part["warranty_years"]
    data["next_steps"] = ["To order, tell us the quote number."]
    return QuoteRecord.model_validate(data)


@pytest.mark.parametrize("rows", [PLAIN, SEVERAL, BOX, LOOSE, SERVICES])
def test_a_record_of_before_still_has_its_pages(rows: list[dict[str, str]]) -> None:
    record = order(rows)
    old = before(record)
    now, then = offer_of(record), offer_of(old)
    assert (then.groups, then.sums, then.figures) == (now.groups, now.sums, now.figures)
    assert then.left_out == record.not_included
    assert record.quote_number in offer(old) and record.quote_number in page(old)


def test_the_day_it_leaves_is_named_where_it_is_known() -> None:
    record = order(PLAIN).model_copy(update={"ship_date": None, "shipping": None})
    known = record.model_copy(update={"ship_date": date(2026, 12, 4)})
    assert "We name the day it leaves us when you order." in offer(record)
    assert "It leaves us on 4 December 2026" in offer(known)


def test_the_place_for_instalments_is_empty_without_any() -> None:
    record = order(PLAIN)
    assert "<td" in offer_sections(record)("instalments").html
    without = record.model_copy(update={"instalments": None})
    assert offer_sections(without)("instalments").html.strip() == ""


def test_several_servers_leave_as_they_are_ready() -> None:
    """The dates are the record's; 40 alike fill the bench for days, two kinds are told apart."""
    many = order([PLAIN[0] | {"builds": "40"}])
    assert many.shipping is not None
    (item,) = many.shipping.items
    assert len(item.deliveries) > 1
    (delivery,) = [term for term in offer_of(many).terms if term.name == "Delivery"]
    said = " ".join(delivery.words)
    for one in item.deliveries:
        assert f"{one.number} on {one.date.day} {one.date:%B %Y}" in said
    two = order([PLAIN[0] | {"server": "a"}, PLAIN[0] | {"server": "b"}])
    (delivery,) = [term for term in offer_of(two).terms if term.name == "Delivery"]
    assert "Server a on" in " ".join(delivery.words) and "Server b on" in " ".join(delivery.words)


def test_what_changed_since_the_revision_before_is_said() -> None:
    first = order(PLAIN)
    since = Since(
        quote_number=first.quote_number, revision=1, date=first.date, currency=first.currency,
        net=first.totals.net - 10, gross=first.totals.gross,
    )  # fmt: skip
    moved = Change(
        group="price", kind="unit price", of="", what="A disk", was="1.00", now="11.00",
        amount=Decimal(10),
    )  # fmt: skip
    second = first.model_copy(update={"revision": 2, "since": since, "changes": (moved,)})
    page = offer(second)
    assert "What changed since revision 1 of" in page
    assert "A disk: 11.00 instead of 1.00: +10" in page
    assert f"{first.quote_number} revision 2" in page
    assert "What changed" not in offer(first)
    german = offer_of(second.model_copy(update={"language": "de"}))
    assert german.changed is not None
    assert "Fassung 1" in german.changed.heading
    assert not any("instead of" in line for line in german.changed.lines)


def test_warranty_part_by_part_and_what_is_refurbished() -> None:
    record = asked(customer="C", drive="DRV-HDD-4T-SATA-RF", members="4", level="6", usable_tb="")
    (warranty,) = [term for term in offer_of(record).terms if term.name == "Warranty"]
    (part,) = [p for p in record.servers[0].parts if p.role == "drive"]
    assert warranty.words[0] == f"{part.warranty_years} year: {part.description}."
    assert warranty.words[1] == f"Refurbished: {part.description}."
    assert warranty.words[-1] == record.offer_terms.warranty


def test_what_was_agreed_and_what_still_needs_a_word() -> None:
    pins = {"drive": "DRV-SSD-960-SATA-RD", "members": "3", "level": "0", "usable_tb": ""}
    draft = offer_of(asked(customer="C", **pins))
    assert [known.kind for known in draft.to_know][:2] == ["open", "open"]
    agreed = offer_of(asked(customer="C", **pins, accept="no_redundancy;loss_over_limit"))
    assert [known.kind for known in agreed.to_know][:3] == ["agreed", "agreed", "note"]
    assert "no redundancy" not in " ".join(known.words for known in agreed.to_know)


def test_nothing_ends_the_style_of_the_page() -> None:
    record = order(PLAIN).model_copy(update={"quote_number": 'Q"; } </style><script>x'})
    html = offer(record)
    assert "<script>" not in html and html.count("</style>") == 1
    (style,) = [line for line in html.splitlines() if line.startswith("<html")]
    assert style.count("&#34;") == 2

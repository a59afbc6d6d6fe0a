"""What was asked stands against what is offered, and what is not in the offer is said."""

import datetime as dt

from quotelib.enquiry.columns import COLUMNS
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.offer import offer_of
from quotelib.promise.record import QuoteRecord
from quotelib.promise.shown import Wish
from tests.orders import BOX, DATE, LOOSE, PLAIN, SERVICES, SEVERAL, order
from tests.small_list import TABLES, TERMS, price_list


def said(record: QuoteRecord) -> dict[str, dict[str, tuple[str, str]]]:
    return {
        of: {wish.label: (wish.asked, wish.offered) for wish in wishes}
        for of, wishes in record.by_asked()
    }


def test_a_plain_enquiry_is_one_list_without_names() -> None:
    (of,) = (made := said(order(PLAIN)))
    assert of == ""
    asked, offered = made[""]["Usable capacity"]
    assert asked == "at least 6 TB"
    assert float(offered.split()[0]) >= 6
    assert made[""]["Must survive"][0] == "any 1 drive failure"


def test_each_array_is_judged_by_itself() -> None:
    record = order(SEVERAL)
    made = said(record)
    assert list(made) == [
        "server A",
        "server A, array data",
        "server A, array boot",
        "server B",
        "the quote as a whole",
    ]
    for name, array in zip(("data", "boot"), record.servers[0].arrays, strict=True):
        offered = made[f"server A, array {name}"]["Must survive"][1]
        assert f"survives any {array.survives}" in offered
        assert offered.startswith(array.label)
        shown = made[f"server A, array {name}"]["Usable capacity"][1]
        # Of two decimals, rounded down.
        assert 0 <= float(array.capacity.usable_tb) - float(shown.split()[0]) < 0.01


def test_servers_parts_services_and_lines() -> None:
    record = order(SEVERAL)
    made = said(record)
    assert made["server A"]["How many"] == ("2 alike", "2 alike")
    services = [wish for wish in record.servers[0].asked if wish.label == "Service"]
    assert [wish.asked for wish in services] == ["SVC-ONSITE-3Y", "SVC-MIGRATE"]
    assert services[0].offered.endswith("; for each server")
    assert services[1].offered.endswith("; for the quote as a whole")
    options = [wish for wish in record.servers[1].asked if wish.label == "Option"]
    assert [(w.asked, w.offered[:13]) for w in options] == [
        ("2 × CPU-16C-150W", "2 × Processor"),
        ("4 × MEM-32G-2", "4 × Memory mo"),
    ]
    parts = [wish.asked for wish in record.asked if wish.label == "Loose part"]
    assert parts == ["2 × DRV-HDD-8T-SAS", "CBL-12G-CD"]
    line = made["the quote as a whole"]["Taken in payment"]
    assert line == ("Old server taken back", "2 × GBP −120.00")


def test_the_quote_says_what_becomes_of_money_and_dates() -> None:
    cells = {
        "currency": "EUR", "discount_pct": "3", "tax_code": "S", "ship_by": "2027-01-15",
        "customer_ref": "PO 4711/b",
    }  # fmt: skip
    record = order([PLAIN[0] | cells])
    made = said(record)[""]
    assert made["Currency"] == ("EUR", "all amounts are in EUR")
    assert made["Discount, %"] == ("3 %", "discount of 3 %")
    assert "Tax code" not in made  # the offer says the rate
    assert record.ship_date is not None and record.ship_date < dt.date(2027, 1, 15)
    leaves = f"{record.ship_date.day} {record.ship_date:%B %Y}"
    assert made["Wanted by"] == ("15 January 2027", f"leaves us on {leaves}")
    assert record.customer_ref == made["Customer's reference"][0] == "PO 4711/b"


def test_a_workload_is_answered_by_its_estimates() -> None:
    record = order([PLAIN[0] | {"workload": "virtual_machines"}])
    asked, offered = said(record)[""]["Workload"]
    assert asked == "A dozen virtual machines sharing one array"
    ((_, array),) = record.by_array()
    known = {e.key: e.value for e in array.estimates}
    rate = float(offered.split()[1].replace(",", ""))
    assert abs(rate - (known["host_iops"] or 0)) <= 0.5
    assert offered.endswith("ms an operation")


def test_what_a_person_said_yes_to_and_condition() -> None:
    pins = {
        "chassis": "CHS-2U-12L", "drive": "DRV-HDD-8T-SAS", "members": "6", "level": "6",
        "owned": "chassis;drive", "accept": "erases_data;no_redundancy", "condition": "any",
    }  # fmt: skip
    record = order([pins])
    wishes = [(w.asked, w.offered) for w in record.servers[0].asked if w.label == "Said yes to"]
    assert [offered for _, offered in wishes] == [
        "so it is; see what to know before you order",
        "not so here",
    ]
    made = said(record)[""]
    assert made["Drive"][1].endswith("; yours already")
    assert made["Chassis"][1].endswith("; yours already")
    used = "refurbished: CTL-RB2-12G-CD-RF; all else is new"
    assert made[COLUMNS["condition"].label] == ("refurbished will do", used)
    assert record.not_included[0].startswith("No operating system")


def test_not_included() -> None:
    plain, several = order(PLAIN).not_included, order(SEVERAL).not_included
    assert "No operating system and no other software, no licence." in plain
    assert "No work at your site: no on-site service, no moving of data." in plain
    assert "No tax: taxes and duties that apply are yours to pay." in plain
    assert not any(sentence.startswith("No drives") for sentence in plain)
    assert "Server B: No drives." in several
    assert "No services but those listed, neither at your site nor with your data." in several
    assert "No fitting of loose parts: they are sent as they are." in several
    assert [s for s in several if "No processors" in s] == [
        "Server A: No processors, but for what the chassis may come with."
    ]
    taxed = order([PLAIN[0] | {"tax_code": "S", "options": "SW-WATCH-3Y"}]).not_included
    assert "No operating system and no other software but the licences listed." in taxed
    assert not any(sentence.startswith("No tax") for sentence in taxed)
    assert order([{"drive": "DRV-HDD-8T-SAS", "members": "2", "level": "1"}]).not_included == plain
    for rows in (LOOSE, SERVICES):
        assert not any("operating system" in s for s in order(rows).not_included)


def test_what_the_terms_leave_out_is_said() -> None:
    terms = f'{TERMS}\n[offer]\nexclusions = ["No rack.", "No network."]\n'
    prices = price_list(TABLES, terms)
    request = read_request([{"enquiry_id": "E", "customer": "C", "usable_tb": "4"}], prices)
    made = answer(prices, request, DATE, alternatives=False).record
    assert made is not None
    assert made.not_included[-2:] == ("No rack.", "No network.")


def test_words_fit_what_is_sold() -> None:
    box, loose, services = order(BOX), order(LOOSE), order(SERVICES)
    steps = [offer_of(record).next_steps for record in (box, loose)]
    everything = " ".join((*box.cautions, *steps[0], *box.terms))
    assert "array" not in everything
    assert "supply cord" in everything
    assert steps[0][-1].startswith("You get the servers checked and documented")
    assert len(loose.cautions) == 2  # static, lithium
    assert "static" in loose.cautions[0] and "UN 38.3" in loose.cautions[1]
    assert steps[1][-1] == "We pick the parts, check and pack them, and send them."
    assert services.cautions == () and not any("stock" in term for term in services.terms)
    first = box.servers[0].estimates[0]
    assert (first.key, first.name) == ("mean_watts", "power")
    assert box.each_words == "for each server"
    assert order(SEVERAL).each_words == loose.each_words == order(PLAIN).each_words == ""


def test_in_short() -> None:
    assert order(LOOSE).in_short() == "loose parts"
    assert order(SERVICES).in_short() == "services"
    assert order([{"line": "Survey", "line_price": "10"}]).in_short() == "agreed besides"
    assert order(BOX).in_short() == "CHS-2U-12L without drives"
    one, two, rest = order(SEVERAL).in_short().split("; ")
    assert one.startswith("server A: RAID") and one.endswith("(array boot)")
    assert (two, rest) == ("server B: CHS-2U-12L without drives", "loose parts")


def test_no_share_of_what_takes_off() -> None:
    shares = order(SEVERAL).price_shares
    known = {share.name: share.pct for share in shares}
    assert known["Taken in payment"] is None and known["Freight"] is None
    assert abs(sum(pct for pct in known.values() if pct is not None) - 100) < 1e-9


def test_a_wish_is_never_blank() -> None:
    for rows in (PLAIN, SEVERAL, BOX, LOOSE, SERVICES):
        for _, wishes in order(rows).by_asked():
            for wish in wishes:
                assert isinstance(wish, Wish)
                assert wish.label and wish.asked and wish.offered

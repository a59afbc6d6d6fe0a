"""What the two pages say, in the customer's words and language, and what they must never say."""

import re
from decimal import Decimal
from typing import Any

import pytest

from quotelib.build.findings import CODES
from quotelib.catalogue.price_list import load_price_list
from quotelib.catalogue.terms import minor_digits
from quotelib.promise.texts import texts

from .page_text import Page, in_english, numbers_of, squeezed
from .running import Batch

Offers = list[tuple[dict[str, Any], Page]]


@pytest.fixture(scope="module")
def offers(demo: Batch, day: Batch) -> Offers:
    """Give every record of the examples with its offer."""
    found = []
    for batch in (demo, day):
        records = batch.records()
        found += [(records[path.stem], Page.read(path)) for path in batch.offers()]
    assert len(found) > 45
    return found


def lines(record: dict[str, Any]) -> list[dict[str, Any]]:
    return [line for of in (*record["servers"], *record["items"]) for line in of["lines"]]


def test_no_word_of_ours(offers: Offers) -> None:
    prices = load_price_list()
    files = (prices.drives, prices.controllers, prices.chassis, prices.accessories, prices.options)
    skus = {sku for file in (*files, prices.services) for sku in file}
    codes = {code for code in CODES if "_" in code}
    inside = {*codes, *prices.workloads, "price list", ".csv", ".toml", ".html", ".json", "margin"}
    inside |= {"unit cost", "our cost", "internal", "finding", "sku"}
    for record, page in offers:
        name, text = record["enquiry_id"], page.text.casefold()
        assert [word for word in inside if word.casefold() in text] == [], name
        assert not re.search(r"\b[a-z]+_[a-z]+", page.text), name
        assert record["price_list_fingerprint"][:8] not in text
        # A sku stands in the lines, small, and nowhere else.
        small = page.within("sku")
        told = {
            sku for sku in skus if re.search(rf"(?<![\w-]){re.escape(sku)}(?![\w-])", page.text)
        }
        for sku in told:
            assert small.count(sku) == page.text.count(sku), (name, sku)
        assert {line["sku"] for line in lines(record) if line["sku"]} <= told


def test_figures_are_those_of_the_record(offers: Offers) -> None:
    looked = 0
    for record, page in offers:
        there = numbers_of(in_english(page.raw, record["language"]))
        wanted = {record["totals"][n] for n in ("lines_total", "freight", "net", "tax", "gross")}
        wanted |= {line[n] for line in lines(record) for n in ("unit_price", "amount")}
        assert {n.lstrip("-") for n in wanted} <= there, record["enquiry_id"]
        # Every amount of money on it is one of them: nothing is rounded or added up anew.
        places = minor_digits(record["currency"])
        totals = [of["lines_total"] for of in (*record["servers"], *record["items"])]
        known = {n.lstrip("-") for n in (*wanted, *totals, record["totals"]["discount"])}
        known |= {str(record["totals"]["net_per_build"])}
        cells = in_english("".join(page.named["sums"]), record["language"])
        for number in re.findall(rf"\d[\d,]*\.\d{{{places}}}(?!\d)", cells) if places else []:
            assert number.replace(",", "") in known, (record["enquiry_id"], number)
            looked += 1
        for server in record["servers"]:
            for array in server["arrays"]:
                shown = {e["key"]: e["shown"] for e in array["estimates"]}
                for key in ("host_iops", "response_ms", "rebuild_hours"):
                    figure = shown.get(key, "none").split()[0]
                    if figure[0].isdigit() and (key != "rebuild_hours" or array["survives"]):
                        assert figure in there, (record["enquiry_id"], key)
    assert looked > 200


def test_a_zero_rate_says_why(offers: Offers) -> None:
    seen = set()
    for record, page in offers:
        code, pct = record["totals"]["tax_code"], record["totals"]["tax_pct"]
        reasons = record["offer_terms"]["tax_reasons"]
        if code and not Decimal(pct):
            assert reasons[code] in page.text, record["enquiry_id"]
            seen.add(code)
        else:
            assert not any(reason in page.text for reason in reasons.values())
    assert seen == {"Z", "G"}
    ((town_hall, page),) = [(r, p) for r, p in offers if r["enquiry_id"] == "DAY-29"]
    assert town_hall["buyer"]["tax_id"] in page.text and "Vorgang 2026/77" in page.text
    assert "1.574,75" in page.text and "EUR" in page.text


def said_in(language: str) -> list[str]:
    """List what stands between the blanks of a language's texts, long enough to tell it by."""
    every = texts(language).by_key.values()
    forms = [f for said in every for f in ([said] if isinstance(said, str) else said.values())]
    pieces = [squeezed(piece) for form in forms for piece in re.split(r"\{\w+\}", form)]
    return sorted({piece for piece in pieces if len(piece) > 7 and " " in piece})


@pytest.mark.parametrize("language", ["de", "fr"])
def test_a_translation_has_no_english_of_ours(offers: Offers, language: str) -> None:
    own, english = set(said_in(language)), set(said_in("en"))
    assert own & english == {"(Incoterms 2020)."}  # the name of an open standard
    own, english = own - english, english - own
    assert len(english) > 120
    pages = [(r, p) for r, p in offers if r["language"] == language]
    assert pages
    for record, page in pages:
        # What the seller, or the price list, says comes as it is.
        offer = record["offer_terms"]
        theirs = [offer["payment"], offer["delivery"], offer["warranty"], record["seller"]["bank"]]
        theirs += offer["exclusions"] + offer["conditions"] + list(offer["tax_reasons"].values())
        theirs += [line["description"] for line in lines(record)]
        text = page.text
        for words in theirs:
            text = text.replace(words, "")
        assert [words for words in english if words in text] == [], record["enquiry_id"]
        assert sum(words in text for words in own) > 25, record["enquiry_id"]


def test_cautions_and_annex_are_named(offers: Offers) -> None:
    for record, page in offers:
        t = texts(record["language"])
        assert squeezed(t("annex.named", number=record["quote_number"])) == page.within("annex")
        actions = {array["action"] for server in record["servers"] for array in server["arrays"]}
        needed = {"data": "new" in actions, "kept_data": bool(actions - {"new"})}
        needed |= dict.fromkeys(("supply", "lifting"), bool(record["servers"]))
        needed["static"] = bool(record["servers"]) or any(i["pick"] for i in record["items"])
        for name, there in needed.items():
            assert (squeezed(t(f"caution.{name}")) in page.text) == there, record["enquiry_id"]


def test_a_draft_is_marked_and_cannot_be_signed(offers: Offers) -> None:
    for record, page in offers:
        t = texts(record["language"])
        assert (squeezed(t("head.draft_note")) in page.text) == record["draft"]
        assert (t("sign.signature") in page.within("sign")) != record["draft"]

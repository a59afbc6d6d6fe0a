"""Something taken in payment: in totals, tax, freight, margin and on the page, by hand."""

from decimal import ROUND_HALF_UP, Decimal

from quotelib.documents.offer import offer_sections
from tests.orders import PLAIN, order

TAXED = [PLAIN[0] | {"tax_code": "S", "builds": "6"}]
OLD = {"line": "Old server", "line_quantity": "2", "line_price": "-60.25", "line_cost": "-35"}


def test_it_comes_off_the_total_and_nothing_else() -> None:
    without, with_it = order(TAXED), order([*TAXED, OLD])
    a, b = without.totals, with_it.totals
    assert b.lines_total == a.lines_total - Decimal("120.50")
    # Six servers earn the volume discount, on what is sold and not on what is taken back.
    assert (b.discount, b.discount_pct) == (a.discount, a.discount_pct) and a.discount > 0
    assert b.freight == a.freight > 0
    assert b.net == a.net - Decimal("120.50")
    assert b.once_total == Decimal("-120.50")
    cent = Decimal("0.01")
    assert b.tax == (b.net * Decimal("0.2")).quantize(cent, ROUND_HALF_UP)
    assert b.gross == b.net + b.tax
    # What it is worth to us lowers the cost: 2 x 35.
    cost = without.internal.cost - 70
    assert with_it.internal.cost == cost
    revenue = b.net - b.freight
    margin = ((revenue - cost) / revenue * 100).quantize(cent, ROUND_HALF_UP)
    assert with_it.internal.margin_pct == margin
    assert with_it.ship_date == without.ship_date


def test_it_is_shown_as_taken_in_payment() -> None:
    record = order([*TAXED, OLD])
    (line,) = [line for item in record.items for line in item.lines]
    assert (line.share, line.amount) == ("Taken in payment", Decimal("-120.50"))
    html = offer_sections(record)("costs").html
    assert html.count("<em>(taken in payment)</em>") == 1 and "−120.50" in html
    (wish,) = [wish for wish in record.asked if wish.label == "Taken in payment"]
    assert (wish.asked, wish.offered) == ("Old server", "2 × GBP −60.25")
    (share,) = [share for share in record.price_shares if share.name == "Taken in payment"]
    assert share.pct is None
    assert "35.00" not in html


def test_by_the_month_is_shown_for_what_is_to_be_paid() -> None:
    record = order([*TAXED, OLD])
    found = record.instalments
    assert found is not None
    assert (found.amount, found.currency) == (record.totals.gross, "GBP")
    assert [plan.months for plan in found.rows] == [12, 24, 36]
    html = offer_sections(record)("instalments").html
    for plan in found.rows:
        for value in (plan.monthly, plan.last, plan.total, plan.interest):
            assert f"{value:,f}" in html
    assert "nominal rate of 7.5 % a year" in html and "indicative" in html

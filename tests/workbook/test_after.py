"""After writing: files that open, words for an e-mail, and the discount for a target."""

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from quotelib.workbook.page import Workbook

NEED = {"customer": "Lych Gate Joinery (invented)", "enquiry_id": "A-1", "usable_tb": "20"}


@pytest.fixture
def workbook(copy_of_small: Path, tmp_path: Path) -> Workbook:
    made = Workbook(str(copy_of_small), "2026-11-25", tmp_path / "desk")
    _type(made, **NEED, survive="1", tax_code="S", builds="3", note="pays late, hold firm")
    return made


def _type(workbook: Workbook, **cells: str) -> None:
    for name, text in cells.items():
        workbook.form.fields[name].value = text


def test_files_that_were_written_open_and_no_others(
    workbook: Workbook, monkeypatch: pytest.MonkeyPatch
) -> None:
    after, sent = workbook.writer.after, []
    monkeypatch.setattr(after.files, "send", lambda said, data=(): sent.append((said, data)))
    after.files.hand_over(0)
    assert sent == []
    workbook.write()
    offered = [Path(file["path"]) for file in after.files.files]
    assert {path.parent.name for path in offered} >= {"quotes", "bench", "records"}
    after.files.hand_over(0)
    ((said, data),) = sent
    assert said == {"file": 0, "type": "text/html;charset=utf-8"}
    assert data == [offered[0].read_bytes()]
    for place in (-1, len(offered), "0", None, 0.0):
        after.files.hand_over(place)
    assert len(sent) == 1
    offered[0].unlink()
    after.files.hand_over(0)
    assert "No such file" in sent[-1][0]["gone"]
    _type(workbook, usable_tb="21")
    assert after.files.files == [] and after.mail.value == ""
    after.files.hand_over(1)
    assert len(sent) == 2


def test_words_for_an_e_mail(workbook: Workbook) -> None:
    workbook.write()
    record, text = workbook.results.record, workbook.writer.after.mail.value
    assert record is not None and not record.draft
    totals, internal = record.totals, record.internal
    for said in (record.quote_number, NEED["customer"], f"{totals.net:,f}", f"{totals.gross:,f}"):
        assert said in text
    assert f"{totals.net_per_build:,f}" in text
    for secret in ("margin", "cost us", "pays late", f"{internal.cost:,f}", f"{internal.cost:f}"):
        assert secret not in text
    assert internal.margin_pct is not None and f"{internal.margin_pct:f}" not in text


def test_no_words_for_a_draft(workbook: Workbook) -> None:
    _type(workbook, discount_pct="60")
    workbook.write()
    assert "draft" in workbook.writer.told.value
    assert workbook.writer.after.mail.value == ""


def test_the_note_is_on_no_paper_that_leaves_the_house(workbook: Workbook) -> None:
    workbook.write()
    written = [Path(file["path"]) for file in workbook.writer.after.files.files]
    with_note = {path for path in written if b"pays late" in path.read_bytes()}
    assert {path.parent.name for path in with_note} == {"records"}
    assert "For us only" in workbook.form.fields["note"].help


def _net(workbook: Workbook, discount: str, name: str) -> Decimal:
    record = workbook.answers.at_discount(discount)
    assert record is not None
    if name == "margin":
        assert record.internal.margin_pct is not None
        return record.internal.margin_pct
    each = record.totals.net_per_build
    assert each is not None
    return each if name == "each" else record.totals.net


@pytest.mark.parametrize("name", ["each", "all"])
@pytest.mark.parametrize("share", ["0.999", "0.93", "0.71"])
def test_the_smallest_discount_that_comes_to_a_price(
    workbook: Workbook, name: str, share: str
) -> None:
    target = (_net(workbook, "0", name) * Decimal(share)).quantize(Decimal("0.01"))
    workbook.targets.fields[name].value = f"GBP {target:,f}"
    found = workbook.form.fields["discount_pct"].value
    assert _net(workbook, found, name) <= target
    assert _net(workbook, str(Decimal(found) - Decimal("0.01")), name) > target
    record = workbook.results.record
    assert record is not None
    assert f"{record.totals.net:,f}" in workbook.targets.fields[name].notice


@pytest.mark.parametrize("target", ["20", "15.5", "7 %"])
def test_the_largest_discount_that_leaves_a_margin(workbook: Workbook, target: str) -> None:
    workbook.targets.fields["margin"].value = target
    found = workbook.form.fields["discount_pct"].value or "0"
    wanted = Decimal(target.removesuffix(" %"))
    assert _net(workbook, found, "margin") >= wanted
    assert _net(workbook, str(Decimal(found) + Decimal("0.01")), "margin") < wanted


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [("all", "0", "No discount"), ("margin", "99", "No discount"), ("all", "much", "not a number"),
     ("each", "nan", "not a number"), ("all", "-5", "not a number")],
)  # fmt: skip
def test_no_discount_comes_to_it(workbook: Workbook, name: str, text: str, words: str) -> None:
    workbook.targets.fields[name].value = text
    assert words in workbook.targets.fields[name].error
    assert workbook.form.fields["discount_pct"].value == ""


def test_a_target_is_for_the_seller_only(workbook: Workbook) -> None:
    def there() -> Any:
        return workbook.targets.block.layout.display

    assert there() == "none"
    workbook.blocks.seller.value = True
    assert there() is None
    workbook.targets.fields["margin"].value = "15"
    workbook.blocks.seller.value = False
    assert there() == "none"
    workbook.clear()
    assert workbook.targets.fields["margin"].value == ""

"""What is the result: one frozen model with everything a document shows, and nothing to compute.

Written as JSON it follows `schema_json`, which ships as ``templates/quote_record.schema.json``.
The record is the seller's: its ``internal`` part never goes into anything a customer gets.
"""

import datetime as dt
import json
from typing import Literal

from pydantic import Field

from quotelib.build.placement import Placement
from quotelib.quote.bench.record import BenchFacts
from quotelib.quote.comparison.record import ControllerComparison
from quotelib.quote.comparison.twins import SlotSaving
from quotelib.quote.facts import Exact, Fact, Frozen, Measure, Reason
from quotelib.quote.outlook_record import EstimateFacts, OutlookFacts

Outcome = Literal["quoted", "held"]


class SellerFacts(Frozen):
    """Who makes the offer."""

    name: str
    address: str
    contact: str


class PartFacts(Frozen):
    """One of the three main parts."""

    role: Literal["chassis", "controller", "drive"]
    sku: str
    description: str
    quantity: int
    owned: bool
    facts: tuple[Fact, ...]


class LayoutFacts(Frozen):
    """How the drives form an array."""

    level: str
    label: str
    members: int
    spans: int
    spares: int
    data_members: int
    survives: int
    strip_kib: int
    words: str


class CapacityShare(Frozen):
    """Where a part of the raw capacity goes."""

    name: str
    bytes: int
    why: str


class CapacityFacts(Frozen):
    """From the labels to what the customer's system shows."""

    label_bytes: int
    drive_bytes: int
    member_bytes: int
    raw_bytes: int
    usable_bytes: int
    usable_tb: Exact
    usable_tib: Exact
    shares: tuple[CapacityShare, ...]
    words: str


class LineFacts(Frozen):
    """One line of the quote."""

    kind: Literal["chassis", "controller", "drive", "accessory", "service"]
    sku: str
    description: str
    quantity: int
    unit_price: Exact
    amount: Exact


class TotalFacts(Frozen):
    """Totals in the order of EN 16931."""

    builds: int
    lines_total: Exact
    discount_pct: Measure
    discount: Exact
    discount_words: str
    freight: Exact
    net: Exact
    net_per_build: Exact
    tax_code: str | None
    tax_pct: Measure
    tax: Exact
    gross: Exact


class PriceShare(Frozen):
    """What makes up the price, before discount."""

    name: str
    amount: Exact


class FindingFacts(Frozen):
    """What a rule had to say."""

    code: str
    severity: Literal["stop", "advise", "note"]
    message: str
    accepted: bool


class LevelFacts(Frozen):
    """What these drives would give at another level."""

    level: str
    label: str
    members: int
    spans: int
    usable_bytes: int
    survives: int
    offered: bool
    proposed: bool


class Alternative(Frozen):
    """Another build that meets the enquiry."""

    kind: Literal["level", "least_risk", "fastest"]
    title: str
    level: str
    words: str
    chassis: str
    controller: str
    drive: str
    members: int
    spans: int
    spares: int
    usable_bytes: int
    survives: int
    net: Exact
    net_difference: Exact
    host_iops: float | None
    loss_pct: float | None
    open_advice: tuple[str, ...]


class InternalFacts(Frozen):
    """For the seller's eyes only."""

    cost: Exact
    margin_pct: Exact | None
    margin_floor_pct: Measure
    unit_costs: dict[str, Exact]
    hold_reasons: tuple[Reason, ...]


class QuoteRecord(Frozen):
    """Everything about one quote."""

    format: Literal["quotelib quote record 1"] = "quotelib quote record 1"
    program_version: str
    price_list_fingerprint: str
    quote_number: str
    enquiry_id: str
    date: dt.date
    valid_until: dt.date
    outcome: Outcome
    draft: bool
    seller: SellerFacts
    customer: str
    note: str
    enquiry: dict[str, str]
    asked: tuple[Fact, ...]
    currency: str
    currency_digits: int
    proposal: str
    parts: tuple[PartFacts, ...]
    layout: LayoutFacts
    capacity: CapacityFacts
    protection: tuple[str, ...]
    placement: Placement
    slot_saving: SlotSaving | None
    upgrade: tuple[str, ...]
    lines: tuple[LineFacts, ...]
    totals: TotalFacts
    price_shares: tuple[PriceShare, ...]
    findings: tuple[FindingFacts, ...]
    levels: tuple[LevelFacts, ...]
    alternatives: tuple[Alternative, ...]
    controllers: ControllerComparison | None
    outlook: OutlookFacts
    estimates: tuple[EstimateFacts, ...]
    watts: Measure
    supply_w: Measure
    mass_kg: Exact
    lead_days: int
    bench: BenchFacts
    bench_minutes: Measure
    cautions: tuple[str, ...]
    terms: tuple[str, ...]
    next_steps: tuple[str, ...]
    internal: InternalFacts = Field(description="For the seller only; never in a customer's file")

    def part(self, role: str) -> PartFacts:
        """Give one of the three main parts."""
        return next(p for p in self.parts if p.role == role)

    def estimate(self, key: str) -> EstimateFacts | None:
        """Give an estimate; None where it does not apply to the build."""
        return next((e for e in self.estimates if e.key == key), None)

    def to_json(self) -> str:
        """Write the record; the same record gives the same text."""
        data = self.model_dump(mode="json")
        return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def schema_json() -> str:
    """Write the JSON Schema of the record."""
    schema = QuoteRecord.model_json_schema(mode="serialization")
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False, sort_keys=True) + "\n"

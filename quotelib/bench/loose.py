"""How are loose parts picked and packed: no bench hours, the cautions of what is handled.

The order of work is common practice, no source; the cautions are those of `hazards`.
"""

from collections import Counter
from collections.abc import Iterator, Sequence
from decimal import Decimal

from quotelib.bench.hazards import (
    LIFTING,
    LITHIUM,
    STATIC,
    USUAL,
    Step,
    Words,
    in_full,
    mass_words,
    numbered,
)
from quotelib.bench.shown import LooseSheet, PickLine
from quotelib.catalogue.parts import Part
from quotelib.estimate.running import LIFTING_CONSTANT_KG
from quotelib.text import kg

_RULE = "Follow the makers' manuals, the carrier's rules and local rules, before this list."
_STATIC = (
    "Wrist strap on the bench's earth point, dissipative mat, parts in their bags all the way to "
    "the customer (IEC 61340-5-1, ANSI/ESD S20.20)."
)
_FETCH = (
    "Everything on the pick list: compare skus, tick, and note serial numbers. Set aside what is "
    "damaged or does not match; open no bag to look."
)
_PACK = (
    "In its own bag and cushion, drives so that none touches another, nothing loose in the box; a "
    "copy of this list without the sign-off on top."
)


def loose_sheet(parts: Sequence[Part]) -> LooseSheet:
    """Say how parts sold loose, each as often as it is sold, are picked and packed."""
    counts = Counter(part.sku for part in parts)
    once = {part.sku: part for part in parts}
    mass_g = sum((part.mass_g for part in parts), Decimal(0))
    words: Words = {
        "static": (USUAL["static"][0], _STATIC, "Static: strap on, parts stay in their bags.")
    }
    if mass_g > LIFTING_CONSTANT_KG * 1000:
        words["lifting"] = ("Mass", *mass_words(mass_g, "in all", f"All is {kg(mass_g)}. "))
    if any(part.role == "cache_protection" for part in parts):
        words["lithium"] = USUAL["lithium"]
    steps = tuple(numbered({"": _steps(mass_g)}, words))
    return LooseSheet(
        rule=_RULE,
        pick=tuple(
            PickLine(
                role=part.role, sku=sku, description=part.description, quantity=counts[sku],
                quantity_all=counts[sku],
                location="with the paperwork" if part.takes == "paperwork" else "the parcel",
                owned=False, bays=(),
            )
            for sku, part in once.items()
        ),
        tools=("wrist strap, dissipative mat, earth point", "barcode reader, labels, pen, scales"),
        cautions=tuple(in_full(steps, words)),
        steps=steps,
        sign_off=("Picked by", "Checked and packed by a second person"),
    )  # fmt: skip


def _steps(mass_g: Decimal) -> Iterator[Step]:
    yield Step("Fetch and compare the parts", _FETCH, STATIC)
    yield Step("Pack each part", _PACK, STATIC | LITHIUM)
    send = f"{kg(mass_g)} and the packing. Label, close, and hand over to the carrier."
    yield Step("Weigh and send", send, LIFTING | LITHIUM)

"""What do we answer: from an enquiry to a quote record, or to the reason why there is none."""

import datetime as dt
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import Other, find_alternatives
from quotelib.choose.candidate import Candidate
from quotelib.choose.options import pinned, pins_of
from quotelib.choose.search import Choice, buildable, choose
from quotelib.choose.twins import Twin, find_twins
from quotelib.enquiry.enquiry import Enquiry
from quotelib.facts import Reason
from quotelib.predict.outlook import with_others
from quotelib.promise.assemble import arrays_laid, assemble
from quotelib.promise.controllers import compare_controllers
from quotelib.promise.record import Alternative, DrivesOn, QuoteRecord
from quotelib.promise.shown import ArrayLaid
from quotelib.text import both, count, money


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one enquiry that could be read.

    There are reasons where it is held or refused, and a record where it is not refused.
    """

    outcome: Literal["quoted", "held", "refused"]
    reasons: tuple[Reason, ...]
    record: QuoteRecord | None

    @property
    def reason(self) -> str:
        """Give the reasons in one line."""
        return "; ".join(f"{reason.code}: {reason.words}" for reason in self.reasons)


@lru_cache(maxsize=64)
def _first(
    price_list: PriceList, enquiry: Enquiry, date: dt.date
) -> tuple[Choice, QuoteRecord | None]:
    choice = choose(price_list, enquiry)
    best = choice.best
    return choice, None if best is None else assemble(price_list, enquiry, date, best)


@lru_cache(maxsize=64)
def answer(
    price_list: PriceList, enquiry: Enquiry, date: dt.date, *, alternatives: bool = True
) -> Answer:
    """Answer an enquiry that was read against this price list.

    With `alternatives` it looks for other builds too: at other levels, with every controller,
    with the slot kept free. Without them a pinned build is answered in milliseconds, which the
    workbook needs while somebody types; asked for afterwards, they are added to that answer.
    """
    choice, record = _first(price_list, enquiry, date)
    if record is None or choice.best is None:
        return Answer("refused", choice.refused, None)
    if alternatives:
        record = widen(record, price_list, enquiry, choice, choice.best)
    return Answer(record.outcome, record.internal.hold_reasons, record)


def laid_out(price_list: PriceList, enquiry: Enquiry) -> tuple[ArrayLaid, ...]:
    """Describe the arrays of a build that is pinned whole, without waiting for the answer.

    They are as the answer will have them. None where the pins leave a choice, where the build
    cannot be built, or where it takes a price or an estimate to see whether it is what was asked.
    """
    asked = enquiry.asked(price_list.terms)
    if not pinned(enquiry) or any(demand.needs != "build" for demand in asked):
        return ()
    found = buildable(price_list, enquiry, asked)
    return tuple(arrays_laid(found[0].build)) if len(found) == 1 else ()


_TITLES = {"least_risk": "Least risk", "fastest": "Fastest"}


def widen(
    record: QuoteRecord, price_list: PriceList, enquiry: Enquiry, choice: Choice, best: Candidate
) -> QuoteRecord:
    """Add what else would meet the enquiry to a record of the quoted build alone."""
    others = find_alternatives(price_list, enquiry, choice, best)
    twins = (
        twin_words(best.build, twin, record.currency, enquiry.builds)
        for twin in find_twins(price_list, enquiry, best.build)
    )
    shown = tuple(_alternative(other, best, enquiry) for other in others)
    sound = [
        (alternative.title, other.candidate.build)
        for alternative, other in zip(shown, others, strict=True)
        if not alternative.open_advice
    ]
    workload = enquiry.load(price_list)
    (server,) = record.servers
    arrays = tuple(
        array.model_copy(update={"outlook": with_others(array.outlook, sound, workload, place)})
        for place, array in enumerate(server.arrays)
    )
    wider = server.model_copy(
        update={
            "arrays": arrays,
            "room": (*server.room, *twins),
            "alternatives": shown,
            "controllers": compare_controllers(price_list, enquiry, choice, where=False),
        }
    )
    return record.model_copy(update={"servers": (wider,)})


def _alternative(other: Other, best: Candidate, enquiry: Enquiry) -> Alternative:
    candidate = other.candidate
    build = candidate.build
    net, best_net = candidate.net, best.net
    assert net is not None and best_net is not None  # priced by the search
    rules = [array.layout.rule for array in build.arrays]
    drives = (DrivesOn(drive=a.drive.sku, controller=a.controller.sku) for a in build.arrays)
    return Alternative(
        kind=other.kind,
        title=_TITLES.get(other.kind) or both(rule.label for rule in rules),
        words=both(array.layout.words for array in build.arrays),
        chassis=build.chassis.sku,
        drives=tuple(drives),
        pins=pins_of(build),
        usable_bytes=candidate.usable_bytes,
        survives=min(rule.survives for rule in rules),
        net=net,
        net_difference=net - best_net,
        host_iops=candidate.host_iops,
        loss_pct=candidate.loss_pct,
        open_advice=tuple(found.code for found in candidate.open_advice(enquiry.accept)),
    )


def twin_words(build: Build, twin: Twin, currency: str, builds: int) -> str:
    """Say what keeping a slot free costs or saves, with the controller in its other form."""
    other, difference = twin.other, twin.difference
    if twin.candidate is None or difference is None:
        form = "mezzanine" if other.takes == "socket" else "card"
        reasons = "; ".join(reason.words for reason in twin.refused)
        sold = f"The same controller is sold as {form}, {other.sku}"
        return f"{sold}, which does not serve here: {reasons}."
    many = f" for {count(builds, 'build')}" if builds > 1 else ""
    amount = f"{money(abs(difference), currency)} net{many}"
    cost = f"costs {amount} more" if difference > 0 else f"saves {amount}"
    cost = cost if difference else "costs nothing"
    if other.takes == "slot":
        return (
            f"This is the mezzanine version, which keeps the slots free. It is sold as card too, "
            f"{other.sku}: against that, keeping the slot free {cost}."
        )
    chassis = twin.candidate.build.chassis.sku
    takes = "" if chassis == build.chassis.sku else f", and takes {chassis} as chassis"
    return (
        f"The same controller is sold for the mezzanine socket, {other.sku}: keeping the slot free "
        f"with it {cost}{takes}."
    )

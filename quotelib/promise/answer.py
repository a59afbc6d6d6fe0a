"""What do we answer: from an enquiry to a quote record, or to the reason why there is none."""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import find_alternatives
from quotelib.choose.options import pinned
from quotelib.choose.refusing import open_options
from quotelib.choose.search import Choice
from quotelib.choose.server import best_of, choose_server, single_array
from quotelib.choose.twins import Twin, find_twins
from quotelib.enquiry.enquiry import Enquiry
from quotelib.enquiry.request import Request, ServerAsked
from quotelib.facts import Reason
from quotelib.predict.outlook import with_others
from quotelib.promise.assemble import assemble
from quotelib.promise.considering import consider
from quotelib.promise.controllers import compare_controllers
from quotelib.promise.others import looked_for, other_builds, savings
from quotelib.promise.record import QuoteRecord, Server
from quotelib.promise.server import arrays_laid
from quotelib.promise.shipping import SHIP_BY
from quotelib.promise.shown import ArrayLaid
from quotelib.text import count, money


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one request that could be read.

    There are reasons where it is held or refused, and a record where it is not refused.

    Parameters
    ----------
    refused : tuple of tuple of Reason
        Server by server, why there is none; empty for one that could be built.
    """

    outcome: Literal["quoted", "held", "refused"]
    reasons: tuple[Reason, ...]
    record: QuoteRecord | None
    refused: tuple[tuple[Reason, ...], ...] = ()

    @property
    def reason(self) -> str:
        """Give the reasons in one line."""
        return in_one_line(self.reasons)


def in_one_line(reasons: Iterable[Reason]) -> str:
    """Write reasons in one line."""
    return "; ".join(f"{reason.code}: {reason.words}" for reason in reasons)


@lru_cache(maxsize=64)
def _first(
    price_list: PriceList, request: Request, date: dt.date
) -> tuple[Request, tuple[Choice, ...], QuoteRecord | None]:
    timely = [_in_time(price_list, server, date) for server in request.servers]
    request = replace(request, servers=tuple(server for server, _ in timely))
    choices = tuple(choose_server(price_list, server) for server in request.servers)
    best = [choice.best for choice in choices if choice.best is not None]
    if len(best) < len(choices):
        return request, choices, None
    nearest = next((near for _, near in timely if near), "")
    return request, choices, assemble(price_list, request, date, best, nearest=nearest)


def _in_time(price_list: PriceList, asked: ServerAsked, date: dt.date) -> tuple[ServerAsked, str]:
    """Hold a server against the day by which it is wanted, where any can be shipped in time.

    Where none can, it is chosen as if no day were named, and the quote is held: give what would
    come nearest, if that is known. Other servers of the quote, which use the same bench and the
    same stock, are not looked at here: what they make late is held too.
    """
    if not asked.base.value(SHIP_BY) or price_list.terms.bench.minutes_per_day is None:
        return asked, ""
    timely = asked.on(date)
    if single_array(timely) is None:
        # Why there is none would be one search more for each wish.
        return (asked if best_of(price_list, timely) is None else timely), ""
    choice = choose_server(price_list, timely)
    if choice.best is not None:
        return timely, ""
    return asked, next((one.change for one in choice.refused if one.code == SHIP_BY), "")


@lru_cache(maxsize=64)
def answer(
    price_list: PriceList,
    request: Request,
    date: dt.date,
    *,
    alternatives: bool = True,
    controllers: bool = True,
    considered: bool = True,
) -> Answer:
    """Answer a request that was read against this price list.

    With `alternatives` it looks for other builds too: at other levels, with every controller,
    with the slot kept free. Without them a pinned build is answered in milliseconds, which the
    workbook needs while somebody types; asked for afterwards, they are added to that answer. It
    shows no comparison of `controllers`, so that it asks for none; what was `considered` (see
    `weigh`) it asks for beside the alternatives.
    """
    if alternatives and considered:
        found = answer(price_list, request, date, controllers=controllers, considered=False)
        return found if found.record is None else _weighed(found, price_list, request, date)
    request, choices, record = _first(price_list, request, date)
    if record is None:
        refused = tuple(choice.refused for choice in choices)
        return Answer("refused", tuple(named_reasons(request.servers, refused)), None, refused)
    if alternatives:
        record = widen(record, price_list, request, choices, controllers=controllers)
    return Answer(record.outcome, record.internal.hold_reasons, record)


def _weighed(found: Answer, price_list: PriceList, request: Request, date: dt.date) -> Answer:
    assert found.record is not None
    timely, choices, _ = _first(price_list, request, date)
    return replace(found, record=weigh(found.record, price_list, timely, choices))


@lru_cache(maxsize=16)
def chosen_from(price_list: PriceList, request: Request, date: dt.date) -> QuoteRecord | None:
    """Give the record of a request with what was considered, but for what takes the longest.

    Somebody is waiting: see `consider` for what that is.
    """
    record = answer(price_list, request, date, controllers=False, considered=False).record
    timely, choices, _ = _first(price_list, request, date)
    return record and weigh(record, price_list, timely, choices, ruled=False)


def named_reasons(
    servers: Sequence[ServerAsked], refused: Sequence[Iterable[Reason]]
) -> Iterator[Reason]:
    """Give the reasons of several servers, each with what the server is called."""
    for server, reasons in zip(servers, refused, strict=True):
        name = f"server {server.name}: " if len(servers) > 1 else ""
        for reason in reasons:
            yield reason.model_copy(update={"what": f"{name}{reason.what}"})


def laid_out(price_list: PriceList, asked: ServerAsked) -> tuple[ArrayLaid, ...]:
    """Describe the arrays of a server that is pinned whole, without waiting for the answer.

    They are as the answer will have them; none where the pins leave a choice, or where there is no
    build as asked.
    """
    if open_options(asked.base) or not asked.arrays or not all(map(pinned, asked.arrays)):
        return ()
    best = choose_server(price_list, asked).best
    return tuple(arrays_laid(best.build)) if best is not None else ()


def widen(
    record: QuoteRecord,
    price_list: PriceList,
    request: Request,
    choices: Sequence[Choice],
    *,
    controllers: bool = True,
) -> QuoteRecord:
    """Add what else would do, and what wishes cost, to a record of the quoted builds alone.

    What else would do is looked for where a server has one array and nothing else was left open.
    """
    servers = []
    best = [choice.best for choice in choices if choice.best is not None]
    saved = savings(price_list, request, best)
    for server, asked, choice, of in zip(
        record.servers, request.servers, choices, saved, strict=True
    ):
        wider = server.model_copy(update={"savings": of})
        enquiry = single_array(asked)
        if enquiry is not None:
            wider = _wider(wider, record.currency, price_list, enquiry, choice, controllers)
        servers.append(wider)
    return record.model_copy(update={"servers": tuple(servers)})


def weigh(
    record: QuoteRecord,
    price_list: PriceList,
    request: Request,
    choices: Sequence[Choice],
    *,
    ruled: bool = True,
) -> QuoteRecord:
    """Add to a record with other builds what each server was chosen from, as `consider` has it."""
    servers = tuple(
        server.model_copy(
            update={
                "considered": consider(asked, choice, server.alternatives, price_list, ruled=ruled)
            }
        )
        for server, asked, choice in zip(record.servers, request.servers, choices, strict=True)
    )
    return record.model_copy(update={"servers": servers})


def _wider(
    server: Server,
    currency: str,
    price_list: PriceList,
    enquiry: Enquiry,
    choice: Choice,
    controllers: bool,
) -> Server:
    best = choice.best
    assert best is not None
    others = find_alternatives(price_list, enquiry, choice, best)
    # Nobody asks for another controller where an array stays on the customer's own.
    stays = enquiry.action != "new" and all(piece.owned for piece, _ in best.build.controllers())
    twins = (
        twin_words(best.build, twin, currency, enquiry.builds)
        for twin in (() if stays else find_twins(price_list, enquiry, best.build))
    )
    shown = tuple(other_builds(others, best, enquiry, price_list))
    sound = [
        (one.title, other.candidate.build)
        for one, other in zip(shown, others, strict=True)
        if not one.open_advice
    ]
    workload = enquiry.load(price_list)
    arrays = tuple(
        array.model_copy(update={"outlook": with_others(array.outlook, sound, workload, place)})
        for place, array in enumerate(server.arrays)
    )
    return server.model_copy(
        update={
            "arrays": arrays,
            "room": (*server.room, *twins),
            "alternatives": shown,
            "alternatives_words": looked_for(enquiry),
            "controllers": None
            if stays or not controllers
            else compare_controllers(price_list, enquiry, choice, where=False),
        }
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

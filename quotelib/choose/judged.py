"""How builds that were picked stand to one demand: whether they meet it, and how far they are."""

from collections.abc import Callable, Iterator
from decimal import Decimal

import numpy as np

from quotelib.choose import shipped
from quotelib.choose.asking import Asking
from quotelib.choose.candidate import Candidate
from quotelib.choose.demanded import Form
from quotelib.choose.integers import Whole
from quotelib.choose.picked import Picked
from quotelib.choose.picking import Selection
from quotelib.choose.weights import DRAW
from quotelib.estimate.checks import FloatArray


def kept(asked: Asking, selection: Selection, picked: Picked) -> Picked:
    """Leave out what does not meet a demand that each build has to be asked alone."""
    for form in selection.forms:
        if form.alone and len(picked):
            met = [form.demand.met(one) for one in made(asked, picked, form)]
            picked = picked.take(np.array(met, dtype=bool))
    return picked


def made(asked: Asking, picked: Picked, form: Form) -> Iterator[Candidate]:
    """Make builds, with what a demand looks at."""
    for row, plan in zip(picked.rows.tolist(), picked.plans.tolist(), strict=True):
        build = asked.table.build(row, plan)
        candidate = Candidate(build, build.usable_bytes)
        if form.demand.needs != "build":
            asked.judge([candidate])
        yield candidate


def shortfall(asked: Asking, form: Form, selection: Selection, picked: Picked) -> FloatArray:
    """Say how far some builds are from meeting a demand, as `Asked.shortfall` does."""
    table, rows, plan = selection.table, picked.rows, picked.plans
    demand, every, scales = form.demand, table.plans, table.scales
    if form.speed is not None or form.risk is not None:
        got = _columns(selection, picked, form)[_COLUMNS[demand.column]]
        least = demand.demand.sense == "at least"
        far = demand.limit - got if least else got - demand.limit
        return np.where(np.isnan(far), np.inf, far)
    if demand.column == "usable_tb":
        sizes = table.sizes[table.at[1][rows], table.at[2][rows]]
        return _each(every.data[plan] * sizes, lambda got: float(demand.limit - got))
    if demand.column == "survive":
        return np.asarray(demand.limit - every.survives[plan], dtype=float)
    if demand.column == "max_price":
        unit = Decimal(1).scaleb(-scales.places)
        return _each(picked.net, lambda got: float(got * unit - demand.limit))
    if demand.column == "max_watts":
        unit = Decimal(1).scaleb(-scales.watt_places)
        drawn = table.weights.value(DRAW, rows, every.drives[plan])
        return _each(drawn, lambda got: float(got * unit - demand.limit))
    if demand.column == "ship_by":
        return np.asarray(shipped.leaves(table, demand, rows, plan) - demand.limit)
    # What parts alone decide is asked of one build for all with the same ones.
    if form.rows is not None:
        some, back = np.unique(rows, return_inverse=True)
        index = np.zeros(len(some), dtype=np.intp)
        index[back.reshape(-1)] = np.arange(len(rows))
        short = [demand.shortfall(one) for one in made(asked, picked.take(index), form)]
        return np.array(short)[back.reshape(-1)]
    return np.array([demand.shortfall(one) for one in made(asked, picked, form)])


_COLUMNS = {"host_iops": 0, "host_mb_s": 1, "max_response_ms": 2, "max_loss_pct": 0}


def _each(values: Whole, of: Callable[[int], float]) -> FloatArray:
    distinct, back = np.unique(values, return_inverse=True)
    return np.array([of(int(one)) for one in distinct])[back.reshape(-1)]


def _columns(selection: Selection, picked: Picked, form: Form) -> FloatArray:
    estimated, keys = selection.table.estimated, selection.keys(picked)
    return estimated.speed(keys) if form.speed is not None else estimated.risk(keys)

"""Say what a server was chosen from: counts, the three side by side, what no other build beats."""

from collections.abc import Callable, Iterator, Sequence

from quotelib.build.build import Build
from quotelib.catalogue.price_list import PriceList
from quotelib.choose.alternatives import has_ceiling
from quotelib.choose.candidate import Candidate, describe
from quotelib.choose.counts import Counts
from quotelib.choose.options import pinned, pins_of
from quotelib.choose.search import Choice
from quotelib.choose.server import single_array
from quotelib.enquiry.request import ServerAsked
from quotelib.levels import LEVELS
from quotelib.predict.inputs import behind
from quotelib.predict.screening import array_loss_pct
from quotelib.promise.compared import Alternative, ComparedBuild, DrivesOn
from quotelib.promise.considered import THREE, Beside, Considered, Point, Ruled
from quotelib.text import both, count, either, figure, percent, sentence, tb

_WITHIN_BUDGET, _WITHIN = "within the budget", "up to one and a half times the lowest price"
_OTHERS = "The lowest price at each other level"
_OTHERS_BUDGET = (
    "Most capacity within the budget, where it is more than the proposal's, and the lowest price "
    "at each other level"
)
MOST_POINTS = 60
"""Points that a chart shows at most; ours: more cannot be told apart on paper."""


def consider(
    asked: ServerAsked,
    choice: Choice,
    alternatives: Sequence[Alternative],
    price_list: PriceList,
    *,
    ruled: bool = True,
) -> Considered | None:
    """Say what a server was chosen from; None where nothing was left to choose, or is not known.

    Of a server of several arrays only the count is given: what else would do is not looked for.

    Parameters
    ----------
    alternatives
        As `others.other_builds` shows them; the least risk and the fastest are taken from these.
    ruled
        Whether to say what takes the longest: what each demand takes away, and anything of a server
        of several arrays.
    """
    best, row, array = choice.best, asked.base, single_array(asked)
    if best is None or all(map(pinned, asked.arrays)) or (array is None and not ruled):
        return None
    counts = choice.counts
    if counts is None or counts.possible < 2:
        return None
    if array is None:
        return _counted(counts, asked, price_list)
    within = _WITHIN_BUDGET if has_ceiling(row) else _WITHIN
    three = tuple(_three(best, asked, alternatives, price_list))
    points = tuple(_points(choice.front, three))
    shown = spread_out(points)
    sound = not best.open_advice(row.accept)
    return _counted(counts, asked, price_list).model_copy(
        update={
            "within": within,
            "three": three,
            "three_words": _no_other(three, best, within),
            "points": shown,
            "points_all": len(points),
            "points_words": _points_words(len(points), len(shown), within, sound=sound),
            "others_words": _OTHERS_BUDGET if has_ceiling(row) else _OTHERS,
            "ruled": tuple(_ruled(choice)) if ruled else (),
        }
    )


def _counted(counts: Counts, asked: ServerAsked, price_list: PriceList) -> Considered:
    """Say of how many builds it was chosen, and no more."""
    return Considered(
        currency=asked.base.currency or price_list.terms.currency,
        builds=asked.base.builds,
        possible=counts.possible,
        fit=counts.fit,
        meet=counts.meet,
        words=f"{sentence(counts.words)}.",
    )


def _ruled(choice: Choice) -> Iterator[Ruled]:
    for one in choice.removed:
        yield Ruled(column=one.demand.column, wish=one.demand.words, alone=one.builds)


def _three(
    best: Candidate,
    asked: ServerAsked,
    alternatives: Sequence[Alternative],
    price_list: PriceList,
) -> Iterator[Beside]:
    choice = _choice(best, asked, price_list)
    yield choice
    for kind in THREE[1:]:
        for other in alternatives:
            # What is the least risk and the fastest comes once.
            if kind in other.kinds and (kind == THREE[1] or THREE[1] not in other.kinds):
                yield _beside(other, choice)


def _choice(best: Candidate, asked: ServerAsked, price_list: PriceList) -> Beside:
    build, row = best.build, asked.base
    assert best.net is not None  # priced by the search
    loads = [array.load(price_list) for array in asked.arrays]
    chances: list[float | None] = []
    if len(loads) == 1:
        (array,) = build.arrays
        chances = array_loss_pct([behind(build, array)], loads[0], price_list.terms)
    advised = best.open_advice(row.accept)
    gives = "the lowest price that meets every demand"
    gives += " with something to advise against in all that do" if advised else ""
    return Beside(
        kinds=("least_cost",),
        title="Our choice: least cost",
        words=both(array.layout.words for array in build.arrays),
        chassis=build.chassis.sku,
        drives=tuple(
            DrivesOn(drive=a.drive.sku, controller=a.controller.sku) for a in build.arrays
        ),
        pins=pins_of(build),
        usable_bytes=best.usable_bytes,
        survives=min((array.layout.rule.survives for array in build.arrays), default=0),
        net=best.net,
        net_difference=best.net - best.net,
        gives=gives,
        host_iops=best.host_iops,
        array_loss_pct=chances[0] if chances else None,
        loss_pct=best.loss_pct,
        open_advice=tuple(found.code for found in advised),
    )


def _beside(other: Alternative, choice: Beside) -> Beside:
    cells = {name: getattr(other, name) for name in ComparedBuild.model_fields}
    kinds = tuple(kind for kind in other.kinds if kind != "level")
    return Beside(**{**cells, "kinds": kinds, "gives": _gives(other, choice)})


_MEASURES = ("fastest", "least_risk", "survives", "most_capacity")


def _gives(other: Alternative, choice: Beside) -> str:
    """Say in what another build is otherwise than the choice: first what it stands for."""
    said = {
        "fastest": _instead(
            "about {} operations a second", lambda value: figure(value, 2), other.host_iops,
            choice.host_iops,
        ),
        "least_risk": _instead(
            "a chance of losing data of about {}", percent, other.loss_pct, choice.loss_pct,
            more=False,
        ),
        "survives": _instead(
            "any {} survived", lambda value: count(int(value), "drive failure"),
            other.survives, choice.survives,
        ),
        "most_capacity": _instead(
            "{} TB", lambda value: tb(int(value)), other.usable_bytes, choice.usable_bytes
        ),
    }  # fmt: skip
    order = sorted(_MEASURES, key=lambda kind: kind not in other.kinds)
    found = [one for kind in order if (one := said[kind]) is not None]
    better = [words for good, words in found if good]
    worse = [words for good, words in found if not good]
    return both(better) + (f"; but {both(worse)}" if worse else "")


def _instead(
    words: str,
    say: Callable[[float], str],
    its: float | None,
    own: float | None,
    *,
    more: bool = True,
) -> tuple[bool, str] | None:
    """Say one thing of another build and of the choice, and whether it speaks for the other.

    None where they are the same as said, or one is not known.
    """
    if its is None or own is None or say(its) == say(own):
        return None
    return (its > own) is more, f"{words.format(say(its))} instead of {say(own)}"


def _no_other(three: Sequence[Beside], best: Candidate, within: str) -> str:
    """Say which of the others there is none of, as the choice is as good or nearly so."""
    there = {kind for one in three for kind in one.kinds}
    none = []
    if "least_risk" not in there and best.loss_pct is not None:
        none.append("less likely to lose data")
    if "fastest" not in there and best.host_iops is not None:
        none.append("faster")
    return f"Nothing {within} is clearly {either(none)} than our choice." if none else ""


def _points(front: Sequence[Candidate], three: Sequence[Beside]) -> Iterator[Point]:
    """Show builds that no other one beats, the three among them, from the cheapest on."""
    left = {tuple(sorted(one.pins.items())): one for one in three}
    found = []
    for candidate in front:
        assert candidate.net is not None  # priced by the search
        pins = pins_of(candidate.build)
        one = left.pop(tuple(sorted(pins.items())), None)
        found.append(
            Point(
                kinds=one.kinds if one is not None else (),
                level=_level(candidate.build),
                words=describe(candidate.build),
                pins=pins,
                net=candidate.net,
                usable_bytes=candidate.usable_bytes,
                host_iops=candidate.host_iops,
                loss_pct=candidate.loss_pct,
            )
        )
    # Another build for the same price may beat one of the three, which is shown all the same.
    found += map(_own, left.values())
    yield from sorted(found, key=lambda point: point.net)


def _own(one: Beside) -> Point:
    parts = (f"{on.drive} in {one.chassis} on {on.controller}" for on in one.drives)
    return Point(
        kinds=one.kinds,
        level=LEVELS[one.pins["level"]].label,
        words=f"{one.words}, {both(parts)}",
        pins=one.pins,
        net=one.net,
        usable_bytes=one.usable_bytes,
        host_iops=one.host_iops,
        loss_pct=one.loss_pct,
    )


def _level(build: Build) -> str:
    return both(dict.fromkeys(array.layout.rule.label for array in build.arrays))


def spread_out(points: Sequence[Point], most: int = MOST_POINTS) -> tuple[Point, ...]:
    """Leave so many points at most, at even steps in their order, those of the three always."""
    if len(points) <= most:
        return tuple(points)
    kept = {at for at, point in enumerate(points) if point.kinds}
    others = [at for at in range(len(points)) if at not in kept]
    room = most - len(kept)
    kept |= {others[step * (len(others) - 1) // (room - 1)] for step in range(room)}
    return tuple(points[at] for at in sorted(kept))


def _points_words(every: int, shown: int, within: str, *, sound: bool) -> str:
    but = ", and that we do not advise against," if sound else ""
    words = (
        f"Each meets every demand{but} and none {within} beats it: none that costs no more, does "
        "no fewer operations a second, is no likelier to lose data and holds no less."
    )
    if shown < every:
        words += (
            f" Of {every:,} such builds {shown} are shown, at even steps in the order of price, "
            "the three named among them."
        )
    return words

"""What will it do, as a record says it: the figures of the charts, and sentences."""

from typing import Literal

from quotelib.facts import Frozen, Measure


class LoadShown(Frozen):
    """The load that estimates rest on, in numbers; the name is blank where none was named."""

    name: str
    description: str = ""
    read_pct: Measure
    random_pct: Measure
    block_kib: Measure
    outstanding: int


class CurvePoint(Frozen):
    """Throughput and response time with so many operations outstanding."""

    outstanding: int
    iops: float
    response_ms: float


class Curve(Frozen):
    """One build under rising load; the point of the workload is the one with its outstanding."""

    name: str
    proposed: bool
    points: tuple[CurvePoint, ...]


class TimeShare(Frozen):
    """Where the time of an operation goes, and which part of it that is, in per cent."""

    name: str
    ms: float
    pct: float


class Chance(Frozen):
    """A chance in per cent with its range."""

    value: float
    low: float
    high: float


class Loss(Frozen):
    """What may be lost at once, how much that is, and how likely within the years looked at.

    Parameters
    ----------
    kind
        ``array``: all that the array holds; ``drive``: what is on one of drives used one by one;
        ``any``: any data, which at the least is a strip around a sector that cannot be read.
    what, amount : str
        In words.
    bytes : int
        How much goes at once; of ``any`` the least that does.
    chance : Chance or None
        None: not known.
    shown, shown_range : str
        The chance and its range as a page shows them.
    """

    kind: Literal["array", "drive", "any"]
    what: str
    amount: str
    bytes: int
    chance: Chance | None
    shown: str
    shown_range: str


class LevelLoss(Frozen):
    """Chances of losing the array, and any data, with these drives at one level.

    `whole` names what `array` is the chance of: one of the drives where there is no array.
    `any_data` is None where it is not known.
    """

    level: str
    label: str
    members: int
    whole: Literal["array", "a drive"]
    array: Chance
    any_data: Chance | None
    proposed: bool


class RebuildStage(Frozen):
    """A stretch of the time from a failure to full redundancy."""

    case: str
    stage: str
    start_hours: float
    end_hours: float


class Outlook(Frozen):
    """What the charts and sentences about one array show.

    Parameters
    ----------
    workload_words, load, outstanding
        The load everything rests on, in words and numbers, and its operations outstanding.
    words : tuple of str
        What it means for a buyer.
    operation_ms : float
        How long one operation takes, waiting included; the sum of `time_shares`.
    years : str
        How far the risk looks ahead.
    losses : tuple of Loss
        What may be lost, the most first.
    curves, time_shares, level_losses, rebuild_stages
        For the charts; empty where nothing is known.
    mttdl_caution : str
        Goes wherever the mean time to data loss is shown.
    """

    workload_words: str
    load: LoadShown
    words: tuple[str, ...]
    outstanding: int
    operation_ms: float
    years: str
    losses: tuple[Loss, ...]
    curves: tuple[Curve, ...]
    time_shares: tuple[TimeShare, ...]
    level_losses: tuple[LevelLoss, ...]
    rebuild_stages: tuple[RebuildStage, ...]
    mttdl_caution: str

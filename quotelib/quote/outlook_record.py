"""What will it do, as a record says it: estimates with their basis, and the charts' figures."""

from typing import Literal

from quotelib.quote.facts import Fact, Frozen

Group = Literal["speed", "rebuild", "risk", "wear", "power"]


class EstimateFacts(Frozen):
    """One estimate with its range and what it rests on.

    Parameters
    ----------
    key : str
        Its name for programs.
    group : str
        What it is about.
    name : str
        Its name for people.
    value, low, high : float or None
        None: not known, or no end to the range; `basis` then says why.
    unit : str
    shown, shown_range : str
        Value and range as a page shows them.
    basis, source : str
        The formula in words, and where it comes from.
    inputs : tuple of Fact
        Those that matter most, first.
    """

    key: str
    group: Group
    name: str
    value: float | None
    low: float | None
    high: float | None
    unit: str
    shown: str
    shown_range: str
    basis: str
    source: str
    inputs: tuple[Fact, ...]


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
    """Where the time of an operation goes."""

    name: str
    ms: float


class LevelLoss(Frozen):
    """Chance of losing data with these drives at one level, in per cent, with its range."""

    level: str
    label: str
    members: int
    value: float
    low: float
    high: float
    proposed: bool


class RebuildStage(Frozen):
    """A stretch of the time from a failure to full redundancy."""

    case: str
    stage: str
    start_hours: float
    end_hours: float


class OutlookFacts(Frozen):
    """What the charts and sentences of "What it will do" show.

    Parameters
    ----------
    workload_words : str
        The load everything rests on.
    words : tuple of str
        What it means for a buyer.
    outstanding : int
        Of the workload.
    years : str
        How far the risk looks ahead.
    curves, time_shares, level_losses, rebuild_stages
        For the charts; empty where nothing is known.
    mttdl_caution : str
        Goes wherever the mean time to data loss is shown.
    """

    workload_words: str
    words: tuple[str, ...]
    outstanding: int
    years: str
    curves: tuple[Curve, ...]
    time_shares: tuple[TimeShare, ...]
    level_losses: tuple[LevelLoss, ...]
    rebuild_stages: tuple[RebuildStage, ...]
    mttdl_caution: str

"""What will it do, as a record says it: the figures of the charts, and sentences."""

from quotelib.facts import Frozen


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


class Outlook(Frozen):
    """What the charts and sentences about one array show.

    Parameters
    ----------
    workload_words, outstanding
        The load everything rests on, and its operations outstanding.
    words : tuple of str
        What it means for a buyer.
    operation_ms : float
        How long one operation takes, waiting included; the sum of `time_shares`.
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
    operation_ms: float
    years: str
    curves: tuple[Curve, ...]
    time_shares: tuple[TimeShare, ...]
    level_losses: tuple[LevelLoss, ...]
    rebuild_stages: tuple[RebuildStage, ...]
    mttdl_caution: str

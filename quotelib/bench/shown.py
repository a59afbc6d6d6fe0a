"""What does a bench sheet say: frozen facts for whoever builds the server, without prices."""

from typing import Literal

from quotelib.build.placement import BayUse
from quotelib.facts import Fact, Frozen, Measure

Hazard = Literal["data", "supply", "static", "lifting", "edges", "lithium"]
"""What can hurt: erased data, mains and stored energy, static, mass, edges and heat, lithium."""


class PickLine(Frozen):
    """Some equal parts to fetch.

    The quantity is for one server and for all alike, the location in words. What is owned is the
    customer's: not from our shelf, and still to be checked. `bays` are those with one each, where
    each has a serial number to note.
    """

    role: str
    sku: str
    description: str
    quantity: int
    quantity_all: int
    location: str
    owned: bool
    bays: tuple[int, ...]


class PlanBay(Frozen):
    """One bay of the plan: its number, its use, and that in words with array and span."""

    bay: int
    use: BayUse
    words: str


class BenchCaution(Frozen):
    """A caution in full, with a name of a few words, for the head of the sheet."""

    hazard: Hazard
    name: str
    words: str


class StepCaution(Frozen):
    """A caution at the step where it bites: shorter than at the head of the sheet."""

    hazard: Hazard
    words: str


class BenchStep(Frozen):
    """One step, numbered from 1: what to do, and the cautions to be read before doing it."""

    number: int
    title: str
    words: str
    cautions: tuple[StepCaution, ...]


class Check(Frozen):
    """What to look at, what it must show, and what is to be written down in the blank."""

    what: str
    must: str
    blank: str


class ArrayBench(Frozen):
    """How one array, or its drives passed through, is set, and what it must show.

    Its name is ``Array data``, blank for the only one of its server. There are no checks while
    nothing may be written.
    """

    name: str
    settings_words: str
    settings: tuple[Fact, ...]
    checks: tuple[Check, ...]


class ServiceTime(Frozen):
    """Bench time of a service, for one server or, `once`, for all of the quote."""

    sku: str
    description: str
    quantity: int
    minutes_each: Measure
    minutes: Measure
    once: bool = False


class LooseSheet(Frozen):
    """How loose parts are picked and packed: they are not built in, and take no bench time."""

    rule: str
    pick: tuple[PickLine, ...]
    tools: tuple[str, ...]
    cautions: tuple[BenchCaution, ...]
    steps: tuple[BenchStep, ...]
    sign_off: tuple[str, ...]


class BenchSheet(Frozen):
    """Everything the bench has to know of some equal servers; no price, no note of the seller's.

    Parameters
    ----------
    builds
        How many alike; what does not say "all" is for one.
    rule
        What stands above every step.
    data_first
        What to settle about the customer's own parts and data before anything else; empty where
        the customer owns none of the parts.
    pick
        Equal parts counted together, the customer's apart.
    cautions
        Every hazard of the steps, the gravest first.
    plan
        Each place outside the bays with what goes there, free ones too, then what the bays hold.
    checks
        Of the whole server, after its arrays; empty while nothing may be written.
    sign_off
        Who signs for what.
    minutes, minutes_all
        Sum of the services, for one server, and for all alike with what is done once.
    """

    builds: int
    rule: str
    data_first: tuple[str, ...]
    pick: tuple[PickLine, ...]
    tools: tuple[str, ...]
    cautions: tuple[BenchCaution, ...]
    plan: tuple[Fact, ...]
    bays: tuple[PlanBay, ...]
    steps: tuple[BenchStep, ...]
    arrays: tuple[ArrayBench, ...]
    checks: tuple[Check, ...]
    burn_in_hours: int
    sign_off: tuple[str, ...]
    services: tuple[ServiceTime, ...]
    minutes: Measure
    minutes_all: Measure

"""What does a bench sheet say: frozen facts for whoever builds the server, without prices."""

from typing import Literal

from quotelib.build.bays import BayUse
from quotelib.facts import Fact, Frozen, Measure

Trial = Literal["", "read", "write"]
"""What a trial of an array's speed may do: nothing yet, read only, or write over all of it."""
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
    """A caution in full, with a name of a few words, for every page on which it matters."""

    hazard: Hazard
    name: str
    words: str


class StepCaution(Frozen):
    """A caution at the step where it bites: shorter than in full."""

    hazard: Hazard
    words: str


class BenchStep(Frozen):
    """One step, numbered from 1, of a phase of the work (blank: there is but one).

    The title says what to do and starts with a verb, the words say how; the cautions, each once,
    are to be read before doing it.
    """

    number: int
    phase: str
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
    nothing may be written, and no trial of its speed.
    """

    name: str
    settings_words: str
    settings: tuple[Fact, ...]
    checks: tuple[Check, ...]
    trial: Trial


class ServiceTime(Frozen):
    """Bench time of a service, for one server or, `once`, for all of the quote."""

    sku: str
    description: str
    quantity: int
    minutes_each: Measure
    minutes: Measure
    once: bool = False


class Wait(Frozen):
    """Time in which nobody need stand there, estimated but for the soak: hours, and at most.

    `words` says what runs and how long, `basis` how that was worked out.
    """

    what: Literal["self_test", "initialisation", "growth", "rebuilds", "soak"]
    hours: float
    high_hours: float
    words: str
    basis: str


class Returned(Frozen):
    """What is done with drives that come back: how they are erased, and what is written down."""

    words: tuple[str, ...]
    columns: tuple[str, ...]


class Sheet(Frozen):
    """What every sheet has.

    Parameters
    ----------
    rule
        What stands above every step.
    pick
        Equal parts counted together, the customer's apart.
    cautions
        Every hazard of the steps in full, the gravest first; they stand over the steps on every
        page that has any.
    sign_off
        Who signs for what.
    leaves
        The day on which it must leave, in words; blank: not worked out.
    """

    rule: str
    pick: tuple[PickLine, ...]
    tools: tuple[str, ...]
    cautions: tuple[BenchCaution, ...]
    steps: tuple[BenchStep, ...]
    sign_off: tuple[str, ...]
    leaves: str = ""


class LooseSheet(Sheet):
    """How loose parts are picked and packed: they are not built in, and take no bench time."""


class BenchSheet(Sheet):
    """Everything the bench has to know of some equal servers; no price, no note of the seller's.

    Parameters
    ----------
    builds
        How many alike; what does not say "all" is for one.
    data_first
        What to settle about the customer's own parts and data before anything else; empty where
        the customer owns none of the parts.
    plan
        Each place outside the bays with what goes there, free ones too, then what the bays hold.
    checks
        Of the whole server, after its arrays; empty while nothing may be written.
    minutes, minutes_all
        Hands-on: sum of the services, for one server, and for all alike with what is done once.
    waits
        What runs unattended, one after the other, in each server.
    unattended_hours, unattended_high_hours
        What these come to for one server, and at most.
    waits_unknown
        Whether a change of an array runs for nobody knows how long.
    time_words
        Hands-on and unattended time in words.
    returned
        What is done with drives that come back; None where none is to be expected.
    """

    builds: int
    data_first: tuple[str, ...]
    plan: tuple[Fact, ...]
    bays: tuple[PlanBay, ...]
    arrays: tuple[ArrayBench, ...]
    checks: tuple[Check, ...]
    burn_in_hours: int
    services: tuple[ServiceTime, ...]
    minutes: Measure
    minutes_all: Measure
    waits: tuple[Wait, ...]
    unattended_hours: float
    unattended_high_hours: float
    waits_unknown: bool = False
    time_words: str
    returned: Returned | None

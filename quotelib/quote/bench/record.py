"""What does a bench sheet say: frozen facts for whoever builds the server, without prices."""

from typing import Literal

from quotelib.quote.facts import Fact, Frozen, Measure

Hazard = Literal["data", "supply", "static", "lifting", "edges", "lithium"]
"""What can hurt: erased data, mains and stored energy, static, mass, edges and heat, lithium."""


class PickLine(Frozen):
    """One thing to fetch.

    Parameters
    ----------
    role : str
        ``chassis``, ``controller``, ``drive``, or the kind of an accessory.
    sku, description : str
        From the price list.
    quantity : int
        For one build.
    location : str
        Where it goes, in words.
    owned : bool
        Whether it is the customer's: not from our shelf, and still to be checked.
    bays : tuple of int
        The bays with one each, where each has a serial number to note.
    """

    role: str
    sku: str
    description: str
    quantity: int
    location: str
    owned: bool
    bays: tuple[int, ...]


class BenchCaution(Frozen):
    """A caution, before the first step and again where it bites.

    Parameters
    ----------
    hazard : str
    name : str
        In two or three words.
    words : str
        In full, for the head of the sheet.
    """

    hazard: Hazard
    name: str
    words: str


class StepCaution(Frozen):
    """A caution at the step where it bites: shorter than at the head of the sheet."""

    hazard: Hazard
    words: str


class BenchStep(Frozen):
    """One step.

    Parameters
    ----------
    number : int
        From 1.
    title : str
    words : str
        What to do.
    cautions : tuple of StepCaution
        To be read before doing it.
    """

    number: int
    title: str
    words: str
    cautions: tuple[StepCaution, ...]


class Check(Frozen):
    """What the finished system must show.

    Parameters
    ----------
    what, must : str
        What to look at, and what it must show.
    blank : str
        What is to be written down.
    """

    what: str
    must: str
    blank: str


class ServiceTime(Frozen):
    """Bench time of a service, for one build."""

    sku: str
    description: str
    quantity: int
    minutes_each: Measure
    minutes: Measure


class BenchFacts(Frozen):
    """Everything a bench sheet shows beside the record's placement and layout.

    Parameters
    ----------
    builds : int
        How many alike; all else is for one.
    rule : str
        What stands above every step.
    data_first : tuple of str
        What to settle about the customer's own parts and data before anything else; empty where
        the customer owns none of the parts.
    pick : tuple of PickLine
    tools : tuple of str
    cautions : tuple of BenchCaution
        Every hazard of the steps, the gravest first.
    steps : tuple of BenchStep
    settings_words : str
        How to read the settings.
    settings : tuple of Fact
        Of the array, or of drives passed through.
    checks : tuple of Check
        Acceptance.
    burn_in_hours : int
    sign_off : tuple of str
        Who signs for what.
    services : tuple of ServiceTime
    minutes : Decimal
        Their sum, for one build.
    """

    builds: int
    rule: str
    data_first: tuple[str, ...]
    pick: tuple[PickLine, ...]
    tools: tuple[str, ...]
    cautions: tuple[BenchCaution, ...]
    steps: tuple[BenchStep, ...]
    settings_words: str
    settings: tuple[Fact, ...]
    checks: tuple[Check, ...]
    burn_in_hours: int
    sign_off: tuple[str, ...]
    services: tuple[ServiceTime, ...]
    minutes: Measure

"""What can become of a quote, in plain words, and what follows from that."""

from typing import Literal, get_args

Outcome = Literal["open", "ordered", "delivered", "declined", "lapsed"]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
OPEN: Outcome = "open"
WON: tuple[Outcome, ...] = ("ordered", "delivered")
LOST: tuple[Outcome, ...] = ("declined", "lapsed")
MEANING = {
    "open": "the customer has not said yet",
    "ordered": "the customer has ordered it; its parts are kept until it is delivered",
    "delivered": "it has left the house, and so has its stock",
    "declined": "the customer does not want it",
    "lapsed": "nothing came of it, and nobody waits for it any more",
}

"""What is different where a batch gives its quotes into a register.

All enquiries are answered first. Then all quotes are given at once, in the order of the file, each
with its number; whatever ends the batch before that leaves the register as it was. Documents are
made last, of what stands in the register: where the batch is ended before they are in the folder,
the next run gives the same quotes the same numbers, and ``quotelib reopen`` writes any of them.
"""

from collections.abc import Callable, Generator, Sequence
from contextlib import closing
from typing import TYPE_CHECKING

from quotelib.documents.batch.answers import (
    Done,
    Job,
    Task,
    answered_first,
    documented,
    first_file,
)
from quotelib.promise.record import QuoteRecord

if TYPE_CHECKING:
    from quotelib.register.book import Register
    from quotelib.register.giving import Given

Work = Callable[
    [Callable[[Job, Task], Done], Job, list[Task]], Generator[tuple[int, Done], None, None]
]
"""Does something with every task that can be done, in whatever order."""


class Giving:
    """Gives the quotes of a batch into a register.

    Attributes
    ----------
    given : list of Given
        In the order of the file, as far as it has come.
    """

    def __init__(self, register: "Register", by: str) -> None:
        self._register, self._by = register, by
        self.given: list[Given] = []

    def job(self, job: Job, tasks: Sequence[Task]) -> Job:
        """Have others' parts kept from what is answered."""
        requests = [task.asked.request for task in tasks if task.asked.request is not None]
        anew = frozenset((one.first.enquiry_id, one.first.customer) for one in requests)
        return job._replace(kept=self._register.kept(job.date), anew=anew)

    def work(
        self, job: Job, tasks: list[Task], work: Work
    ) -> Generator[tuple[int, Done], None, None]:
        """Answer, give, and make documents."""
        found: dict[int, QuoteRecord] = {}
        with closing(work(answered_first, job, tasks)) as coming:
            for place, done in coming:
                if done.rows:
                    yield place, done
                else:
                    text = first_file(job, tasks[place]).read_text("utf-8")
                    found[place] = QuoteRecord.model_validate_json(text)
        places = sorted(found)
        self.given = self._register.give([found[place] for place in places], self._by)
        left: dict[int, Task] = {}
        for place, given in zip(places, self.given, strict=True):
            if given.news == "closed":
                yield place, _closed(tasks[place], given)
            else:
                number = given.record.numbered
                left[place] = tasks[place]._replace(number=number, text=given.text)
        numbers = list(left)
        with closing(work(documented, job, list(left.values()))) as coming:
            for place, done in coming:
                yield numbers[place], done

    def words(self) -> str:
        """Say what has been given, and under which numbers."""
        names = {
            "new": "new", "revised": "revised", "as it was": "as given before",
            "closed": "not given",
        }  # fmt: skip
        said = []
        for news, name in names.items():
            numbers = [
                given.number if news == "closed" else given.record.numbered
                for given in self.given
                if given.news == news
            ]
            if numbers:
                few = numbers if len(numbers) < 3 else [f"{numbers[0]} to {numbers[-1]}"]
                said.append(f"{len(numbers)} {name} ({', '.join(few)})")
        told = "; ".join(said) or "nothing"
        return f"Given into the register {self._register.name}: {told}."


def _closed(task: Task, given: "Given") -> Done:
    from quotelib.register.book import closed_words

    why, right = closed_words(given.number, given.outcome)
    reason = f"register: {given.number} {why}; {right}"
    return Done(task.rows("refused", {row.row: reason for row in task.asked.rows}, ""), {})

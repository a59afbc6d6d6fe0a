"""What is different where a batch gives its quotes into a register.

All enquiries are answered first. Then all quotes are given at once, in the order of the file, each
with its number; whatever ends the batch before that leaves the register as it was. Documents are
made last, of what stands in the register: where the batch is ended before they are in the folder,
the next run gives the same quotes the same numbers, and ``quotelib reopen`` writes any of them.
"""

from collections.abc import Callable, Generator, Iterator
from contextlib import closing, contextmanager
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
    from quotelib.register.book import Register, Revision
    from quotelib.register.giving import Given, Offered

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

    def _know(self, job: Job, tasks: list[Task]) -> "tuple[Job, list[Task], dict[int, Revision]]":
        """Have others' parts kept from what is answered, and find what was given before."""
        asked = [task.asks for task in tasks]
        there = self._register.last(asked)
        job = job._replace(kept=self._register.kept(job.date), anew=frozenset(asked))
        before = {place: there[one] for place, one in enumerate(asked) if one in there}
        tasks = [
            task._replace(before=before[place].text) if place in before else task
            for place, task in enumerate(tasks)
        ]
        return job, tasks, before

    def work(
        self, job: Job, tasks: list[Task], work: Work
    ) -> Generator[tuple[int, Done], None, None]:
        """Answer, give, and make documents."""
        job, tasks, before = self._know(job, tasks)
        found: dict[int, QuoteRecord] = {}
        with closing(work(answered_first, job, tasks)) as coming:
            for place, done in coming:
                if done.rows:
                    yield place, done
                else:
                    text = first_file(job, tasks[place]).read_text("utf-8")
                    found[place] = QuoteRecord.model_validate_json(text)
        places = sorted(found)
        offered = [_offered(found[place], before.get(place)) for place in places]
        self.given = self._register.give(offered, self._by)
        left: dict[int, Task] = {}
        for place, given in zip(places, self.given, strict=True):
            if given.news in _NOT_GIVEN:
                yield place, _not_given(tasks[place], given)
            else:
                number = given.record.numbered
                left[place] = tasks[place]._replace(number=number, text=given.text)
        numbers = list(left)
        with closing(work(documented, job, list(left.values()))) as coming:
            for place, done in coming:
                yield numbers[place], done

    @contextmanager
    def told(self) -> Iterator[None]:
        """Say of what cannot be written that it has been given all the same."""
        try:
            yield
        except OSError as error:
            if not self.given:
                raise
            more = "the quotes are in the register; run this again, they keep their numbers"
            words = f"{error.strerror or error} ({more})"
            raise OSError(error.errno, words, error.filename) from None

    def words(self) -> str:
        """Say what has been given, and under which numbers."""
        names = {"new": "new", "revised": "revised", "as it was": "as given before"}
        names |= dict.fromkeys(_NOT_GIVEN, "not given")
        said = []
        for name in dict.fromkeys(names.values()):
            numbers = [
                given.number if given.news in _NOT_GIVEN else given.record.numbered
                for given in self.given
                if names[given.news] == name
            ]
            if numbers:
                few = numbers if len(numbers) < 3 else [f"{numbers[0]} to {numbers[-1]}"]
                said.append(f"{len(numbers)} {name} ({', '.join(few)})")
        told = "; ".join(said) or "nothing"
        return f"Given into the register {self._register.name}: {told}."


_NOT_GIVEN = {"closed", "overtaken"}


def _offered(record: QuoteRecord, before: "Revision | None") -> "Offered":
    from quotelib.register.giving import Offered
    from quotelib.register.revising import says_the_same

    if before is None:
        return Offered(record)
    return Offered(record, before.revision, says_the_same(before.record, record))


def _not_given(task: Task, given: "Given") -> Done:
    from quotelib.register.book import closed_words

    if given.news == "closed":
        why, right = closed_words(given.number, given.outcome)
    else:
        why, right = "was revised by somebody else at the same time", "run this again"
    reason = f"register: {given.number} {why}; {right}"
    return Done(task.rows("refused", {row.row: reason for row in task.asked.rows}, ""), {})

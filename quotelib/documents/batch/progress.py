"""How far along is a batch: a bar where somebody watches, a quiet line now and then elsewhere."""

import sys
from contextlib import AbstractContextManager
from typing import Any

_EVERY = 25


class Progress(AbstractContextManager["Progress"]):
    """Show progress; use it as a context and hand ``told`` to the batch."""

    _bar: Any = None

    def __exit__(self, *_: object) -> None:
        """Finish the bar."""
        if self._bar is not None:
            self._bar.close()

    def told(self, done: int, total: int, enquiry_id: str, outcome: str) -> None:
        """Take note of one more enquiry."""
        from IPython.core.getipython import get_ipython

        if sys.stderr.isatty() or get_ipython() is not None:
            from tqdm.auto import tqdm

            if self._bar is None:
                self._bar = tqdm(total=total, unit="enquiry", desc="enquiries")
            self._bar.update(1)
        elif done == total or done % _EVERY == 0:
            print(f"{done} of {total} enquiries answered", file=sys.stderr)

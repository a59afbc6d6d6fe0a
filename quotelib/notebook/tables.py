"""How does a notebook list things: rows under heads, or a line where there is nothing."""

from collections.abc import Sequence

from quotelib.documents.sections import Html, section


def table(
    rows: Sequence[Sequence[str]],
    heads: Sequence[str],
    numbers: Sequence[str] = (),
    *,
    caption: str = "",
    fine: str = "",
) -> Html:
    """List rows, a cell for each head; columns whose heads are in `numbers` stand to the right.

    The caption is said above the rows, with how many there are; `fine` where there are none.
    """
    return section(
        "notebook_table", rows=rows, heads=heads, numbers=numbers, caption=caption, fine=fine
    )

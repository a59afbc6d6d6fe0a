"""What does a batch look like in a notebook: problems, progress, summary and charts."""

from collections.abc import Sequence
from pathlib import Path

from quotelib.catalogue.price_list import load_price_list, read_folder
from quotelib.documents.batch.answers import FAULT, OUTCOMES
from quotelib.documents.batch.result import BatchResult
from quotelib.documents.charts import drawing as d
from quotelib.documents.quoting import read_date
from quotelib.documents.sections import Html, section, table
from quotelib.enquiry.reading import read_enquiries
from quotelib.errors import InputError, Problem, shown
from quotelib.levels import LEVELS
from quotelib.text import count
from quotelib.units import plain

_STATES = ("at or above the floor", "under the floor")


def problem_table(problems: Sequence[Problem], fine: str) -> Html:
    """Show problems as a table, or a line that says there is none."""
    rows = [
        (p.file, "" if p.row is None else str(p.row), p.column, shown(p.value), p.why, p.right)
        for p in problems
    ]
    heads = ("File", "Row", "Column", "Given", "Why it is wrong", "What would be right")
    return table(rows, heads, caption="Problems", fine=fine)


def price_list_problems(prices: str = "") -> Html:
    """Show every problem of a price list."""
    if not prices:
        return problem_table([], "The starter price list is used (invented demo data).")
    _, problems = read_folder(Path(prices))
    return problem_table(problems, f"No problem in {prices}.")


def enquiry_problems(enquiries: str | Path, prices: str = "", date: str = "") -> Html:
    """Show every problem of a file of enquiries; good rows go ahead all the same.

    The date is that of the quotes; today where it is blank.
    """
    try:
        asked = read_enquiries(Path(enquiries), load_price_list(prices or None), read_date(date))
    except InputError as error:
        return problem_table(error.problems, "")
    problems = [problem for one in asked for row in one.rows for problem in row.problems]
    good = sum(one.request is not None for one in asked)
    return problem_table(problems, f"All {good} enquiries can be read.")


def summary_table(result: BatchResult) -> Html:
    """Show the summary, one row an enquiry, and what else there is to know of the run."""
    labels = {name: level.label for name, level in LEVELS.items()}
    return section("notebook_summary", rows=result.rows, labels=labels, notices=result.notices)


def outcome_chart(result: BatchResult) -> d.Drawing:
    """Show how many enquiries came to which outcome."""
    colours = dict(zip(OUTCOMES, (d.BLUE, d.ORANGE, d.VERMILLION, d.GREY), strict=True))
    if result.count(FAULT):
        colours[FAULT] = d.BLACK
    counts = {kind: result.count(kind) for kind in colours}
    rows = [d.bar(kind, n, str(n), kind) for kind, n in counts.items()]
    return d.bars(rows, "Enquiries by outcome", "enquiries", colours=colours)


def margin_chart(result: BatchResult) -> d.Drawing:
    """Show the margin of each quote against the floor; for the seller's eyes."""
    floor_pct = result.price_list.terms.margin_floor_pct
    floor, named = float(floor_pct), f"floor of {plain(floor_pct)} %"
    rows = [
        {
            "enquiry": row["enquiry_id"],
            "margin": float(row["margin_pct"]),
            "label": f"{row['margin_pct']} %",
            "state": _STATES[float(row["margin_pct"]) < floor],
        }
        for row in result.rows
        if row.get("margin_pct")
    ]
    line = [{"margin": floor, "label": named}]
    x = d.quantity("margin", title="margin, % of net without freight")
    y = d.name("enquiry", sort="-x", title=None, axis={"labelLimit": 180})
    each = {"x": x, "y": y, "tooltip": [d.name("enquiry"), d.name("label")]}
    colours = dict(zip(_STATES, (d.SKY, d.VERMILLION), strict=True))
    state = d.told_apart(colours, "state", title=None, legend={"orient": "top"})
    at_floor = {"x": x, "y": {"value": 0}, "text": d.name("label")}
    place: d.Spec = {"align": "left", "dx": 4}
    layers = [
        d.layer("bar", {**each, "color": state}, stroke=d.BLACK, strokeWidth=0.5),
        d.layer("text", {**each, "text": d.name("label")}, **place),
        d.layer("rule", {"x": x}, rows=line, strokeDash=[5, 3]),
        d.layer("text", at_floor, rows=line, dy=-6, baseline="bottom", **place),
    ]
    under = sum(row["state"] == _STATES[True] for row in rows)
    words = f"Margins of {count(len(rows), 'quote')}, {under} of them under the {named}"
    heading = "Margin of each quote (for the seller only)"
    return d.chart(rows, heading, words, layers, height={"step": 18})

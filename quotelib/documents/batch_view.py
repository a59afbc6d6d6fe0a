"""What does a batch look like in a notebook: problems, progress, summary and charts."""

from collections.abc import Sequence
from pathlib import Path

from quotelib.catalogue.price_list import load_price_list, read_folder
from quotelib.documents.batch import OUTCOMES, BatchResult
from quotelib.documents.charts import (
    BLACK,
    BLUE,
    GREY,
    ORANGE,
    SKY,
    VERMILLION,
    WIDTH,
    Figure,
    Spec,
    bars,
    layer,
    name,
    quantity,
    title,
    told_apart,
)
from quotelib.documents.sections import Html, section
from quotelib.errors import InputError, Problem
from quotelib.quote.enquiry import read_enquiries

_STATES = ("at or above the floor", "under the floor")


def problem_table(problems: Sequence[Problem], fine: str) -> Html:
    """Show problems as a table, or a line that says there is none."""
    return section("problems", problems=problems, fine=fine)


def price_list_problems(prices: str = "") -> Html:
    """Show every problem of a price list."""
    if not prices:
        return problem_table([], "The starter price list is used (invented demo data).")
    _, problems = read_folder(Path(prices))
    return problem_table(problems, f"No problem in {prices}.")


def enquiry_problems(enquiries: str | Path, prices: str = "") -> Html:
    """Show every problem of a file of enquiries; good rows go ahead all the same."""
    try:
        rows = read_enquiries(Path(enquiries), load_price_list(prices or None))
    except InputError as error:
        return problem_table(error.problems, "")
    problems = [problem for row in rows for problem in row.problems]
    good = sum(row.enquiry is not None for row in rows)
    return problem_table(problems, f"All {good} enquiries can be read.")


def summary_table(result: BatchResult) -> Html:
    """Show the summary, one row an enquiry."""
    return section("summary", rows=result.rows)


def outcome_chart(result: BatchResult) -> Figure:
    """Show how many enquiries came to which outcome."""
    rows = [
        {"name": kind, "value": result.count(kind), "label": f"{result.count(kind)}", "kind": kind}
        for kind in OUTCOMES
    ]
    colours = {"quoted": BLUE, "held": ORANGE, "refused": VERMILLION, "invalid": GREY}
    words = "Enquiries by outcome: " + ", ".join(f"{r['name']} {r['label']}" for r in rows)
    return bars(rows, "Enquiries by outcome", "enquiries", colours=colours, words=words)


def margin_chart(result: BatchResult, prices: str = "") -> Figure:
    """Show the margin of each quote against the floor; for the seller's eyes."""
    floor = float(load_price_list(prices or None).terms.margin_floor_pct)
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
    line = [{"margin": floor, "label": f"floor {floor:g} %"}]
    x = quantity("margin", title="margin, % of net without freight")
    each = {
        "x": x,
        "y": name("enquiry", sort="-x", title=None, axis={"labelLimit": 180}),
        "tooltip": [name("enquiry"), name("label")],
    }
    state = told_apart(
        dict(zip(_STATES, (SKY, VERMILLION), strict=True)),
        "state",
        title=None,
        legend={"orient": "top"},
    )
    at_floor = {"x": x, "y": {"value": 0}, "text": name("label")}
    place: Spec = {"align": "left", "dx": 4}
    chart = {
        "data": {"values": rows},
        "title": title("Margin of each quote (for the seller only)"),
        "width": WIDTH,
        "height": {"step": 18},
        "layer": [
            layer("bar", {**each, "color": state}, stroke=BLACK, strokeWidth=0.5),
            layer("text", {**each, "text": name("label")}, **place),
            layer("rule", {"x": x}, rows=line, strokeDash=[5, 3]),
            layer("text", at_floor, rows=line, dy=-6, baseline="bottom", **place),
        ],
    }
    under = sum(row["state"] == _STATES[True] for row in rows)
    words = f"Margins of {len(rows)} quotes, {under} of them under the floor of {floor:g} %"
    return Figure(chart, words)

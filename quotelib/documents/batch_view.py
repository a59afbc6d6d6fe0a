"""What does a batch look like in a notebook: problems, progress, summary and charts."""

from collections.abc import Sequence
from pathlib import Path

import altair as alt

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
    bars,
)
from quotelib.documents.sections import Html, section
from quotelib.errors import InputError, Problem
from quotelib.quote.enquiry import read_enquiries


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
        {"name": name, "value": result.count(name), "label": f"{result.count(name)}", "kind": name}
        for name in OUTCOMES
    ]
    colours = {"quoted": BLUE, "held": ORANGE, "refused": VERMILLION, "invalid": GREY}
    words = "Enquiries by outcome: " + ", ".join(f"{r['name']} {r['label']}" for r in rows)
    return bars(rows, "Enquiries by outcome", "enquiries", colours=colours, words=words)


def margin_chart(result: BatchResult, prices: str = "") -> Figure:
    """Show the margin of each quote against the floor; for the seller's eyes."""
    import pandas as pd

    floor = float(load_price_list(prices or None).terms.margin_floor_pct)
    data = pd.DataFrame(
        [
            {
                "enquiry": row["enquiry_id"],
                "margin": float(row["margin_pct"]),
                "label": f"{row['margin_pct']} %",
                "state": "at or above the floor"
                if float(row["margin_pct"]) >= floor
                else "under the floor",
            }
            for row in result.rows
            if row.get("margin_pct")
        ],
        columns=["enquiry", "margin", "label", "state"],
    )
    base = alt.Chart(
        data, title=alt.Title("Margin of each quote (for the seller only)", anchor="start")
    ).encode(
        x=alt.X("margin:Q", title="margin, % of net without freight"),
        y=alt.Y("enquiry:N", sort="-x", title=None),
        tooltip=["enquiry:N", "label:N"],
    )
    marks = base.mark_bar(stroke=BLACK, strokeWidth=0.5).encode(
        color=alt.Color(
            "state:N",
            title=None,
            scale=alt.Scale(
                domain=["at or above the floor", "under the floor"], range=[SKY, VERMILLION]
            ),
            legend=alt.Legend(orient="top"),
        )
    )
    labels = base.mark_text(align="left", dx=4).encode(text="label:N")
    line = pd.DataFrame({"margin": [floor], "label": [f"floor {floor:g} %"]})
    rule = alt.Chart(line).mark_rule(strokeDash=[5, 3]).encode(x="margin:Q")
    note = (
        alt.Chart(line)
        .mark_text(align="left", dx=4, dy=-6, baseline="bottom")
        .encode(x="margin:Q", y=alt.value(0), text="label:N")
    )
    under = int((data["margin"] < floor).sum())
    words = f"Margins of {len(data)} quotes, {under} of them under the floor of {floor:g} %"
    chart = (marks + labels + rule + note).properties(width=WIDTH, height=alt.Step(18))
    return Figure(chart, words)

"""Is every chart a sound Vega-Lite specification, and is each built and drawn once for a page?

The judge is the schema that the makers of Vega-Lite publish; altair ships it.
"""

import datetime as dt
import json
from collections.abc import Iterator
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import pytest

from quotelib import resources
from quotelib.catalogue.price_list import load_price_list
from quotelib.documents import (
    batch_view,
    charts,
    charts_controllers,
    charts_explained,
    charts_outlook,
)
from quotelib.documents.batch import run_batch
from quotelib.documents.charts import Figure
from quotelib.documents.quoting import quote_page
from quotelib.quote.answer import answer
from quotelib.quote.enquiry import read_enquiries
from quotelib.quote.record import QuoteRecord

KINDS = ("BSW-1001", "BSW-1002", "BSW-1004", "BSW-1008", "BSW-1012", "BSW-1018")
BROKEN: dict[str, dict[str, Any]] = {
    "a misspelt mark": {"mark": "barr", "encoding": {}},
    "a misspelt property": {"mark": "bar", "encoding": {"x": {"feild": "value"}}},
    "a type that is none": {"mark": "bar", "encoding": {"x": {"field": "v", "type": "number"}}},
    "a scale without a place": {"mark": "bar", "encoding": {"x": {"field": "v", "scale": 3}}},
}


@cache
def record(enquiry_id: str) -> QuoteRecord:
    price_list = load_price_list()
    rows = read_enquiries(resources.templates() / "enquiries.csv", price_list)
    enquiry = next(row.enquiry for row in rows if row.enquiry_id == enquiry_id)
    assert enquiry is not None
    made = answer(price_list, enquiry, dt.date(2026, 11, 25)).record
    assert made is not None
    return made


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    schema = files("altair.vegalite.v5.schema").joinpath("vega-lite-schema.json")
    return jsonschema.Draft7Validator(json.loads(schema.read_text("utf-8")))


def drawn(made: QuoteRecord) -> Iterator[Figure]:
    ways = (
        charts.capacity_chart, charts.level_chart, charts.price_chart,
        charts_outlook.response_chart, charts_outlook.time_chart,
        charts_outlook.loss_chart, charts_outlook.rebuild_chart,
    )  # fmt: skip
    for way in ways:
        figure = way(made)
        if figure is not None:
            yield figure
    if made.controllers is not None:
        compared = charts_controllers.controller_chart(made.controllers)
        if compared is not None:
            yield compared


@pytest.mark.parametrize("enquiry_id", KINDS)
def test_charts_of_a_record_follow_the_schema(
    enquiry_id: str, judge: jsonschema.Draft7Validator
) -> None:
    figures = list(drawn(record(enquiry_id)))
    assert len(figures) >= 3
    for figure in figures:
        judge.validate(figure.spec())
        # What JupyterLab gets goes through JSON, where numbers that are none have no place.
        json.dumps(figure.spec(), allow_nan=False)


def test_the_kinds_have_every_chart_among_them() -> None:
    titles = {f.spec()["title"]["text"].split(" ")[0] for k in KINDS for f in drawn(record(k))}
    assert titles >= {"Where", "The", "What", "Response", "Chance", "From"}
    logs = {
        figure.spec()["encoding"]["x"]["scale"].get("type")
        for k in KINDS
        for figure in drawn(record(k))
        if figure.spec()["title"]["text"].startswith("Response")
    }
    assert logs == {None, "log"}


def test_charts_of_a_batch_follow_the_schema(
    tmp_path: Any, judge: jsonschema.Draft7Validator
) -> None:
    enquiries = tmp_path / "enquiries.csv"
    enquiries.write_text("enquiry_id,customer,usable_tb,survive\nA,Nobody,6,1\nB,Nobody,9e9,1\n")
    result = run_batch(enquiries, tmp_path / "out")
    judge.validate(batch_view.outcome_chart(result).spec())
    judge.validate(batch_view.margin_chart(result).spec())


def test_charts_that_explain_follow_the_schema(judge: jsonschema.Draft7Validator) -> None:
    lines = [1.0, 10.0, 100.0], [0.5, 5.0, 50.0], [2.0, 20.0, 200.0]
    judge.validate(charts_explained.throughput_chart([1, 2, 4], *lines, 2.5).spec())
    rows = [("one", 1.0, 0.5, 2.0), ("other", 10.0, 5.0, 20.0)]
    beside = ("the other way", [1.1, 11.0])
    judge.validate(charts_explained.range_chart(rows, "A title", "%", beside=beside).spec())


@pytest.mark.parametrize("part", BROKEN.values(), ids=BROKEN)
def test_the_schema_refuses_what_is_wrong(
    part: dict[str, Any], judge: jsonschema.Draft7Validator
) -> None:
    sound = charts.capacity_chart(record(KINDS[0])).spec()
    with pytest.raises(jsonschema.ValidationError):
        judge.validate({**sound, "layer": [*sound["layer"], part]})


def test_a_page_builds_and_draws_each_chart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    built: list[str] = []
    sketched: list[str] = []
    make, draw = Figure.__init__, charts.vl_convert.vegalite_to_svg

    def making(self: Figure, chart: charts.Spec, words: str) -> None:
        built.append(words)
        make(self, chart, words)

    def drawing(spec: charts.Spec, **more: Any) -> Any:
        sketched.append(spec["description"])
        return draw(spec, **more)

    monkeypatch.setattr(Figure, "__init__", making)
    monkeypatch.setattr(charts.vl_convert, "vegalite_to_svg", drawing)
    page = quote_page(record(KINDS[0]), "")
    assert page.count("<figure ") == len(built) >= 3
    assert built == sketched == list(dict.fromkeys(built))

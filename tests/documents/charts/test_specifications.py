"""Is every chart a sound Vega-Lite specification, and is each built and drawn once for a page?

The judge is the schema that the makers of Vega-Lite publish; altair ships it.
"""

import csv
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
from quotelib.documents import charts
from quotelib.documents.charts import Drawing, drawing
from quotelib.enquiry.reading import read_request
from quotelib.promise.answer import answer
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import array, page


def build(*cells: str) -> dict[str, str]:
    """Name a build by its cells."""
    names = ("chassis", "controller", "drive", "members", "level")
    return dict(zip(names, cells, strict=True))


# Where an example leaves the build open, the one it gets is given, so that nothing is searched.
KINDS: dict[str, dict[str, str]] = {
    "BSW-1001": {"chassis": "CHS-2U-8L"},
    "BSW-1002": build("CHS-2U-8L", "CTL-RB2-12G-CD", "DRV-HDD-16T-SATA", "6", "6"),
    "BSW-1004": {},
    "BSW-1008": {},
    # Its drives stay open: beside disks, flash makes the times of response spread far.
    "BSW-1013": {},
    "BSW-1012": build("CHS-1U-4L", "CTL-BOARD-6", "DRV-SSD-3840-SATA-RD", "2", "1"),
    "BSW-1018": {},
}
BROKEN: dict[str, dict[str, Any]] = {
    "a misspelt mark": {"mark": "barr", "encoding": {}},
    "a misspelt property": {"mark": "bar", "encoding": {"x": {"feild": "value"}}},
    "a type that is none": {"mark": "bar", "encoding": {"x": {"field": "v", "type": "number"}}},
    "a scale without a place": {"mark": "bar", "encoding": {"x": {"field": "v", "scale": 3}}},
}


@cache
def record(enquiry_id: str) -> QuoteRecord:
    price_list = load_price_list()
    with resources.demo_enquiries().open(encoding="utf-8", newline="") as file:
        cells = next(row for row in csv.DictReader(file) if row["enquiry_id"] == enquiry_id)
    request = read_request([{**cells, **KINDS[enquiry_id]}], price_list)
    made = answer(price_list, request, dt.date(2026, 11, 25)).record
    assert made is not None
    return made


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    schema = files("altair.vegalite.v5.schema").joinpath("vega-lite-schema.json")
    return jsonschema.Draft7Validator(json.loads(schema.read_text("utf-8")))


def drawn(made: QuoteRecord) -> Iterator[Drawing]:
    only = array(made)
    ways = (
        charts.capacity_chart, charts.level_chart, charts.response_chart, charts.time_chart,
        charts.loss_chart, charts.rebuild_chart,
    )  # fmt: skip
    yield charts.price_chart(made)
    for way in ways:
        found = way(only)
        if found is not None:
            yield found
    for of, comparison in made.by_compared():
        compared = charts.controller_chart(comparison, of)
        if compared is not None:
            yield compared


@pytest.mark.parametrize("enquiry_id", KINDS)
def test_charts_of_a_record_follow_the_schema(
    enquiry_id: str, judge: jsonschema.Draft7Validator
) -> None:
    all_of_it = list(drawn(record(enquiry_id)))
    assert len(all_of_it) >= 3
    for figure in all_of_it:
        judge.validate(figure.spec)
        # What JupyterLab gets goes through JSON, where numbers that are none have no place.
        json.dumps(figure.spec, allow_nan=False)


def test_the_kinds_have_every_chart_among_them() -> None:
    titles = {f.spec["title"]["text"].split(" ")[0] for k in KINDS for f in drawn(record(k))}
    assert titles >= {"Where", "The", "What", "Response", "Chance", "From"}
    logs = {
        figure.spec["encoding"]["x"]["scale"].get("type")
        for k in KINDS
        for figure in drawn(record(k))
        if figure.spec["title"]["text"].startswith("Response")
    }
    assert logs == {None, "log"}


@pytest.mark.parametrize("part", BROKEN.values(), ids=BROKEN)
def test_the_schema_refuses_what_is_wrong(
    part: dict[str, Any], judge: jsonschema.Draft7Validator
) -> None:
    sound = charts.capacity_chart(array(record("BSW-1001"))).spec
    with pytest.raises(jsonschema.ValidationError):
        judge.validate({**sound, "layer": [*sound["layer"], part]})


def test_a_page_builds_and_draws_each_chart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    built: list[str] = []
    sketched: list[str] = []
    make, draw = Drawing.__init__, drawing.vl_convert.vegalite_to_svg

    def making(self: Drawing, chart: drawing.Spec, words: str) -> None:
        built.append(words)
        make(self, chart, words)

    def sketching(spec: str, **more: Any) -> Any:
        sketched.append(json.loads(spec)["description"])
        return draw(spec, **more)

    monkeypatch.setattr(Drawing, "__init__", making)
    monkeypatch.setattr(drawing.vl_convert, "vegalite_to_svg", sketching)
    drawing._drawn.cache_clear()
    html = page(record("BSW-1001"))
    assert html.count("<figure ") == len(built) >= 3
    assert built == sketched == list(dict.fromkeys(built))
    assert page(record("BSW-1001")) == html
    assert len(sketched) == len(built) / 2, "the same chart was drawn again"

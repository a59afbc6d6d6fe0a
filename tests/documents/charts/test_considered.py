"""What no other build beats, drawn: a sound chart, the three named, a shape for each level."""

import json
import re
from importlib.resources import files
from itertools import pairwise

import jsonschema
import pytest

from quotelib.documents.charts import front_chart
from quotelib.promise.considered import Considered, Point
from quotelib.promise.record import QuoteRecord
from tests.documents.builds import page
from tests.documents.charts.test_specifications import record as demo
from tests.end_to_end.page_text import Page

NAME = r'translate\([\d.]+,([\d.]+)\)"[^>]*font-weight="bold"[^>]*>(?:our|least|fast)'
"""How a name of the three stands in the SVG, with how far down."""
OPEN = ("BSW-1001", "BSW-1013")


@pytest.fixture(scope="module")
def judge() -> jsonschema.Draft7Validator:
    schema = files("altair.vegalite.v5.schema").joinpath("vega-lite-schema.json")
    return jsonschema.Draft7Validator(json.loads(schema.read_text("utf-8")))


def considered(made: QuoteRecord) -> Considered:
    ((_, found),) = made.by_considered()
    return found


@pytest.mark.parametrize("enquiry_id", OPEN)
def test_it_names_the_three_and_shows_every_point(
    enquiry_id: str, judge: jsonschema.Draft7Validator
) -> None:
    found = considered(demo(enquiry_id))
    drawn = front_chart(found)
    assert drawn is not None
    judge.validate(drawn.spec)
    _, others, three, names = drawn.spec["layer"]
    rows = [row for layer in (others, three) for row in layer["data"]["values"]]
    assert sorted(row["point"] for row in rows) == list(range(len(found.points)))
    svg = drawn.svg()
    for one in names["data"]["values"]:
        assert f">{one['name']}</text>" in svg
    assert "our choice" in {row["name"] for row in three["data"]["values"]}
    shapes = others["encoding"]["shape"]["scale"]
    assert set(shapes["domain"]) == {point.level for point in found.points}
    assert len(set(shapes["range"])) == len(shapes["range"])
    for level in shapes["domain"]:
        assert f">{level}</text>" in svg
    assert "net price, GBP without tax" in svg and "operations a second" in svg


def test_disks_beside_flash_are_on_a_log_scale() -> None:
    drawn = front_chart(considered(demo("BSW-1013")))
    assert drawn is not None
    assert drawn.spec["layer"][1]["encoding"]["y"]["scale"]["type"] == "log"
    assert "(log scale)" in drawn.svg()


def test_labels_do_not_meet() -> None:
    for enquiry_id in OPEN:
        drawn = front_chart(considered(demo(enquiry_id)))
        assert drawn is not None
        there = re.findall(NAME, drawn.svg())
        assert len(there) == len(considered(demo(enquiry_id)).three)
        assert all(b - a >= 17 for a, b in pairwise(sorted(map(float, there))))


def test_what_cannot_be_drawn_is_not() -> None:
    found = considered(demo("BSW-1001"))
    unknown = tuple(p.model_copy(update={"host_iops": None}) for p in found.points)
    assert front_chart(found.model_copy(update={"points": unknown})) is None
    assert front_chart(found.model_copy(update={"points": found.points[:1]})) is None


def test_of_one_price_and_one_speed_there_is_a_chart(judge: jsonschema.Draft7Validator) -> None:
    found = considered(demo("BSW-1001"))
    same: tuple[Point, ...] = (found.points[0], found.points[0])
    drawn = front_chart(found.model_copy(update={"points": same}))
    assert drawn is not None
    judge.validate(drawn.spec)
    assert drawn.svg().startswith("<svg")


def test_the_words_say_the_ends_and_the_three() -> None:
    found = considered(demo("BSW-1013"))
    drawn = front_chart(found)
    assert drawn is not None
    for one in found.three:
        assert f"GBP {one.net:,f}" in drawn.words
    assert f"{len(found.points)} builds at " in drawn.words


def test_the_annex_has_sentence_table_chart_and_rule() -> None:
    made = demo("BSW-1013")
    found, html = considered(made), page(demo("BSW-1013"))
    told = " ".join(" ".join(Page(html).pieces).split())
    assert found.words in told and found.points_words in told
    for one in found.three:
        assert one.title in told and f"{one.net:,f}" in told and " ".join(one.gives.split()) in told
    for ruled in found.ruled:
        assert f"{ruled.alone:,} build" in told
    assert "Builds that no other one beats" in html

"""The colours that the style sheet declares for text, against every background it declares."""

import re

import pytest

from quotelib.resources import templates

from .contrast import contrast, rgb

# WCAG 2.2, success criterion 1.4.3, level AA, text of usual size (memory).
LEAST = 4.5


def test_contrast_formula() -> None:
    assert contrast(rgb("#000"), rgb("#ffffff")) == pytest.approx(21)  # WCAG 2.2 (memory)
    # The lightest grey that passes on white, as WCAG tutorials have it (memory).
    assert contrast(rgb("#767676"), rgb("#fff")) >= LEAST > contrast(rgb("#777777"), rgb("#fff"))
    assert contrast(rgb("rgb(118, 118, 118)"), rgb("#fff")) == contrast(rgb("#767676"), rgb("#fff"))


def declared(css: str, properties: str) -> set[str]:
    """List the colours given to some properties, variables resolved."""
    names = dict(re.findall(r"(--[\w-]+):\s*(#[0-9a-fA-F]+)", css))
    values = re.findall(rf"(?<![-\w])(?:{properties}):\s*([^;}}]+)", css)
    return {names.get(v.strip().removeprefix("var(").removesuffix(")"), v.strip()) for v in values}


def test_every_declared_text_colour_stands_out() -> None:
    css = (templates() / "document" / "style.css").read_text("utf-8")
    inks, papers = declared(css, "color"), declared(css, "background|background-color")
    assert len(inks) >= 2 and len(papers) >= 2
    poor = [(i, p) for i in inks for p in papers if contrast(rgb(i), rgb(p)) < LEAST]
    assert poor == []

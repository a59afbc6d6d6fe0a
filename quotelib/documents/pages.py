"""How does a notebook become a page: papermill runs it, nbconvert pours it into our template."""

import logging
from collections.abc import Mapping
from functools import cache
from typing import Any

import nbformat
import papermill
from nbconvert.exporters.templateexporter import TemplateExporter

from quotelib import resources

ENGINE = "quotelib"


class PageExporter(TemplateExporter):  # type: ignore[misc]
    """An nbconvert exporter that knows our template only."""

    file_extension = ".html"
    output_mimetype = "text/html"


@cache
def _exporter() -> Any:
    # Nothing is to be done to a notebook first: each step would validate the whole of it again.
    return PageExporter(
        template_name="document",
        extra_template_basedirs=[str(resources.templates())],
        default_preprocessors=[],
    )


@cache
def _template(name: str) -> str:
    return (resources.templates() / f"{name}.ipynb").read_text("utf-8")


def run_notebook(template: str, parameters: Mapping[str, str]) -> Any:
    """Run a template notebook with parameters.

    Parameters
    ----------
    template : str
        Name of a notebook in the templates folder, without its ending.
    parameters : mapping
        For its cell tagged ``parameters``.

    Returns
    -------
    notebook node
        With outputs.

    Raises
    ------
    papermill.exceptions.PapermillExecutionError
        Where a cell raises.
    """
    logging.getLogger("papermill").setLevel(logging.ERROR)
    notebook = nbformat.reads(_template(template), as_version=4)
    return papermill.execute_notebook(
        notebook, None, dict(parameters), engine_name=ENGINE, progress_bar=False
    )


def to_html(notebook: Any, *, title: str, kind: str) -> str:
    """Pour the outputs of a notebook into a self-contained page.

    Parameters
    ----------
    notebook : notebook node
        As `run_notebook` gives it.
    title : str
        Of the page.
    kind : str
        ``quote`` or ``bench``; the style sheet tells them apart by it.

    Returns
    -------
    str
        HTML without scripts and outside addresses.
    """
    body: str
    body, _ = _exporter().from_notebook_node(notebook, {"title": title, "kind": kind})
    return "\n".join(line.rstrip() for line in body.splitlines() if line.strip()) + "\n"

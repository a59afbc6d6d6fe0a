"""How does a notebook become a page: papermill runs it, nbconvert pours it into our template.

Both are imported where a page is made: what answers only starts a second sooner.
"""

from collections.abc import Mapping
from functools import cache
from typing import Any

from quotelib import resources

ENGINE = "quotelib"


@cache
def _exporter() -> Any:
    from nbconvert.exporters.templateexporter import TemplateExporter

    return TemplateExporter(
        template_name="document",
        file_extension=".html",
        extra_template_basedirs=[str(resources.templates())],
        default_preprocessors=[],
    )


@cache
def _template(name: str) -> Any:
    import nbformat
    from papermill.iorw import load_notebook_node

    text = (resources.templates() / f"{name}.ipynb").read_text("utf-8")
    return load_notebook_node(nbformat.reads(text, as_version=4))


def run_notebook(template: str, parameters: Mapping[str, str]) -> Any:
    """Run a notebook of the templates folder; give it with its outputs.

    Parameters
    ----------
    template : str
        Its file's name without the ending.
    parameters : mapping
        For its cell tagged ``parameters``.

    Raises
    ------
    papermill.exceptions.PapermillExecutionError
        Where a cell raises.
    """
    from papermill.engines import papermill_engines
    from papermill.execute import prepare_notebook_metadata, raise_for_execution_errors
    from papermill.parameterize import parameterize_notebook

    # The steps of papermill.execute_notebook, but for the last, which writes out a whole notebook
    # even where there is no file to write it to.
    notebook = parameterize_notebook(_template(template), dict(parameters), engine_name=ENGINE)
    notebook = prepare_notebook_metadata(notebook, None, None)
    papermill_engines.execute_notebook_with_engine(
        ENGINE, notebook, kernel_name="", progress_bar=False
    )
    raise_for_execution_errors(notebook, None)
    return notebook


def to_html(
    notebook: Any, *, title: str, kind: str, language: str = "en", running: str = ""
) -> str:
    """Pour the outputs of a notebook into a self-contained page, without scripts and addresses.

    Parameters
    ----------
    notebook : notebook node
        As `run_notebook` gives it.
    kind : str
        ``offer``, ``annex`` or ``bench``; the style sheet tells them apart by it.
    language : str
        Of the page.
    running : str
        What stands at the foot of every sheet, beside its number.
    """
    told = {"title": title, "kind": kind, "lang": language, "running": _css_string(running)}
    body: str = _exporter().template.render(nb=notebook, resources=told)
    return "\n".join(line.rstrip() for line in body.splitlines() if line.strip()) + "\n"


def _css_string(text: str) -> str:
    """Write a text as a string of CSS, in which nothing of it ends the string; blank stays so."""
    safe = (c if c.isascii() and c.isalnum() else f"\\{ord(c):x} " for c in text)
    return f'"{"".join(safe)}"' if text else ""

"""How does papermill run our notebooks quickly: in this process, without starting a kernel.

A kernel takes seconds to start and our templates take a fraction of one to run, so that a
batch of hundreds would mostly wait. Registered with papermill as engine ``quotelib``. It runs
plain Python cells: no magics, no ``display()``; the last expression of a cell is its output.
"""

import ast
import contextlib
import io
import traceback
from functools import cache, lru_cache
from types import CodeType
from typing import Any

import nbformat
from IPython.core.formatters import DisplayFormatter
from papermill.engines import Engine

SHOWN = ("text/html", "image/svg+xml", "text/plain")
"""What a page can show; in JupyterLab an output may have more."""


@cache
def _formatter() -> DisplayFormatter:
    return DisplayFormatter()


class InProcessEngine(Engine):  # type: ignore[misc]
    """Run the cells of a notebook one after the other in a namespace of their own."""

    @classmethod
    def execute_managed_notebook(cls, nb_man: Any, kernel_name: str, **_: Any) -> None:
        """Run every code cell, stopping at the first that raises; `nb_man` is told of each.

        `kernel_name` is not used: cells run in this Python.
        """
        namespace: dict[str, Any] = {"__name__": "__main__"}
        count = 0
        for index, cell in enumerate(nb_man.nb.cells):
            nb_man.cell_start(cell, index)
            if cell.cell_type == "code":
                cell.execution_count = count = count + 1
                cell.outputs = _run(cell.source, namespace, count)
            failed = any(o.output_type == "error" for o in cell.get("outputs", ()))
            if failed:
                nb_man.cell_exception(cell, index)
            nb_man.cell_complete(cell, index)
            if failed:
                return


def _run(source: str, namespace: dict[str, Any], count: int) -> list[Any]:
    """Run one cell; give its outputs, an error among them where it failed.

    Raises
    ------
    MemoryError
        Where there is not enough.
    """
    printed = io.StringIO()
    outputs: list[Any] = []
    try:
        with contextlib.redirect_stdout(printed):
            statements, last = _compiled(source)
            exec(statements, namespace)
            value = None if last is None else eval(last, namespace)
        if value is not None:
            data, metadata = _formatter().format(value, include=SHOWN)
            shown = {"data": data, "metadata": metadata, "execution_count": count}
            outputs.append(_output("execute_result", **shown))
    except MemoryError:
        raise  # no fault of the cell's: whoever runs the notebook has to know
    except Exception as error:
        trace = traceback.format_exc().splitlines()
        told = {"ename": type(error).__name__, "evalue": str(error), "traceback": trace}
        outputs.append(_output("error", **told))
    if text := printed.getvalue():
        outputs.insert(0, _output("stream", name="stdout", text=text))
    return outputs


def _output(kind: str, **content: Any) -> Any:
    # nbformat's own maker would check each of them against the notebook's schema.
    return nbformat.from_dict({"output_type": kind, **content})


@lru_cache(maxsize=256)
def _compiled(source: str) -> tuple[CodeType, CodeType | None]:
    """Compile statements, and apart from them the last one where it is an expression."""
    tree = ast.parse(source)
    last = next((s for s in tree.body[-1:] if isinstance(s, ast.Expr)), None)
    if last is not None:
        tree.body.pop()
    value = compile(ast.Expression(last.value), "<cell>", "eval") if last else None
    return compile(tree, "<cell>", "exec"), value

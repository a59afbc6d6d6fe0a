"""How does papermill run our notebooks quickly: in this process, without starting a kernel.

A kernel takes seconds to start and our templates take a fraction of one to run, so that a
batch of hundreds would mostly wait. Registered with papermill as engine ``quotelib``. It runs
plain Python cells: no magics, no ``display()``; the last expression of a cell is its output.
"""

import ast
import contextlib
import io
import traceback
from functools import cache
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
        """Run every code cell, stopping at the first that raises.

        Parameters
        ----------
        nb_man : papermill.engines.NotebookExecutionManager
            Holds the notebook and is told of each cell.
        kernel_name : str
            Not used: cells run in this Python.
        """
        namespace: dict[str, Any] = {"__name__": "__main__"}
        count = 0
        for index, cell in enumerate(nb_man.nb.cells):
            nb_man.cell_start(cell, index)
            failed = False
            if cell.cell_type == "code":
                count += 1
                cell.execution_count = count
                cell.outputs, failed = _run(cell.source, namespace, count)
                if failed:
                    nb_man.cell_exception(cell, index)
            nb_man.cell_complete(cell, index)
            if failed:
                return


def _run(source: str, namespace: dict[str, Any], count: int) -> tuple[list[Any], bool]:
    """Run one cell; give its outputs, and whether it failed."""
    printed = io.StringIO()
    outputs: list[Any] = []
    failed = False
    try:
        with contextlib.redirect_stdout(printed):
            value = _value(source, namespace)
        if value is not None:
            data, metadata = _formatter().format(value, include=SHOWN)
            result = {"data": data, "metadata": metadata, "execution_count": count}
            outputs.append(nbformat.v4.new_output("execute_result", **result))
    except Exception as error:
        failed = True
        outputs.append(
            nbformat.v4.new_output(
                "error",
                ename=type(error).__name__,
                evalue=str(error),
                traceback=traceback.format_exc().splitlines(),
            )
        )
    if printed.getvalue():
        text = printed.getvalue()
        outputs.insert(0, nbformat.v4.new_output("stream", name="stdout", text=text))
    return outputs, failed


def _value(source: str, namespace: dict[str, Any]) -> Any:
    """Run statements; give the value of the last one where it is an expression."""
    tree = ast.parse(source)
    last = tree.body.pop() if tree.body and isinstance(tree.body[-1], ast.Expr) else None
    exec(compile(tree, "<cell>", "exec"), namespace)
    if not isinstance(last, ast.Expr) or source.rstrip().endswith(";"):
        return None
    return eval(compile(ast.Expression(last.value), "<cell>", "eval"), namespace)

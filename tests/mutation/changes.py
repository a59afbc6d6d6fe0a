"""What can be changed in a file so that its tests ought to notice: operators, numbers, conditions.

Left alone: words, annotations, decorators, and `zip`'s ``strict``, which only a fault meets.
"""

import ast
import copy
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

_SWAPS = (
    (ast.Lt, ast.LtE), (ast.Gt, ast.GtE), (ast.Eq, ast.NotEq), (ast.In, ast.NotIn),
    (ast.Is, ast.IsNot), (ast.Add, ast.Sub), (ast.Mult, ast.Div), (ast.And, ast.Or),
    (ast.BitAnd, ast.BitOr),
)  # fmt: skip
_OPERATORS = {a: b for pair in _SWAPS for a, b in (pair, pair[::-1])}
_OPERATORS |= {ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult}
_NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
_OF_NUMPY = {"minimum": "maximum", "maximum": "minimum", "fmin": "fmax", "fmax": "fmin",
             "floor": "ceil", "ceil": "floor", "isnan": "isfinite"}  # fmt: skip


@dataclass(frozen=True)
class Change:
    """One thing changed in one file; `where` is the function or class it is in."""

    file: str
    where: str
    line: int
    lines: range  # of the statement it is in, up to its own last
    before: str
    after: str
    span: tuple[int, int]  # in bytes
    nth: int = 1  # of those that read the same in the same function

    @property
    def name(self) -> str:
        again = f" (no. {self.nth})" if self.nth > 1 else ""
        return f"{self.file} {self.where}: {self.before} -> {self.after}{again}"

    def made(self, source: bytes) -> bytes:
        start, end = self.span
        return b"%s(%s)%s" % (source[:start], self.after.encode(), source[end:])


def changes(root: Path, file: str) -> list[Change]:
    """List every change of a file, in the order of its text; each makes the text differ."""
    source = (root / file).read_bytes()
    starts = [0]
    for line in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found = []
    for where, first, node in _nodes(ast.parse(source), "", 1):
        last = node.end_lineno or node.lineno
        for other in _others(node):
            before, after = ast.unparse(node), ast.unparse(ast.fix_missing_locations(other))
            span = (
                starts[node.lineno - 1] + node.col_offset,
                starts[last - 1] + (node.end_col_offset or 0),
            )
            lines = range(first, last + 1)
            found.append(Change(file, where, node.lineno, lines, before, after, span))
    times: Counter[str] = Counter()
    named = []
    for change in sorted(found, key=lambda c: (c.span, c.after)):
        times[change.name] += 1
        named.append(replace(change, nth=times[change.name]))
    return named


def _nodes(node: ast.AST, where: str, first: int) -> Iterator[tuple[str, int, ast.expr]]:
    """Give each expression with the function it is in and the first line of its statement."""
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr):
                continue
            if isinstance(child, ast.keyword) and child.arg == "strict":
                continue
            inside = where
            start = child.lineno if isinstance(child, ast.stmt) else first
            if isinstance(child, ast.FunctionDef | ast.ClassDef):
                inside = f"{where}.{child.name}".lstrip(".")
            if isinstance(child, ast.expr):
                yield inside, start, child
            yield from _nodes(child, inside, start)


def _others(node: ast.expr) -> Iterator[ast.expr]:
    match node:
        case ast.Compare(ops=ops):
            for i, op in enumerate(ops):
                if other := _OPERATORS.get(type(op)):
                    changed = copy.deepcopy(node)
                    changed.ops[i] = other()
                    yield changed
        case ast.BinOp(op=op, left=left, right=right) if type(op) in _OPERATORS:
            words = (left, right)
            if not any(isinstance(x, ast.JoinedStr) or _is(x, str) for x in words):
                yield ast.BinOp(left, _OPERATORS[type(op)](), right)
        case ast.BoolOp(op=op, values=values):
            yield ast.BoolOp(_OPERATORS[type(op)](), values)
        case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert(), operand=operand):
            yield operand
        case ast.IfExp(test=test, body=body, orelse=orelse):
            yield ast.IfExp(ast.UnaryOp(ast.Not(), test), body, orelse)
        case ast.Constant(value=bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(value=int() | float() as value):
            yield ast.Constant(value + 1)
        case ast.Name(id=name) if name in _NAMES:
            yield ast.Name(_NAMES[name])
        case ast.Attribute(value=value, attr=name) if name in _OF_NUMPY:
            yield ast.Attribute(value, _OF_NUMPY[name])


def _is(node: ast.expr, kind: type) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, kind)

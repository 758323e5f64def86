"""Small mistakes made on purpose in a module's source: what `mutants.py` asks the tests to notice.

Each is one edit of the text inside a function: a comparison turned or moved by its edge, ``+`` and ``-``, ``min`` and
``max``, ``any`` and ``all``, a term dropped, a choice taken always or never, True and False, a constant off by one, an
unknown turned into 0, a margin, gust, error or reserve forgotten. Words are left alone: docstrings, annotations,
decorators, f-strings, assertions, and what is raised.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from copy import copy
from dataclasses import dataclass

TURNED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
SWAPPED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd, ast.FloorDiv: ast.Mult, ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
_PAIRS = ("min max", "minimum maximum", "fmin fmax", "nanmin nanmax", "argmin argmax", "nanargmin nanargmax",
          "any all", "ceil floor", "isnan isfinite", "sin cos", "arcsin arccos")  # fmt: skip
RENAMED = {a: b for pair in _PAIRS for a, b in (pair.split(), pair.split()[::-1])}
FORGOTTEN = re.compile(r"gust|error|margin|reserve|extra|hanging|wait|reduction")
KEPT_KEYWORDS = frozenset({"dtype", "copy", "strict", "where", "got", "out", "invalid", "divide"})
LONG = 90  # letters of a text that are shown
WORDS = (ast.JoinedStr, ast.Raise, ast.Assert)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One mistake: its place, the text before and after, the lines as they then read, the whole source with it."""

    function: str
    line: int
    before: str
    after: str
    reads: str
    source: str

    def __str__(self) -> str:
        before, after = _short(self.before), _short(self.after)
        if len(before) > LONG:  # show the place where they part
            after = after.removeprefix("(")
            parts = next((i for i, (a, b) in enumerate(zip(before, after, strict=False)) if a != b), 0)
            before, after = (f"…{text[max(0, parts - 20) :][:LONG]}…" for text in (before, after))
        return f"{self.function}:{self.line}: {before}  ->  {after}"


def mutants(source: str, functions: tuple[str, ...] = ("*",)) -> list[Mutant]:
    """Make every mistake in some functions of a module, in the order of the text.

    Parameters
    ----------
    source
        The module.
    functions
        Names as in the text, ``"hover_limit"``, ``"Grid.holds"``, with all that is defined inside; ``"*"`` for all.

    Raises
    ------
    KeyError
        A function that is not there.
    """
    tree = ast.parse(source)
    there = dict(_functions(tree))
    if missing := [name for name in functions if name != "*" and name not in there]:
        raise KeyError(f"no function {', '.join(missing)}; there are {', '.join(there)}")
    chosen = there if "*" in functions else {name: there[name] for name in functions}
    text = source.encode()
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    found: dict[str, Mutant] = {}
    for name, function in chosen.items():
        for node, after in _mistakes(function):
            first, last = starts[node.lineno - 1] + node.col_offset, starts[node.end_lineno - 1] + node.end_col_offset
            before = text[first:last].decode()
            changed = ast.unparse(after) if isinstance(after, ast.stmt) else f"({ast.unparse(after)})"
            mutated = (text[:first] + changed.encode() + text[last:]).decode()
            begin, end = text.rfind(b"\n", 0, first) + 1, text.find(b"\n", last)
            reads = _short((text[begin:first] + changed.encode() + text[last:end]).decode())
            found.setdefault(mutated, Mutant(name, node.lineno, before, changed, reads, mutated))
    found.pop(source, None)
    return list(found.values())


def _short(text: str) -> str:
    return re.sub(r"([(\[]) | (?=[)\]])", r"\1", re.sub(r"\s+", " ", text)).strip()


def _functions(tree: ast.AST, above: str = "") -> Iterator[tuple[str, ast.AST]]:
    """Give the functions and methods of a module by name."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            yield above + node.name, node
        elif isinstance(node, ast.ClassDef):
            yield from _functions(node, f"{above}{node.name}.")


def _mistakes(function: ast.AST) -> Iterator[tuple[ast.AST, ast.AST]]:
    """Give pairs of a node and what stands in its place, through a whole function."""
    for node in _code(function):
        match node:
            case ast.Compare():
                changes = _compare(node)
            case ast.BinOp():
                changes = _operation(node)
            case ast.BoolOp():
                changes = _choice(node)
            case ast.UnaryOp(op=ast.Not() | ast.USub() | ast.Invert()):
                changes = iter([node.operand])
            case ast.Call():
                changes = _call(node)
            case ast.IfExp():
                changes = iter([node.body, node.orelse])
            case ast.AugAssign():
                changes = _step(node)
            case ast.Constant():
                changes = _constant(node)
            case ast.Attribute(attr="nan"):
                changes = iter([ast.Constant(0.0)])
            case ast.Attribute(attr="inf"):
                changes = iter([ast.UnaryOp(ast.USub(), node)])
            case ast.Attribute(ctx=ast.Load()) if FORGOTTEN.search(node.attr):
                changes = iter([ast.Constant(0.0)])
            case ast.Name(ctx=ast.Load()) if FORGOTTEN.search(node.id):
                changes = iter([ast.Constant(0.0)])
            case ast.If() | ast.While() if not isinstance(node.test, ast.Compare):
                yield node.test, ast.UnaryOp(ast.Not(), node.test)
                continue
            case _:
                continue
        for change in changes:
            yield node, change


def _code(node: ast.AST) -> Iterator[ast.AST]:
    """Walk a function in the order of its text, past everything that is words or is called."""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list", "type_params"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(child, WORDS):
                continue
            if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                continue  # a docstring
            called = isinstance(node, ast.Call) and field == "func"
            if not called:
                yield child
            yield from _code(child)


def _with(node: ast.AST, **fields: object) -> ast.AST:
    """Copy a node with other fields."""
    other = copy(node)
    for name, value in fields.items():
        setattr(other, name, value)
    return other


def _compare(node: ast.Compare) -> Iterator[ast.AST]:
    for i, op in enumerate(node.ops):
        for other in TURNED[type(op)]:
            yield _with(node, ops=[*node.ops[:i], other(), *node.ops[i + 1 :]])


def _operation(node: ast.BinOp) -> Iterator[ast.AST]:
    if isinstance(node.left, ast.Constant) and isinstance(node.left.value, str):
        return
    if other := SWAPPED.get(type(node.op)):
        yield _with(node, op=other())
    yield node.left
    if isinstance(node.op, ast.Add | ast.Mult | ast.BitAnd | ast.BitOr):
        yield node.right


def _choice(node: ast.BoolOp) -> Iterator[ast.AST]:
    yield _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    for i in range(len(node.values)):
        rest = [*node.values[:i], *node.values[i + 1 :]]
        yield rest[0] if len(rest) == 1 else _with(node, values=rest)


def _call(node: ast.Call) -> Iterator[ast.AST]:
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in RENAMED:
        field = "attr" if isinstance(node.func, ast.Attribute) else "id"
        yield _with(node, func=_with(node.func, **{field: RENAMED[name]}))
    if name in ("min", "max", "minimum", "maximum", "fmin", "fmax") and len(node.args) > 1:
        for i in range(len(node.args)):
            rest = [*node.args[:i], *node.args[i + 1 :]]
            yield rest[0] if len(rest) == 1 else _with(node, args=rest)
    if name in ("abs", "nan_to_num", "clip", "round", "floor", "ceil", "sqrt") and node.args:
        yield node.args[0]
    if name == "where" and len(node.args) == 3:
        yield _with(node, args=[node.args[0], node.args[2], node.args[1]])
        yield node.args[1]
        yield node.args[2]
    if name == "float" and node.args and isinstance(node.args[0], ast.Constant) and node.args[0].value == "nan":
        yield ast.Constant(0.0)
    for i, keyword in enumerate(node.keywords):
        if keyword.arg is not None and keyword.arg not in KEPT_KEYWORDS:
            yield _with(node, keywords=[*node.keywords[:i], *node.keywords[i + 1 :]])


def _step(node: ast.AugAssign) -> Iterator[ast.AST]:
    if other := SWAPPED.get(type(node.op)):
        yield _with(node, op=other())
    yield ast.Pass()


def _constant(node: ast.Constant) -> Iterator[ast.AST]:
    if isinstance(node.value, bool):
        yield ast.Constant(not node.value)
    elif isinstance(node.value, int | float):
        yield ast.Constant(node.value + 1)

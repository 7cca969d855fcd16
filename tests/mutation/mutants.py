"""Every small change to a module's code that its tests should notice.

Terminology
-----------
mutant    a module with one small change: another operator, comparison, constant or truth
site      the place in the syntax tree that is changed
"""

from __future__ import annotations

import ast
import copy
from collections.abc import Iterator
from typing import NamedTuple

ARITHMETIC = {
    ast.Add: (ast.Sub,),
    ast.Sub: (ast.Add,),
    ast.Mult: (ast.Div,),
    ast.Div: (ast.Mult,),
    ast.FloorDiv: (ast.Div,),
    ast.Mod: (ast.Mult,),
    ast.Pow: (ast.Mult,),
    ast.BitOr: (ast.BitAnd,),
    ast.BitAnd: (ast.BitOr,),
    ast.BitXor: (ast.BitOr,),
}
COMPARISONS = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
TWINS = {"min": "max", "max": "min", "any": "all", "all": "any", "sin": "cos", "cos": "sin"}


class Mutant(NamedTuple):
    """One mutant: where it differs, how, and the source of the whole module."""

    function: str
    line: int
    before: str
    after: str
    source: str

    @property
    def change(self) -> str:
        """The change as one text, the same wherever in the file the function stands."""
        return f"{self.before} -> {self.after}"


def mutants_of(source: str) -> Iterator[Mutant]:
    """Yield every mutant of a module; texts, annotations and decorators stay as they are."""
    tree = ast.parse(source)
    for index, (function, parent, site) in enumerate(_sites(tree)):
        for n_change, changed in enumerate(_changes(site)):
            whole = copy.deepcopy(tree)
            _, other_parent, other_site = list(_sites(whole))[index]
            replaced = list(_changes(other_site))[n_change]
            _put(other_parent, other_site, replaced)
            yield Mutant(
                function,
                getattr(site, "lineno", 0),
                _shown(parent, site, site),
                _shown(parent, site, changed),
                ast.unparse(ast.fix_missing_locations(whole)),
            )


def _sites(tree: ast.AST) -> list[tuple[str, ast.AST, ast.expr | ast.stmt]]:
    """Return every node that can be changed, with its function's name and its parent."""
    found: list[tuple[str, ast.AST, ast.expr | ast.stmt]] = []

    def walk(node: ast.AST, function: str) -> None:
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list", "bases", "keywords_of_class"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if not isinstance(child, ast.AST) or _is_left_alone(child):
                    continue
                inside = function
                if isinstance(child, ast.FunctionDef | ast.ClassDef):
                    inside = f"{function}.{child.name}".lstrip(".")
                if isinstance(child, ast.expr | ast.stmt) and any(True for _ in _changes(child)):
                    found.append((inside, node, child))
                walk(child, inside)

    walk(tree, "")
    return found


def _is_left_alone(node: ast.AST) -> bool:
    """Tell whether nothing in a node is changed: imports, texts, types, error messages."""
    if isinstance(node, ast.Import | ast.ImportFrom | ast.JoinedStr | ast.Raise):
        return True
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return True
    is_text = isinstance(node, ast.Constant) and isinstance(node.value, str | bytes)
    names = node.targets if isinstance(node, ast.Assign) else ()
    is_type = any(isinstance(name, ast.Name) and name.id in TYPES for name in names)
    return is_text or is_type


TYPES = frozenset({"Segment", "Path", "Points", "Step", "PieceKind", "Span", "Piece"})
"""Names of module-level type aliases."""


def _changes(node: ast.expr | ast.stmt) -> Iterator[ast.expr | ast.stmt]:
    """Yield what a node may be changed to."""
    match node:
        case ast.BinOp(left, operator, right) if type(operator) in ARITHMETIC:
            for other in ARITHMETIC[type(operator)]:
                yield ast.BinOp(left, other(), right)
        case ast.AugAssign(target, operator, value) if type(operator) in ARITHMETIC:
            for other in ARITHMETIC[type(operator)]:
                yield ast.AugAssign(target, other(), value)
        case ast.Compare(left, [operator, *more], rights) if type(operator) in COMPARISONS:
            for other in COMPARISONS[type(operator)]:
                yield ast.Compare(left, [other(), *more], rights)
            if more and type(more[-1]) in COMPARISONS:
                for other in COMPARISONS[type(more[-1])]:
                    yield ast.Compare(left, [operator, *more[:-1], other()], rights)
        case ast.BoolOp(operator, values):
            yield ast.BoolOp(ast.Or() if isinstance(operator, ast.And) else ast.And(), values)
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield operand
        case ast.Constant(value) if isinstance(value, bool):
            yield ast.Constant(not value)
        case ast.Constant(value) if isinstance(value, int):
            yield ast.Constant(value + 1)
        case ast.Constant(value) if isinstance(value, float):
            yield ast.Constant(1.0 if value == 0.0 else 2.0 * value)
        case ast.Call(ast.Name(name), arguments, keywords) if name in TWINS:
            yield ast.Call(ast.Name(TWINS[name]), arguments, keywords)
        case ast.Call(ast.Attribute(value, name), arguments, keywords) if name in TWINS:
            yield ast.Call(ast.Attribute(value, TWINS[name]), arguments, keywords)
        case ast.Expr(ast.Call()):
            yield ast.Pass()
        case ast.Continue():
            yield ast.Break()
        case ast.Break():
            yield ast.Continue()
        case ast.If(test, body, orelse) if not isinstance(test, ast.Compare):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, orelse)


def _put(parent: ast.AST, old: ast.AST, new: ast.AST) -> None:
    for name, value in ast.iter_fields(parent):
        if value is old:
            setattr(parent, name, new)
        elif isinstance(value, list):
            value[:] = [new if each is old else each for each in value]


def _shown(parent: ast.AST, old: ast.AST, new: ast.AST) -> str:
    """Return the code of a change with a little of what stands round it, on one line."""
    if isinstance(new, ast.If):
        return f"if {ast.unparse(new.test)}"
    if not isinstance(new, ast.Constant):
        return ast.unparse(new)
    around = copy.copy(parent)
    for name, value in ast.iter_fields(parent):
        if value is old:
            setattr(around, name, new)
        elif isinstance(value, list):
            setattr(around, name, [new if each is old else each for each in value])
    return ast.unparse(ast.fix_missing_locations(around)).split("\n")[0]

"""Formulas as plain text, parsed once; printers give the value, the numbers put in, MathML and Typst.

A formula is written as an engineer types it: ``(r*gamma - c)/(K*tan(phi))*(1 - exp(-K*tan(phi)*z/r))``. Powers are ``^``,
a prime belongs to its symbol (``gamma'``), a choice is compared with its word (``1/3 if side_stress == "tapering" else 1/2``).
The text is parsed by ``ast`` with a closed set of nodes; nothing is ever executed as code.
"""

import ast
import copy
import functools
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy import special

from tunnelwright.vocabulary.types import FloatArray

PRIME: Final = "ʹ"
_PI: Final = {"pi": np.pi, "e_euler": np.e}


def _fold(function: Callable[..., FloatArray]) -> Callable[..., FloatArray]:
    return lambda *values: functools.reduce(function, values)


FUNCTIONS: Final[dict[str, Callable[..., FloatArray]]] = {
    "sqrt": np.sqrt, "exp": np.exp, "ln": np.log, "log10": np.log10, "abs": np.abs, "sign": np.sign, "floor": np.floor, "ceil": np.ceil,
    "sin": np.sin, "cos": np.cos, "tan": np.tan, "asin": np.arcsin, "acos": np.arccos, "atan": np.arctan, "atan2": np.arctan2,
    "sinh": np.sinh, "cosh": np.cosh, "tanh": np.tanh, "asinh": np.arcsinh, "erf": special.erf, "Phi": special.ndtr, "Phi_inverse": special.ndtri,
    "min": _fold(np.minimum), "max": _fold(np.maximum), "hypot": np.hypot, "mod": np.mod,
}  # fmt: skip
TAKES_ANGLE: Final = frozenset({"sin", "cos", "tan"})
_BINARY: Final = {ast.Add: np.add, ast.Sub: np.subtract, ast.Mult: np.multiply, ast.Div: np.divide, ast.Pow: np.power}
_COMPARE: Final = {ast.Lt: np.less, ast.LtE: np.less_equal, ast.Gt: np.greater, ast.GtE: np.greater_equal, ast.Eq: np.equal, ast.NotEq: np.not_equal}


class FormulaRefused(ValueError):
    """The text uses something outside the closed set."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A result's symbol and the expression that gives it."""

    symbol: str
    text: str

    @property
    def tree(self) -> ast.expr:
        """Return the parsed expression."""
        return parse(self.text)

    def names(self) -> frozenset[str]:
        """Return the symbols that the expression needs."""
        return names_in(self.tree)

    def value(self, values: Mapping[str, object]) -> FloatArray:
        """Return the value of the expression, elementwise over arrays."""
        with np.errstate(all="ignore"):
            return np.asarray(_evaluate(self.tree, values))


def encode(text: str) -> str:
    """Return the text as Python sees it: powers, primes and the one Greek name that is a keyword."""
    text = re.sub(r"(?<=[A-Za-z0-9_])'", PRIME, text)
    return re.sub(r"\blambda\b", "λ", text.replace("^", "**"))


def decode(name: str) -> str:
    """Return a symbol as it was written."""
    return name.replace(PRIME, "'").replace("λ", "lambda")


def names_in(tree: ast.expr) -> frozenset[str]:
    """Return the symbols in a parsed expression."""
    return frozenset(decode(node.id) for node in ast.walk(tree) if isinstance(node, ast.Name) and node.id not in FUNCTIONS and node.id not in _PI)


@functools.cache
def parse(text: str) -> ast.expr:
    """Return the expression's tree after checking that it uses nothing outside the closed set.

    Raises
    ------
    FormulaRefused
        when it does, naming the part.
    """
    try:
        tree = ast.parse(encode(text), mode="eval").body
    except SyntaxError as reason:
        raise FormulaRefused(f"`{text}` is not a formula: {reason.msg}") from None
    _check(tree, text)
    return tree


def resolved(tree: ast.expr, values: Mapping[str, object]) -> ast.expr:
    """Return the tree with every condition replaced by the branch that these scalar values take."""

    class Branches(ast.NodeTransformer):
        def visit_IfExp(self, node: ast.IfExp) -> ast.AST:
            taken = node.body if bool(np.all(_evaluate(node.test, values))) else node.orelse
            return self.visit(taken)

    return Branches().visit(copy.deepcopy(tree))


def _check(node: ast.expr, text: str) -> None:
    match node:
        case ast.BinOp() if type(node.op) in _BINARY:
            parts = [node.left, node.right]
        case ast.UnaryOp(op=ast.USub()):
            parts = [node.operand]
        case ast.Call(func=ast.Name(id=name)) if name in FUNCTIONS and not node.keywords:
            parts = list(node.args)
        case ast.IfExp():
            parts = [node.test, node.body, node.orelse]
        case ast.Compare() if all(type(operator) in _COMPARE for operator in node.ops):
            parts = [node.left, *node.comparators]
        case ast.BoolOp():
            parts = list(node.values)
        case ast.Name():
            parts = []
        case ast.Constant(value=int() | float() | str()):
            parts = []
        case _:
            raise FormulaRefused(f"`{ast.unparse(node)}` in `{text}` is outside the closed set of formulas")
    for part in parts:
        _check(part, text)


def _evaluate(node: ast.expr, values: Mapping[str, object]) -> Any:
    match node:
        case ast.Constant():
            return node.value
        case ast.Name(id=name):
            return _PI[name] if name in _PI else _lookup(values, decode(name))
        case ast.BinOp():
            return _BINARY[type(node.op)](_as_float(_evaluate(node.left, values)), _as_float(_evaluate(node.right, values)))
        case ast.UnaryOp():
            return np.negative(_as_float(_evaluate(node.operand, values)))
        case ast.Call(func=ast.Name(id=name)):
            return FUNCTIONS[name](*(_as_float(_evaluate(argument, values)) for argument in node.args))
        case ast.IfExp():
            return np.where(np.asarray(_evaluate(node.test, values), dtype=bool), _evaluate(node.body, values), _evaluate(node.orelse, values))
        case ast.Compare():
            return _compare(node, values)
        case ast.BoolOp():
            join = np.logical_and if isinstance(node.op, ast.And) else np.logical_or
            return functools.reduce(join, (np.asarray(_evaluate(part, values), dtype=bool) for part in node.values))
    raise FormulaRefused(ast.unparse(node))


def _lookup(values: Mapping[str, object], symbol: str) -> Any:
    if symbol not in values:
        raise FormulaRefused(f"no value for `{symbol}`")
    return values[symbol]


def _as_float(value: object) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def _compare(node: ast.Compare, values: Mapping[str, object]) -> Any:
    parts = [_evaluate(part, values) for part in (node.left, *node.comparators)]
    outcomes = []
    for operator, left, right in zip(node.ops, parts, parts[1:], strict=False):
        if isinstance(left, str) or isinstance(right, str):
            outcomes.append(np.asarray(left) == np.asarray(right) if isinstance(operator, ast.Eq) else np.asarray(left) != np.asarray(right))
        else:
            outcomes.append(_COMPARE[type(operator)](_as_float(left), _as_float(right)))
    return functools.reduce(np.logical_and, outcomes)

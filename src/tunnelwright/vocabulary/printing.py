"""Printers of a parsed formula: as text with the numbers put in, as MathML for pages, as Typst for the book."""

import ast
import html
from collections.abc import Callable, Mapping
from typing import Final

from tunnelwright.vocabulary.formula import TAKES_ANGLE, decode, parse

_RANK: Final = {ast.Add: 1, ast.Sub: 1, ast.Mult: 2, ast.Div: 2, ast.Pow: 4}
_SIGN: Final = {ast.Add: " + ", ast.Sub: " - ", ast.Mult: " x ", ast.Div: " / ", ast.Pow: "^"}
_COMPARED: Final = {ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "is", ast.NotEq: "is not"}
_LOWER: Final = [
    "alpha",
    "beta",
    "gamma",
    "delta",
    "epsilon",
    "zeta",
    "eta",
    "theta",
    "iota",
    "kappa",
    "lambda",
    "mu",
    "nu",
    "xi",
    "omicron",
    "pi",
    "rho",
    "-",
    "sigma",
    "tau",
    "upsilon",
    "phi",
    "chi",
    "psi",
    "omega",
]
_GREEK: Final = {name: chr(0x3B1 + place) for place, name in enumerate(_LOWER) if name not in ("-", "omicron")}
_GREEK.update(
    {
        name.capitalize(): chr(0x391 + place)
        for place, name in enumerate(_LOWER)
        if name in ("gamma", "delta", "theta", "lambda", "sigma", "phi", "psi", "omega")
    }
)


def symbol_as_text(symbol: str) -> str:
    """Return a symbol with Greek letters, for tables and plain sheets."""
    head, *rest = symbol.split("_")
    bare = head.rstrip("'")
    return "_".join([_GREEK.get(bare, bare) + "'" * (len(head) - len(bare)), *rest])


def formula_as_text(text: str) -> str:
    """Return the formula as it reads on a plain sheet."""
    return _plain(parse(text), lambda name, _: symbol_as_text(name), within_angle=False)


def formula_with_numbers(tree: ast.expr, numbers: Mapping[str, str], angles: Mapping[str, str]) -> str:
    """Return a resolved formula with numbers in place of symbols; inside a sine, cosine or tangent angles stand in degrees."""
    return _plain(tree, lambda name, in_angle: angles[name] if in_angle and name in angles else numbers.get(name, symbol_as_text(name)), within_angle=False)


def _plain(node: ast.expr, name_of: Callable[[str, bool], str], *, within_angle: bool) -> str:
    match node:
        case ast.Constant(value=str() as word):
            return word
        case ast.Constant():
            return f"{_number(node.value):g}"
        case ast.Name(id="pi"):
            return "pi"
        case ast.Name(id=name):
            return name_of(decode(name), within_angle)
        case ast.UnaryOp():
            return "-" + _bracketed(node.operand, 3, name_of, within_angle)
        case ast.Call(func=ast.Name(id=name)):
            inside = ", ".join(_plain(argument, name_of, within_angle=name in TAKES_ANGLE) for argument in node.args)
            return f"{name}({inside})"
        case ast.BinOp():
            rank = _RANK[type(node.op)]
            right_rank = rank + (1 if isinstance(node.op, ast.Sub | ast.Div) else 0)
            left = _bracketed(node.left, rank + (1 if isinstance(node.op, ast.Pow) else 0), name_of, within_angle)
            right = _bracketed(node.right, right_rank, name_of, within_angle)
            return left + _SIGN[type(node.op)] + (f"({right})" if right.startswith("-") else right)
        case ast.IfExp():
            parts = [_plain(part, name_of, within_angle=within_angle) for part in (node.body, node.test, node.orelse)]
            return f"{parts[0]} if {parts[1]}, else {parts[2]}"
        case ast.Compare():
            words = [_plain(node.left, name_of, within_angle=within_angle)]
            for operator, part in zip(node.ops, node.comparators, strict=True):
                words += [_COMPARED[type(operator)], _plain(part, name_of, within_angle=within_angle)]
            return " ".join(words)
        case ast.BoolOp():
            word = " and " if isinstance(node.op, ast.And) else " or "
            return word.join(_plain(part, name_of, within_angle=within_angle) for part in node.values)
    raise TypeError(ast.dump(node))


def _number(constant: object) -> float:
    assert isinstance(constant, int | float)
    return constant


def _bracketed(node: ast.expr, least_rank: int, name_of: Callable[[str, bool], str], within_angle: bool) -> str:
    text = _plain(node, name_of, within_angle=within_angle)
    negative_base = text.startswith("-") and least_rank > _RANK[ast.Pow]
    return f"({text})" if _rank(node) < least_rank or negative_base else text


def _rank(node: ast.expr) -> int:
    match node:
        case ast.BinOp():
            return _RANK[type(node.op)]
        case ast.UnaryOp():
            return 3
        case ast.IfExp() | ast.Compare() | ast.BoolOp():
            return 0
        case _:
            return 9


def formula_as_mathml(tree: ast.expr, numbers: Mapping[str, str] | None = None, angles: Mapping[str, str] | None = None) -> str:
    """Return the formula as MathML, with symbols or with numbers put in."""
    return f"<math>{_mathml(tree, numbers or {}, angles or {}, False)}</math>"


def symbol_as_mathml(symbol: str) -> str:
    """Return a symbol with its subscript."""
    head, *rest = symbol.split("_")
    bare = head.rstrip("'")
    base = f"<mi>{html.escape(_GREEK.get(bare, bare))}</mi>"
    primes = len(head) - len(bare)
    if primes:
        base = f"<msup>{base}<mo>{'′' * primes}</mo></msup>"
    return f"<msub>{base}<mtext>{html.escape(' '.join(rest))}</mtext></msub>" if rest else base


def _mathml(node: ast.expr, numbers: Mapping[str, str], angles: Mapping[str, str], in_angle: bool) -> str:
    def inner(part: ast.expr, angle: bool = in_angle) -> str:
        return _mathml(part, numbers, angles, angle)

    def grouped(part: ast.expr, least_rank: int) -> str:
        return f"<mrow><mo>(</mo>{inner(part)}<mo>)</mo></mrow>" if _rank(part) < least_rank else inner(part)

    match node:
        case ast.Constant(value=str() as word):
            return f"<mtext>{html.escape(word)}</mtext>"
        case ast.Constant():
            return f"<mn>{_number(node.value):g}</mn>"
        case ast.Name(id="pi"):
            return "<mi>π</mi>"
        case ast.Name(id=name):
            symbol = decode(name)
            put_in = angles.get(symbol) if in_angle and symbol in angles else numbers.get(symbol)
            return symbol_as_mathml(symbol) if put_in is None else f"<mn>{html.escape(put_in)}</mn>"
        case ast.UnaryOp():
            return f"<mrow><mo>−</mo>{grouped(node.operand, 3)}</mrow>"
        case ast.BinOp(op=ast.Div()):
            return f"<mfrac><mrow>{inner(node.left)}</mrow><mrow>{inner(node.right)}</mrow></mfrac>"
        case ast.BinOp(op=ast.Pow()):
            return f"<msup><mrow>{grouped(node.left, 5)}</mrow><mrow>{inner(node.right)}</mrow></msup>"
        case ast.BinOp():
            sign = {ast.Add: "+", ast.Sub: "−", ast.Mult: "·"}[type(node.op)]
            rank = _RANK[type(node.op)]
            return f"<mrow>{grouped(node.left, rank)}<mo>{sign}</mo>{grouped(node.right, rank + (1 if isinstance(node.op, ast.Sub) else 0))}</mrow>"
        case ast.Call(func=ast.Name(id="sqrt")):
            return f"<msqrt>{inner(node.args[0])}</msqrt>"
        case ast.Call(func=ast.Name(id=name)):
            inside = "<mo>,</mo>".join(inner(argument, name in TAKES_ANGLE) for argument in node.args)
            return f"<mrow><mi>{html.escape(_GREEK.get(name, name))}</mi><mo>(</mo>{inside}<mo>)</mo></mrow>"
        case _:
            return f"<mtext>{html.escape(_plain(node, lambda name, angle: numbers.get(name, symbol_as_text(name)), within_angle=in_angle))}</mtext>"


def formula_as_typst(text: str) -> str:
    """Return the formula in Typst's mathematics; only our own parsed formulas ever pass here."""
    return _typst(parse(text))


def symbol_as_typst(symbol: str) -> str:
    """Return a symbol in Typst's mathematics, words quoted."""
    head, *rest = symbol.split("_")
    bare = head.rstrip("'")
    base = (bare if bare in _GREEK or len(bare) == 1 else f'"{bare}"') + "'" * (len(head) - len(bare))
    return f'{base}_"{" ".join(rest)}"' if rest else base


def _typst(node: ast.expr) -> str:
    match node:
        case ast.Constant(value=str() as word):
            return f'"{word}"'
        case ast.Constant():
            return f"{_number(node.value):g}"
        case ast.Name(id=name):
            return symbol_as_typst(decode(name))
        case ast.UnaryOp():
            return f"-{_typst_grouped(node.operand, 3)}"
        case ast.BinOp(op=ast.Div()):
            return f"({_typst(node.left)})/({_typst(node.right)})"
        case ast.BinOp(op=ast.Pow()):
            return f"{_typst_grouped(node.left, 5)}^({_typst(node.right)})"
        case ast.BinOp():
            sign = {ast.Add: "+", ast.Sub: "-", ast.Mult: "dot.op"}[type(node.op)]
            rank = _RANK[type(node.op)]
            return f"{_typst_grouped(node.left, rank)} {sign} {_typst_grouped(node.right, rank + (1 if isinstance(node.op, ast.Sub) else 0))}"
        case ast.Call(func=ast.Name(id="sqrt")):
            return f"sqrt({_typst(node.args[0])})"
        case ast.Call(func=ast.Name(id=name)):
            return f'op("{name}")({", ".join(_typst(argument) for argument in node.args)})'
        case _:
            return '"' + _plain(node, lambda name, _: symbol_as_text(name), within_angle=False).replace('"', "") + '"'


def _typst_grouped(node: ast.expr, least_rank: int) -> str:
    return f"({_typst(node)})" if _rank(node) < least_rank else _typst(node)

"""A formula too long for one row, parted: long sums and long rows of the larger or smaller become lines of their own first.

A shop with many presses, machines or tasks has sums of as many terms. What is parted is worked out in another order, so it
may differ in the last digit from one long sum; what fits is left as it is. Nothing is computed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from roi.engine.expression import Apply, Expr, Gather, Leaf, Relabel, Row, apply

IN_ANY_ORDER = ("add", "larger", "smaller")

Length = Callable[[Expr], int]


def parted(body: Expr, longest: int, length: Length, line: Callable[[Expr], Expr]) -> Expr:
    """`body` with its long sums put together from lines, so that no formula passes `longest` characters, where that is enough.

    length : characters of an expression's longest formula;  line : makes a line of a part and returns it
    """
    while length(body) > longest:
        long = sorted(_sums(body), key=length, reverse=True)
        shorter = next((s for each in long if (s := _grouped(each, longest, length)) is not None), None)
        if shorter is None:
            return body
        old, groups = shorter
        lines = [group[0] if len(group) == 1 else line(_joined(old.function, group)) for group in groups]
        body = _with(body, old, _joined(old.function, lines))
    return body


def _sums(body: Expr) -> Iterator[Apply]:
    """Every whole sum of three terms or more, and likewise the larger and the smaller of several."""
    if isinstance(body, Apply) and body.function in IN_ANY_ORDER:
        terms = list(_terms(body, body.function))
        if len(terms) > 2:
            yield body
        for term in terms:
            yield from _sums(term)
    elif isinstance(body, Apply):
        for arg in body.args:
            yield from _sums(arg)
    elif isinstance(body, Gather):
        for part in body.parts:
            yield from _sums(part)
    elif isinstance(body, Relabel):
        yield from _sums(body.inner)


def _terms(body: Expr, function: str) -> Iterator[Expr]:
    if isinstance(body, Apply) and body.function == function:
        for arg in body.args:
            yield from _terms(arg, function)
    else:
        yield body


def _joined(function: str, terms: list[Expr]) -> Expr:
    joined = terms[0]
    for term in terms[1:]:
        joined = apply(function, joined, term)
    return joined


def _grouped(body: Apply, longest: int, length: Length) -> tuple[Apply, list[list[Expr]]] | None:
    """Neighbouring terms in groups that fit, or None where that makes nothing shorter."""
    groups: list[list[Expr]] = []
    for term in _terms(body, body.function):
        if groups and length(_joined(body.function, [*groups[-1], term])) <= longest:
            groups[-1].append(term)
        else:
            groups.append([term])
    if len(groups) == 1:  # it fits, but what stands around it does not
        groups = [groups[0][:-1], groups[0][-1:]]
    return (body, groups) if any(len(group) > 1 for group in groups) else None


def _with(body: Expr, old: Expr, new: Expr) -> Expr:
    """`body` with one expression in it replaced by another of the same unit."""
    if body is old:
        return new
    if isinstance(body, Leaf | Row):
        return body
    if isinstance(body, Apply):
        args = tuple(_with(arg, old, new) for arg in body.args)
        return Apply(body.function, args, body.unit, body.axis, body.flag)
    if isinstance(body, Gather):
        assert body.axis is not None
        return Gather(body.axis, [_with(part, old, new) for part in body.parts])
    if isinstance(body, Relabel):
        return Relabel(_with(body.inner, old, new), body.unit / body.inner.unit)
    return body


__all__ = ["parted"]

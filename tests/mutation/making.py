"""The mutants of one module: its text with one thing changed.

The changes are those of mutmut's operators, and three more of ours. They are
laid over the whole text, for mutmut itself passes over decorated functions and
everything outside functions, which is where properties, tables and constants lie.
"""

from __future__ import annotations

import ast
import difflib
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import libcst as cst
from libcst import matchers as m
from mutmut.mutation.mutators import mutation_operators

_SWAPPED = {"min": "max", "max": "min"}


@dataclass(frozen=True)
class Mutant:
    """A module with one change. ``was`` and ``now`` are the lines that differ, blanks around them cut."""

    module: str  # its path below curebatch, "batch/cure.py"
    inside: str  # dotted name of the function or class, "" for the module itself
    was: str
    now: str
    parts: tuple[str, str, str]  # the module before what holds the change, that itself, and what follows
    in_body: bool  # the change lies in the body of one function, and can be put into it alone
    name: str  # stays while what holds the change, a function or class of the module, is as it is
    lines: range  # of the module, of the statement that is changed, or of its head

    @property
    def text(self) -> str:
        """The whole module."""
        return "".join(self.parts)

    @property
    def key(self) -> tuple[str, str, str, str]:
        return self.module, self.inside, self.was, self.now


def _swap_extremes(node: cst.Name) -> Iterator[cst.CSTNode]:
    if node.value in _SWAPPED:
        yield node.with_changes(value=_SWAPPED[node.value])


def _drop_call(node: cst.Expr) -> Iterator[cst.CSTNode]:
    """A call whose answer nobody takes: it is there for what it does."""
    if m.matches(node.value, m.Call()):
        yield cst.Pass()


def _drop_raise(node: cst.Raise) -> Iterator[cst.CSTNode]:
    yield cst.Pass()


_OPERATORS = [*mutation_operators, (cst.Name, _swap_extremes), (cst.Expr, _drop_call), (cst.Raise, _drop_raise)]
_PASSED_OVER = (cst.Annotation, cst.Decorator, cst.Import, cst.ImportFrom)


class _Replace(cst.CSTTransformer):
    def __init__(self, old: cst.CSTNode, new: cst.CSTNode):
        self.old, self.new, self.done = old, new, False

    def on_visit(self, node: cst.CSTNode) -> bool:
        return not self.done and node is not self.old

    def on_leave(self, original_node, updated_node):
        if original_node is self.old:
            self.done = True
            return self.new
        return updated_node


_BLIND = m.Attribute(value=m.Name("re"), attr=m.Name("I") | m.Name("IGNORECASE"))


def _case_blind(statement: cst.CSTNode) -> set[cst.CSTNode]:
    """The texts of patterns that are searched in any letters: to write one in others changes nothing."""
    calls = m.findall(statement, m.Call(func=m.Attribute(value=m.Name("re"), attr=m.Name("compile")), args=[m.AtLeastN(n=1), m.Arg(value=_BLIND)]))
    return {text for call in calls for text in m.findall(call, m.SimpleString())}


def mutants(path: Path, module: str) -> list[Mutant]:
    """Every mutant of the module at ``path`` that is still a program, each text once."""
    tree = cst.parse_module(path.read_text(encoding="utf-8"))
    heads = [cst.Module(body=[statement]).code for statement in tree.body]
    found: dict[tuple[int, str], Mutant] = {}
    spans = _spans(path.read_text(encoding="utf-8"))
    before = "".join(cst.Module(body=[]).code_for_node(line) for line in tree.header)
    for index, statement in enumerate(tree.body):
        start = before + "".join(heads[:index])
        blind = _case_blind(statement)
        rest = "".join(heads[index + 1:]) + "".join(tree.code_for_node(line) for line in tree.footer)
        for node, inside, in_body in _places(statement, (), False):
            for kind, operator in _OPERATORS:
                if not isinstance(node, kind):
                    continue
                for changed in operator(node):
                    if node in blind and changed.value.lower() == node.value.lower():
                        continue
                    code = cst.Module(body=[statement.visit(_Replace(node, changed))]).code
                    # The name of an encoding is read in any letters, and is the one of this place anyway.
                    if code.count('encoding="utf-8"') != heads[index].count('encoding="utf-8"') or code == heads[index] or (index, code) in found or not _is_program(code):
                        continue
                    was, now, changed_lines = _difference(heads[index], code)
                    first = start.count("\n") + 1 + changed_lines.start
                    lines = next(span for span in spans if first in span and first + len(changed_lines) - 1 in span)
                    name = hashlib.sha256(f"{module}\0{heads[index]}\0{code}".encode()).hexdigest()[:20]
                    found[index, code] = Mutant(module, ".".join(inside), was, now, (start, code, rest), in_body, name, lines)
    return list(found.values())


def _places(node: cst.CSTNode, inside: tuple[str, ...], in_body: bool) -> Iterator[tuple[cst.CSTNode, tuple[str, ...], bool]]:
    """(node, names around it, whether in the body of a function) of what may be changed."""
    if isinstance(node, _PASSED_OVER) or (isinstance(node, cst.SimpleString) and node.quote in ('"""', "'''")):
        return
    yield node, inside, in_body
    name = (*inside, node.name.value) if isinstance(node, (cst.FunctionDef, cst.ClassDef)) else inside
    for child in node.children:
        body = in_body or (isinstance(node, cst.FunctionDef) and child is node.body)
        yield from _places(child, inside if in_body else name, body)


def _is_program(text: str) -> bool:
    try:
        compile(ast.parse(text), "mutant", "exec")
    except (SyntaxError, ValueError):
        return False
    return True


def _spans(text: str) -> list[range]:
    """The lines of each statement and of the head of each that holds others, the shortest first; at last all of the text."""
    found = [range(1, len(text.splitlines()) + 2)]
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.stmt):
            found.append(range(node.lineno, node.end_lineno + 1))
            if body := getattr(node, "body", None):
                found.append(range(node.lineno, max(body[0].lineno, node.lineno + 1)))
    return sorted(found, key=len)


def _difference(one: str, two: str) -> tuple[str, str, range]:
    """(what was, what is now, the lines where it was, counted from 0)."""
    lines, others = one.splitlines(), two.splitlines()
    was, now, places = [], [], []
    for tag, a, b, c, d in difflib.SequenceMatcher(None, lines, others, autojunk=False).get_opcodes():
        if tag != "equal":
            was += lines[a:b]
            now += others[c:d]
            places += [a, max(b, a + 1)]
    return "\n".join(map(str.strip, was)), "\n".join(map(str.strip, now)), range(min(places), max(places))

"""What Pyodide's program hands to its script, cut down to what the script asks for.

It is linked so that other programs can be loaded beside it: it exports thousands of names, and at each
start each of them gets a place in a table for such a program to find. None ships here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

_NAME = re.compile(r"[A-Za-z_$][\w$]*")
_TAKEN = re.compile(r'function assignWasmExports\(wasmExports\)\{([^{}]*)\}')
_DECLARED = re.compile(r"\bvar ((?:[\w$]+,){1000,}[\w$]+);")
_STATEMENT = re.compile(r'([\w$]+)=Module\["[\w$]+"\]=wasmExports\["([^"]+)"\](?:\.value>>>0)?')

_IMPORTS, _EXPORTS = 2, 7  # sections of a program, WebAssembly Core Specification 2.0, 5.5.2
_FUNCTION, _TABLE, _MEMORY, _GLOBAL, _TAG = range(5)  # what is imported, 5.5.5; a tag: exception handling


class UnknownShape(Exception):
    """The runtime is not put together as it was when this was written: look at it before a new pin."""


def cut(script: str, program: bytes, loader: str) -> tuple[str, bytes]:
    """pyodide.asm.mjs and pyodide.asm.wasm without the exports that neither it nor its loader asks for.

    Raises UnknownShape where the script does not take its exports as expected.
    """
    taken, declared = _TAKEN.search(script), _DECLARED.search(script)
    if taken is None or declared is None:
        raise UnknownShape("The script takes its exports in another way.")
    sections = list(_sections(program))
    named = {n for number, content in sections if number == _EXPORTS for n, _ in _exports(content)}
    # Whatever else the script says, in its code or in a text, with or without the mark of C before it.
    said = {*_NAME.findall(script.replace(taken[0], "").replace(declared[0], "")), *_NAME.findall(loader)}
    back = {n for number, content in sections if number == _IMPORTS for place, n in _imports(content) if place.startswith("GOT.")}
    wanted = {name for name in named if {name, f"_{name}"} & said or name in back}

    statements, gone = [], set()
    for statement in filter(None, taken[1].split(";")):
        plain = _STATEMENT.fullmatch(statement)
        if plain is None or plain[2] in wanted:
            statements.append(statement)
        else:
            gone.add(plain[1])
    left = [name for name in declared[1].split(",") if name not in gone]
    script = script.replace(taken[1], ";".join(statements)).replace(declared[1], ",".join(left))
    return script, program[:8] + b"".join(
        _section(number, _only(content, wanted) if number == _EXPORTS else content) for number, content in sections
    )


def exported(program: bytes) -> list[str]:
    """The names that a program exports, in its order."""
    return [name for number, content in _sections(program) if number == _EXPORTS for name, _ in _exports(content)]


def _number(data: bytes, at: int) -> tuple[int, int]:
    """An unsigned LEB128 number and the place behind it."""
    value = shift = 0
    while True:
        byte = data[at]
        value |= (byte & 0x7F) << shift
        at, shift = at + 1, shift + 7
        if byte < 0x80:
            return value, at


def _written(value: int) -> bytes:
    out = bytearray()
    while value >= 0x80:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    out.append(value)
    return bytes(out)


def _section(number: int, content: bytes) -> bytes:
    return bytes([number]) + _written(len(content)) + content


def _sections(program: bytes) -> Iterable[tuple[int, bytes]]:
    if program[:8] != b"\0asm\1\0\0\0":
        raise UnknownShape("That is no WebAssembly program of version 1.")
    at = 8
    while at < len(program):
        length, start = _number(program, at + 1)
        yield program[at], program[start : start + length]
        at = start + length


def _text(data: bytes, at: int) -> tuple[str, int]:
    length, start = _number(data, at)
    return data[start : start + length].decode(), start + length


def _exports(content: bytes) -> Iterable[tuple[str, bytes]]:
    """Each name with its whole entry."""
    count, at = _number(content, 0)
    for _ in range(count):
        begin = at
        name, at = _text(content, at)
        _, at = _number(content, at + 1)
        yield name, content[begin:at]


def _only(content: bytes, wanted: set[str]) -> bytes:
    entries = [entry for name, entry in _exports(content) if name in wanted]
    return _written(len(entries)) + b"".join(entries)


def _imports(content: bytes) -> Iterable[tuple[str, str]]:
    """From where, and the name."""
    count, at = _number(content, 0)
    for _ in range(count):
        place, at = _text(content, at)
        name, at = _text(content, at)
        kind, at = content[at], at + 1
        if kind == _FUNCTION:
            _, at = _number(content, at)
        elif kind in (_TABLE, _MEMORY):
            at += kind == _TABLE  # what it holds
            flags, at = content[at], at + 1
            for _ in range(1 + (flags & 1)):
                _, at = _number(content, at)
        elif kind == _GLOBAL:
            at += 2
        elif kind == _TAG:
            _, at = _number(content, at + 1)
        else:
            raise UnknownShape(f"The program imports {name} as {kind}.")
        yield place, name

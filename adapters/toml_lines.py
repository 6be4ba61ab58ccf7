"""Where each key of a TOML text stands, so that a problem can name its line. No I/O."""

from __future__ import annotations

import json
import re
from bisect import bisect_right
from collections.abc import Sequence

Path = tuple[str | int, ...]

_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY = re.compile(r"[ \t]*(?:([A-Za-z0-9_-]+)|\"((?:[^\"\\]|\\.)*)\"|'([^']*)')[ \t]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\]|\\.)*"|\'[^\']*\'', re.DOTALL
)
_SCALAR = re.compile(r"[^,\]}\n#]*")


class TomlLines:
    """Line numbers of keys, tables and list elements.

    Parameters
    ----------
    text : str
        TOML that `tomllib` has read without complaint; of anything else the lines found are
        no more than a guess.
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._starts = [0, *(m.end() for m in re.finditer("\n", text))]
        self._at: dict[Path, int] = {}
        self._lengths: dict[Path, int] = {}
        self._scan()

    def line(self, path: Sequence[str | int]) -> int | None:
        """Return the line of `path`, or of the nearest table or list around it.

        Counted from 1; None for a key that is missing at the top.
        """
        for n in range(len(path), 0, -1):
            start = self._at.get(tuple(path[:n]))
            if start is not None:
                return bisect_right(self._starts, start)
        return None

    def _scan(self) -> None:
        text, pos, table = self._text, 0, ()
        here: Path = table
        while (pos := self._skip(pos)) < len(text):
            if text.startswith("[[", pos):
                parts, end = self._key(pos + 2)
                here = self._element(parts, pos)
                pos = end + 2
            elif text[pos] == "[":
                parts, end = self._key(pos + 1)
                here = self._resolve((), parts, pos)
                pos = end + 1
            else:
                pos = self._pair(here, pos)

    def _pair(self, table: Path, pos: int) -> int:
        parts, end = self._key(pos)
        path = self._resolve(table, parts, pos)
        return self._value(path, self._skip(end + 1))  # past the equals sign

    def _value(self, path: Path, pos: int) -> int:
        """Step over a value; note where the elements of a list and the keys of a table are."""
        text = self._text
        opening = text[pos : pos + 1]
        if opening in ("[", "{") and opening:
            closing, index = "]" if opening == "[" else "}", 0
            pos = self._skip(pos + 1)
            while pos < len(text) and text[pos] != closing:
                if opening == "[":
                    element = (*path, index)
                    self._at.setdefault(element, pos)
                    pos = self._value(element, pos)
                    index += 1
                else:
                    pos = self._pair(path, pos)
                pos = self._skip(pos)
                if text[pos : pos + 1] == ",":
                    pos = self._skip(pos + 1)
            return pos + 1
        found = _STRING.match(text, pos) or _SCALAR.match(text, pos)
        return max(found.end() if found else pos, pos)

    def _key(self, pos: int) -> tuple[list[str], int]:
        """Return the parts of a dotted key and where it ends."""
        parts: list[str] = []
        while found := _KEY.match(self._text, pos):
            bare, quoted, literal = found.groups()
            parts.append(bare or literal or _unquoted(quoted or ""))
            pos = found.end()
            if self._text[pos : pos + 1] != ".":
                return parts, pos
            pos += 1
        return parts, pos + 1

    def _resolve(self, table: Path, parts: Sequence[str], pos: int) -> Path:
        """Return the full path of `parts`; a list of tables means its newest element."""
        path = table
        for part in parts:
            path = (*path, part)
            self._at.setdefault(path, pos)
            if path in self._lengths:
                path = (*path, self._lengths[path] - 1)
        return path

    def _element(self, parts: Sequence[str], pos: int) -> Path:
        path = (*self._resolve((), parts[:-1], pos), parts[-1])
        self._at.setdefault(path, pos)
        number = self._lengths.get(path, 0)
        self._lengths[path] = number + 1
        self._at[(*path, number)] = pos
        return (*path, number)

    def _skip(self, pos: int) -> int:
        found = _SPACE.match(self._text, pos)
        return found.end() if found else pos


def _unquoted(text: str) -> str:
    try:
        return str(json.loads(f'"{text}"'))
    except ValueError:
        return text

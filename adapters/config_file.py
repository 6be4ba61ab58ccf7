"""The well file on disk: read it, or say all that is wrong with it and on which line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

from adapters.source_time import find_zone
from adapters.toml_lines import TomlLines
from engine.config import WellConfig, dotted, parse_config
from engine.errors import ConfigError, InputError

_PLACE = re.compile(r"^(.*?) \(at (?:line (\d+), column (\d+)|(end of document))\)$", re.DOTALL)


def load_well(path: str) -> tuple[WellConfig, str]:
    """Read the well file at `path`.

    Returns
    -------
    config : WellConfig
    text : str
        The file as it is, for the head of a recording.

    Raises
    ------
    InputError
        If there is no such file, or it cannot be opened.
    ConfigError
        With every problem found, each with its line.
    """
    try:
        with open(path, "rb") as file:
            data = file.read()
    except FileNotFoundError:
        raise InputError(
            f"{path}: no such well file; write one with: kellydown well init {path}"
        ) from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}") from None
    text = _decode(data, path)
    config = parse_well(text, path)
    if problems := list(_missing_files(config, text)):
        raise ConfigError(path, problems)
    return config, text


def _missing_files(config: WellConfig, text: str) -> Iterator[str]:
    """Yield what the well file names and this machine lacks; a recording may lack it elsewhere."""
    lines = TomlLines(text.replace("\r\n", "\n"))
    for i, output in enumerate(config.horn.outputs):
        if output.file and not Path(output.file).is_file():
            where = ("horn", "outputs", i, "file")
            yield f"line {lines.line(where)}: {dotted(where)}: there is no file {output.file}"


def parse_well(text: str, source: str) -> WellConfig:
    """Check the text of a well file; `source` is what to call it.

    Raises
    ------
    ConfigError
        With every problem found, each with its line.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConfigError(source, [_syntax(str(error), text)]) from None
    except (ValueError, RecursionError) as error:
        raise ConfigError(source, [f"not to be read as TOML: {error}"]) from None
    lines = TomlLines(text.replace("\r\n", "\n"))
    config = parse_config(raw, source, lines.line)
    problems = []
    zones: list[tuple[tuple[str | int, ...], str]] = [
        (("feeds", i, "time_zone"), feed.time_zone) for i, feed in enumerate(config.feeds)
    ]
    if config.tour.time_zone is not None:
        zones.append((("tour", "time_zone"), config.tour.time_zone))
    for where, zone in zones:
        try:
            find_zone(zone)
        except InputError as error:
            said = str(error).partition(": ")[2]
            problems.append(f"line {lines.line(where)}: {dotted(where)}: {said}")
    if problems:
        raise ConfigError(source, problems)
    return config


def example_text() -> str:
    """Return the example well file that comes with the program."""
    return resources.files("adapters").joinpath("example_well.toml").read_text("utf-8")


def _decode(data: bytes, path: str) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        byte = data[error.start]
        raise ConfigError(
            path,
            [f"line {line}: the byte 0x{byte:02X} is not UTF-8; save the file as UTF-8 text"],
        ) from None


def _syntax(message: str, text: str) -> str:
    found = _PLACE.match(message)
    if found is None:
        return message
    said, line, column, _ = found.groups()
    if line is None:
        return f"line {text.count(chr(10)) + 1}: {said}: the file ends too early"
    shown = text.replace("\r\n", "\n").split("\n")[int(line) - 1].strip()
    return f"line {line}, column {column}: {said}: {shown[:60]}"

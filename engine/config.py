"""The well file: every key carries its unit, every problem is found at once."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any

from pydantic import ValidationError

from engine.alarms.budget import too_slow
from engine.config_alarm import Alarm
from engine.config_base import (
    Height,
    Length,
    Model,
    NotNegative,
    Number,
    Of,
    Positive,
    Share,
    TableError,
    Text,
    Weight,
    Wrong,
)
from engine.config_feed import Feed, Item, TimeColumn
from engine.config_hydraulics import Bit, Mud, Standpipe, Surface, Survey
from engine.config_models import (
    Component,
    HoleSection,
    Profile,
    Pump,
    Rig,
    Start,
    WellConfig,
)
from engine.errors import ConfigError
from engine.units import UNITS

__all__ = [
    "Alarm",
    "Bit",
    "Component",
    "Feed",
    "Height",
    "HoleSection",
    "Item",
    "Length",
    "Model",
    "Mud",
    "NotNegative",
    "Number",
    "Of",
    "Path",
    "Positive",
    "Profile",
    "Pump",
    "Rig",
    "Share",
    "Standpipe",
    "Start",
    "Surface",
    "Survey",
    "Text",
    "TimeColumn",
    "Weight",
    "WellConfig",
    "config_hash",
    "dotted",
    "parse_config",
]

Path = tuple[str | int, ...]
"""Where a key stands: ``("pumps", 0, "liner_in")``."""

_SAY = {
    "framing": "must be like 8N1: 5 to 8 data bits, N E O M or S parity, 1, 1.5 or 2 stop bits",
    "id": "must be small letters, digits and hyphens, such as pit-gain",
    "action": "too short; say what the driller does, in 10 characters or more",
}
"""What would be right, where the pattern of a field says it to nobody."""


def parse_config(
    raw: Mapping[str, object],
    source: str,
    line_of: Callable[[Path], int | None] | None = None,
) -> WellConfig:
    """Check `raw`; raise one `ConfigError` that lists every problem in it.

    Parameters
    ----------
    raw : mapping
        The well file as nested tables and lists.
    source : str
        What to call it in messages.
    line_of : callable, optional
        Gives the line [-] a path stands on; then each problem starts with ``line 23:``.

    Raises
    ------
    ConfigError
        Each problem holds the dotted path of its key as written (``pumps.0.liner_in``).
    """
    try:
        config = WellConfig.model_validate(raw)
    except ValidationError as error:
        found = [p for e in error.errors() for p in _explain(e, raw)]
        raise ConfigError(source, _worded(found, line_of)) from None
    if found := list(_cross_check(config)):
        raise ConfigError(source, _worded([(_written(raw, p), t) for p, t in found], line_of))
    return config


def config_hash(text: str) -> str:
    """Return 12 hex digits that are equal for two well files with the same settings.

    Comments, order, and the units the numbers are written in do not matter (numbers are
    compared to nine digits), nor whether a default is written out.

    Raises
    ------
    ConfigError
        If `text` is no valid well file.
    """
    try:
        raw = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise ConfigError("well file", [str(error)]) from None
    config = parse_config(raw, "well file").model_dump(mode="json")
    plain = json.dumps(_rounded(config), sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(plain.encode()).hexdigest()[:12]


def dotted(path: Sequence[str | int]) -> str:
    """Write a path as in ``pumps.0.liner_in``; a key with a blank or dot gets quotes."""
    parts = [str(p) if str(p).replace("_", "").replace("-", "").isalnum() else f'"{p}"'
             for p in path]  # fmt: skip
    return ".".join(parts) or "(top)"


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return f"{value:.9g}"
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    return [_rounded(v) for v in value] if isinstance(value, list) else value


def _worded(
    found: Sequence[tuple[Path, str]], line_of: Callable[[Path], int | None] | None
) -> list[str]:
    if line_of is None:
        return [f"{dotted(path)}: {text}" for path, text in found]
    placed = [(line_of(path), f"{dotted(path)}: {text}") for path, text in found]
    placed.sort(key=lambda p: p[0] or 0)
    return [f"line {line}: {text}" if line else text for line, text in placed]


def _explain(error: Any, raw: Mapping[str, object]) -> Iterator[tuple[Path, str]]:
    """Yield path and wording of what pydantic found."""
    path: Path = tuple(error["loc"])
    value, kind = error.get("input"), error["type"]
    inner = error.get("ctx", {}).get("error")
    name = str(path[-1]) if path else ""
    if kind == "too_short" and isinstance(value, list) and value:
        return  # its elements are wrong and are said on their own
    if isinstance(value, Wrong):
        yield (*path[:-1], value.key), value.text
    elif isinstance(inner, TableError):
        for key, text in inner.problems:
            yield _written(raw, (*path, key)), text
    elif kind == "missing":
        yield path, "missing; it must be given"
    elif inner is not None:
        yield path, str(inner)
    else:
        written = _written(raw, path)
        yield written, f"{_say(kind, name, value, error['msg'])}, got {_shown(raw, written, value)}"


def _say(kind: str, name: str, value: object, text: str) -> str:
    if kind in ("string_pattern_mismatch", "string_too_short") and name in _SAY:
        return _SAY[name]
    if kind in ("string_too_short",):
        return "must not be empty"
    if kind == "tuple_type":
        hint = f": write [[{name}]], not [{name}]" if isinstance(value, Mapping) else ""
        return f"must be a list{hint}"
    if kind in ("model_type", "dict_type"):
        hint = f": write [{name}], not [[{name}]]" if isinstance(value, list) else ""
        return f"must be a table{hint}"
    if kind == "too_short":
        return "needs at least one"
    if kind == "too_long" and isinstance(value, list):
        return text.replace("Tuple", "list").split(" after")[0]
    return (
        text.replace("Input should", "must")
        .replace("must be a valid i", "must be an i")
        .replace("a valid", "a")
    )


def _shown(raw: object, path: Path, value: object) -> str:
    """The value as written, not as converted, and not at any length."""
    there = _walk(raw, path)
    text = repr(value if there is None else there)
    return text if len(text) <= 60 else text[:57] + "..."


def _walk(raw: object, path: Path) -> object | None:
    for part in path:
        in_table = isinstance(raw, Mapping) and part in raw
        in_list = isinstance(raw, list) and isinstance(part, int) and part < len(raw)
        if not in_table and not in_list:
            return None
        raw = raw[part]  # type: ignore[index]  # one of the two, tested above
    return raw


def _written(raw: object, path: Path) -> Path:
    """Return `path` with its parts as the file writes them (``liner`` is ``liner_in``)."""
    out: Path = ()
    for part in path:
        table = _walk(raw, out)
        if isinstance(table, Mapping) and part not in table:
            keys = [f"{part}_{unit_id}" for unit_id in UNITS]
            part = next((k for k in keys if k in table), part)
        out += (part,)
    return out


def _cross_check(config: WellConfig) -> Iterator[tuple[Path, str]]:
    """TableError that no single table can see."""
    for i, component in enumerate(config.string[:-1]):
        if component.length is None:
            yield ("string", i, "length"), "missing; only the last component runs to surface"
    for i, section in enumerate(config.hole):
        if i and (above := config.hole[i - 1].bottom) is not None and section.top != above:
            text = f"{section.top:g} m is not where the section above ends, {above:g} m"
            yield ("hole", i, "top"), text
        if section.bottom is None and i < len(config.hole) - 1:
            yield ("hole", i, "bottom"), "missing; only the last section grows"
    above_md, above_tvd = 0.0, 0.0
    for i, point in enumerate(config.survey):
        step = point.md - above_md
        if step <= 0:
            yield ("survey", i, "md"), f"{point.md:g} m is not below the one before, {above_md:g} m"
        elif abs(point.tvd - above_tvd) > step + 1e-6:
            text = f"{point.tvd:g} m is further from {above_tvd:g} m than {step:g} m of hole reach"
            yield ("survey", i, "tvd"), text
        above_md, above_tvd = point.md, point.tvd
    for kind, key, names in (
        ("pumps", "name", [p.name for p in config.pumps]),
        ("feeds", "name", [f.name for f in config.feeds]),
        ("alarms", "id", [a.id for a in config.alarms]),
        ("pressure_pairs", "name", [p.name for p in config.pressure_pairs]),
        ("annuli", "channel", [a.channel for a in config.annuli]),
        ("ranges", "channel", [r.channel for r in config.ranges]),
    ):
        for i, name in enumerate(names):
            if name in names[:i]:
                yield (kind, i, key), f"two are called {name!r}"
    for i, alarm in enumerate(config.alarms):
        if why := too_slow(alarm, config.feeds):
            yield ("alarms", i, "on_delay_s"), why
    for i, feed in enumerate(config.feeds):
        yield from ((("feeds", i, *path), text) for path, text in _feed_problems(feed))


def _feed_problems(feed: Feed) -> Iterator[tuple[Path, str]]:
    if feed.format != "wits0" and not feed.map:
        text = f"a {feed.format} feed needs a table [feeds.map.NAME] for each column to use"
        yield ("map",), text
    if feed.format == "las" and feed.port:
        yield ("port",), "las is a file format; a live line is wits0 or delimited"
    if feed.format == "wits0":
        paths: list[Path] = [("map", code) for code in feed.map]
        paths += [("ignore", n) for n in range(len(feed.ignore))]
        for path, code in zip(paths, (*feed.map, *feed.ignore), strict=True):
            if re.fullmatch("(?!00)[0-9]{2}(?!00)[0-9]{2}", code) is None:
                good = "write record and item, two digits each, such as 0114"
                yield path, f"{code!r} is no WITS item; {good}"

"""The error tree: every message says which thing, what is wrong, the value, what would be right."""

from __future__ import annotations

from collections.abc import Sequence


class RigError(Exception):
    """Base of all errors a person may see; ``str()`` is written for that person."""


class ConfigError(RigError):
    """The set-up is wrong and nothing has been started; ``problems`` holds all of them."""

    def __init__(self, source: str, problems: Sequence[str]) -> None:
        self.source = source
        self.problems = tuple(problems)
        super().__init__(f"{source}: {len(self.problems)} problem(s)\n" + "\n".join(self.problems))


class InputError(RigError):
    """A function, form or command was given something it cannot use."""


class FeedError(RigError):
    """A source cannot go on (a lost line or bad bytes are events, not errors)."""


class RecordingError(RigError):
    """Something that must be kept could not be kept, or a recording cannot be read."""

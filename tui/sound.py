"""The screen's share of the horn: its bell, what a person heard, what stands in for the watch."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Protocol

from engine.alarms.urgency import Urgency
from engine.config_horn import HornConfig
from engine.snapshot import Snapshot, SoundView

BELL_S = (2.0, 1.0, 0.5)
"""Between bells, by how often an alarm was told louder. [s]"""
NOT_TESTED = "not tested since the sign-on; h tests it"
NOT_HEARD = "the test was not heard; h tests again"


class Spare(Protocol):
    """Sounds the outputs of the well file from here."""

    def follow(self, urgency: Urgency | None) -> None:
        """Sound as `urgency` asks from now on, or be quiet."""
        ...


class Sound:
    """Keeps what this screen knows of the horn; nothing here can mute it.

    While a watch runs it sounds the outputs, so that a screen that froze or was closed takes no
    sound with it; the screen rings its own bell beside it. Without a watch the screen sounds
    them itself.

    Parameters
    ----------
    config : HornConfig
    bell : callable
        Rings the terminal.
    clock : callable
        Seconds that only go forward.
    spare : Spare, optional
        In place of the watch.
    heard : bool, optional
        What a person said of the last test at this sign-on; None: there was none.
    """

    def __init__(
        self,
        config: HornConfig,
        bell: Callable[[], None],
        clock: Callable[[], float],
        spare: Spare | None = None,
        *,
        heard: bool | None = None,
    ) -> None:
        self.heard = heard
        self._config = config
        self._bell, self._clock, self._spare = bell, clock, spare
        self._rang_at = float("-inf")
        self._asked: int | None = None
        """Number of the newest report when the test began; None: the watch was not asked."""
        self._sounded: Urgency | None = None

    @property
    def _of_the_watch(self) -> tuple[str, ...]:
        """Names of the outputs that the watch sounds."""
        pairs = zip(self._config.names(), self._config.outputs, strict=True)
        return tuple(name for name, output in pairs if output.kind != "bell")

    def view(self, snapshot: Snapshot) -> SoundView:
        """Return what is known of the horn, with the reason why nobody can rely on it."""
        sound, watch = snapshot.sound, snapshot.watch
        why = ""
        if watch.replay or watch.ended:
            pass
        elif self.heard is None:
            why = NOT_TESTED
        elif not self.heard:
            why = NOT_HEARD
        elif sound.failed and not sound.working and not self._config.rings:
            why = sound.failed
        return replace(sound, unheard=why)

    def follow(self, snapshot: Snapshot) -> None:
        """Ring if it is time; sound the outputs if an alarm calls and no watch is there."""
        calling = snapshot.horn and not snapshot.watch.replay
        urgency = (snapshot.urgency or Urgency(1)) if calling else None
        alone = None
        if urgency is not None and not snapshot.watch.alive:  # that nobody watches is urgent
            alone = urgency = Urgency(1, urgency.level)
        if self._spare is not None and alone != self._sounded:
            self._sounded = alone
            self._spare.follow(alone)
        if urgency is None or not self._config.rings:
            return
        if self._clock() - self._rang_at >= BELL_S[min(urgency.level, len(BELL_S) - 1)]:
            self._rang_at = self._clock()
            self._bell()

    def test(self, snapshot: Snapshot) -> bool:
        """Ring now; return whether the watch is to sound something too."""
        if self._config.rings:
            self._rang_at = self._clock()
            self._bell()
        asks = bool(self._of_the_watch)
        self._asked = snapshot.sound.seq if asks else None
        return asks

    def said(self, snapshot: Snapshot) -> Sequence[str]:
        """Return what is known of the test that was begun last, a line each."""
        lines = ["bell: rung by this terminal"] if self._config.rings else []
        if self._asked is None:
            return lines
        names = ", ".join(self._of_the_watch)
        if snapshot.sound.seq == self._asked:
            lines.append(f"no answer yet from the watch: {names}")
            return lines
        if snapshot.sound.working:
            lines.append(f"worked: {snapshot.sound.working}")
        if snapshot.sound.failed:
            lines.append(f"failed: {snapshot.sound.failed}")
        return lines

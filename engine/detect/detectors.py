"""The detectors of a well, made from its file."""

from __future__ import annotations

from typing import TYPE_CHECKING

from engine.detect.annulus_fill import AnnulusFill
from engine.detect.at_connections import AtConnections
from engine.detect.balance import Balance
from engine.detect.board import Board
from engine.detect.call import Detector
from engine.detect.influx import Influx
from engine.detect.loss import Losses
from engine.detect.out_of_hole import OutOfHole
from engine.detect.pressure_detectors import pressure_detectors
from engine.detect.sensor_fault import SensorFault
from engine.detect.standpipe_detectors import standpipe_detectors
from engine.detect.string_heat_detectors import string_heat_detectors
from engine.detect.swab import Swab
from engine.detect.total_loss import TotalLoss
from engine.detect.transfer import Transfers

if TYPE_CHECKING:
    from engine.config import WellConfig


def detectors(config: WellConfig) -> tuple[Detector, ...]:
    """Return every detector with the settings of `config`, those that stand on others last."""
    d = config.detect
    settle, blind = d.balance.settle_s, config.profile.blind_drilling
    return (
        Influx(d.influx, settle, d.loss, blind),
        Losses(d.loss, settle, blind),
        TotalLoss(d.loss, blind),
        AnnulusFill(d.annulus_fill, config.pumps, blind),
        OutOfHole(d.out_of_hole, config.string),
        *pressure_detectors(config),
        AtConnections(d.connection, settle),
        Transfers(d.transfer),
        Swab(d.swab),
        *standpipe_detectors(d),
        *string_heat_detectors(config),
        SensorFault(config, d.sensor_fault),
    )


def board(config: WellConfig) -> Board:
    """Return the detectors of `config` with the volume balance they share."""
    return Board(detectors(config), Balance(config, config.detect.balance))

"""Every kind of test and drill by its name."""

from __future__ import annotations

from engine.trials.bleed_back import BleedBack
from engine.trials.bop_test import BopTest
from engine.trials.casing_test import CasingTest
from engine.trials.drill import PitDrill, TripDrill
from engine.trials.flow_check import FlowCheck
from engine.trials.inflow_test import InflowTest
from engine.trials.trial import Trial

TRIALS: dict[str, type[Trial]] = {
    one.name: one
    for one in (FlowCheck, InflowTest, CasingTest, BopTest, PitDrill, TripDrill, BleedBack)
}

"""One usual number for every input of every calculation: a land rig at 3000 m. [SI]"""

from __future__ import annotations

from engine.well.calculation import Calculation, Input

BY_QUANTITY = {
    "length": 100.0, "density": 1260.0, "capacity": 0.02, "pressure": 5e6, "flow": 0.03,
    "volume": 30.0, "viscosity": 0.02, "stroke_rate": 0.667, "rotation": 12.0, "force": 1e5,
    "linear_weight": 30.0, "speed": 0.5, "time": 1800.0, "ratio": 0.5, "count": 10.0,
    "angle": 0.5, "acceleration": 1.0, "work": 1e9, "power": 4e5, "torque": 6e3,
    "gradient": 2000.0, "none": 2.0, "temperature": 330.0,
}  # fmt: skip
BY_NAME = {
    "hole": 0.2159, "pipe": 0.127, "bore": 0.1086, "outer": 0.127, "inner": 0.1086,
    "diameter": 0.2159, "bit_diameter": 0.2159, "bit": 0.2159, "liner": 0.165, "stroke": 0.305,
    "rod": 0.05, "size": 0.006, "radius": 0.08, "drum": 0.7, "stick_up": 1.0, "stand": 28.3,
    "collar_length": 180.0, "heavy_length": 120.0, "bha": 200.0, "length": 3000.0, "width": 3.0,
    "distance": 10.0, "travel": 20.0, "front_md": 1000.0, "front_tvd": 1000.0, "depth": 3000.0,
    "shoe_tvd": 1500.0, "tvd": 3000.0, "md": 3600.0, "new_mud_weight": 1350.0,
    "kill_mud_weight": 1350.0, "cutting_density": 2650.0, "barite_density": 4200.0,
    "highest_mud_weight": 1700.0, "formation_density": 1300.0, "slug_weight": 1440.0,
    "normal": 1030.0, "test_mud_weight": 1180.0, "strokes": 2200.0, "dial_100": 20.0,
    "dial_3": 3.0, "r600": 60.0, "r300": 40.0, "r100": 20.0, "r6": 8.0, "r3": 7.0,
    "coefficient": 5.0, "counts": 4096.0, "stands": 5.0, "connections": 40.0, "laps": 12.5,
    "efficiency": 0.97, "full_stroke": 0.0196, "stroke_volume": 0.019, "sphericity": 0.8,
    "share": 0.85, "clinging": 0.45, "peak": 1.5, "spilled": 0.25, "sheave_friction": 1.04,
    "friction": 0.25, "pressure_1": 15e6, "flow_1": 0.02, "flow_2": 0.01, "hanging": 8e5,
    "block": 3e5, "hook_load": 1.2e6, "pull": 5e5, "rope_strength": 8.5e5, "weight": 1.5e5,
    "rotating": 1.1e6, "slack_off": 1e6, "pick_up": 1.25e6, "load": 2e5, "yield_stress": 7e8,
    "sidpp": 2.7e6, "sicp": 3.6e6, "slow_pressure": 4e6, "test_pressure": 1e7, "margin": 2e6,
    "overbalance": 2e6, "annular_loss": 2e6, "new_pressure": 4e6, "yield_point": 7.0,
    "pressure_rise": 7e5, "gain": 3.0, "volume": 40.0, "actual": 0.5, "extra_volume": 5.0,
    "string_volume": 27.0, "open_hole_volume": 35.0, "cased_volume": 39.0, "pumped": 10.0,
    "rop": 0.005, "rate": 0.005, "pressure_2": 3e6, "rate_2": 0.5, "loss_100f": 40.0,
    "gain_1000psi": 2.5,
}  # fmt: skip
BY_BOTH = {
    ("hole", "capacity"): 0.038, ("steel", "capacity"): 0.004, ("bore", "capacity"): 0.0093,
    ("pipe", "linear_weight"): 30.0, ("weight", "linear_weight"): 30.0,
    ("rate", "stroke_rate"): 1.0,
}  # fmt: skip


def usual(calculation: Calculation) -> dict[str, float]:
    """Return a number for every input of `calculation`."""
    return {i.name: _one(i) for i in calculation.inputs}


def _one(i: Input) -> float:
    if i.name.startswith("nozzle"):
        return 0.011
    named = BY_NAME.get(i.name, BY_QUANTITY[i.quantity])
    return BY_BOTH.get((i.name, i.quantity), named)

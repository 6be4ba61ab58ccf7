"""The WITS items this program reads: code, mnemonic, kind, units, limits, channel.

The records are those a rig floor can use: 1 (time), 2 (depth), 5 (trip), 11 (tanks), 12 and 14
(gas), and the seven items that open every record. An item that is not here is kept as text, and
becomes a number as soon as a well file maps it to a channel.

References
----------
.. [1] API PUBL 3855, Conventions and Implementation Guidelines for EDI, WITS, version 1.1, 1991:
   pre-defined records; codes, mnemonics and both unit systems as in its public copies.
.. [2] The plausibility limits are common practice, no source: wide enough for both unit systems
   and for the zero error of a sensor, narrow enough to catch two numbers run together.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from functools import cache
from math import inf
from typing import Literal

from engine.channels import channel
from engine.config_feed import Item
from engine.errors import InputError
from engine.units import WITS_UNITS


class ItemKind(Enum):
    """How the text of an item is read."""

    NUMBER = "number"
    TEXT = "text"
    DATE = "date"
    """YYMMDD."""
    TIME = "time"
    """HHMMSS; leading zeros may be missing."""


@dataclass(frozen=True, slots=True)
class WitsItem:
    """One item of the record tables; limits are in the unit as sent, of either system."""

    code: str
    """Record and item, two digits each."""
    short: str
    """Mnemonic."""
    meaning: str
    kind: ItemKind
    fps: str
    """Unit code in the FPS system; ``-`` if none."""
    metric: str
    low: float = -inf
    high: float = inf
    channel: str | None = None
    """Channel that it fills by default."""


_Size = tuple[str, str, float, float]
_DEPTH: _Size = ("F", "M", -50, 50_000)
_BLOCK: _Size = ("F", "M", -50, 200)
_ROP: _Size = ("F/HR", "M/HR", -1000, 5000)
_HOOK: _Size = ("KLB", "KDN", -100, 5000)
_BIT: _Size = ("KLB", "KDN", -500, 1000)
_TORQUE: _Size = ("KFLB", "KNM", -500, 1000)
_ROTARY: _Size = ("RPM", "RPM", -500, 500)
_PRESSURE: _Size = ("PSI", "KPA", -500, 100_000)
_STROKES: _Size = ("SPM", "SPM", -10, 400)
_VOLUME: _Size = ("BBL", "M3", -100, 100_000)
_CHANGE: _Size = ("BBL", "M3", -100_000, 100_000)
_FLOW: _Size = ("GPM", "L/M", -1000, 20_000)
_SHARE: _Size = ("%", "%", -100, 1000)
_DENSITY: _Size = ("PPG", "KGM3", -100, 10_000)
_HEAT: _Size = ("DEGF", "DEGC", -100, 1000)
_SALT: _Size = ("MMHO", "MMHO", -100, 100_000)
_TRACE: _Size = ("PPM", "PPM", -1000, 1_000_000)
_SPEED: _Size = ("FPM", "M/S", -2000, 2000)
_HOURS: _Size = ("HR", "HR", -1, 100_000)
_COST: _Size = ("$/F", "$/M", -inf, inf)
_COUNT: _Size = ("-", "-", -1, 5e9)
_PLAIN: _Size = ("-", "-", -inf, inf)

_HEAD = (
    ("WID", "well identifier", ItemKind.TEXT, _PLAIN),
    ("SKNO", "sidetrack number", ItemKind.NUMBER, _COUNT),
    ("RID", "record identifier", ItemKind.NUMBER, _PLAIN),
    ("SQID", "sequence identifier", ItemKind.NUMBER, _COUNT),
    ("DATE", "date", ItemKind.DATE, _PLAIN),
    ("TIME", "time of day", ItemKind.TIME, _PLAIN),
    ("ACTC", "activity code", ItemKind.NUMBER, _COUNT),
)
"""Items 01 to 07 of every record."""

_NUMBERS: tuple[tuple[str, str, str, _Size], ...] = (
    ("0108", "DBTM", "bit depth, measured", _DEPTH),
    ("0109", "DBTV", "bit depth, vertical", _DEPTH),
    ("0110", "DMEA", "hole depth, measured", _DEPTH),
    ("0111", "DVER", "hole depth, vertical", _DEPTH),
    ("0112", "BPOS", "block position", _BLOCK),
    ("0113", "ROPA", "rate of penetration, mean", _ROP),
    ("0114", "HKLA", "hook load, mean", _HOOK),
    ("0115", "HKLX", "hook load, maximum", _HOOK),
    ("0116", "WOBA", "weight on bit, mean", _BIT),
    ("0117", "WOBX", "weight on bit, maximum", _BIT),
    ("0118", "TQA", "rotary torque, mean", _TORQUE),
    ("0119", "TQX", "rotary torque, maximum", _TORQUE),
    ("0120", "RPMA", "rotary speed, mean", _ROTARY),
    ("0121", "SPPA", "standpipe pressure, mean", _PRESSURE),
    ("0122", "CHKP", "casing (choke) pressure", _PRESSURE),
    ("0123", "SPM1", "stroke rate, pump 1", _STROKES),
    ("0124", "SPM2", "stroke rate, pump 2", _STROKES),
    ("0125", "SPM3", "stroke rate, pump 3", _STROKES),
    ("0126", "TVA", "active tank volume", _VOLUME),
    ("0127", "TVCA", "active tank volume, change", _CHANGE),
    ("0128", "MFOP", "mud flow out, percent", _SHARE),
    ("0129", "MFOA", "mud flow out, mean", _FLOW),
    ("0130", "MFIA", "mud flow in, mean", _FLOW),
    ("0131", "MDOA", "mud density out, mean", _DENSITY),
    ("0132", "MDIA", "mud density in, mean", _DENSITY),
    ("0133", "MTOA", "mud temperature out, mean", _HEAT),
    ("0134", "MTIA", "mud temperature in, mean", _HEAT),
    ("0135", "MCOA", "mud conductivity out, mean", _SALT),
    ("0136", "MCIA", "mud conductivity in, mean", _SALT),
    ("0137", "STKC", "pump strokes, cumulative", _COUNT),
    ("0138", "LSTK", "lag strokes", _COUNT),
    ("0139", "DRTM", "depth of the returns, measured", _DEPTH),
    ("0140", "GASA", "gas, mean", _SHARE),
    *((f"01{41 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(5)),
    ("0208", "DMEA", "hole depth, measured", _DEPTH),
    ("0209", "DVER", "hole depth, vertical", _DEPTH),
    ("0210", "ROPA", "rate of penetration, mean", _ROP),
    ("0211", "WOBA", "weight on bit, mean", _BIT),
    ("0212", "HKLA", "hook load, mean", _HOOK),
    ("0213", "SPPA", "standpipe pressure, mean", _PRESSURE),
    ("0214", "TQA", "rotary torque, mean", _TORQUE),
    ("0215", "RPMA", "rotary speed, mean", _ROTARY),
    ("0216", "BRVC", "bit revolutions, cumulative", _COUNT),
    ("0217", "MDIA", "mud density in, mean", _DENSITY),
    ("0218", "ECDT", "circulating density at total depth", _DENSITY),
    ("0219", "MFIA", "mud flow in, mean", _FLOW),
    ("0220", "MFOA", "mud flow out, mean", _FLOW),
    ("0221", "MFOP", "mud flow out, percent", _SHARE),
    ("0222", "TVA", "active tank volume", _VOLUME),
    ("0223", "CPDI", "cost per distance, now", _COST),
    ("0224", "CPDC", "cost per distance, cumulative", _COST),
    ("0225", "BDTI", "bit drilled time", _HOURS),
    ("0226", "BDDI", "bit drilled distance", _DEPTH),
    ("0227", "DXC", "corrected drilling exponent", _PLAIN),
    *((f"02{28 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(9)),
    ("0508", "DBTM", "bit depth, measured", _DEPTH),
    ("0509", "DBTV", "bit depth, vertical", _DEPTH),
    ("0510", "DMEA", "hole depth, measured", _DEPTH),
    ("0511", "DVER", "hole depth, vertical", _DEPTH),
    ("0512", "TNUM", "trip number", _COUNT),
    ("0514", "HKLA", "hook load, mean", _HOOK),
    ("0515", "BPOS", "block position", _BLOCK),
    ("0516", "RSUX", "running speed up, maximum", _SPEED),
    ("0517", "RSDX", "running speed down, maximum", _SPEED),
    ("0518", "FVOC", "fill or gain volume, cumulative", _CHANGE),
    *((f"05{19 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(5)),
    ("1108", "DMEA", "hole depth, measured", _DEPTH),
    ("1109", "DVER", "hole depth, vertical", _DEPTH),
    ("1110", "TVT", "total tank volume", _VOLUME),
    ("1111", "TVA", "active tank volume", _VOLUME),
    ("1112", "TVCT", "total tank volume, change", _CHANGE),
    ("1113", "TVCA", "active tank volume, change", _CHANGE),
    ("1114", "TVRT", "time of the last reset", _PLAIN),
    *((f"11{15 + i}", f"TV{1 + i:02}", f"volume of tank {1 + i}", _VOLUME) for i in range(14)),
    ("1129", "TTV1", "trip tank 1 volume", _VOLUME),
    ("1130", "TTV2", "trip tank 2 volume", _VOLUME),
    *((f"11{31 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(5)),
    ("1208", "DCHM", "depth of the gas sample, measured", _DEPTH),
    ("1209", "DCHV", "depth of the gas sample, vertical", _DEPTH),
    ("1210", "DCHR", "date of the gas sample", _PLAIN),
    ("1211", "TCHR", "time of the gas sample", _PLAIN),
    ("1212", "METH", "methane", _TRACE),
    ("1213", "ETH", "ethane", _TRACE),
    ("1214", "PRP", "propane", _TRACE),
    ("1215", "IBUT", "iso-butane", _TRACE),
    ("1216", "NBUT", "n-butane", _TRACE),
    ("1217", "IPEN", "iso-pentane", _TRACE),
    ("1218", "NPEN", "n-pentane", _TRACE),
    ("1219", "EPEN", "neo-pentane", _TRACE),
    ("1220", "IHEX", "iso-hexane", _TRACE),
    ("1221", "NHEX", "n-hexane", _TRACE),
    ("1222", "CO2", "carbon dioxide", _TRACE),
    ("1223", "ACET", "acetylene", _TRACE),
    *((f"12{24 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(5)),
    ("1408", "DRTM", "depth of the returns, measured", _DEPTH),
    ("1409", "DRTV", "depth of the returns, vertical", _DEPTH),
    ("1410", "MDIL", "mud density in, lagged", _DENSITY),
    ("1411", "MDOA", "mud density out, mean", _DENSITY),
    ("1412", "MTIL", "mud temperature in, lagged", _HEAT),
    ("1413", "MTOA", "mud temperature out, mean", _HEAT),
    ("1414", "MCIL", "mud conductivity in, lagged", _SALT),
    ("1415", "MCOA", "mud conductivity out, mean", _SALT),
    ("1416", "HHPA", "hydrogen sulfide hazard potential, mean", _TRACE),
    ("1417", "HPHA", "hydrogen sulfide, pH, mean", _PLAIN),
    ("1418", "HPSA", "hydrogen sulfide, pHS, mean", _SHARE),
    ("1419", "GSIL", "gas in, lagged", _SHARE),
    ("1420", "GASA", "gas, mean", _SHARE),
    ("1421", "GASX", "gas, maximum", _SHARE),
    ("1422", "CO2A", "carbon dioxide, mean", _TRACE),
    ("1423", "HSA", "hydrogen sulfide, mean", _TRACE),
    ("1424", "HSX", "hydrogen sulfide, maximum", _TRACE),
    *((f"14{25 + i}", f"SPR{1 + i}", f"spare {1 + i}", _PLAIN) for i in range(5)),
)

_CHANNEL = {
    "0107": "reported_activity", "0108": "reported_bit_depth", "0110": "reported_hole_depth",
    "0112": "block_position", "0113": "reported_rop", "0114": "hook_load",
    "0116": "reported_weight_on_bit", "0118": "torque", "0120": "rotary",
    "0121": "standpipe_pressure", "0122": "annulus_pressure", "0123": "pump_1_rate",
    "0124": "pump_2_rate", "0125": "pump_3_rate", "0126": "pit_volume",
    "0127": "reported_pit_gain", "0128": "flow_out_share", "0129": "flow_out",
    "0130": "flow_in_measured", "0131": "density_out", "0132": "density_in",
    "0133": "temperature_out", "0134": "temperature_in", "0137": "pump_strokes",
    "0140": "gas", "1129": "trip_tank_volume",
}  # fmt: skip
"""One item a channel: a quantity sent twice (0126, 1111) is never merged silently."""


def _table() -> dict[str, WitsItem]:
    items: list[WitsItem] = []
    for record in range(1, 26):
        for number, (short, meaning, kind, size) in enumerate(_HEAD, start=1):
            code = f"{record:02}{number:02}"
            items.append(WitsItem(code, short, meaning, kind, *size, _CHANNEL.get(code)))
    items.append(WitsItem("0513", "STIS", "in-slips status", ItemKind.TEXT, *_PLAIN))
    for code, short, meaning, size in _NUMBERS:
        items.append(WitsItem(code, short, meaning, ItemKind.NUMBER, *size, _CHANNEL.get(code)))
    return {item.code: item for item in sorted(items, key=lambda item: item.code)}


ITEMS: dict[str, WitsItem] = _table()
"""Every known item by its four-digit code, in order."""


def unit_of(item: WitsItem, units: Literal["metric", "fps"]) -> str:
    """Return our unit id of an item that fills a channel.

    Raises
    ------
    InputError
        If the item fills no channel.
    """
    if item.channel is None:
        raise InputError(f"WITS item {item.code}: fills no channel by default; map it to one")
    sent = WITS_UNITS[item.metric if units == "metric" else item.fps]
    # The tables leave a plain number without a unit; ours tell a counter from a code.
    return "count" if channel(item.channel).quantity == "count" else sent


@cache
def _standard(units: Literal["metric", "fps"]) -> dict[str, Item]:
    return {
        item.code: Item(
            channel=item.channel,
            unit=unit_of(item, units),
            low=None if item.low == -inf else item.low,
            high=None if item.high == inf else item.high,
        )
        for item in ITEMS.values()
        if item.channel is not None
    }


def standard_map(units: Literal["metric", "fps"]) -> dict[str, Item]:
    """Return code to `Item` for all items that fill a channel by default.

    Parameters
    ----------
    units : {"metric", "fps"}
        Unit system of the sender; the stream itself does not say. A metric sender gives loads
        in kilodecanewton (10 kN), not in tonnes.

    Returns
    -------
    dict of str to Item
        A new dict, in the order of the codes.
    """
    return dict(_standard(units))

"""WITS level 0 packets as bytes, for the simulator and for tests.

References
----------
.. [1] API PUBL 3855, Conventions and Implementation Guidelines for EDI, WITS, version 1.1, 1991:
   items and records. Marks and line ends as they are commonly sent, no source.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from engine.errors import InputError

_CODE = re.compile(r"(?!00)[0-9]{2}(?!00)[0-9]{2}", re.ASCII)


def encode_packet(items: Sequence[tuple[str, str]]) -> bytes:
    """Return one packet: ``&&``, a line for each item, ``!!``, each ended by CR LF.

    Parameters
    ----------
    items : sequence of (str, str)
        Item code and the text of its value, in the order to be sent. None at all makes the
        empty packet that only says the link is alive.

    Returns
    -------
    bytes
        UTF-8; plain ASCII as long as the values are.

    Raises
    ------
    InputError
        If a code is not four digits, or a value would end its line.
    """
    lines = ["&&"]
    for code, value in items:
        if _CODE.fullmatch(code) is None:
            good = "two digits of record and two of item, neither 00"
            raise InputError(f"WITS packet: item code {code!r} is not {good}")
        if "\r" in value or "\n" in value:
            raise InputError(f"WITS packet: item {code} must be one line, got {value!r}")
        lines.append(code + value)
    lines.append("!!")
    return "".join(f"{line}\r\n" for line in lines).encode()

"""Opens a TOML text: its top table, with the line of every key, or the fault that stopped it."""

from __future__ import annotations

import re
import tomllib
from decimal import Decimal

from app.procedure.faults import Fault
from app.procedure.places import places
from app.procedure.reading import Source, Table

_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


def open_text(
    text: bytes | str, file: str, *, noun: str = "file"
) -> tuple[Table | None, list[Fault]]:
    """Return the top table of a TOML text, and the list in which its faults gather."""
    source = Source(file)
    try:
        written = text if isinstance(text, str) else text.decode("utf-8")
        values = tomllib.loads(written, parse_float=Decimal)
    except UnicodeDecodeError as trouble:
        line = bytes(trouble.object[: trouble.start]).count(b"\n") + 1
        source.faults.append(
            Fault(file, line, "text", "The text is not UTF-8.", "Save it as UTF-8.")
        )
        return None, source.faults
    except (tomllib.TOMLDecodeError, RecursionError) as trouble:
        source.faults.append(_not_toml(file, text, str(trouble)))
        return None, source.faults
    source = Source(file, places(written), source.faults)
    return Table(values, source, noun=noun), source.faults


def _not_toml(file: str, text: bytes | str, said: str) -> Fault:
    found = _PLACE.search(said)
    lines = text.count("\n") if isinstance(text, str) else text.count(b"\n")
    line = int(found[1]) if found and found[1] else lines + 1
    what = f"The text is not TOML 1.0: {_PLACE.sub('', said)}."
    return Fault(file, line, "text", what, "Mend the line; nothing after it was read.")

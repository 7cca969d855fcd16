"""Write values as TOML: the same values give the same bytes. The only file that knows the writer.

The library writes tables and lists of tables; what stands in a value is written here, since its own
strings are not TOML where a backslash stands before an x, and its numbers are longer than needed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

_CONTROL = re.compile(r"[\x00-\x1f\x7f]")


def toml_text(values: Mapping[str, Any]) -> str:
    """Return values as TOML; lists stand on one line, whole numbers without a fraction.

    Tables in lists become ``[[name]]``. Keys must be letters, digits, hyphens and underscores.
    """
    import toml

    class Encoder(toml.TomlEncoder):  # type: ignore[misc]
        def dump_list(self, v: Any) -> str:
            return "[" + ", ".join(str(self.dump_value(each)) for each in v) + "]"

        def dump_value(self, v: Any) -> Any:
            if isinstance(v, float) and v.is_integer() and abs(v) < 1e15:
                return str(int(v))
            if isinstance(v, float):
                return repr(v)
            if isinstance(v, str):
                return _quoted(v)
            return super().dump_value(v)

    text = str(toml.dumps(values, encoder=Encoder()))
    return re.sub(r"\n{1,3}\[", "\n\n[", text)


def _quoted(text: str) -> str:
    """Return a basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + _CONTROL.sub(lambda found: f"\\u{ord(found[0]):04x}", escaped) + '"'

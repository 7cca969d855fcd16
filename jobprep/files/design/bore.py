"""The central hole of a design file."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.toml.field_types import DialAngle, Length
from jobprep.files.toml.table import Table, key
from jobprep.model import Bore, FlatBore, KeyedBore, RoundBore, SquareBore


class BoreTable(Table[Bore]):
    """The central hole: ``diameter`` or ``square``; a D has a ``flat``, a keyed one a key."""

    diameter: Length | None = None
    side: Length | None = key("square", default=None)
    across: Length | None = key("flat", default=None)
    key_width: Length | None = None
    key_depth: Length | None = None
    direction: DialAngle = key("angle", default=0.0)

    def value(self) -> Bore:
        """Return the bore of the kind that its fields name."""
        if self.side is not None:
            return self.made_as(SquareBore)
        if self.across is not None and self.diameter is not None:
            return self.made_as(FlatBore)
        if self.key_width is not None and self.key_depth is not None and self.diameter:
            return self.made_as(KeyedBore)
        return self.made_as(RoundBore, diameter=self.diameter or 0.0)

    def faults(self) -> Iterator[Finding]:
        """Yield which fields do not go together."""
        sizes = ("diameter", "side", "across", "key_width", "key_depth")
        given = [self.key_of(name) for name in sizes if getattr(self, name) is not None]
        if ("diameter" in given) == ("square" in given):
            yield Finding.error("", "give either diameter or square")
        elif "square" in given and len(given) > 1:
            yield Finding.error(given[1], "does not go with square, only with diameter")
        elif "flat" in given and len(given) > 2:
            yield Finding.error(given[2], "a bore has either a flat or a key, not both")
        elif ("key_width" in given) != ("key_depth" in given):
            yield Finding.error("", "a key needs both key_width and key_depth")

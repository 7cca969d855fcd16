"""Solids as binary STL: triangles in a list, in no unit of its own; here one unit is 1 mm.

The layout is that of the format's first description, of 1989 (from memory): a header of 80 bytes,
the number of triangles, then for each its normal, three corners and two spare bytes.
"""

from __future__ import annotations

import struct

from jobprep.hub.solids import Solid

MARK = b"jobprep"
"""The header of our files begins so; one that began with ``solid`` could be taken for text."""
HEADER = 80


def stl_bytes(solid: Solid) -> bytes:
    """Return a solid as the bytes of an STL file."""
    import numpy as np

    corners = solid.vertices[solid.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    row = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    rows = np.zeros(len(corners), dtype=row)
    rows["normal"], rows["corners"] = normals, corners
    header = MARK + f": {solid.name}, mm".encode("ascii", "replace")
    return header.ljust(HEADER)[:HEADER] + struct.pack("<I", len(rows)) + rows.tobytes()


def is_own_stl(data: bytes) -> bool:
    """Whether an STL file was written by us."""
    return data.startswith(MARK)

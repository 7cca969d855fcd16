"""Every file of a printed hub; whoever calls this writes them."""

from __future__ import annotations

from jobprep.disc.hub import ALL_PARTS_FILE, PART_FILES, PrintedHub
from jobprep.hub.solids import Allowance, hub_solids
from jobprep.hub.stl import is_own_stl, stl_bytes
from jobprep.hub.threemf import is_own_3mf, threemf_bytes
from jobprep.units import number

NAMES = (ALL_PARTS_FILE, *PART_FILES.values())
"""Every file there may be."""


def hub_files(hub: PrintedHub, allowance: Allowance, title: str) -> dict[str, bytes]:
    """Return file name -> bytes: all parts in one 3MF, and each as STL.

    Raises ``CannotDoError`` as ``hub_solids`` does.
    """
    solids = hub_solids(hub, allowance)
    told = (
        f"Flat backs down, no support. Corrected for holes {number(allowance.hole_shrink)} mm"
        f" too narrow and a first layer {number(allowance.flare)} mm too wide."
    )
    files = {ALL_PARTS_FILE: threemf_bytes(solids, f"{title}: hub", told)}
    return files | {PART_FILES[solid.name]: stl_bytes(solid) for solid in solids}


def is_own(data: bytes) -> bool:
    """Whether a file is one that ``hub_files`` wrote."""
    return is_own_stl(data) or is_own_3mf(data)

"""What each kind of cutter can do to people: cautions that go with it whatever its profile says.

Each names its source. None calls anything safe: manuals, training and local rules decide.
"""

from __future__ import annotations

_WATCH = (
    "Never leave a running cutter; keep an extinguisher at hand and the bed clean. (Carnegie Mellon"
    " University, School of Architecture, Laser Cutter Policies; common practice, no source)"
)
_ENCLOSED = (
    "A cutter labelled class 1 is so only while it is closed: once open, the rules for the class of"
    " the laser inside hold, so never bridge an interlock. (University of Pennsylvania, EHRS, Laser"
    " Safety Manual, section XV)"
)
_EXTRACT = (
    "Extract and filter the fume every time: the beam is far above the 1000 W/cm² from which its"
    " contaminants must be evaluated. (University of California, Laboratory Safety Design Manual,"
    " citing ANSI Z136.1, 7.3)"
)
_OPEN = (
    "An open diode laser is class 4: eyewear rated for its wavelength, a closed housing and nobody"
    " else in the room. (IEC 60825-1:2014 (from memory); ANSI Z136.1 (from memory))"
)
_BLADE = (
    "Keep hands away from the moving blade and carriage, and cap the blade when it is out. (common"
    " practice, no source)"
)
_MANUAL = "The maker's manual, training and local rules decide, not this file."

KIND_CAUTIONS = {
    "co2": (_WATCH, _ENCLOSED, _EXTRACT, _MANUAL),
    "diode": (_WATCH, _ENCLOSED, _EXTRACT, _OPEN, _MANUAL),
    "knife": (_BLADE, _MANUAL),
}
"""Cautions of each kind of cutter; those of a profile come on top."""

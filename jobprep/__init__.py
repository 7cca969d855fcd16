"""From the description of layered film discs to everything a workshop needs to cut them.

From Python, a job is planned in the steps of ``jobprep plan``:

    check(job_file) -> Checked            read the job and all it names; its parts and cautions
    plan(checked) -> Plan                 nest the parts, prove each nest, order the cuts
    summary_of(plan) -> Summary           the numbers: film, time, cost, of each disc its mass ...
    cut_drawings(plan) -> {name: text}    the drawings to cut
    run_files(plan, summary) -> {name: content}    these, job sheet, summary.json and run.toml
    facts_of(design_file) -> DiscFacts    what is known of one disc

Lengths are mm, areas mm², masses g, times s, angles radians. Nothing here prints or writes;
whatever cannot be done is raised as a ``JobprepError`` that says so in a sentence. Names that are
not listed here may change with any version.

Each name is loaded from its own module when it is first asked for, so that importing ``jobprep``
alone costs nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING

from jobprep.version import __version__

if TYPE_CHECKING:
    from jobprep.disc.facts import DiscFacts
    from jobprep.errors import CannotDoError, Finding, InputError, JobprepError, StockShortError
    from jobprep.outputs import cut_drawings, run_files
    from jobprep.pipeline import check, facts_of, plan, summary_of
    from jobprep.planning.nest_so_far import NestSoFar
    from jobprep.planning.plan import Checked, Plan
    from jobprep.summary import Summary

__all__ = [
    "CannotDoError",
    "Checked",
    "DiscFacts",
    "Finding",
    "InputError",
    "JobprepError",
    "NestSoFar",
    "Plan",
    "StockShortError",
    "Summary",
    "__version__",
    "check",
    "cut_drawings",
    "facts_of",
    "plan",
    "run_files",
    "summary_of",
]

_HOMES = {
    "jobprep.disc.facts": ("DiscFacts",),
    "jobprep.errors": (
        *("CannotDoError", "InputError", "JobprepError", "Finding", "StockShortError"),
    ),
    "jobprep.outputs": ("cut_drawings", "run_files"),
    "jobprep.pipeline": ("check", "facts_of", "plan", "summary_of"),
    "jobprep.planning.nest_so_far": ("NestSoFar",),
    "jobprep.planning.plan": ("Checked", "Plan"),
    "jobprep.summary": ("Summary",),
}
"""Where each public name lives; the imports above say the same to a type checker."""


def __getattr__(name: str) -> object:
    """Load a public name from its module (PEP 562)."""
    for module, names in _HOMES.items():
        if name in names:
            return getattr(import_module(module), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    """Return the public names, those not loaded yet among them."""
    return sorted({*globals(), *__all__})

"""The command line: the only place that prints.

Each command is one module, loaded when it is asked for; what it needs beyond click is imported when
it runs, so that ``--help`` starts at once.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

import click

from jobprep import __version__
from jobprep.cli.encodings import any_text_can_be_printed
from jobprep.cli.interrupts import noted_interrupts
from jobprep.errors import InputError, JobprepError, explained
from jobprep.files.placed import forget, placed

COMPLETION = "_JOBPREP_COMPLETE"
"""The variable by which a shell asks click to complete a command, see the manual."""

COMMANDS = {
    **{
        name: name
        for name in ("new", "check", "plan", "sheet", "recut", "estimate", "fill", "stock")
    },
    **{
        name: name
        for name in ("disc", "hub", "films", "measure", "coupon", "kerf", "schema", "cutter")
    },
    "open": "open",
    "print": "print_sheets",
    "cut-print": "cut_print",
}
"""Each command and its module, in which it has the module's name."""

INTERRUPTED, UNREAD = 130, 141
"""Exit codes after Ctrl-C, and when the reader of a pipe has gone: 128 plus the number of the
signal, as in shells."""


class _Commands(click.Group):
    """A group that explains our errors in plain lines and gives their exit codes."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names of all commands in the order of the help."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load a command, None where there is none of that name."""
        if cmd_name not in COMMANDS:
            return None
        name = COMMANDS[cmd_name]
        module = import_module(f"jobprep.cli.{name}")
        found: click.Command = getattr(module, "open_" if name == "open" else name)
        return found

    def main(self, *args: Any, **extra: Any) -> Any:
        """Run the command line, whatever characters the terminal can show."""
        if COMPLETION in os.environ:  # a shell asks, and gets bytes
            return super().main(*args, **extra)
        with any_text_can_be_printed():
            return super().main(*args, **extra)

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        """Read the arguments; Ctrl-C may come here, too."""
        forget()
        try:
            return super().make_context(*args, **extra)
        except BrokenPipeError:
            _end_unread()
        except KeyboardInterrupt as interrupt:
            _end_interrupted(interrupt)

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; an explained error goes to stderr, one line per problem.

        After Ctrl-C an error in a file, or an unexplained one, counts as the interrupt.
        """
        with noted_interrupts() as interrupts:
            try:
                return super().invoke(ctx)
            except BrokenPipeError:
                _end_unread()
            except (JobprepError, OSError) as error:
                if interrupts.came and isinstance(error, InputError):
                    _end_interrupted(KeyboardInterrupt())
                _end_explained(error)
            except (click.ClickException, click.exceptions.Exit, click.Abort):
                raise
            except KeyboardInterrupt as interrupt:
                _end_interrupted(interrupt)
            except Exception:
                if not interrupts.came:
                    raise
                _end_interrupted(KeyboardInterrupt())


def _end_explained(error: JobprepError | OSError) -> NoReturn:
    try:
        click.echo(explained(error), err=True)
    except BrokenPipeError:
        _end_unread()
    sys.exit(getattr(error, "exit_code", 1))


def _end_unread() -> NoReturn:
    """End in silence: the reader of the output, such as ``head``, has gone."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except BrokenPipeError:  # what is left would be flushed again at the very end
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    sys.exit(UNREAD)


def _end_interrupted(interrupt: KeyboardInterrupt) -> NoReturn:
    click.echo(_interrupted(str(interrupt), placed()), err=True)
    sys.exit(INTERRUPTED)


def _interrupted(why: str, written: Sequence[Path]) -> str:
    """Say in one line that a command was interrupted, and what it had written by then."""
    start = f"Interrupted, {why}" if why else "Interrupted"
    if not written:
        return f"{start}; nothing was written."
    *others, last = map(str, written)
    both = f"{', '.join(others)} and {last} were" if others else f"{last} was"
    return f"{start}; {both} written."


@click.group(
    cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80}
)
@click.version_option(__version__, prog_name="jobprep")
def main() -> None:
    """Prepare a job of layered film discs for the cutter.

    Start with `jobprep new FOLDER`, then `jobprep plan FOLDER/job.toml --out RUN`.
    """

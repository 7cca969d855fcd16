"""Commands run as a user types them, but in this process."""

from __future__ import annotations

from click.testing import CliRunner, Result

from jobprep.cli import main


def run(*words: object) -> Result:
    """Run a command, however it ends."""
    return CliRunner().invoke(main, [str(word) for word in words])


def done(*words: object, code: int = 0) -> Result:
    """Run a command that must end with an exit code, by default that of success."""
    result = run(*words)
    assert result.exit_code == code, result.output
    return result

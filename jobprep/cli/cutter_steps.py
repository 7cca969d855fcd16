"""``jobprep cutter steps`` and ``choose``: a test of speed and power, and its result."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobprep.cli.options import ANY_PATH, Between, beside_option, beside_words, pasteable
from jobprep.cli.questions import needed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from jobprep.model import Cutter, Film
    from jobprep.planning.power_steps import PowerStep

BEAM_ON = (
    "The machine code turns the beam on, at the powers of the list: try it without power first."
    " (common practice, no source)"
)
LEAST, MOST_SPEED, MOST_POWER = 0.1, 10_000.0, 100_000.0


class Range(click.ParamType):  # type: ignore[type-arg]  # an older click has no arguments
    """Two rising numbers, written ``10-60``."""

    name = "range"

    def __init__(self, most: float) -> None:
        self.most = most

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, float]:
        """Return both; raises ``BadParameter`` for anything else."""
        if isinstance(value, tuple):
            return value
        low, _, high = str(value).partition("-")
        try:
            least, greatest = float(low), float(high)
        except ValueError:
            least = greatest = 0.0
        if LEAST <= least < greatest <= self.most:
            return least, greatest
        words = f"two rising numbers from {LEAST:g} to {self.most:g}, such as 10-60"
        self.fail(f'"{value}" is not {words}', param, ctx)


SPEEDS, POWERS = Range(MOST_SPEED), Range(MOST_POWER)


@click.command()
@click.argument("cutter")
@click.option("--film", required=True, metavar="NAME", help="The film to cut the test from.")
@click.option(
    "--speeds", type=SPEEDS, metavar="LOW-HIGH", help="Slowest and fastest to try, in mm/s."
)
@click.option(
    "--powers",
    type=POWERS,
    metavar="LOW-HIGH",
    help="Least and most power to try, in the unit of the cutter's panel or controller.",
)
@click.option("--out", required=True, type=ANY_PATH, help="Folder to write the files to.")
@beside_option
def steps(
    cutter: str,
    film: str,
    speeds: tuple[float, float] | None,
    powers: tuple[float, float] | None,
    out: Path,
    beside: Path,
) -> None:
    """Draw a test of speed and power for a CUTTER and a film.

    It has small squares to cut, each at a step of speed and of power, in every format that the
    cutter's driver reads. Beside it lies a list of what to set for each colour.
    """
    from jobprep.cli.choose import chosen_cutter, chosen_film
    from jobprep.cli.own_files import make_folder, refuse_existing
    from jobprep.drawing.formats import writer
    from jobprep.errors import CannotDoError
    from jobprep.files.write import write_bytes_atomic
    from jobprep.planning.power_steps import steps_control, steps_drawing, steps_of

    of_film, of_cutter = chosen_film(film, beside), chosen_cutter(cutter, beside)
    speeds = needed(speeds, "--speeds", "Slowest and fastest to try, mm/s, such as 20-80", SPEEDS)
    question = "Least and most power to try, in the panel's unit, such as 10-40"
    powers = needed(powers, "--powers", question, POWERS)
    assert speeds is not None and powers is not None
    _check_speed(of_cutter, speeds[1])
    found = steps_of(speeds, powers)
    drawing, control = steps_drawing(found, of_film, of_cutter), steps_control(found, of_cutter)
    stem = f"steps-{of_film.name}-{of_cutter.name}"
    files: dict[Path, str | bytes] = {out / f"{stem}.svg": writer("svg")(drawing, control)}
    for name in (each for each in of_cutter.formats if each != "svg"):
        try:
            files[out / f"{stem}.{name}"] = writer(name)(drawing, control)
        except CannotDoError as error:  # what the format needs is not installed
            click.echo(f"Not written as {name}: {error}")
    command = pasteable("cutter", "choose", cutter, "--film", film, *beside_words(beside))
    files[out / f"{stem}.txt"] = _list(found, drawing.colours, f"{command} --speed MM/S --power P")
    refuse_existing(files, "name another folder")
    make_folder(out)
    for path, content in files.items():
        write_bytes_atomic(path, content.encode() if isinstance(content, str) else content)
        click.echo(f"Wrote {path}")
    _tell(of_film, of_cutter, f"{command} --speed MM/S --power P", beside)


@click.command()
@click.argument("cutter")
@click.option("--film", required=True, metavar="NAME", help="The film that was tested.")
@click.option(
    "--speed", required=True, type=Between(0.001, MOST_SPEED), metavar="MM/S", help="As chosen."
)
@click.option(
    "--power", required=True, type=Between(0.0, MOST_POWER), metavar="POWER", help="As chosen."
)
@beside_option
def choose(cutter: str, film: str, speed: float, power: float, beside: Path) -> None:
    """Write the speed and power that cut a film into the profile of a CUTTER.

    Comments and all other values stay; the speed no longer counts as assumed. A shipped profile is
    copied beside the job first.
    """
    from jobprep.cli.choose import chosen_film
    from jobprep.files.chosen_steps import write_steps

    path = write_steps(cutter, beside, chosen_film(film, beside).name, speed, power)
    click.echo(f"{path}: {film} is cut at {speed:g} mm/s with power {power:g}")


def _check_speed(cutter: Cutter, fastest: float) -> None:
    from jobprep.errors import CannotDoError

    if "travel_speed" not in cutter.assumed and fastest > cutter.travel_speed:
        raise CannotDoError(
            f"{fastest:g} mm/s is faster than the head of {cutter.name} moves,"
            f" {cutter.travel_speed:g} mm/s"
        )


def _list(steps: Sequence[PowerStep], colours: Mapping[str, str], command: str) -> str:
    """Return what to set for each colour of the drawing, in the order of cutting."""
    from jobprep.planning.power_steps import LABELS, WATCH

    rows = [
        "What to set for each colour of the drawing, in the order of cutting.",
        "Rows are powers, columns are speeds; both are engraved beside the squares.",
        "",
        "colour    row  column  speed mm/s  power",
        f"{colours[LABELS]}  the numbers: as you engrave, or as the first square",
        *(
            f"{colours[step.layer]}  {step.row + 1:>3}  {step.column + 1:>6}"
            f"  {step.speed:>10g}  {step.power:>5g}"
            for step in steps
        ),
        "",
        click.wrap_text(WATCH, 80),
        "",
        "Write the square you choose, the fastest that is cut through cleanly, into the",
        f"profile:\n  {command}",
    ]
    return "\n".join(rows) + "\n"


def _tell(film: Film, cutter: Cutter, command: str, beside: Path) -> None:
    from jobprep.planning.coupon import coupon_cautions
    from jobprep.planning.power_steps import WATCH

    click.echo(f"Then write the square you choose into the profile:\n  {command}")
    click.echo(f"and cut a coupon for the kerf:\n  {_coupon(film, cutter, beside)}")
    beam = (BEAM_ON,) if "gcode" in cutter.formats else ()
    for text in (*beam, WATCH, *coupon_cautions(film, cutter)):
        click.echo(click.wrap_text(f"Take care: {text}", 80, subsequent_indent="  "))


def _coupon(film: Film, cutter: Cutter, beside: Path) -> str:
    words = ("--film", film.name, "--cutter", cutter.name, *beside_words(beside))
    return pasteable("coupon", *words, "--out", "coupon")

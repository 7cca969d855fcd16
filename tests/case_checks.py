"""A case from its files to the last oracle, through the command line as a user goes.

    check_case(folder)    plans the job, looks at all that was written, then does its actions

What the program refuses in words is an answer; anything else that is not right is a ``Fault``.
"""

from __future__ import annotations

import json
import math
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import shapely
from beam_oracle import assert_made, assert_refused, job_verdict, run_verdict
from case_files import ACTIONS, JOB, Case, Tables, read_case, tables_of
from click.testing import CliRunner, Result
from hold_oracle import assert_hold_is_made, assert_hold_is_refused, hold_verdict
from run_checks import (
    assert_film_left,
    assert_parts_are_asked,
    assert_run_is_right,
    assert_stock_suffices,
)
from second.asked import asked_of
from virtual_cut import require
from written_run import Run

from jobprep.cli import main
from jobprep.runs.cut_run import cut_run

NEVER = ("not valid", "Traceback", "Error:")
"""Words that no refusal may hold: a nest that was not proven, and what is not explained."""


class Fault(Exception):
    """What went wrong, and in which step."""

    def __init__(self, step: str, kind: str, message: str) -> None:
        self.step, self.kind, self.message = step, kind, message
        super().__init__(f"{step}: {kind}: {message}")

    @property
    def key(self) -> str:
        """What makes two faults the same: step, kind and words, without any number."""
        words = [word for word in self.message.split() if not any(map(str.isdigit, word))]
        return " ".join([self.step, self.kind, *words[:12]])


class Refused(Exception):
    """The program would not do it, and said why."""


def check_case(folder: Path) -> list[str]:
    """Do all of a case; return what was done and what was refused, in words.

    Raises
    ------
    Fault
        Where anything is not right.
    """
    case = read_case(folder)
    actions = tables_of(case, ACTIONS)
    steps = _Steps(folder, case)
    try:
        steps.step("plan", steps.plan, bool(actions.get("partial")))
    except Refused as refusal:
        return [f"plan refused: {refusal}"]
    said = ["plan"]
    for number, action in enumerate(actions.get("action", []), start=1):
        what = action["do"]
        try:
            steps.step(what, getattr(steps, what), action, f"{what}-{number}")
            said.append(what)
        except Refused as refusal:
            said.append(f"{what} refused: {refusal}")
    return said


def invoked(*arguments: Any) -> Result:
    """Run a command; a traceback is a fault, a refusal in words is ``Refused``."""
    result = CliRunner().invoke(main, [str(each) for each in arguments])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    if result.exit_code:
        words = result.stderr.strip()
        require(result.exit_code in (1, 2) and bool(words), f"exit code {result.exit_code}")
        require(not any(each in words for each in NEVER), words)
        raise Refused(words)
    return result


class _Steps:
    def __init__(self, folder: Path, case: Case) -> None:
        self.folder, self.case = folder, case
        self.job = tables_of(case, JOB)
        self.stock = folder / "stock.toml"
        self.run: Run | None = None

    def step(self, name: str, work: Callable[..., None], *arguments: Any) -> None:
        try:
            work(*arguments)
        except Refused:
            raise
        except Exception as error:
            frame = traceback.extract_tb(error.__traceback__)[-1]
            kind = type(error).__name__
            if kind != "CutFault":
                kind += f" in {Path(frame.filename).name} {frame.name}"
            raise Fault(name, kind, str(error)) from error

    @property
    def planned(self) -> Run:
        assert self.run is not None
        return self.run

    def plan(self, partial: bool) -> None:
        formats = self._formats()
        more = ["--partial"] if partial else []
        out = self.folder / "run"
        try:
            result = invoked("plan", self.folder / JOB, "--out", out, "--json", *more, *formats)
        except Refused as refusal:
            assert_refused(refusal, job_verdict(self.folder / JOB))
            assert_hold_is_refused(refusal, hold_verdict(self.folder / JOB))
            raise
        assert_made(job_verdict(self.folder / JOB))
        assert_hold_is_made(hold_verdict(self.folder / JOB))
        asked = asked_of(self.folder / JOB)
        self.run = assert_run_is_right(out, asked, all_parts=not partial)
        require(json.loads(result.stdout) == self.run.summary, "printed and written differ")
        assert_parts_are_asked(self.run)
        assert_stock_suffices(self.run, tables_of(self.case, "stock.toml").get("piece", []))

    def _formats(self) -> list[str]:
        """Ask for every format the cutter reads."""
        own = tables_of(self.case, f"materials/cutters/{self.job['cutter']}.toml")
        known = own.get("formats", ["dxf", "gcode"])
        is_knife = own.get("kind", "knife" if "knife" in self.job["cutter"] else "") == "knife"
        wanted = [name for name in ("dxf", "gcode") if name in known]
        return [
            word
            for name in wanted
            if not (is_knife and name == "gcode")
            for word in ("--format", name)
        ]

    def recut(self, action: Tables, name: str) -> None:
        """Cut the run again; with nothing asked the very same drawings must come out."""
        out = self.folder / name
        options: list[Any] = []
        films = {sheet.film for sheet in self.planned.record.sheets}
        kerfs = {film: kerf for film, kerf in action.get("kerf", {}).items() if film in films}
        for film, kerf in kerfs.items():
            options += ["--kerf", f"{film}={kerf}"]
        if "cutter" in action:
            options += ["--cutter", action["cutter"]]
        for each in action.get("only", []):
            options += ["--only", each]
        for each in action.get("copies", []):
            options += ["--copy", each]
        try:
            result = invoked("recut", self.folder / "run", "--out", out, "--json", *options)
        except Refused as refusal:
            if "cutter" not in action:
                assert_refused(refusal, run_verdict(self.planned, kerfs, action.get("only", ())))
            raise
        told = json.loads(result.stdout)
        kept = [film["film"] for film in told["films"] if film["nest_kept"]]
        whole = "only" not in action
        asked = asked_of(self.folder / JOB, cutter=action.get("cutter"), kerf=kerfs)
        parts, copies = action.get("only", []), action.get("copies", [])
        wanted = [
            (part, copy)
            for part, copy in self.planned.kinds
            if (whole or str(part) in parts) and (not copies or copy + 1 in copies)
        ]
        is_all = len(wanted) == sum(kind.count for kind in asked.kinds)  # the stock may be short
        asked = self.planned.asks_for(asked, wanted)
        again = assert_run_is_right(out, asked, whole_discs=is_all, kept=kept)
        assert_made(run_verdict(again))
        for film in told["films"]:
            if film["nest_kept"]:
                assert_film_left(again, film)
        require(told["summary"] == again.summary, "printed and written summary differ")
        for film, kerf in kerfs.items():
            if film in again.record.job.kerf:
                require(again.record.job.kerf[film] == kerf, f"kerf of {film}")
        if "only" not in action:
            before, after = (
                Counter((each.part, each.copy) for each in run.record.placements)
                for run in (self.planned, again)
            )
            require(before == after, "a recut of all has other parts than the run")
        if not options:
            for path in sorted((self.folder / "run").glob("*.svg")):
                require(path.read_text() == again.text(path.name), f"{path.name} changes by itself")

    def estimate(self, action: Tables, name: str) -> None:
        result = invoked("estimate", self.folder / JOB, "--json", "--up-to", "0")
        told, summary = json.loads(result.stdout), self.planned.summary
        totals = summary["totals"]
        amounts = {key: each["amount"] for key, each in told["lines"].items()}
        require(_same(amounts["film_used"], totals["film_cost"]), "film cost of the estimate")
        require(_same(amounts["cutter"], totals["cutter_cost"]), "cutter cost of the estimate")
        for key in ("currency", "used", "to_pay_now"):
            require(told[key] == summary[key], f"{key} of the estimate is {told[key]}")
        each = [
            None
            if disc["used_each"]["amount"] is None
            else disc["copies"] * disc["used_each"]["amount"]
            for disc in told["discs"]
        ]
        whole, used = _sum([*each, told["loose_parts"]["amount"]]), told["used"]["amount"]
        require(_same(used, whole), f"discs and loose parts use {whole}, all is {used}")
        prices = self.job.get("prices", {})
        minutes = prices.get("assembly_minutes", 0.0) + prices.get("gluing_minutes", 0.0)
        rate = prices.get("labour_per_hour")
        copies = sum(disc["copies"] for disc in told["discs"])
        labour = None if not minutes or rate is None else copies * minutes * rate / 60.0
        labour = labour if copies else 0.0
        require(_same(amounts["labour"], labour), f"labour {amounts['labour']}, not {labour}")

    def fill(self, action: Tables, name: str) -> None:
        out = self.folder / name
        result = invoked("fill", self.folder / JOB, "--out", out, "--json")
        told = json.loads(result.stdout)
        asked = asked_of(self.folder / JOB, copies=dict(enumerate(told["discs"].values())))
        found = assert_run_is_right(out, asked)
        for key in ("currency", "used", "to_pay_now"):
            require(told[key] == found.summary[key], f"{key} of the fill is {told[key]}")
        for disc in found.summary["discs"]:
            require(told["discs"][disc["design"]] == disc["copies"], "discs told and written")
        assert_stock_suffices(found, tables_of(self.case, "stock.toml").get("piece", []))

    def book(self, action: Tables, name: str) -> None:
        """Book the run, weigh the ledger before and after, and take it back."""
        options: list[Any] = []
        for part in action.get("spoiled", []):
            options += ["--spoiled", part]
        spoiled_film = ""
        if "spoiled_sheet" in action:
            spoiled_film = self.planned.record.sheets[0].film
            options += ["--spoiled-sheet", f"{spoiled_film}=1"]
        job_again = self.folder / f"{name}-spoiled.toml"
        options += ["--spoiled-job", job_again, "--date", "2026-11-25"]
        before = self._pieces()
        invoked("stock", "book", self.folder / "run", "--stock", self.stock, *options)
        after = self._pieces()
        self._weigh(before, after, spoiled_film)
        if job_again.exists():
            invoked("plan", job_again, "--out", self.folder / f"{name}-again")
            asked = self.planned.asks_for(asked_of(job_again), self._spoiled(action))
            again = assert_run_is_right(self.folder / f"{name}-again", asked, whole_discs=False)
            for rule in ("cutting", "leftovers", "nesting"):  # held and kept as the first time
                same = getattr(again.record.job, rule) == getattr(self.planned.record.job, rule)
                require(same, f"the job of what is spoiled has other {rule}")
        elif action.get("again"):
            invoked("plan", self.folder / JOB, "--out", self.folder / f"{name}-again")
            assert_run_is_right(self.folder / f"{name}-again", asked_of(self.folder / JOB))
        invoked("stock", "undo", "--stock", self.stock)
        require(self._pieces() == before, "undo does not give back what was there")

    def _spoiled(self, action: Tables) -> list[tuple[int, int]]:
        """Return what must be cut again: one of each part named, or all of the first sheet."""
        if "spoiled" in action:
            return [(int(part), 0) for part in action["spoiled"]]
        return self.planned.copies[0]

    def _pieces(self) -> dict[str, Tables]:
        if not self.stock.exists():
            return {}
        result = invoked("stock", "list", "--json", "--stock", self.stock)
        return {piece["id"]: piece for piece in json.loads(result.stdout)["pieces"]}

    def _weigh(self, before: dict[str, Tables], after: dict[str, Tables], spoiled: str) -> None:
        """Check pieces and areas: what came in is what the run keeps, what went out it opened."""
        run = self.planned
        cut = cut_run(run.record, "0" * 64)
        opened = Counter(sheet.piece for sheet in cut.sheets if sheet.piece)
        for id, piece in before.items():
            left = piece["count"] - opened.get(id, 0)
            require(left == after.get(id, {"count": 0})["count"], f"{left} of {id} should be left")
        new = [piece for id, piece in after.items() if id not in before]
        n_kept = sum(
            (sheet.film, each.sheet) != (spoiled, 1)
            for sheet in cut.sheets
            for each in sheet.leftovers
        )
        require(len(new) == n_kept, f"{len(new)} new pieces, {n_kept} leftovers")
        for film in run.summary["films"]:
            rows = film["sheets"][1:] if film["film"] == spoiled else film["sheets"]
            kept = math.fsum(row["leftover_mm2"] for row in (*rows, *film["cut_up"]))
            came = math.fsum(piece["area_mm2"] for piece in new if piece["film"] == film["film"])
            edge = math.fsum(
                shapely.Polygon(piece["outline_mm"], piece["defects_mm"]).length
                for piece in new
                if piece["film"] == film["film"]
            )
            require(came <= kept + 1.0, f"{film['film']}: {came} mm2 came in, {kept} were kept")
            least = kept - 0.11 * edge - 1.0  # chords inside, and strips under 0.1 mm
            require(came >= least, f"{film['film']}: only {came} mm2 came in, {kept} were kept")
        for sheet in cut.sheets:
            for each in sheet.leftovers:
                polygon = shapely.Polygon(each.outline, each.defects)
                require(polygon.is_valid, "a leftover crosses itself")
                if not each.sheet:
                    continue  # cut off by hand, where no part lies
                index = run.of_film(sheet.film)[each.sheet - 1]
                width = run.record.job.kerf[sheet.film] - 1e-3 - run.slack[index]
                slots = shapely.union_all([part.buffer(width) for part in run.placed[index]])
                overlap = polygon.intersection(slots).area
                require(overlap < 1e-6, f"{overlap} mm2 of parts and slots in a leftover")


def _sum(amounts: list[float | None]) -> float | None:
    return None if None in amounts else math.fsum(each for each in amounts if each is not None)


def _same(a: float | None, b: float | None) -> bool:
    return a is b is None or (
        a is not None and b is not None and math.isclose(a, b, rel_tol=1e-6, abs_tol=1e-6)
    )

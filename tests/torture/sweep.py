"""A long run of `tests/core/test_sweep.py`: random puppets and walks, and what must hold for every plan of them.

Run by name: `python tests/torture/sweep.py --count 300000`. Each walk is that of its seed, so that what is wrong can be
looked at again with `--first SEED --count 1`. Ends with exit code 1 where anything is wrong.
"""

from __future__ import annotations

import argparse
import sys
import time
import traceback
import warnings
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "made"))
from random_walks import random_shot
from walk_truths import FILE_TRUTHS, FIT_TRUTHS, PLAN_TRUTHS, Case

BLOCK = 500


@dataclass
class Tally:
    """walks, poses, stances: looked at. kinds: how many walks have what; findings: how many walks have which finding.
    wrong: what is wrong, a line each."""

    walks: int = 0
    poses: int = 0
    stances: int = 0
    kinds: Counter[str] = field(default_factory=Counter)
    findings: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        self.walks += other.walks
        self.poses += other.poses
        self.stances += other.stances
        self.kinds += other.kinds
        self.findings += other.findings
        self.wrong += other.wrong


def looked_at(seeds: range, files_every: int, fits_every: int) -> Tally:
    """The walks of these seeds; every so many-th is also written and read, and fitted."""
    tally = Tally()
    with np.errstate(all="raise", under="ignore"), warnings.catch_warnings():
        warnings.simplefilter("error")
        for seed in seeds:
            truths = PLAN_TRUTHS
            truths += FILE_TRUTHS if seed % files_every == 0 else ()
            truths += FIT_TRUTHS if seed % fits_every == 0 else ()
            case = Case(random_shot(seed))
            try:
                tally.wrong += [f"seed {seed}: {truth.__name__}: {words}" for truth in truths for words in truth(case)]
                tally.walks, tally.poses = tally.walks + 1, tally.poses + case.plan.poses
                tally.stances += len(case.plan.stances)
                tally.findings.update({one.code for one in case.findings})
                tally.kinds.update(kinds_of(case))
                tally.kinds["written, read, solved again"] += seed % files_every == 0
                tally.kinds["fitted"] += seed % fits_every == 0
            except Exception:  # noqa: BLE001  (any failure is one of this walk's; the run goes on)
                *_, place, said = traceback.format_exc(limit=-1).strip().splitlines()[1:]
                tally.wrong.append(f"seed {seed}: {said} (at: {place.strip()})")
    return tally


def kinds_of(case: Case) -> set[str]:
    """What a walk has, in words."""
    shot, walk = case.shot, case.shot.walk
    has = {
        f"{len(shot.puppet.legs)} legs": True,
        "path": shot.path,
        "stairs": shot.floor.stairs,
        "floor that is not flat": not shot.floor.flat,
        "steps of their own": shot.step_changes,
        "edits": shot.edits.footfalls or shot.edits.body or shot.edits.hips_up_mm,
        "start or stop": walk.start != "walking" or walk.stop != "walking",
        "on the spot": walk.on_the_spot,
        "possible": not any(one.severity == "impossible" for one in case.findings),
    }
    return {words for words, yes in has.items() if yes}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--count", type=int, default=300_000, help="how many walks (300000)")
    parser.add_argument("--first", type=int, default=1_000_000, help="seed of the first (1000000)")
    parser.add_argument("--files-every", type=int, default=5, help="write and read every so many-th (5)")
    parser.add_argument("--fits-every", type=int, default=200, help="fit every so many-th (200)")
    parser.add_argument("--jobs", type=int, default=1, help="processes (1)")
    given = parser.parse_args()
    begin, cpu = time.perf_counter(), time.process_time()
    total, told = Tally(), 0
    end = given.first + given.count
    blocks = [range(seed, min(seed + BLOCK, end)) for seed in range(given.first, end, BLOCK)]
    every = [given.files_every] * len(blocks), [given.fits_every] * len(blocks)
    with ProcessPoolExecutor(given.jobs) as pool:
        for tally in pool.map(looked_at, blocks, *every):
            total.add(tally)
            for line in total.wrong[told:]:
                print(line, flush=True)
            told = len(total.wrong)
            if total.walks // 10_000 > (total.walks - tally.walks) // 10_000:
                print(f"{total.walks} walks, {told} wrong, {time.perf_counter() - begin:.0f} s", flush=True)
    print(f"{total.walks} walks, {total.poses} poses, {total.stances} stances: {told} wrong")
    print("walks with: " + ", ".join(f"{name} {count}" for name, count in sorted(total.kinds.items())))
    print("findings: " + ", ".join(f"{name} {count}" for name, count in total.findings.most_common()))
    print(f"{time.perf_counter() - begin:.0f} s by the clock, {time.process_time() - cpu:.0f} s of this process alone")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())

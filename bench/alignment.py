"""How far the attacks that are found lie from the truth: `python -m bench.alignment [FAMILY ...]`.

Every line: scene, attacks, median and 95th percentile and largest error in ms, mean error, share
within 20, 50 and 100 ms, share of true moments within the uncertainty, tuning error in cents,
processor seconds for a second of recording.
"""

import os
import sys
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from bench.heard_playing import Truth
from bench.heard_scenes import Scene, can_play, heard, plain_scenes, varied_scenes

from riffract.sound.alignment import Alignment
from riffract.sound.alignment.align import align
from riffract.sound.sound import SoundProblem


def errors_of(found: Alignment, truth: Truth) -> tuple[np.ndarray, np.ndarray, int]:
    """Pair found attacks with the true ones of the same written moment, nearest in time.

    Returns:
        signed errors in seconds, uncertainties, and how many attacks were found too few or many.
    """
    mine = [a for stretch in found.stretches for a in stretch.attacks]
    pairs = []
    for attack in truth.attacks:
        same = [m for m in mine if m.quarters == attack.quarters]
        if same:
            best = min(same, key=lambda m: abs(m.seconds - attack.seconds))
            pairs.append((best.seconds - attack.seconds, best.uncertainty_seconds))
    errors, widths = np.array(pairs).T if pairs else (np.zeros(0), np.zeros(0))
    return errors, widths, len(mine) - len(truth.attacks)


def line(scene: Scene) -> str:
    """Measure one scene."""
    made = heard(scene)
    start = time.process_time()
    found = align(made.text, made.recording)
    spent = (time.process_time() - start) / made.recording.length_seconds
    if isinstance(found, SoundProblem):
        return f"{scene.name:46} PROBLEM {found.what}"
    errors, widths, extra = errors_of(found, made.truth)
    if not len(errors):
        return f"{scene.name:46} none of the true moments"
    ms = 1000.0 * np.abs(errors)
    within = " ".join(f"{np.mean(ms < limit):4.2f}" for limit in (20, 50, 100))
    cents = 1200.0 * np.log2(found.reference_hz / made.truth.reference_hz)
    checks = found.checks
    return (
        f"{scene.name:46} {len(ms):4} {extra:+4} {np.median(ms):6.1f} {np.quantile(ms, 0.95):7.1f} "
        f"{ms.max():8.1f} {1000 * np.median(errors):+6.1f} {within} "
        f"cov {np.mean(np.abs(errors) <= widths):4.2f} {1000 * np.median(widths):4.0f} "
        f"ct {cents:+6.1f} st {len(found.stretches)}/{len(made.truth.stretches)} "
        f"res {checks.residual_share:.2f}/{checks.chance_share:.2f} hd {checks.heard_share:.2f} "
        f"ag {checks.agreement_share:.2f} stab {1000 * checks.stability_seconds:.1f} "
        f"cpu {spent:.2f}"
    )


def main(families: list[str]) -> None:
    for scene in (*plain_scenes(), *varied_scenes()):
        if can_play(scene) and (not families or scene.family in families):
            print(line(scene), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])

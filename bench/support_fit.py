"""Fit the odds of `sound.support.odds` on synthetic scenes: `python -m bench.support_fit`.

Learns from one sound bank and our own strings only; the other bank and the delay-line strings are
held out, and their error is printed beside.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from bench.heard_scenes import Heard, Scene, can_play, heard, plain_scenes
from bench.hearing_metrics import alignment_of
from scipy.optimize import minimize

from riffract.music import Passage
from riffract.sound.alignment import Alignment
from riffract.sound.support.moments import Hearing, listen
from riffract.sound.support.presence import FEATURES, presence
from riffract.sound.support.rivals import mistaken_for

ASKED = 5
LARGEST_ODDS = 4.0
WRONG_SHARE = 0.1
LIMIT = -1.0


def true_alignment(made: Heard, *, jitter_seconds: float = 0.0, seed: int = 1) -> Alignment:
    """Make the alignment that knows the truth, but for a jitter."""
    rng = np.random.default_rng(seed)
    return alignment_of(
        made.truth,
        made.text.length_quarters,
        off_seconds=lambda: jitter_seconds * float(rng.standard_normal()),
    )


def samples_of(text: Passage, hearing: Hearing) -> tuple[np.ndarray, np.ndarray]:
    """Give features of what is struck (1) and of what each could be mistaken for (0)."""
    rows, is_struck, features = [], [], presence(hearing)
    notes = [n for n in text.notes if n.pitch is not None]
    for i, moment in enumerate(hearing.moments):
        sounding = {
            n.pitch for n in notes if n.onset_quarters <= moment.quarters < n.ring_end_quarters + 1
        }
        struck = [n for n in notes if n.onset_quarters == moment.quarters]
        others = {s.pitch for n in struck for s in mistaken_for(text.tuning, n.string, n.fret)}
        top = np.argsort(-hearing.after[i])[:ASKED] + hearing.lowest_pitch
        others |= {int(p) for p in top}
        for pitch in {n.pitch for n in struck if n.pitch is not None}:
            rows.append(features[i, pitch - hearing.lowest_pitch])
            is_struck.append(1.0)
        for pitch in sorted(others - sounding):
            rows.append(features[i, pitch - hearing.lowest_pitch])
            is_struck.append(0.0)
    return np.array(rows), np.array(is_struck)


def pairs_of(text: Passage, hearing: Hearing, w: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give (odds of the written, odds of its best rival) for right notes (1) and wrong ones (0).

    Every note is made wrong in each way that it can be mistaken.
    """
    rows, is_right, features = [], [], presence(hearing)

    def odds(i: int, pitch: int) -> float:
        column = pitch - hearing.lowest_pitch
        if column >= features.shape[1]:  # higher than is listened for
            return -LARGEST_ODDS
        z = float(w[0] + features[i, column] @ w[1:])
        return float(np.clip(z / np.log(10.0), -LARGEST_ODDS, LARGEST_ODDS))

    notes = [n for n in text.notes if n.pitch is not None]
    for i, moment in enumerate(hearing.moments):
        sounding = {
            n.pitch for n in notes if n.onset_quarters <= moment.quarters < n.ring_end_quarters
        }
        for n in [n for n in notes if n.onset_quarters == moment.quarters]:
            spots = mistaken_for(text.tuning, n.string, n.fret)
            for written, right in [
                (None, 1.0),
                *((s, 0.0) for s in spots if s.pitch not in sounding),
            ]:
                string, fret, pitch = (
                    (n.string, n.fret, n.pitch)
                    if written is None
                    else (written.string, written.fret, written.pitch)
                )
                other = sounding - {n.pitch} if written else sounding
                rivals = [
                    odds(i, s.pitch)
                    for s in mistaken_for(text.tuning, string, fret)
                    if s.pitch not in other
                ]
                rows.append((odds(i, pitch or 0), max([*rivals, 0.0])))
                is_right.append(right)
    return np.array(rows), np.array(is_right)


def design(features: np.ndarray) -> np.ndarray:
    return np.column_stack([np.ones(len(features)), features])


def fitted(features: np.ndarray, labels: np.ndarray, share: float = 0.5) -> np.ndarray:
    """Logistic regression with a slight pull to 0."""
    x = design(features)
    sign = np.where(labels > 0, 1.0, -1.0)
    weights = np.where(labels > 0, share / labels.sum(), (1 - share) / (1 - labels).sum()) * len(
        labels
    )

    def cost(w: np.ndarray) -> float:
        return float(
            (weights * np.logaddexp(0.0, -sign * (x @ w))).sum() + 0.5 * (w[1:] ** 2).sum()
        )

    return np.asarray(minimize(cost, np.zeros(x.shape[1]), method="L-BFGS-B").x)


def scenes() -> list[Scene]:
    return [s for s in plain_scenes() if can_play(s)]


Key = tuple[Scene, float]


def _joined(
    table: dict[Key, tuple[np.ndarray, np.ndarray]], keys: list[Key], part: int
) -> np.ndarray:
    return np.concatenate([table[key][part] for key in keys])


def main() -> None:
    heard_in = {}
    for scene in scenes():
        made = heard(scene)
        for jitter in (0.0, 0.010):
            alignment = true_alignment(made, jitter_seconds=jitter)
            heard_in[scene, jitter] = made.text, listen(made.text, alignment, made.recording)
    struck = {key: samples_of(*value) for key, value in heard_in.items()}
    learn = [key for key in heard_in if not key[0].voice.is_held_out]
    w = fitted(_joined(struck, learn, 0), _joined(struck, learn, 1))
    print("struck", round(w[0], 2), dict(zip(FEATURES, w[1:].round(2).tolist(), strict=True)))
    pairs = {key: pairs_of(*value, w) for key, value in heard_in.items()}
    v = fitted(_joined(pairs, learn, 0), _joined(pairs, learn, 1), 1 - WRONG_SHARE)
    print("right", v.round(2), "log10:", (v / np.log(10.0)).round(2))
    for (scene, jitter), (x, y) in struck.items():
        z, (px, py) = design(x) @ w, pairs[scene, jitter]
        e = design(px) @ v / np.log(10.0)
        print(
            f"{scene.name:40}{1000 * jitter:3.0f} ms struck {np.mean(z[y > 0] > 0):.3f} "
            f"false {np.mean(z[y == 0] > 0):.3f} | "
            f"right called wrong {np.mean(e[py > 0] < LIMIT):.3f} "
            f"wrong found {np.mean(e[py == 0] < LIMIT):.3f} "
            f"{'held out' if scene.voice.is_held_out else ''}"
        )


if __name__ == "__main__":
    main()

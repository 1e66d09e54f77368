"""Planted errors found in recordings: `python -m bench.support [true|jitter|aligned] [NAME]`.

Every line: scene, planted errors, how many are found (the note contradicted, or the missing one
heard within a sixteenth) and their share, what share of the alarms is right, and alarms for every
100 right notes.
"""

import os
import sys
import time
from collections import defaultdict
from dataclasses import replace
from fractions import Fraction

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from bench.heard_scenes import Heard, Scene, heard
from bench.support_fit import scenes, true_alignment

from riffract.music import Note, NoteTableBuilder, Passage
from riffract.sound.alignment import align
from riffract.sound.sound import SoundProblem
from riffract.sound.support import Support, support
from riffract.sound.support.rivals import mistaken_for

KINDS = ("fret", "string", "octave", "extra", "missing")
ERROR_SHARE = 0.08


def planted(text: Passage, seed: int) -> tuple[Passage, dict[int, str], dict[int, Note]]:
    """Put errors into a text.

    Returns:
        The text; what is wrong by note of the new text; what is missing, by note of the old one.
    """
    rng = np.random.default_rng(seed)
    notes = [n for n in text.notes if n.pitch is not None]
    chosen = rng.choice(len(notes), max(round(ERROR_SHARE * len(notes)), 3), replace=False)
    kinds = {notes[k].index: str(rng.choice(KINDS)) for k in chosen}
    builder, wrong, missing = NoteTableBuilder(), {}, {}
    marks: dict[tuple[Fraction, int], str] = {}
    for n in text.notes:
        kind = kinds.get(n.index)
        sounding = {
            m.pitch for m in notes if m.onset_quarters <= n.onset_quarters < m.ring_end_quarters
        }
        busy = {m.string for m in text.notes if m.onset_quarters == n.onset_quarters}
        if kind == "missing":
            missing[n.index] = n
            continue
        string, fret, pitch = n.string, n.fret, n.pitch
        if kind in ("fret", "octave", "string"):
            spots = mistaken_for(text.tuning, n.string, n.fret)
            fits = {
                "fret": [s for s in spots if s.string == n.string and abs(s.fret - n.fret) == 1],
                "octave": [s for s in spots if abs(s.pitch - (n.pitch or 0)) == 12],
                "string": [s for s in spots if s.string != n.string and s.string not in busy],
            }[kind]
            fits = [s for s in fits if s.pitch not in sounding]
            if fits:
                spot = fits[rng.integers(len(fits))]
                string, fret, pitch = spot.string, spot.fret, spot.pitch
                marks[n.onset_quarters, string] = kind
        if kind == "extra":
            free = [s for s in mistaken_for(text.tuning, n.string, n.fret) if s.string not in busy]
            free = [s for s in free if s.pitch not in sounding]
            if free:
                spot = free[rng.integers(len(free))]
                marks[n.onset_quarters, spot.string] = kind
                _add(builder, n, spot.string, spot.fret, spot.pitch)
        _add(builder, n, string, fret, pitch)
    made = replace(text, notes=builder.build())
    for n in made.notes:
        if (n.onset_quarters, n.string) in marks:
            wrong[n.index] = marks[n.onset_quarters, n.string]
    return made, wrong, missing


def _add(builder: NoteTableBuilder, n: Note, string: int, fret: int, pitch: int | None) -> None:
    builder.add(
        onset_quarters=n.onset_quarters, duration_quarters=n.duration_quarters, string=string,
        fret=fret, pitch=pitch, ring_end_quarters=n.ring_end_quarters, techniques=n.techniques,
        bend=n.bend,
    )  # fmt: skip


def tried(made: Heard, how: str, seed: int) -> tuple[dict[str, list[bool]], int, int, int]:
    """Plant, listen and count.

    Returns:
        Whether each error was found, by kind; right alarms, false alarms, right notes.
    """
    text, wrong, missing = planted(made.text, seed)
    if how == "aligned":
        alignment = align(text, made.recording)
    else:
        alignment = true_alignment(made, jitter_seconds=0.01 * (how == "jitter"), seed=seed)
        onsets = {n.onset_quarters for n in text.notes}
        alignment = replace(
            alignment,
            stretches=tuple(
                replace(s, attacks=tuple(a for a in s.attacks if a.quarters in onsets))
                for s in alignment.stretches
            ),
        )
    found: dict[str, list[bool]] = defaultdict(list)
    if isinstance(alignment, SoundProblem):
        print(made.scene.name, alignment.what)
        return found, 0, 0, 0
    report = support(text, alignment, made.recording)
    against = {v.note for v in report.notes if v.support is Support.CONTRADICTED}
    for index, kind in wrong.items():
        found[kind].append(index in against)
    heard_extra = [False] * len(report.unwritten)
    for n in missing.values():
        hits = [
            k
            for k, u in enumerate(report.unwritten)
            if u.pitch == n.pitch and abs(u.quarters - n.onset_quarters) <= Fraction(1, 4)
        ]
        found["missing"].append(bool(hits))
        for k in hits:
            heard_extra[k] = True
    right = len(against & set(wrong)) + sum(heard_extra)
    false = len(against - set(wrong)) + heard_extra.count(False)
    return found, right, false, len(text.notes) - len(wrong)


def line(scene: Scene, how: str, rounds: int) -> tuple[dict[str, list[bool]], int, int, int]:
    made, right, false, notes = heard(scene), 0, 0, 0
    found: dict[str, list[bool]] = defaultdict(list)
    start = time.process_time()
    for seed in range(rounds):
        kinds, *counts = tried(made, how, seed)
        right, false, notes = right + counts[0], false + counts[1], notes + counts[2]
        for kind, hits in kinds.items():
            found[kind] += hits
    _print(scene.name, found, (right, false, notes), time.process_time() - start)
    return found, right, false, notes


def _print(
    name: str, found: dict[str, list[bool]], counts: tuple[int, int, int], spent: float
) -> None:
    right, false, notes = counts
    hits = [h for kind in found.values() for h in kind]
    each = " ".join(f"{k} {np.mean(found[k]):.2f}" for k in KINDS if found[k])
    print(
        f"{name:40} {len(hits):4} recall {np.mean(hits or [False]):.2f} "
        f"precision {right / max(right + false, 1):.2f} "
        f"alarms/100 {100 * false / max(notes, 1):.1f} "
        f"cpu {spent:.1f} {each}",
        flush=True,
    )


def main(how: str, name: str, rounds: int = 1) -> None:
    groups: dict[str, list[tuple[dict[str, list[bool]], int, int, int]]] = defaultdict(list)
    for scene in scenes():
        if name in scene.name:
            group = "driven" if scene.voice.is_driven else "clean"
            group += " held out" if scene.voice.is_held_out else ""
            groups[group].append(line(scene, how, rounds))
    for group, results in groups.items():
        kinds: dict[str, list[bool]] = defaultdict(list)
        for found, *_ in results:
            for kind, hits in found.items():
                kinds[kind] += hits
        right, false, notes = (
            sum(r[1] for r in results),
            sum(r[2] for r in results),
            sum(r[3] for r in results),
        )
        _print(f"ALL {group}", kinds, (right, false, notes), 0.0)


if __name__ == "__main__":
    arguments = [*sys.argv[1:], "true", ""]
    main(arguments[0], arguments[1] if len(sys.argv) > 2 else "")

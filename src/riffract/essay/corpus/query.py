"""Asking the index of a corpus where a passage stands and what is like it.

Measures are compared in one pass over the windows (`corpus.scan`), turns of phrase by the database.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log2
from pathlib import Path
from typing import Any

import numpy as np

from riffract.essay.corpus.index import CorpusError, about, index_to_read, only_row
from riffract.essay.corpus.scan import MOST_ALIKE, NAMES, Chosen, Scan
from riffract.formats.problem import Problem
from riffract.music.notes import Ints
from riffract.weighing.comparing.comparison import Comparison, CorpusNote, Likeness
from riffract.weighing.comparing.likeness import Scales, distances, shared
from riffract.weighing.comparing.measures_of import MEASURES
from riffract.weighing.comparing.profile import Profile
from riffract.weighing.comparing.standing import Standing, counting_itself


def compare_with_corpus(profile: Profile, index: Path, *, sha256: str = "") -> Comparison:
    """Compare a passage with a corpus.

    Args:
        profile: the passage.
        index: where the corpus' index is.
        sha256: of the passage's own file, which is not compared with itself.

    Raises:
        CorpusError: if the index cannot be used, or holds no passage of that length.
    """
    with index_to_read(index) as connection:
        own = [
            file_id
            for (file_id,) in connection.execute(
                "SELECT file_id FROM files WHERE sha256 = ? AND sha256 != ''", [sha256]
            ).fetchall()
        ]
        chosen = Chosen(connection=connection, attacks=profile.window_attacks, left_out=tuple(own))
        scales = _scales(chosen)
        if scales is None:
            raise CorpusError(index, _nothing_of_that_length(chosen))
        return _comparison(chosen, profile, scales)


def _comparison(chosen: Chosen, profile: Profile, scales: Scales) -> Comparison:
    values = profile.values
    distance = float(distances(values[None, :], scales.middle, scales)[0])
    scan = Scan.over(chosen, profile, scales, distance)
    turns = _turns(chosen, profile.turns, scan.pieces)
    alike = _likenesses(chosen, profile, scales, {*scan.nearest, *turns.richest}, turns.worth)
    return Comparison(
        corpus=_note(chosen, scan),
        window_attacks=profile.window_attacks,
        windows=len(profile.windows),
        standings=tuple(
            Standing(
                measure=measure,
                value=float(values[k]),
                lowest=float(profile.windows[:, k].min()),
                highest=float(profile.windows[:, k].max()),
                below_share=float(scan.below_share[k]),
                equal_share=float(scan.equal_share[k]),
                pieces=scan.pieces,
            )
            for k, measure in enumerate(MEASURES)
        ),
        distance=distance,
        as_far_share=counting_itself(1.0 - scan.nearer_share, scan.pieces),
        by_measures=tuple(alike[passage_id] for passage_id in scan.nearest),
        by_line=tuple(alike[passage_id] for passage_id in turns.richest),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Turns:
    """The passage's turns of phrase in the corpus.

    Attributes:
        worth: what each is worth, in bits.
        richest: the windows that have most of that, one a piece.
    """

    worth: Mapping[int, float]
    richest: list[int]


def _turns(chosen: Chosen, turns: Ints, pieces: int) -> _Turns:
    """Find the windows that share most turns of phrase, rare ones counting more.

    Definition: a turn is worth log2((n + 2) / (f + 1)) bits, f of n pieces having it.

    Source: inverse document frequency (Spärck Jones 1972), with the passage as one more piece.
    """
    # One pass over the largest table answers both questions.
    rows = chosen.connection.execute(
        "WITH hits AS MATERIALIZED (SELECT passage_id, file_id, turn FROM turns JOIN "  # noqa: S608
        f"{chosen.rows} USING (passage_id) WHERE turn IN (SELECT unnest(?::INTEGER[]))), "
        "worth AS (SELECT turn, log2((? + 2) / (count(DISTINCT file_id) + 1)) AS bits "
        "FROM hits GROUP BY turn), "
        "sums AS (SELECT passage_id, file_id, round(sum(bits), 9) AS bits FROM hits "
        "JOIN worth USING (turn) GROUP BY ALL), "
        "best AS (SELECT arg_min(passage_id, (-bits, passage_id)) AS passage_id, max(bits) AS bits "
        "FROM sums GROUP BY file_id ORDER BY bits DESC, passage_id LIMIT ?) "
        "SELECT 'turn', turn, bits FROM worth UNION ALL "
        "SELECT 'window', passage_id, bits FROM best",
        [turns.tolist(), pieces, MOST_ALIKE],
    ).fetchall()
    never = log2(pieces + 2)
    found = {number: bits for kind, number, bits in rows if kind == "turn"}
    best = sorted((-bits, number) for kind, number, bits in rows if kind == "window")
    return _Turns(
        worth={turn: found.get(turn, never) for turn in turns.tolist()},
        richest=[number for _, number in best],
    )


def _likenesses(
    chosen: Chosen,
    profile: Profile,
    scales: Scales,
    passage_ids: set[int],
    worth: Mapping[int, float],
) -> dict[int, Likeness]:
    """Describe windows, by their ids."""
    rows = chosen.connection.execute(
        "SELECT passage_id, name, part, title, first_bar, last_bar, list(turn) FILTER (turn IS NOT "  # noqa: S608
        f"NULL), {NAMES} FROM passages JOIN files USING (file_id) LEFT JOIN turns USING "
        "(passage_id) WHERE passage_id IN (SELECT unnest(?::INTEGER[])) GROUP BY ALL",
        [sorted(passage_ids)],
    ).fetchall()
    return {row[0]: _likeness(row, profile, scales, worth) for row in rows}


def _likeness(
    row: tuple[Any, ...], profile: Profile, scales: Scales, worth: Mapping[int, float]
) -> Likeness:
    _, file, part, title, first_bar, last_bar, turns, *values = row
    measures = np.array(values, dtype=np.float64)
    has = sum(bits for turn, bits in worth.items() if turn in set(turns or ()))
    whole = sum(worth.values())
    return Likeness(
        file=file,
        part=part,
        title=title,
        first_bar=first_bar,
        last_bar=last_bar,
        distance=float(distances(measures[None, :], profile.values, scales)[0]),
        turns_share=has / whole if whole else 0.0,
        shared=shared(measures, profile.values, scales),
    )


def _scales(chosen: Chosen) -> Scales | None:
    rows = chosen.connection.execute(
        "SELECT measure, middle, spread FROM scales WHERE window_attacks = ?", [chosen.attacks]
    ).fetchall()
    found = {measure: (middle, spread) for measure, middle, spread in rows}
    if not found:
        return None
    middle, spread = np.array([found[m.name] for m in MEASURES], dtype=np.float64).T
    return Scales(middle=middle, spread=spread)


def _note(chosen: Chosen, scan: Scan) -> CorpusNote:
    said = about(chosen.connection)
    files, left_out = only_row(
        chosen.connection,
        "SELECT count(*), count(*) FILTER (file_id IN (SELECT unnest(?::INTEGER[]))) FROM files "
        "WHERE status = 'read'",
        [list(chosen.left_out)],
    )
    strings, uneven = only_row(
        chosen.connection,
        "SELECT count(DISTINCT file_id) FILTER (for_strings), avg(uneven_metre_share::DOUBLE) "  # noqa: S608
        f"FROM {chosen.rows} JOIN files USING (file_id)",
    )
    usual = said.get(f"usual_distance_{chosen.attacks}", "")
    return CorpusNote(
        title=said.get("title", ""),
        provenance=said.get("provenance", ""),
        files=files,
        pieces=scan.pieces,
        passages=scan.passages,
        for_strings_share=strings / max(scan.pieces, 1),
        uneven_metre_share=uneven or 0.0,
        usual_distance=float(usual) if usual else None,
        left_out=left_out,
    )


def _nothing_of_that_length(chosen: Chosen) -> Problem:
    lengths = [
        str(attacks)
        for (attacks,) in chosen.connection.execute(
            "SELECT DISTINCT window_attacks FROM scales ORDER BY 1"
        ).fetchall()
    ]
    offered = f"try --attacks {lengths[-1]}" if lengths else "add longer pieces, and build it again"
    return Problem(what=f"the corpus holds no passage of {chosen.attacks} attacks", mend=offered)

"""Asking the index of a corpus where a passage stands and what is like it.

Measures are compared in one pass over the windows (`corpus_scan`), turns of phrase by the database.
"""

from math import log2
from pathlib import Path
from typing import Any

import numpy as np

from riffract.essay.corpus_index import CorpusError, about, index_to_read, only_row
from riffract.essay.corpus_scan import MOST_ALIKE, NAMES, Chosen, Scan
from riffract.formats.problem import Problem
from riffract.music.notes import Ints
from riffract.weighing.comparison import Comparison, CorpusNote, Likeness
from riffract.weighing.likeness import Scales, distances, shared
from riffract.weighing.measures_of import MEASURES
from riffract.weighing.profile import Profile
from riffract.weighing.standing import Standing, counting_itself


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
    worth = _worth(chosen, profile.turns, scan.pieces)
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
        by_measures=_likenesses(chosen, profile, scales, scan.nearest, worth),
        by_line=_by_line(chosen, profile, scales, worth),
    )


def _by_line(
    chosen: Chosen, profile: Profile, scales: Scales, worth: dict[int, float]
) -> tuple[Likeness, ...]:
    """Find the windows that share most turns of phrase, one a piece, rare turns counting more."""
    if not worth:
        return ()
    cases = ", ".join(f"({turn}, {bits!r})" for turn, bits in worth.items())
    rows = chosen.connection.execute(
        "SELECT max(bits), arg_min(passage_id, (-bits, passage_id)) FROM ("  # noqa: S608
        f"SELECT passage_id, file_id, sum(worth) AS bits FROM {chosen.rows} AS p "
        "JOIN turns USING (passage_id) "
        f"JOIN (VALUES {cases}) AS w(turn, worth) USING (turn) GROUP BY ALL) "
        "GROUP BY file_id ORDER BY 1 DESC, 2 LIMIT ?",
        [MOST_ALIKE],
    ).fetchall()
    return _likenesses(chosen, profile, scales, [row[1] for row in rows], worth)


def _worth(chosen: Chosen, turns: Ints, pieces: int) -> dict[int, float]:
    """Say what each turn of phrase is worth, in bits: log2 of all pieces by those that have it.

    Source: inverse document frequency (Spärck Jones 1972), with the passage as one more piece.
    """
    if not len(turns):
        return {}
    rows = chosen.connection.execute(
        "SELECT turn, count(DISTINCT file_id) FROM turns JOIN "  # noqa: S608
        f"{chosen.rows} USING (passage_id) WHERE turn IN (SELECT unnest(?)) GROUP BY turn",
        [turns.tolist()],
    ).fetchall()
    having = dict(rows)
    return {turn: log2((pieces + 2) / (having.get(turn, 0) + 1)) for turn in turns.tolist()}


def _likenesses(
    chosen: Chosen,
    profile: Profile,
    scales: Scales,
    passage_ids: list[int],
    worth: dict[int, float],
) -> tuple[Likeness, ...]:
    rows = chosen.connection.execute(
        "SELECT passage_id, name, part, title, first_bar, last_bar, list(turn) FILTER (turn IS NOT "  # noqa: S608
        f"NULL), {NAMES} FROM passages JOIN files USING (file_id) LEFT JOIN turns USING "
        "(passage_id) WHERE passage_id IN (SELECT unnest(?)) GROUP BY ALL",
        [passage_ids],
    ).fetchall()
    found = {row[0]: _likeness(row, profile, scales, worth) for row in rows}
    return tuple(found[passage_id] for passage_id in passage_ids)


def _likeness(
    row: tuple[Any, ...], profile: Profile, scales: Scales, worth: dict[int, float]
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
        "SELECT count(*), count(*) FILTER (file_id IN (SELECT unnest(?))) FROM files "
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

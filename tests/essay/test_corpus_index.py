"""The index of a corpus: what is read, what is kept, and what is asked of it."""

import contextlib
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pytest
from tests.making import passage

from riffract.essay.corpus import build as corpus_build
from riffract.essay.corpus import index as corpus_index
from riffract.essay.corpus import reading as corpus_reading
from riffract.essay.corpus import scan as corpus_scan
from riffract.essay.corpus.build import build_corpus
from riffract.essay.corpus.files import music_files, sha256_of
from riffract.essay.corpus.index import CorpusError, index_to_read, index_to_write
from riffract.essay.corpus.query import compare_with_corpus
from riffract.essay.corpus.reading import Reading
from riffract.formats.reading import read_passage
from riffract.formats.tab import write_tab
from riffract.weighing.comparing import line_intervals
from riffract.weighing.comparing.likeness import Scales, distances
from riffract.weighing.comparing.measures_of import MEASURES
from riffract.weighing.comparing.profile import Profile, profile_of
from riffract.weighing.comparing.surface import surface_of

ALONE = Reading(workers=1)
CORPORA = Path(__file__).parents[3] / "shared" / "data" / "corpus"


def tab_of(pitches: Sequence[int], *, title: str = "Test", value: int = 1) -> str:
    return write_tab(passage([(int(p), value) for p in pitches], title=title))


def random_line(seed: int, *, count: int = 20) -> list[int]:
    return [int(p) for p in np.random.default_rng(seed).integers(41, 70, count)]


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "music"
    place.mkdir()
    for seed in range(6):
        (place / f"piece{seed}.tab").write_text(tab_of(random_line(seed), title=f"No. {seed}"))
    return place


@pytest.fixture
def index(tmp_path):
    return tmp_path / "corpus.duckdb"


def profile_from(path: Path, count: int = 8) -> Profile:
    read = read_passage(path).passage
    assert read is not None
    found = profile_of(surface_of(read), count)
    assert found is not None
    return found


def rows_in(index: Path, query: str) -> list[tuple[Any, ...]]:
    with index_to_read(index) as connection:
        return connection.execute(query).fetchall()


def contents(index: Path) -> list[tuple[Any, ...]]:
    """All that was measured, whatever numbers the rows have."""
    names = ", ".join(m.name for m in MEASURES)
    return rows_in(
        index,
        f"SELECT name, part, window_attacks, first_bar, {names}, list_sort(list(turn)) "
        "FROM passages JOIN files USING (file_id) LEFT JOIN turns USING (passage_id) "
        "GROUP BY ALL ORDER BY ALL",
    )


def test_a_folder_is_measured_file_by_file(folder, index):
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.found, built.fresh, built.read, built.broken) == (6, 6, 6, 0)
    assert built.passages == {8: 12, 16: 6}
    assert built.for_strings == 6
    assert rows_in(index, "SELECT count(*) FROM passages WHERE title = 'No. 3'") == [(3,)]


def test_what_is_kept_is_what_was_measured(folder, index):
    build_corpus(folder, index, reading=ALONE)
    profile = profile_from(folder / "piece2.tab", 16)
    names = ", ".join(m.name for m in MEASURES)
    (kept,) = rows_in(
        index,
        f"SELECT {names} FROM passages JOIN files USING (file_id) "
        "WHERE name = 'piece2.tab' AND window_attacks = 16",
    )
    assert np.array(kept, dtype=np.float32).tolist() == profile.windows[0].tolist()


def test_a_second_build_reads_only_what_is_new_or_has_changed(folder, index):
    build_corpus(folder, index, reading=ALONE)
    assert build_corpus(folder, index, reading=ALONE).fresh == 0
    (folder / "piece0.tab").write_text(tab_of(random_line(77), title="Other"))
    (folder / "new.tab").write_text(tab_of(random_line(78)))
    (folder / "piece1.tab").unlink()
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.fresh, built.removed, built.found, built.read) == (2, 1, 6, 6)
    fresh = index.with_name("fresh.duckdb")
    build_corpus(folder, fresh, reading=ALONE)
    assert contents(index) == contents(fresh)
    assert scales_of(index) == scales_of(fresh)


def scales_of(index: Path) -> list[tuple[Any, ...]]:
    return rows_in(index, "SELECT * FROM scales ORDER BY window_attacks, measure")


def test_a_file_that_was_only_touched_is_not_measured_again(folder, index, monkeypatch):
    build_corpus(folder, index, reading=ALONE)
    os.utime(folder / "piece0.tab", ns=(1, 1))
    monkeypatch.setattr(corpus_build, "add_files", None)
    assert build_corpus(folder, index, reading=ALONE).fresh == 1
    assert build_corpus(folder, index, reading=ALONE).fresh == 0


def test_several_processes_give_what_one_gives(folder, index, monkeypatch):
    monkeypatch.setattr(corpus_reading, "FEWEST_FOR_WORKERS", 2)
    for seed in range(6, 14):
        (folder / f"piece{seed}.tab").write_text(tab_of(random_line(seed)))
    build_corpus(folder, index, reading=Reading(workers=2))
    alone = index.with_name("alone.duckdb")
    build_corpus(folder, alone, reading=ALONE)
    assert contents(index) == contents(alone)


def test_an_interrupted_build_keeps_what_it_read_and_goes_on_there(folder, index, monkeypatch):
    monkeypatch.setattr(corpus_build, "BATCH_FILES", 2)

    def stop(done, _of):
        if done == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_corpus(folder, index, reading=replace(ALONE, progress=stop))
    with pytest.raises(CorpusError) as left:
        compare_with_corpus(profile_from(folder / "piece5.tab"), index)
    assert "half-made" in left.value.problem.what
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.fresh, built.read) == (3, 6)
    fresh = index.with_name("fresh.duckdb")
    build_corpus(folder, fresh, reading=ALONE)
    assert contents(index) == contents(fresh)


def test_a_program_that_is_killed_leaves_an_index_that_can_be_gone_on_with(folder, index):
    code = (
        "import os, sys\nfrom pathlib import Path\n"
        "from riffract.essay.corpus import build as corpus_build\n"
        "from riffract.essay.corpus.reading import Reading\n"
        "corpus_build.BATCH_FILES = 2\n"
        "stop = lambda done, of: os._exit(9) if done == 5 else None\n"
        "corpus_build.build_corpus(Path(sys.argv[1]), Path(sys.argv[2]),\n"
        "    reading=Reading(workers=1, progress=stop))\n"
    )
    ran = subprocess.run([sys.executable, "-c", code, str(folder), str(index)], check=False)
    assert ran.returncode == 9
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.fresh, built.read) == (2, 6)


def test_broken_files_are_told_with_the_readers_own_words_and_kept_in_the_index(folder, index):
    (folder / "bad.tab").write_text("title: x\ntuning: E2 H9\n")
    (folder / "bad.musicxml").write_bytes(b"<score-partwise><part>")
    (folder / "bad.mid").write_bytes(b"MThd\0\0")
    (folder / "empty.mxl").write_bytes(b"")
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.read, built.broken) == (6, 4)
    assert {p.file for p in built.problems} == {"bad.tab", "bad.musicxml", "bad.mid", "empty.mxl"}
    for name in ("bad.tab", "bad.musicxml", "bad.mid", "empty.mxl"):
        own = [p.what for p in read_passage(folder / name).problems]
        kept = rows_in(
            index,
            f"SELECT what FROM problems JOIN files USING (file_id) WHERE name = '{name}'",
        )
        assert {what for (what,) in kept} <= set(own)
        assert kept


def test_every_passage_of_a_tab_is_a_part_of_its_own(folder, index):
    first, second = (tab_of(random_line(seed)) for seed in (50, 51))
    (folder / "two.tab").write_text(f"passage: One\n{first}\npassage: Two\n{second}")
    parts = read_passage(folder / "two.tab").parts
    assert parts == ("One", "Two")
    build_corpus(folder, index, reading=ALONE)
    found = rows_in(
        index,
        "SELECT DISTINCT part FROM passages JOIN files USING (file_id) WHERE name = 'two.tab'",
    )
    assert {part for (part,) in found} == set(parts)


def test_copies_count_once_and_take_the_place_of_what_goes(folder, index):
    (folder / "z-copy.tab").write_bytes((folder / "piece0.tab").read_bytes())
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.copies, built.passages[8]) == (1, 12)
    (folder / "piece0.tab").write_text(tab_of(random_line(99)))
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.copies, built.read, built.passages[8]) == (0, 7, 14)
    (folder / "y-copy.tab").write_bytes((folder / "piece1.tab").read_bytes())
    build_corpus(folder, index, reading=ALONE)
    (folder / "piece1.tab").unlink()
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.copies, built.read) == (0, 7)


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
def test_links_in_circles_and_to_nowhere_do_no_harm(folder, index):
    (folder / "around").symlink_to(folder)
    (folder / "itself.tab").symlink_to(folder / "itself.tab")
    (folder / "nowhere.tab").symlink_to(folder / "none.tab")
    os.mkfifo(folder / "pipe.tab")
    built = build_corpus(folder, index, reading=ALONE)
    assert (built.read, built.broken) == (6, 3)


@pytest.mark.skipif(sys.platform == "win32", reason="names are text there")
def test_a_name_that_is_no_text_is_escaped(folder, index):
    path = os.fsencode(folder) + b"/odd\xff.tab"
    try:
        Path(os.fsdecode(path)).write_text(tab_of(random_line(60)))
    except OSError:
        pytest.skip("this file system takes text only")
    build_corpus(folder, index, reading=ALONE)
    assert rows_in(index, "SELECT name FROM files WHERE name LIKE 'odd%'") == [("odd\\udcff.tab",)]
    assert build_corpus(folder, index, reading=ALONE).fresh == 0


def test_hidden_files_and_other_files_are_passed_over(folder):
    (folder / ".hidden.tab").write_text("x")
    (folder / ".git").mkdir()
    (folder / ".git" / "a.tab").write_text("x")
    (folder / "photo.png").write_bytes(b"x")
    assert len(list(music_files(folder))) == 6


def test_a_folder_that_cannot_be_looked_into_is_told(folder, index, monkeypatch):
    (folder / "closed").mkdir()
    really = os.scandir

    def scandir(place):
        if Path(place).name == "closed":
            raise PermissionError(13, "Permission denied", str(place))
        return really(place)

    monkeypatch.setattr(os, "scandir", scandir)
    built = build_corpus(folder, index, reading=ALONE)
    assert built.read == 6
    assert [(Path(p.file).name, p.problem.what) for p in built.problems] == [
        ("closed", "this folder cannot be looked into: Permission denied")
    ]


def test_a_folder_without_music_makes_no_index(tmp_path, index):
    with pytest.raises(CorpusError) as none:
        build_corpus(tmp_path, index, reading=ALONE)
    assert "no files of music" in none.value.problem.what
    assert not index.exists()


def test_an_index_is_not_turned_into_that_of_another_folder(folder, index, tmp_path):
    build_corpus(folder, index, reading=ALONE)
    other = tmp_path / "other"
    other.mkdir()
    (other / "a.tab").write_text(tab_of(random_line(5)))
    with pytest.raises(CorpusError) as refused:
        build_corpus(other, index, reading=ALONE)
    assert "none of them is in" in refused.value.problem.what
    assert build_corpus(other, index, reading=ALONE, is_anew=True).read == 1


@pytest.mark.parametrize("content", [b"", b"mine", b"mine" * 10_000])
@pytest.mark.parametrize("is_anew", [False, True])
def test_nothing_of_the_users_is_overwritten(content, is_anew, folder, index):
    index.write_bytes(content)
    with pytest.raises(CorpusError):
        build_corpus(folder, index, reading=ALONE, is_anew=is_anew)
    assert index.read_bytes() == content


def test_a_database_of_someone_else_is_left_alone(folder, index):
    with duckdb.connect(str(index)) as connection:
        connection.execute("CREATE TABLE mine (x INTEGER)")
    for is_anew in (False, True):
        with pytest.raises(CorpusError) as refused:
            build_corpus(folder, index, reading=ALONE, is_anew=is_anew)
        assert "nothing is ever overwritten" in refused.value.problem.what
    with duckdb.connect(str(index), read_only=True) as connection:
        assert connection.execute("SHOW TABLES").fetchall() == [("mine",)]


@pytest.mark.parametrize(("key", "value"), [("schema", "0"), ("schema", "2"), ("measures", "99")])
def test_an_index_of_another_version_says_so(key, value, folder, index):
    build_corpus(folder, index, reading=ALONE)
    with index_to_write(index) as connection:
        corpus_index.set_about(connection, **{key: value})
    for use in (
        lambda: compare_with_corpus(profile_from(folder / "piece0.tab"), index),
        lambda: build_corpus(folder, index, reading=ALONE),
    ):
        with pytest.raises(CorpusError) as refused:
            use()
        assert "measures otherwise" in refused.value.problem.what
        assert "--again" in refused.value.problem.mend
    assert build_corpus(folder, index, reading=ALONE, is_anew=True).read == 6


def test_a_damaged_index_says_so(folder, index):
    build_corpus(folder, index, reading=ALONE)
    data = bytearray(index.read_bytes())
    profile = profile_from(folder / "piece0.tab")
    for at in range(5000, len(data), len(data) // 12):
        hurt = bytearray(data)
        hurt[at : at + 64] = bytes(255 - b for b in hurt[at : at + 64])
        index.write_bytes(hurt)
        # Most damage lies where nothing is kept; what is found by a checksum is told in words.
        with contextlib.suppress(CorpusError):
            compare_with_corpus(profile, index)
    index.write_bytes(data[: len(data) // 2])
    with pytest.raises(CorpusError):
        compare_with_corpus(profile, index)


def test_an_index_in_use_says_so(folder, index):
    build_corpus(folder, index, reading=ALONE)
    code = (
        "import sys\nfrom pathlib import Path\n"
        "from riffract.essay.corpus.index import index_to_write\n"
        "with index_to_write(Path(sys.argv[1])):\n    print('open', flush=True)\n"
        "    sys.stdin.readline()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, str(index)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as other:
        assert other.stdout is not None
        assert other.stdin is not None
        assert other.stdout.readline() == b"open\n"
        with pytest.raises(CorpusError) as refused:
            build_corpus(folder, index, reading=ALONE)
        other.stdin.close()
    assert "another program" in refused.value.problem.what


def test_there_must_be_an_index(tmp_path):
    profile = Profile(
        window_attacks=8,
        windows=np.zeros((1, len(MEASURES)), dtype=np.float32),
        turns=np.zeros(0, dtype=np.int64),
    )
    with pytest.raises(CorpusError) as none:
        compare_with_corpus(profile, tmp_path / "none.duckdb")
    assert "there is no index" in none.value.problem.what


def test_a_length_that_the_corpus_lacks_is_told(folder, index):
    build_corpus(folder, index, reading=ALONE)
    long = profile_of(surface_of(passage([(p, 1) for p in random_line(1, count=40)])), 32)
    assert long is not None
    with pytest.raises(CorpusError) as none:
        compare_with_corpus(long, index)
    assert none.value.problem.mend == "try --attacks 16"


def test_a_process_that_dies_over_a_file_costs_that_file_only(folder, index, monkeypatch):
    monkeypatch.setattr(corpus_reading, "FEWEST_FOR_WORKERS", 2)
    monkeypatch.setattr(corpus_reading, "measured_file", dies_over_piece_three)
    for seed in (0, 1, 5):
        (folder / f"piece{seed}.tab").unlink()
    built = build_corpus(folder, index, reading=Reading(workers=2))
    assert (built.read, built.broken) == (2, 1)
    assert [(p.file, p.problem.what) for p in built.problems] == [
        ("piece3.tab", "reading it ended the program that read it")
    ]


def dies_over_piece_three(file, choices, known=""):
    from riffract.essay.corpus.files import measured_file

    if file.name == "piece3.tab":
        os._exit(1)
    return measured_file(file, choices, known)


def all_windows(index: Path, count: int) -> tuple[Any, Any, Any]:
    names = ", ".join(m.name for m in MEASURES)
    rows = rows_in(
        index,
        f"SELECT file_id, passage_id, {names} FROM passages WHERE window_attacks = {count} "
        "ORDER BY passage_id",
    )
    files = np.array([row[0] for row in rows])
    ids = np.array([row[1] for row in rows])
    return files, ids, np.array([row[2:] for row in rows], dtype=np.float32)


@pytest.mark.parametrize("chunk", [3, 7, 200_000])
def test_the_answer_is_that_of_trying_all_windows(chunk, folder, index, tmp_path, monkeypatch):
    monkeypatch.setattr(corpus_scan, "CHUNK_ROWS", chunk)
    (folder / "long.tab").write_text(tab_of(random_line(40, count=90)))
    build_corpus(folder, index, reading=ALONE)
    query = tmp_path / "query.tab"
    query.write_text(tab_of(random_line(123, count=25)))
    profile = profile_from(query)
    comparison = compare_with_corpus(profile, index)

    files, ids, values = all_windows(index, 8)
    scales = Scales.of(values.astype(np.float64))
    mine = profile.values.astype(np.float32)
    pieces = sorted(set(files.tolist()))
    assert comparison.corpus.pieces == len(pieces) == 7
    assert comparison.corpus.passages == len(ids)
    for k, standing in enumerate(comparison.standings):
        below = np.mean([(values[files == f, k] < mine[k]).mean() for f in pieces])
        equal = np.mean([(values[files == f, k] == mine[k]).mean() for f in pieces])
        assert standing.below_share == pytest.approx(below)
        assert standing.equal_share == pytest.approx(equal)
    apart = distances(values, profile.values, scales)
    nearest = sorted(float(apart[files == f].min()) for f in pieces)[:5]
    found = [one.distance for one in comparison.by_measures]
    assert found == pytest.approx(nearest, abs=1e-6)
    middle = distances(values, scales.middle, scales)
    own = float(distances(profile.values[None, :], scales.middle, scales)[0])
    farther = np.mean([(middle[files == f] >= own).mean() for f in pieces])
    assert comparison.as_far_share == pytest.approx((farther * 7 + 1) / 8, abs=1e-6)


def test_the_same_music_elsewhere_is_found_by_its_line(folder, index, tmp_path):
    mine = random_line(200)
    query = tmp_path / "query.tab"
    query.write_text(tab_of(mine))
    other = [p + 5 for p in mine]
    (folder / "higher.tab").write_text(tab_of(other, title="Higher", value=2))
    build_corpus(folder, index, reading=ALONE)
    best = compare_with_corpus(profile_from(query, 16), index).by_line[0]
    assert (best.file, best.title, best.first_bar) == ("higher.tab", "Higher", 1)
    assert best.turns_share == pytest.approx(1.0)


@pytest.mark.parametrize("intervals", [3, 4, 5])
@pytest.mark.parametrize("widest", [11, 12, 18])
def test_how_long_a_turn_of_phrase_is_does_not_change_what_is_found(
    *, intervals, widest, folder, index, tmp_path, monkeypatch
):
    monkeypatch.setattr(line_intervals, "GRAM_INTERVALS", intervals)
    monkeypatch.setattr(line_intervals, "WIDEST_SEMITONES", widest)
    monkeypatch.setattr(line_intervals, "_INTERVALS", 2 * widest + 1)
    mine = random_line(200)
    query = tmp_path / "query.tab"
    query.write_text(tab_of(mine))
    (folder / "higher.tab").write_text(tab_of([p + 5 for p in mine]))
    build_corpus(folder, index, reading=ALONE)
    found = compare_with_corpus(profile_from(query, 16), index).by_line
    assert found[0].file == "higher.tab"


def test_a_passage_is_not_compared_with_itself(folder, index):
    build_corpus(folder, index, reading=ALONE)
    path = folder / "piece2.tab"
    profile = profile_from(path, 16)
    own = compare_with_corpus(profile, index)
    assert own.by_measures[0].file == "piece2.tab"
    assert own.by_measures[0].distance == 0.0
    apart = compare_with_corpus(profile, index, sha256=sha256_of(path.read_bytes()))
    assert "piece2.tab" not in {one.file for one in (*apart.by_measures, *apart.by_line)}
    assert (apart.corpus.pieces, apart.corpus.left_out) == (5, 1)
    assert "not compared with itself" in apart.caution


def test_a_long_piece_counts_no_more_than_a_short_one(tmp_path, index):
    place = tmp_path / "m"
    place.mkdir()
    (place / "long.tab").write_text(tab_of([60] * 160))
    for seed in range(3):
        (place / f"short{seed}.tab").write_text(tab_of(random_line(seed, count=8)))
    build_corpus(place, index, reading=ALONE)
    query = tmp_path / "q.tab"
    query.write_text(tab_of([60, 60, 64, 64, 67, 67, 60, 60]))
    comparison = compare_with_corpus(profile_from(query), index)
    by_name = {s.measure.name: s for s in comparison.standings}
    assert by_name["repeat_share"].below_share == pytest.approx(0.75)


def test_an_index_reads_no_other_file(folder, index):
    build_corpus(folder, index, reading=ALONE)
    with index_to_read(index) as connection, pytest.raises(duckdb.Error):
        connection.execute(f"SELECT * FROM read_text('{folder}/piece0.tab')").fetchall()


def test_a_hundred_thousand_notes_give_a_bounded_number_of_windows():
    from fractions import Fraction

    from riffract.music import Metre
    from riffract.weighing.comparing.measured_part import measured_surface
    from riffract.weighing.comparing.surface import BarLine, surface_from

    rng = np.random.default_rng(1)
    count = 100_000
    four = Metre(groups=(4,), unit=4)
    surface = surface_from(
        onset_ticks=np.arange(count),
        pitch=rng.integers(40, 80, count),
        ticks_per_quarter=2,
        bar_lines=[BarLine(start_quarters=Fraction(4 * k), metre=four) for k in range(count // 8)],
    )
    part = measured_surface(surface, name="", title="", is_for_strings=False)
    assert [len(w) for w in part.windows] == [64] * 5


def test_open_music_indexed_and_as_a_table_tell_the_same(tmp_path):
    """The table that ships holds quantiles of the very windows that an index would hold."""
    if not CORPORA.exists():
        pytest.skip("the corpora for comparison are not here")
    from tools.corpus_from_notes import UNFIT, index, measured_files

    from riffract.weighing.comparing.background import shares_at, table_text

    out = tmp_path / "slice.duckdb"
    index(CORPORA, out, most=6)
    rows: dict[int, list[tuple[int, np.ndarray]]] = {}
    for number, one in enumerate(measured_files(CORPORA, lines_only=True, most=6)):
        for part in one.parts:
            for windows in part.windows:
                rows.setdefault(windows.attacks, []).append((number, windows.values))
    import json

    table = json.loads(table_text(rows, title="t", provenance="p", unfit=UNFIT))
    query = profile_of(surface_of(passage([(p, 1) for p in random_line(9, count=40)])), 32)
    assert query is not None
    comparison = compare_with_corpus(query, out)
    of_length = table["windows"]["32"]
    assert comparison.corpus.pieces == of_length["pieces"]
    for standing in comparison.standings:
        if standing.measure.name in UNFIT:
            continue
        below, equal = shares_at(of_length["quantiles"][standing.measure.name], standing.value)
        assert below + equal / 2 == pytest.approx(standing.rank_share, abs=0.1)

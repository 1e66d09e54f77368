"""The way in from Python: read, study, take the findings into a data frame."""

import importlib
from pathlib import Path

import pytest
from tests.publish_fakes import small_study

import riffract
from riffract.demo import __file__ as demo_file
from riffract.publish.findings_table import TABLE_COLUMNS, findings_columns

DEMO = demo_file.replace("__init__.py", "passage.tab")
STUDY = small_study()


def test_a_file_is_read_and_studied():
    passage = riffract.read(DEMO, bars=(1, 3))
    found = riffract.study(passage, seed=3)
    assert [bar.number for bar in passage.bars] == [1, 2, 3]
    assert found.seed == 3
    assert found.findings


def test_what_cannot_be_read_says_what_where_and_how_to_mend(tmp_path):
    path = tmp_path / "wrong.tab"
    path.write_text("tuning: E2 A2 D3 G3 B3 E4\nmetre: 4/4\n\ntime q\ne |-0-|\n")
    with pytest.raises(riffract.ReadError, match=r"wrong\.tab:\d+"):
        riffract.read(path)
    with pytest.raises(riffract.ReadError, match="no such file"):
        riffract.read(tmp_path / "none.tab")


@pytest.mark.parametrize(
    ("wish", "told"), [({"grid": "1/3000"}, "grid is a note value"), ({"tuning": "H9"}, "tuning: ")]
)
def test_an_option_is_named_as_it_is_in_python(tmp_path, wish, told):
    (tmp_path / "riff.tab").write_text("E|-0-|")
    with pytest.raises(ValueError, match=f"^{told}"):
        riffract.read(tmp_path / "riff.tab", **wish)


def test_what_is_suspicious_is_a_warning(tmp_path):
    path = tmp_path / "high.tab"
    path.write_text(
        "tuning: E2 A2 D3 G3 B3 E4\nmetre: 1/4\ntempo: q = 90\nfrets: 30\n\n"
        "time   q\ne    |-27-|\nB    |----|\nG    |----|\nD    |----|\nA    |----|\nE    |----|\n"
    )
    with pytest.warns(UserWarning, match="27"):
        riffract.read(path)


def test_columns_are_of_one_length_and_numbers_are_numbers():
    columns = findings_columns(STUDY)
    assert list(columns) == [*TABLE_COLUMNS, "measures"]
    assert {len(column) for column in columns.values()} == {len(STUDY.findings)}
    assert columns["start_quarters"][0] == 0.0
    assert columns["p"][0] is None


# The reference library is pandas.
def test_findings_become_a_data_frame():
    pandas = pytest.importorskip("pandas")
    frame = riffract.findings_frame(STUDY)
    assert isinstance(frame, pandas.DataFrame)
    assert list(frame["kind"]) == [one.finding.kind.value for one in STUDY.findings]
    assert frame[frame["verdict"] == "firm"]["kind"].tolist() == ["passes", "gesture"]


def test_what_was_set_by_hand_stands_below_the_findings(tmp_path):
    for name in ("essay.toml", "passage.tab"):
        (tmp_path / name).write_text((Path(DEMO).parent / name).read_text("utf-8"), "utf-8")
    assert riffract.set_by_hand(tmp_path) == ()
    (tmp_path / "findings.toml").write_text(
        '[[riff]]\nstart = "0"\nend = "15"\n[[stretch]]\nbars = "0"\n'
    )
    with pytest.warns(UserWarning, match='"0" names no stretch'):
        (riff,) = riffract.set_by_hand(tmp_path, language="de")
    assert riff.sentence.startswith("Das Riff wird viermal gespielt")
    columns = findings_columns(STUDY, (riff,))
    assert {len(column) for column in columns.values()} == {len(STUDY.findings) + 1}
    assert (columns["verdict"][-1], columns["p"][-1]) == ("set_by_hand", None)


def test_a_folder_without_an_essay_has_nothing_set_by_hand(tmp_path):
    with pytest.raises(riffract.ReadError, match=r"."):
        riffract.set_by_hand(tmp_path)


def test_without_a_library_for_frames_the_error_names_two(monkeypatch):
    real = importlib.import_module

    def no_frames(name, *more):
        if name in {"pandas", "polars"}:
            raise ImportError(name)
        return real(name, *more)

    monkeypatch.setattr(importlib, "import_module", no_frames)
    with pytest.raises(ImportError, match="pandas or polars"):
        riffract.findings_frame(STUDY)


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'draw_me'"):
        _ = riffract.draw_me

"""The way in from Python: read, study, take the findings into a data frame."""

import importlib

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

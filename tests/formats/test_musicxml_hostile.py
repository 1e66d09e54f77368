"""Hostile and broken files: each one is a problem with what, where and mend; never an exception."""

import struct
import zipfile
from fractions import Fraction
from io import BytesIO
from time import process_time
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import (
    attributes,
    backup,
    forward,
    note,
    notes_in,
    problem_about,
    rest,
    score,
    time,
)

from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.archive import LARGEST_SCORE_BYTES
from riffract.formats.musicxml.reading import MOST_NOTES
from riffract.formats.musicxml.report import MOST_ERRORS, MOST_WARNINGS
from riffract.formats.problem import ReadResult, Severity
from riffract.music import Passage, Technique

SCORE: Final = score(note(3, 5, 16))
CONTAINER: Final = '<container><rootfiles><rootfile full-path="{}"{}/></rootfiles></container>'


def check(data: bytes) -> ReadResult:
    """Read anything; whatever comes out must be whole."""
    result = read_musicxml(data, source="hostile")
    has_error = any(p.severity is Severity.ERROR for p in result.problems)
    assert (result.passage is None) == has_error
    for problem in result.problems:
        assert problem.what
        assert problem.mend
        assert not problem.what.endswith(".")
        assert problem.line >= 0
        assert problem.column >= 0
    if result.passage is not None:
        check_passage(result.passage)
    lines = [p.line for p in result.problems if not p.what.endswith(" follow")]
    assert lines == sorted(lines)
    return result


def check_passage(passage: Passage) -> None:
    """Check what holds for any passage: a string sounds one note at a time, on its neck."""
    stopped: dict[int, Fraction] = {}
    for played in passage.notes:
        assert 1 <= played.string <= passage.tuning.string_count
        assert 0 <= played.fret <= passage.tuning.frets
        assert played.pitch is None or 0 <= played.pitch <= 127
        assert (played.pitch is None) == (Technique.DEAD in played.techniques)
        assert 0 <= played.onset_quarters < played.ring_end_quarters
        assert stopped.get(played.string, Fraction(0)) <= played.onset_quarters
        assert played.onset_quarters < passage.length_quarters
        stopped[played.string] = played.ring_end_quarters


def only_error(data: bytes) -> str:
    result = check(data)
    assert result.passage is None
    (problem,) = (p for p in result.problems if p.severity is Severity.ERROR)
    return problem.what


def archive(entries: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", method) as made:
        for name, data in entries.items():
            made.writestr(name, data)
    return stream.getvalue()


def mxl(data: bytes = SCORE, name: str = "score.xml", kind: str = "") -> dict[str, bytes]:
    return {"META-INF/container.xml": CONTAINER.format(name, kind).encode(), name: data}


# --- not a score --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is empty"),
        (b"   \n", "the file is empty"),
        (b"\x00\x01\x02", "this is not a MusicXML file: it is not XML"),
        (b"e|--0--|", "this is not a MusicXML file: it is not XML"),
        (b"<", "the file is not well-formed XML"),
        (b"<score-partwise>", "the file is not well-formed XML"),
        (b"<html><body/></html>", "this is not a MusicXML score: its outermost tag is <html>"),
        (b"<score-partwise/>", "no part of this score has notes"),
        (b"<score-partwise><part/></score-partwise>", "the part without a name has 0 bars"),
        (b'<?xml version="1.0" encoding="no-such"?><a/>', "the file is not well-formed XML"),
        (b"<" * 100_000, "the file is not well-formed XML"),
    ],
)
def test_what_is_no_score_is_said_to_be_none(data: bytes, says: str) -> None:
    assert only_error(data).startswith(says)


def test_broken_xml_is_told_with_line_and_column() -> None:
    result = check(SCORE.replace(b"</note>", b"</nope>"))
    (problem,) = result.problems
    assert problem.what.startswith("the file is not well-formed XML: ")
    assert (problem.line, problem.column) == (8, 162)


def test_a_file_beyond_the_size_limit_is_refused() -> None:
    assert only_error(SCORE + b" " * LARGEST_SCORE_BYTES) == "the file is larger than 128 MiB"


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "iso-8859-1"])
def test_usual_encodings_are_read(encoding: str) -> None:
    declared = {"utf-8-sig": "UTF-8", "iso-8859-1": "ISO-8859-1"}.get(encoding, "UTF-16")
    text = SCORE.decode().replace('encoding="UTF-8"', f'encoding="{declared}"')
    assert len(notes_in(text.encode(encoding))) == 1


def test_windows_line_ends_and_a_long_file_keep_their_lines() -> None:
    bad = note(3, 99, 4, pitch=60)
    data = score(rest(12) + "\r\n" * 70_000 + bad)
    result = check(data)
    assert result.problems[0].line == 70_009


# --- entities and external documents ------------------------------------------------------------

BOMB = "".join(f'<!ENTITY a{i + 1} "{f"&a{i};" * 10}">' for i in range(12))
ENTITIES = [
    pytest.param(f'<!DOCTYPE s [<!ENTITY a0 "ha">{BOMB}]>', "&a12;", id="billion laughs"),
    pytest.param(
        '<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/passwd">]>', "&x;", id="a local file"
    ),
    pytest.param(
        '<!DOCTYPE s [<!ENTITY x SYSTEM "http://127.0.0.1:1/">]>', "&x;", id="the network"
    ),
    pytest.param(
        '<!DOCTYPE s [<!ENTITY % p SYSTEM "http://127.0.0.1:1/p.dtd"> %p;]>', "", id="parameter"
    ),
    pytest.param('<!DOCTYPE s [<!ENTITY x "harmless">]>', "&x;", id="harmless"),
]


@pytest.mark.parametrize(("document_type", "use"), ENTITIES)
def test_entities_are_refused(document_type: str, use: str) -> None:
    text = SCORE.decode().replace("\n", f"\n{document_type}", 1).replace("Guitar", f"Guitar{use}")
    for encoding in ("utf-8", "utf-16"):
        data = text.replace("UTF-8", encoding.upper()).encode(encoding)
        started = process_time()
        assert only_error(data) == "the file declares XML entities, which are not read for safety"
        assert process_time() - started < 20


def test_an_external_document_type_is_not_fetched() -> None:
    # As the suite's files name one; no network is there in tests.
    document_type = (
        '<!DOCTYPE score-partwise PUBLIC "-//Test//DTD MusicXML 4.0 Partwise//EN" '
        '"http://127.0.0.1:1/partwise.dtd">\n'
    )
    data = SCORE.replace(b"<score-partwise", document_type.encode() + b"<score-partwise", 1)
    assert check(data).problems == ()


def test_an_entity_without_a_meaning_is_told() -> None:
    document_type = '<!DOCTYPE score-partwise SYSTEM "http://127.0.0.1:1/partwise.dtd">\n'
    head = document_type + "<score-partwise"
    data = SCORE.decode().replace("<score-partwise", head, 1).replace("Guitar", "Gui&eacute;tar")
    result = check(data.encode())
    assert result.passage is not None
    assert "entity without a meaning" in result.problems[0].what


def test_inclusions_and_style_sheets_do_nothing() -> None:
    include = '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"/>'
    data = SCORE.replace(b"<part-list>", include.encode() + b"<part-list>")
    assert len(notes_in(data)) == 1


def test_processing_instructions_are_told_and_comments_are_not() -> None:
    data = SCORE.replace(b"<duration>", b"<!-- a note --><?program x?><duration>")
    (problem,) = check(data).problems
    assert "processing instruction" in problem.what
    assert problem.line == 8


# --- archives -----------------------------------------------------------------------------------


@pytest.mark.parametrize("method", [zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED])
@pytest.mark.parametrize(
    "entries",
    [
        mxl(),
        mxl(name="deep/er/music.musicxml"),
        mxl(name="../../../etc/score.xml"),
        mxl(kind=' media-type="application/vnd.recordare.musicxml+xml"'),
        {"mimetype": b"application/vnd.recordare.musicxml", **mxl()},
    ],
)
def test_compressed_scores_are_read(entries: dict[str, bytes], method: int) -> None:
    result = check(archive(entries, method))
    assert result.passage is not None
    assert result.problems == ()


def test_the_rendering_of_a_score_beside_it_is_not_taken_for_the_score() -> None:
    container = (
        b'<container><rootfiles><rootfile full-path="page.pdf" media-type="application/pdf"/>'
        b'<rootfile full-path="score.xml" media-type="application/vnd.recordare.musicxml+xml"/>'
        b"</rootfiles></container>"
    )
    entries = {"META-INF/container.xml": container, "page.pdf": b"%PDF", "score.xml": SCORE}
    assert check(archive(entries)).passage is not None


@pytest.mark.parametrize(
    "entries",
    [
        {"score.xml": SCORE},
        {"META-INF/container.xml": b"<broken", "score.musicxml": SCORE},
        {"META-INF/container.xml": CONTAINER.format("gone.xml", "").encode(), "x.xml": SCORE},
    ],
)
def test_an_archive_that_does_not_name_its_score_is_read_with_a_warning(
    entries: dict[str, bytes],
) -> None:
    result = check(archive(entries))
    assert result.passage is not None
    assert "does not say which entry" in result.problems[0].what


@pytest.mark.parametrize(
    ("entries", "says"),
    [
        ({}, "the compressed file holds no score"),
        ({"readme.txt": b"hello"}, "the compressed file holds no score"),
        (mxl(b"%PDF-1.4"), "this is not a MusicXML file: it is not XML"),
        (mxl(archive(mxl())), "the compressed file holds another compressed file"),
        ({str(i): b"" for i in range(600)}, "the compressed file holds more than 512 entries"),
        (
            {"META-INF/container.xml": b"<a>" + b" " * 2**17 + b"</a>"},
            "'META-INF/container.xml' unpacks to more than 64 KiB",
        ),
    ],
)
def test_archives_that_cannot_be_used(entries: dict[str, bytes], says: str) -> None:
    assert only_error(archive(entries)).startswith(says)


def test_a_zip_bomb_is_not_unpacked() -> None:
    bomb = archive(mxl(b"<a>" + b" " * LARGEST_SCORE_BYTES + b"</a>"))
    assert len(bomb) < 2**18
    assert "unpacks to more than 131072 KiB" in only_error(bomb)


def test_an_entry_that_lies_about_its_size_is_not_believed() -> None:
    bomb = archive(mxl(b"<a>" + b" " * 2**25 + b"</a>"))
    size = struct.pack("<I", 2**25 + 7)
    assert size in bomb
    assert check(bomb.replace(size, struct.pack("<I", 10))).passage is None


def test_encrypted_entries_are_refused() -> None:
    data = bytearray(archive(mxl()))
    for sign, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = data.find(sign)
        while at >= 0:
            data[at + offset] |= 1
            at = data.find(sign, at + 1)
    assert only_error(bytes(data)).endswith("in the compressed file is encrypted")


def test_unusual_compression_is_refused() -> None:
    assert "compressed in a way" in only_error(archive(mxl(), zipfile.ZIP_BZIP2))


def test_hostile_xml_in_an_archive_is_refused_as_well() -> None:
    data = SCORE.replace(b"\n", b'\n<!DOCTYPE s [<!ENTITY x "y">]>', 1)
    assert "entities" in only_error(archive(mxl(data)))


# --- amounts ------------------------------------------------------------------------------------


def test_more_notes_than_allowed_are_refused_in_time() -> None:
    one = "<note><pitch><step>E</step><octave>3</octave></pitch><duration>1</duration></note>"
    data = score(one * (MOST_NOTES + 1), start=attributes(divisions=400))
    assert len(data) < 2**24
    assert only_error(data) == "the part holds more than 100,000 notes"


def test_repeats_may_not_multiply_notes_beyond_the_limit() -> None:
    again = '<barline location="right"><repeat direction="backward" times="1000"/></barline>'
    assert "with its repeats" in only_error(score(note(3, 5, 1) * 160 + again))


def test_a_tower_of_tags_is_refused() -> None:
    assert only_error(b"<a>" * 100_000).startswith("the file is not well-formed XML")


def test_a_desert_of_tags_is_refused_before_it_is_parsed() -> None:
    assert only_error(b"<a>" + b"<b/>" * 3_500_000 + b"</a>") == (
        "the file holds more than 1,000,000 tags"
    )


def test_notes_allow_only_as_many_tags_as_they_can_need() -> None:
    desert = "<note>" + "<b/>" * 200 + "</note>"
    assert only_error(score(desert * 10_000)) == "the file holds more than 1,800,000 tags"


def test_a_desert_of_attributes_is_refused_before_it_is_parsed() -> None:
    attributes_ = b"".join(b' a%d=""' % i for i in range(1_100_000))
    assert only_error(b"<a" + attributes_ + b"/>") == (
        "the file holds more than 1,000,000 attributes"
    )


@pytest.mark.parametrize("bar", [b"<measure/>", b"<measure number='1'/>"])
def test_bars_beyond_measure_are_refused_before_they_are_parsed(bar: bytes) -> None:
    data = SCORE.replace(b"</measure>", b"</measure>" + bar * 250_000, 1)
    assert only_error(data) == "the file holds more than 200,000 bars in all parts"


def primes(count: int) -> list[int]:
    found: list[int] = []
    number = 1000
    while len(found) < count:
        number += 1
        if all(number % p for p in range(2, int(number**0.5) + 1)):
            found.append(number)
    return found


def test_bars_that_share_no_grid_are_refused_in_time() -> None:
    free = "<attributes><time><senza-misura/></time></attributes>"
    bars = [
        f"<attributes><divisions>{p}</divisions></attributes>{note(3, 5, 1)}" for p in primes(9_000)
    ]
    started = process_time()
    result = check(score(free, *bars))
    assert result.passage is None
    assert "share" in result.problems[0].what or "grid" in result.problems[0].what
    assert process_time() - started < 20


def test_divisions_that_never_stay_are_refused_in_time() -> None:
    text = "".join(
        f"<attributes><divisions>{p}</divisions></attributes>{note(3, 5, 1)}" for p in primes(9_000)
    )
    started = process_time()
    assert check(score(text)).passage is None
    assert process_time() - started < 20


@pytest.mark.parametrize("divisions", ["0", "-4", "1e9", "NaN", "99999999999", ""])
def test_divisions_that_make_no_sense_are_errors(divisions: str) -> None:
    result = check(score(note(3, 5, 16), start=attributes(divisions=divisions)))
    assert result.passage is None
    assert "divisions of a quarter note" in result.problems[0].what


@pytest.mark.parametrize("text", ["1000000000", "-1", "37", "five"])
def test_a_fret_beyond_any_neck_is_an_error(text: str) -> None:
    what = only_error(score(note(3, 5, 16).replace("<fret>5<", f"<fret>{text}<")))
    assert what == f"a fret is a number from 0 to 36, found {text!r}"


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_a_file_that_breaks_off_is_told(share: float) -> None:
    data = SCORE[: int(len(SCORE) * share)]
    assert only_error(data).startswith("the file is not well-formed XML")
    compressed = archive(mxl())
    assert "damaged" in only_error(compressed[: int(len(compressed) * share)])


def test_nul_bytes_are_told() -> None:
    assert "not well-formed" in only_error(SCORE.replace(b"Guitar", b"Gui\0tar"))


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", "..\\score.xml"])
def test_a_path_out_of_the_archive_is_only_a_name(name: str) -> None:
    entries = {"META-INF/container.xml": CONTAINER.format(name, "").encode(), "a.xml": SCORE}
    result = check(archive(entries))
    assert result.passage is not None
    assert "'a.xml' is read" in problem_about(result, "does not say").what


def test_a_bar_without_end_is_refused() -> None:
    data = score(note(3, 5, 16), forward(1024) * 10)
    assert only_error(data) == "the bar holds more than 1024 quarters"


def test_the_longest_music_that_is_allowed_is_read() -> None:
    again = '<barline location="right"><repeat direction="backward" times="19999"/></barline>'
    free = "<time><senza-misura/></time>"
    bar = note(3, 5, 1, before="<type>32nd</type>") + forward(7 * 256 - 1) + forward(7 * 256) * 3
    result = check(score(bar + again, start=attributes(divisions=7, signature=free)))
    assert result.passage is not None
    assert result.passage.length_quarters == 19_999 * 1024


def test_too_many_bars_are_refused() -> None:
    bars = "".join(f"<measure number='{i}'/>" for i in range(10_001))
    data = SCORE.replace(b"</measure>", f"</measure>{bars}".encode(), 1)
    assert only_error(data).endswith("has 10,002 bars; it needs 1 to 10,000")


def test_errors_stand_one_by_one_up_to_a_limit() -> None:
    data = score(note(3, 5, 1).replace("<fret>5<", "<fret>50<") * 80)
    problems = check(data).problems
    assert len(problems) == MOST_ERRORS + 1
    assert problems[-1].what == "30 more errors follow"
    assert len({p.line for p in problems[:-1]}) == MOST_ERRORS


def test_kinds_of_warnings_are_limited() -> None:
    unknown = "".join(f"<sign-{i}/>" for i in range(500))
    problems = check(score(note(3, 5, 16, notations=unknown))).problems
    assert len(problems) == MOST_WARNINGS + 1
    assert problems[-1].what == "400 more warnings of other kinds follow"


def test_what_is_shown_cannot_command_a_terminal() -> None:
    evil = "\x9b31m\u202e evil"
    data = score(
        f"<direction><direction-type><words>{evil}</words></direction-type></direction>"
        f"<direction><direction-type><rehearsal>{evil}</rehearsal></direction-type></direction>"
        + note(3, 5, 16, technical=f"<other-technical>{evil}</other-technical>"),
        head=f"<movement-title>{evil}</movement-title>",
    ).replace(b'number="1"', f'number="{evil}"'.encode())
    result = check(data)
    assert result.passage is not None
    shown = [result.passage.title, *(s.label for s in result.passage.sections)]
    shown += [text for p in result.problems for text in (p.what, p.mend, p.place)]
    assert all(text.isprintable() for text in shown)


@pytest.mark.parametrize("length", [10_000, 1_000_000])
def test_long_texts_are_cut_in_what_is_shown(length: int) -> None:
    long = "x" * length
    data = score(
        f"<direction><direction-type><words>{long}</words></direction-type></direction>"
        + note(3, 5, 16, technical=f"<other-technical>{long}</other-technical>"),
        head=f"<movement-title>{long}</movement-title>",
    )
    result = check(data)
    assert result.passage is not None
    assert len(result.passage.title) <= 200
    assert all(len(p.what) < 300 for p in result.problems)


# --- anything at all ----------------------------------------------------------------------------

RICH: Final = score(
    "<direction><direction-type><words>let ring</words></direction-type><direction-type>"
    '<dashes type="start" number="1"/></direction-type><sound tempo="90"/></direction>'
    + note(6, 0, 4, technical='<hammer-on type="start" number="1"/>', tied='<tie type="start"/>')
    + note(5, 2, 4, first="<chord/>", notations='<tied type="let-ring"/>')
    + note(6, 0, 4, technical='<hammer-on type="stop" number="1"/>', tied='<tie type="stop"/>')
    + note(3, 12, 8, technical="<harmonic><natural/><touching-pitch/></harmonic>")
    + backup(8)
    + note(
        1,
        3,
        8,
        technical="<bend><bend-alter>2</bend-alter></bend>"
        "<bend><bend-alter>-2</bend-alter><release/></bend><down-bow/><tap/>",
        notations="<ornaments><tremolo>3</tremolo></ornaments><fermata/>",
    ),
    "<direction><direction-type><words>rit.</words></direction-type></direction>"
    + note(
        3,
        4,
        4,
        notations="<ornaments><trill-mark/><accidental-mark>flat</accidental-mark>"
        "</ornaments><articulations><scoop/><falloff/></articulations>",
    )
    + note(4, 2, 12, technical="<harmonic><artificial/><base-pitch/></harmonic>")
    + note(
        4, 14, 12, first="<chord/>", technical="<harmonic><artificial/><touching-pitch/></harmonic>"
    )
    + note(3, 4, None, first='<grace slash="yes"/>', technical='<pull-off type="start"/>'),
    "<attributes><time><senza-misura/></time></attributes><sound tempo='60'/>"
    + note(3, 0, 7)
    + f"<attributes>{time('3+2', 8)}</attributes>",
    '<barline location="left"><repeat direction="forward"/></barline>'
    '<direction><direction-type><dashes type="stop" number="1"/></direction-type></direction>'
    + note(
        4,
        5,
        2,
        before="<type>eighth</type><time-modification><actual-notes>3</actual-notes>"
        "<normal-notes>2</normal-notes></time-modification>",
    )
    + note(None, None, 4, pitch=64)
    + note(2, 5, None, first="<grace/>")
    + rest(8)
    + '<barline location="right"><ending number="1" type="stop"/>'
    '<repeat direction="backward" times="2"/></barline>',
    start=attributes(divisions=4, capo=1),
)


@settings(deadline=None, max_examples=300)
@given(st.binary(max_size=400))
def test_no_bytes_raise(data: bytes) -> None:
    check(data)


@settings(deadline=None, max_examples=300)
@given(st.binary(max_size=200))
def test_no_bytes_after_the_sign_of_an_archive_raise(data: bytes) -> None:
    check(b"PK\x03\x04" + data)


edits = st.lists(
    st.tuples(st.integers(0, len(RICH)), st.integers(0, 12), st.binary(max_size=6)),
    min_size=1,
    max_size=4,
)


@settings(deadline=None, max_examples=400)
@given(edits)
def test_no_edit_of_a_score_raises(changes: list[tuple[int, int, bytes]]) -> None:
    data = RICH
    for at, length, new in changes:
        data = data[:at] + new + data[at + length :]
    check(data)


ARCHIVE: Final = archive(mxl(RICH))


@settings(deadline=None, max_examples=300)
@given(st.lists(st.tuples(st.integers(0, len(ARCHIVE) - 1), st.integers(0, 255)), max_size=4))
def test_no_edit_of_an_archive_raises(changes: list[tuple[int, int]]) -> None:
    data = bytearray(ARCHIVE)
    for at, value in changes:
        data[at] = value
    check(bytes(data))


ODD_VALUES: Final = (
    *("", "0", "-1", "1", "2", "7", "99", "1e9", "NaN", "inf", "0.3333", "1000000000", "9" * 40),
    *("x", "3+2", "+", "1,2", "yes", "start", "stop", "continue", "let-ring", "C", "H", "TAB"),
    "\u0663",
)


@settings(deadline=None, max_examples=400)
@given(st.data())
def test_no_odd_value_in_a_well_formed_score_raises(data: st.DataObject) -> None:
    text = RICH.decode()
    for _ in range(data.draw(st.integers(1, 4))):
        spots = [
            i
            for i, c in enumerate(text)
            if c in '>"' and text[i + 1 : i + 2] not in {"<", "\n", ""}
        ]
        start = data.draw(st.sampled_from(spots))
        stop = start + 1
        while stop < len(text) and text[stop] not in '<">':
            stop += 1
        text = text[: start + 1] + data.draw(st.sampled_from(ODD_VALUES)) + text[stop:]
    check(text.encode())


@settings(deadline=None, max_examples=300)
@given(st.data())
def test_no_missing_or_doubled_or_moved_line_raises(data: st.DataObject) -> None:
    tags = RICH.decode().replace("><", ">\n<").split("\n")
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(tags) - 1))
        what = data.draw(st.sampled_from(["drop", "double", "move"]))
        if what == "drop":
            tags = tags[:at] + tags[at + 1 :]
        elif what == "double":
            tags = tags[: at + 1] + tags[at:]
        else:
            goal = data.draw(st.integers(0, len(tags) - 1))
            tags.insert(goal, tags.pop(at))
    check("\n".join(tags).encode())


def test_the_rich_score_itself_is_read() -> None:
    result = read_musicxml(RICH)
    assert result.passage is not None
    assert problem_about(result, "grace").place == "bar 4, beat 3 2/3"

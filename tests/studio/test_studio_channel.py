"""What the wire does with messages that no page of ours would send."""

import asyncio
import errno
import json
from concurrent.futures import ThreadPoolExecutor
from fractions import Fraction
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.studio.channel import Action, Channel


class Place(msgspec.Struct):
    """A moment in the passage."""

    at: Fraction


def answered(message: str | bytes) -> dict[str, Any]:
    channel = Channel()
    channel.learn({"place.tell": Action(Place, lambda wanted: wanted.at)})
    answer = channel.answered(message)
    assert isinstance(answer, str)
    told: dict[str, Any] = json.loads(answer)
    return told


def told_place(at: object) -> dict[str, Any]:
    return answered(json.dumps({"id": 1, "do": "place.tell", "with": {"at": at}}))


@given(st.fractions(max_denominator=10**6, min_value=-(10**6), max_value=10**6))
def test_exact_numbers_arrive_as_they_were_sent(number: Fraction):
    assert told_place(str(number)) == {"id": 1, "answer": str(number)}


@pytest.mark.parametrize(
    "number", ["1/0", "1e999999999", "0x7", "7/", "", "٣", "nan", 7, 0.5, None, [], {"top": 1}]
)
def test_what_is_no_exact_number_is_refused_with_its_place(number: object):
    problem = told_place(number)["problem"]
    assert "place.tell cannot be asked" in problem["what"]
    assert "$.at" in problem["what"]


@given(st.binary(max_size=60) | st.text(max_size=60))
def test_noise_is_answered_and_never_thrown(noise: str | bytes):
    assert "problem" in answered(noise)


def test_a_fault_of_ours_is_told_and_its_trace_kept(caplog: pytest.LogCaptureFixture):
    def fail(_wanted: Any) -> None:
        raise KeyError("no such string")

    async def fail_later(wanted: Any) -> None:
        fail(wanted)

    channel = Channel()
    channel.learn({"at.once": Action(Place, fail), "in.a.while": Action(Place, fail_later)})
    at_once = channel.answered('{"id": 1, "do": "at.once", "with": {"at": "1/2"}}')
    later = channel.answered('{"id": 2, "do": "in.a.while", "with": {"at": "1/2"}}')
    assert isinstance(at_once, str)
    assert not isinstance(later, str)

    async def waited() -> str:
        return await later

    # In a thread of its own: tests that drive a browser keep a loop running in this one.
    with ThreadPoolExecutor(1) as thread:
        in_a_while = thread.submit(lambda: asyncio.run(waited())).result()
    for text in (at_once, in_a_while):
        assert "a fault in Riffract" in json.loads(text)["problem"]["what"]
    assert caplog.text.count("no such string") >= 2


def test_a_disk_that_takes_nothing_is_no_fault_of_ours():
    def fail(_wanted: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    channel = Channel()
    channel.learn({"at.once": Action(Place, fail)})
    text = channel.answered('{"id": 1, "do": "at.once", "with": {"at": "1/2"}}')
    assert isinstance(text, str)
    problem = json.loads(text)["problem"]
    assert "No space left" in problem["what"]
    assert "make room" in problem["mend"]


@pytest.mark.parametrize("nested", ["[" * 100_000 + "]" * 100_000, '{"at":' * 50_000])
def test_what_is_nested_too_deeply_is_answered_too(nested: str):
    assert "problem" in answered(f'{{"id": 1, "do": "place.tell", "with": {nested}}}')
    assert "problem" in answered(nested)

"""Line breaks: where a line may end, at spaces and between the signs of East Asian writing."""

from itertools import pairwise
from typing import Final
from unicodedata import east_asian_width

_STARTS_NO_LINE: Final = frozenset(
    "、。，．：；！？）］｝」』】〕》〉’”…ー々ぁぃぅぇぉっゃゅょァィゥェォッャュョ,.:;!?)]}"
)
_ENDS_NO_LINE: Final = frozenset("（［｛「『【〔《〈‘“([{")


def breakable(text: str) -> tuple[tuple[str, str], ...]:
    """Cut text into pieces that may start a line, each with what stands before it: a space or "".

    Definition: words part at spaces. Within a word a line may end before or behind a wide sign,
    but no line starts with a closing mark or a small kana, and none ends with an opening mark.

    Returns:
        Pieces in order; none for empty text.

    Source: Unicode Standard Annex 14, classes ID, CL, CP, OP and NS; the signs from memory.

    >>> breakable("two words")
    ((' ', 'two'), (' ', 'words'))
    >>> [piece for _, piece in breakable("鏡は曲がる。")]
    ['鏡', 'は', '曲', 'が', 'る。']
    """
    pieces: list[tuple[str, str]] = []
    for word in text.split():
        first, *others = _parted(word)
        pieces.append((" ", first))
        pieces += (("", other) for other in others)
    return tuple(pieces)


def _parted(word: str) -> list[str]:
    parts = [word[0]]
    for before, sign in pairwise(word):
        if _parts(before, sign):
            parts.append(sign)
        else:
            parts[-1] += sign
    return parts


def _parts(before: str, sign: str) -> bool:
    if sign in _STARTS_NO_LINE or before in _ENDS_NO_LINE:
        return False
    return _is_wide(before) or _is_wide(sign)


def _is_wide(sign: str) -> bool:
    return east_asian_width(sign) in {"W", "F"}
